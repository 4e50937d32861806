"""A large customer's form filled, against the bare libraries doing the same writes."""

from __future__ import annotations

import io
import time
import zipfile

import pytest
from lxml import etree
from openpyxl import Workbook
from openpyxl.styles import Border, Side

from inspection.attached import Attached
from inspection.layout.filling import Filling, RowSaid
from inspection.layout.layout import Column, Layout, Table
from inspection.layout.told import Said
from storage.dispatch.customer_form.fill import fill

ROWS = 2_000
FIELDS = ("number", "requirement", "lower", "upper", "result", "verdict", "instrument", "note")
SPACE = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"


@pytest.fixture(scope="module")
def blank() -> bytes:
    book = Workbook()
    box = Border(*(Side("thin"),) * 4)
    for row in range(1, ROWS + 1):
        for column in range(1, len(FIELDS) + 1):
            cell = book.active.cell(row, column)
            cell.border, cell.number_format = box, "0.0000"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def said(row: int, field: str) -> Said:
    if field in ("lower", "upper", "result"):
        return Said(f"0.{row:04d}", number=f"0.{row:04d}")
    return Said(f"{field} of characteristic {row}")


def bare(content: bytes) -> bytes:
    """What nobody can do without: unpack, parse, set each cell, write, pack."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as held, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name in held.namelist():
            text = held.read(name)
            if name == "xl/worksheets/sheet1.xml":
                tree = etree.fromstring(text)
                cells = {cell.get("r"): cell for cell in tree.iter(f"{{{SPACE}}}c")}
                for row in range(1, ROWS + 1):
                    for column, field in enumerate(FIELDS):
                        cell, value = cells[f"{'ABCDEFGH'[column]}{row}"], said(row, field)
                        cell.attrib.pop("t", None)
                        if value.number:
                            etree.SubElement(cell, f"{{{SPACE}}}v").text = value.number
                        else:
                            cell.set("t", "inlineStr")
                            inner = etree.SubElement(etree.SubElement(cell, f"{{{SPACE}}}is"), f"{{{SPACE}}}t")
                            inner.text = value.text
                text = etree.tostring(tree, xml_declaration=True, encoding="UTF-8", standalone=True)
            made.writestr(name, text)
    return out.getvalue()


def timed(work) -> float:
    best = float("inf")
    for _ in range(3):
        begun = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - begun)
    return best


@pytest.mark.measured
def test_filling_takes_little_more_than_the_bare_libraries(blank: bytes) -> None:
    columns = tuple(Column(field, place, 0 if field == "result" else -1) for place, field in enumerate(FIELDS, 1))
    table = Table("Sheet", 1, ROWS, columns)
    layout = Layout(customer="a", name="b", workbook=Attached("a.xlsx", "", 1), tables=(table,))
    rows = tuple(
        RowSaid(0, 0, row - 1, column, said(row, column.field)) for column in columns for row in range(1, ROWS + 1)
    )
    filling = Filling(layout, (), rows, {"Sheet": 0}, {})
    done = fill(blank, "a.xlsx", filling)
    with zipfile.ZipFile(io.BytesIO(done.content)) as ours, zipfile.ZipFile(io.BytesIO(bare(blank))) as theirs:
        part = "xl/worksheets/sheet1.xml"
        assert etree.tostring(etree.fromstring(ours.read(part))) == etree.tostring(etree.fromstring(theirs.read(part)))
    least, taken = timed(lambda: bare(blank)), timed(lambda: fill(blank, "a.xlsx", filling))
    print(f"filled {ROWS} rows in {taken:.3f} s, bare {least:.3f} s, ratio {taken / least:.2f}")
    assert taken <= 1.5 * least
