"""Whatever somebody types, no output makes a formula, a link or a macro of it."""

from __future__ import annotations

import io
import json
import re
import zipfile
import zlib
from contextlib import suppress

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lxml import etree
from msgspec.structs import replace
from openpyxl import load_workbook
from openpyxl.utils.escape import unescape

from inspection.attached import Attached
from inspection.layout.told import Said
from inspection.reasons import Refused
from inspection.sheet.first_article import first_article
from inspection.sheet.open_sheet import open_sheet
from inspection.sheet.reporting import report
from storage.dispatch.crib import crib_csv, crib_workbook
from storage.dispatch.customer_form.fill import fill
from storage.dispatch.customer_form.propose import propose
from storage.dispatch.first_article import first_article_pdf, first_article_workbook
from storage.dispatch.listing import Listing, as_text, listing_bytes
from storage.dispatch.pdf import pdf_bytes
from storage.dispatch.qif import qif_bytes
from storage.dispatch.sheet_json import json_bytes
from storage.dispatch.table import csv_bytes
from storage.dispatch.workbook import workbook_bytes
from storage.intake.grid import names
from storage.intake.templates import template

#: What is known to start a formula, a call or a link in some spreadsheet program, and what breaks markup.
BAIT = (
    "=1+1", "+1+1", "-1+1", "@SUM(A1)", "=cmd|' /C calc'!A0", "=HYPERLINK(\"http://a.example\",\"x\")", "\t=1", "\r=1",
    "\n=1", " =1+1", "\u00a0@A1",
    "＝1+1", "{=1+1}", "=DDE(\"a\",\"b\",\"c\")", "http://a.example", "mailto:a@b.example", "#REF!", "TRUE",
    "<f>1+1</f>", "]]><f>1</f>", "&lt;f&gt;", "_x003D_1+1", "1e5", "2026-01-01", "'=1", "%0A=1", "javascript:x",
    "a;=1+1;", 'a;"=1+1', "a\t=1", "a\r\n=1", "a|=1", "a,;", "a; @A1", "-5",
)  # fmt: skip
texts = st.one_of(
    st.sampled_from(BAIT),
    st.builds("".join, st.lists(st.sampled_from((*BAIT, *"=+-@|!\"' ;,\t")), max_size=4)),
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
def test_our_own_workbook_and_table(told, started, text):
    plain = told.plain
    wild = replace(
        plain,
        head=tuple((name, text) for name, _ in plain.head),
        lines=tuple(
            replace(line, number=text, requirement=text, name=text, notes=(text, text)) for line in plain.lines[:3]
        ),
    )
    book = load_workbook(io.BytesIO(workbook_bytes(wild)))
    kinds = {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row}
    assert kinds <= {"s", "n"}
    assert not any(cell.hyperlink for sheet in book for row in sheet.iter_rows() for cell in row)
    assert started(csv_bytes(wild)) == []


# --- every other file that goes out --------------------------------------------------------------------------------


def texts_alone(content):
    """Whether a workbook holds texts and numbers, no formula and no link."""
    cells = [cell for sheet in load_workbook(io.BytesIO(content)) for row in sheet.iter_rows() for cell in row]
    return {cell.data_type for cell in cells} <= {"s", "n"} and not any(cell.hyperlink for cell in cells)


@pytest.mark.parametrize("text", BAIT)
def test_lists_the_crib_and_files_to_fill_in(life_kind, started, text):
    listing = Listing(text, (text, "number"), ((text, "-0.5"), (text, text)), about=(text,), measured=(1,))
    assert started(listing_bytes(listing, ".csv")) == []
    pasted = [line.split("\t") for line in as_text(listing).splitlines()]
    assert [len(cells) for cells in pasted] == [2, 2, 2]
    assert not [cell for cells in pasted for cell in cells if started(cell.encode())]
    one = replace(next(iter(life_kind.Life().open().shop.issues.values())), name=text, note=text, tag=text)
    assert started(crib_csv([one])) == []
    for kind in ("readings", "evidence", "features"):
        assert started(template(kind, [dict.fromkeys(names(kind), text)])) == []
    for make in (lambda: listing_bytes(listing, ".xlsx"), lambda: crib_workbook([one])):
        with suppress(Refused):  # a character that no cell carries is named, and nothing is made
            assert texts_alone(make())


@pytest.fixture(scope="module")
def opened(measured):
    life = measured()
    return life, report(life.sheet, life.shop)


def shape(content):
    """The elements and attributes of a document, in order."""
    return [(each.tag, tuple(each.attrib)) for each in etree.fromstring(content).iter()]


@pytest.mark.parametrize("text", BAIT)
def test_open_data_the_first_article_and_pages(opened, text):
    life, plain = opened
    note = "".join(text.split()) or text
    qif = open_sheet(life.sheet, life.shop, plain)
    rows = tuple(replace(row, name=note) for row in qif.rows)
    harmless = tuple(replace(row, name="x") for row in qif.rows)
    assert shape(qif_bytes(replace(qif, rows=rows))) == shape(qif_bytes(replace(qif, rows=harmless)))
    held = etree.fromstring(qif_bytes(replace(qif, rows=rows)))
    assert note in {said for each in held.iter() for said in (each.text, *each.attrib.values())}
    plan = replace(life.sheet.plan, part=replace(life.sheet.plan.part, name=text))
    told = json.loads(json_bytes(replace(life.sheet, plan=plan), life.shop))
    assert told["sheet"]["plan"]["part"]["name"] == text
    article = first_article(life.sheet, life.shop, plain)
    wild = replace(article, parts=tuple(
        replace(part, rows=tuple(tuple(text for _ in row) for row in part.rows[:1])) for part in article.parts
    ))  # fmt: skip
    pages = replace(plain, lines=tuple(replace(line, requirement=text, notes=(text,)) for line in plain.lines[:2]))
    with suppress(Refused):
        assert texts_alone(first_article_workbook(wild))
    for make in (lambda: first_article_pdf(wild), lambda: pdf_bytes(pages)):
        with suppress(Refused):  # a sign without a glyph is named, and nothing is made
            assert not LIVE.search(b"".join(objects_of(make())))


#: What acts, or leads out of a PDF (ISO 32000-2, 12.6.4 and 12.5.6.5).
LIVE = re.compile(rb"/(URI|Launch|JavaScript|JS|GoToR|SubmitForm|OpenAction|AA)\b")


def objects_of(content):
    """The objects of a PDF that are no streams, and those that streams of objects hold."""
    yield re.sub(rb"stream\r?\n.*?endstream", b"", content, flags=re.DOTALL)
    for found in re.finditer(rb"/Type\s*/ObjStm.*?stream\r?\n(.*?)endstream", content, flags=re.DOTALL):
        with suppress(zlib.error):
            yield zlib.decompress(found[1])
