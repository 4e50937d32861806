"""The first article report in three parts: what the standard asks for is there, and what is missing stands on it.

The boxes are those of the aerospace standard 9102 as remembered (``resources/tables/first_article.csv``); that every
characteristic stands in part 3 with its result is checked against the sheet, read back by other programs.
"""

from __future__ import annotations

import importlib.util
import io
import shutil
import subprocess
from copy import copy
from pathlib import Path

import pytest
from openpyxl import load_workbook

from inspection.sheet import acts
from inspection.sheet.first_article import first_article
from inspection.sheet.missing import missing
from inspection.sheet.reporting import report
from storage.dispatch.first_article import first_article_pdf, first_article_workbook

HERE = Path(__file__).parent


@pytest.fixture(scope="module")
def life():
    def module(path):
        spec = importlib.util.spec_from_file_location(path.stem, path)
        found = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(found)
        return found

    lives = module(HERE.parent / "sheet" / "conftest.py")
    return module(HERE / "customer_forms" / "conftest.py").measured_life(lives, ("001", "002"))


@pytest.fixture(scope="module")
def told(life):
    return first_article(life.sheet, life.shop, report(life.sheet, life.shop))


def test_every_characteristic_of_every_piece_is_accounted_for(life, told):
    assert [part.code for part in told.parts] == ["accountability", "product", "characteristics", "characteristics"]
    numbers = sorted(row.number for row in life.sheet.plan.characteristics)
    for part, serial in zip(told.parts[2:], ("001", "002"), strict=True):
        assert part.serial == serial
        assert sorted(row[0] for row in part.rows) == numbers
    second = {row[0]: row for row in told.parts[3].rows}
    assert second["9"][4] == "0.306 in\nnot conforming"
    assert second["1"][4] == "0.501 in"


def test_what_is_missing_stands_on_it(life, told):
    """A box that nobody filled in, and every lack of the sheet; nobody stated it complete."""
    head = {box.label: box for box in (*told.parts[0].head, *told.parts[0].foot)}
    assert (head["detail or assembly"].text, head["detail or assembly"].lacking) == ("not filled in", True)
    assert (head["additional changes"].text, head["additional changes"].lacking) == ("none", False)
    assert head["purchase order number"].text == "PO-5521"
    assert len(told.lacks) == len(missing(life.shop, life.sheet)) > 0
    assert told.standing.startswith("Not complete")


def test_the_workbook_holds_texts_alone_and_is_the_same_each_time(told):
    content = first_article_workbook(told)
    assert first_article_workbook(told) == content
    book = load_workbook(io.BytesIO(content))
    assert len(book.sheetnames) == 4
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert {cell.data_type for cell in cells} <= {"s", "n"}
    texts = {cell.value for cell in cells}
    assert {"5 characteristic number", "9 results", "0.306 in\nnot conforming"} <= texts
    third = book.worksheets[2]
    (top,) = {cell.row for cell in cells if cell.value == "5 characteristic number" and cell.parent is third}
    assert third.print_title_rows == f"${top}:${top}"  # heads stand on every page
    assert {cell.border.bottom.style for cell in third[top + 1]} == {"hair"}  # under empty cells too


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext (poppler) is not installed")
def test_the_pages_say_the_same(told, tmp_path):
    content = first_article_pdf(told)
    assert first_article_pdf(told) == content
    (tmp_path / "a.pdf").write_bytes(content)
    said = subprocess.run(["pdftotext", "-layout", tmp_path / "a.pdf", "-"], capture_output=True, check=True, text=True)
    for text in ("Part 1", "Part 2", "Part 3", "not filled in", "0.306 in", "DEBURR ALL EDGES", "PO-5521"):
        assert text in said.stdout


def test_a_nonconformance_stands_in_its_box_by_its_number(life):
    """On the row and piece that it names, and at the head; nothing asks for a note any more."""
    twin = copy(life)
    twin.sheets = dict(life.sheets)
    row, piece = twin.cell("9", 1)
    twin.do(
        acts.RaiseNonconformance(
            sheet=twin.sheet_id, piece=piece, characteristics=(row,), number="NC-31", what="over by one feed step"
        )
    )
    told = first_article(twin.sheet, twin.shop, report(twin.sheet, twin.shop))
    place = [column.number for column in told.parts[3].columns].index("11")
    named = [(part.serial, line[0], line[place]) for part in told.parts[2:] for line in part.rows if line[place]]
    assert named == [("002", "9", "NC-31")]
    assert [box.text for box in told.parts[0].foot if "nonconformance" in box.label] == ["NC-31"]
    assert "Row 9 is not conforming, and nobody has decided on NC-31 yet." in told.lacks
