"""Whatever somebody types, no output makes a formula, a link or a macro of it."""

from __future__ import annotations

import csv
import io
import zipfile

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lxml import etree
from msgspec.structs import replace
from openpyxl import load_workbook
from openpyxl.utils.escape import unescape

from inspection.attached import Attached
from inspection.layout.told import Said
from inspection.sheet.reporting import report
from storage.dispatch.customer_form.fill import fill
from storage.dispatch.customer_form.propose import propose
from storage.dispatch.table import GUARDED, NUMBER, csv_bytes
from storage.dispatch.workbook import workbook_bytes

#: What is known to start a formula, a call or a link in some spreadsheet program, and what breaks markup.
BAIT = (
    "=1+1", "+1+1", "-1+1", "@SUM(A1)", "=cmd|' /C calc'!A0", "=HYPERLINK(\"http://a.example\",\"x\")", "\t=1", "\r=1",
    "\n=1", "＝1+1", "{=1+1}", "=DDE(\"a\",\"b\",\"c\")", "http://a.example", "mailto:a@b.example", "#REF!", "TRUE",
    "<f>1+1</f>", "]]><f>1</f>", "&lt;f&gt;", "_x003D_1+1", "1e5", "2026-01-01", "'=1", "%0A=1", "javascript:x",
)  # fmt: skip
texts = st.one_of(
    st.sampled_from(BAIT),
    st.builds("".join, st.lists(st.sampled_from((*BAIT, "=", "+", "-", "@", "|", "!", '"', "'", " ")), max_size=4)),
    st.text(st.characters(exclude_categories=("Cs", "Cc"), include_characters="\t\n"), max_size=24),
)


class Told:
    """A form, a sheet laid out on it, and the sheet's report; told by its name alone where a test fails."""

    def __init__(self, form, laid, plain):
        self.form, self.laid, self.plain = form, laid, plain

    def __repr__(self):
        return "told"


@pytest.fixture(scope="module")
def told(forms, measured, laid_out):
    life = measured()
    form = forms["plain_american"]
    layout = propose(form.content, Attached("a.xlsx", "0" * 64, 1), "Rowan & Pike", "a")
    return Told(form, laid_out(life, layout), report(life.sheet, life.shop))


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=texts)
def test_a_customers_form(told, text):
    form, laid = told.form, told.laid
    said = Said(text)
    wild = replace(
        laid,
        heads=tuple(replace(each, said=said) for each in laid.heads),
        rows=tuple(replace(each, said=said) for each in laid.rows if each.block < 3),
    )
    done = fill(form.content, "a.xlsx", wild)
    with zipfile.ZipFile(io.BytesIO(done.content)) as held, zipfile.ZipFile(io.BytesIO(form.content)) as blank:
        tree = etree.fromstring(held.read("xl/worksheets/sheet1.xml"))
        names = set(held.namelist())
        assert names == set(blank.namelist())
        rels = "xl/worksheets/_rels/sheet1.xml.rels"
        assert held.read(rels) == blank.read(rels)
    space = tree.nsmap[None]
    formulas = [each.text for each in tree.iter(f"{{{space}}}f")]
    assert formulas == ["MAX(E10:E20)"]
    assert not list(tree.iter(f"{{{space}}}hyperlink"))
    book = load_workbook(io.BytesIO(done.content))
    cell = book.active["B10"]
    assert (cell.data_type, unescape(cell.value or "")) == ("s" if text else "n", text)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=texts)
def test_our_own_workbook_and_table(told, text):
    plain = told.plain
    wild = replace(
        plain,
        head=tuple((name, text) for name, _ in plain.head),
        lines=tuple(replace(line, requirement=text, name=text, notes=(text,)) for line in plain.lines[:3]),
    )
    book = load_workbook(io.BytesIO(workbook_bytes(wild)))
    kinds = {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row}
    assert kinds <= {"s", "n"}
    assert not any(cell.hyperlink for sheet in book for row in sheet.iter_rows() for cell in row)
    rows = list(csv.reader(io.StringIO(csv_bytes(wild).decode("utf-8-sig"), newline="")))
    fields = [field for row in rows for field in row]
    assert not [
        each for each in fields if each.startswith(tuple(g for g in GUARDED if g != "'")) and not NUMBER.fullmatch(each)
    ]
