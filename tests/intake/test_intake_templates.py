"""Workbook templates: what they hold, what is filled into them reads back, and another office program keeps it."""

from __future__ import annotations

import io
import shutil
import subprocess
from pathlib import Path

import openpyxl
import pytest
from openpyxl.worksheet.worksheet import Worksheet

from inspection.drawing.characteristic import Characteristic, Condition, FeatureKind
from inspection.words.say import known as has_words
from storage.book.failures import BookFailure
from storage.intake.faults import FileRefused
from storage.intake.features import FeatureFile, read_features
from storage.intake.grid import names
from storage.intake.readings import read_readings
from storage.intake.template_workbook import workbook_template
from storage.intake.templates import write_template

FILLED = [
    {"serial": "007", "number": "7.10", "requirement": "⌀.7500 ±.0005", "limits": "0.7495 … 0.7505 in"},
    {"serial": "007", "number": "8", "requirement": "=1.250", "limits": "1.245 … 1.255 in", "repeat": "1"},
    {"serial": "007", "number": "9", "limits": "read blind", "role": "go"},
]
FEATURES = [
    {"number": "7.10", "kind": "outside diameter", "requirement": "⌀.7500 ±.0005", "blind": "yes", "sampling": "all"},
    {"number": "2", "kind": "length", "requirement": "0.500", "condition": "before coating", "places": "top; foot"},
    {"number": "3", "kind": "length", "requirement": "1/2", "unit": "in"},
]
HEAD = {"part": "QF-11", "revision": "A", "serials": "A1, A2", "default .xxx": "±.005", "default fraction": "1/64"}


def column_of(page: Worksheet, head: str) -> int:
    return next(cell.column for cell in page[1] if cell.value == head)


def filled_features() -> bytes:
    """The feature template with ``FEATURES`` typed into it."""
    book = openpyxl.load_workbook(io.BytesIO(workbook_template("features")))
    page, head = book["Features"], book["Head"]
    for number, row in enumerate(FEATURES, 2):
        for field, text in row.items():
            page.cell(number, column_of(page, names("features")[field][0])).value = text
    lines = {cell.value: cell.row for cell in head["A"]}
    for name, text in HEAD.items():
        head.cell(lines[name], 2).value = text
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def expect_features(file: FeatureFile) -> None:
    rows: list[Characteristic] = list(file.characteristics)
    assert (file.part.number, file.part.revision, file.serials) == ("QF-11", "A", ("A1", "A2"))
    assert [(row.number, row.kind, row.requirement.written) for row in rows] == [
        ("7.10", FeatureKind.OUTSIDE_DIAMETER, "⌀.7500 ±.0005"),
        ("2", FeatureKind.LENGTH, "0.500"),
        ("3", FeatureKind.LENGTH, "1/2"),
    ]
    assert [(row.blind, row.condition, row.places) for row in rows[:2]] == [
        (True, Condition.AS_FINISHED, ()),
        (False, Condition.BEFORE_COATING, ("top", "foot")),
    ]
    assert file.notices == ()


@pytest.mark.parametrize("kind", ["features", "readings"])
def test_every_cell_to_be_filled_is_text_and_every_column_is_told(kind: str) -> None:
    book = openpyxl.load_workbook(io.BytesIO(workbook_template(kind)))
    page = book.worksheets[0]
    assert [cell.value for cell in page[1]] == [known[0] for known in names(kind).values()]
    for field, cell in zip(names(kind), page[1], strict=True):
        assert page.column_dimensions[cell.column_letter].number_format == "@"
        assert has_words(f"template.{kind}.{field}")
    assert page.freeze_panes
    assert all(sheet.sheet_state == "visible" for sheet in book.worksheets)


def test_head_lines_are_all_told() -> None:
    assert [field for field in names("head") if not has_words(f"template.head.{field}")] == []


def test_drop_downs_offer_words_that_are_read() -> None:
    book = openpyxl.load_workbook(io.BytesIO(workbook_template("features")))
    words = book["Words"]
    offered = {str(column[0].value): [cell.value for cell in column[1:] if cell.value] for column in words.columns}
    assert offered["Words for kind"] == list(FeatureKind)
    lists = [one for one in book["Features"].data_validations.dataValidation if one.type == "list"]
    assert len(lists) == 7
    for one in lists:
        sheet, cells = str(one.formula1).split("!")
        assert sheet == "'Words'"
        assert all(cell.value for row in words[cells.replace("$", "")] for cell in row)
    for kind in offered["Words for kind"]:
        text = f"# part,1\n# rev,A\nnumber,kind,requirement,unit\n1,{kind},X,in\n"
        try:
            read_features(text.encode(), "x.csv")
        except FileRefused as refused:
            assert "row.unknown" not in [reason.code for reason in refused.reasons]


def test_an_empty_template_says_what_is_missing() -> None:
    with pytest.raises(FileRefused) as caught:
        read_features(workbook_template("features"), "new.xlsx")
    assert {fault.reason.code for fault in caught.value.faults} == {"intake.head_line_missing", "intake.no_rows"}


def test_features_typed_into_the_template_read_back() -> None:
    expect_features(read_features(filled_features(), "shop.xlsx"))


def test_readings_typed_into_a_sheets_template_read_back_and_the_rest_is_passed_over() -> None:
    book = openpyxl.load_workbook(io.BytesIO(workbook_template("readings", FILLED)))
    page = book.worksheets[0]
    assert [page.cell(3, column_of(page, "requirement")).data_type, page.cell(3, 1).value] == ["s", "007"]
    page.cell(2, column_of(page, "reading")).value = ".7501"
    stream = io.BytesIO()
    book.save(stream)
    file = read_readings(stream.getvalue(), "shop.xlsx")
    assert [(row.number, row.reading, row.requirement) for row in file.rows] == [("7.10", ".7501", "⌀.7500 ±.0005")]
    assert [(notice.code, notice.parts) for notice in file.notices] == [("intake.rows_left_empty", {"n": 2})]
    page.cell(2, column_of(page, "reading")).value = None
    page.cell(3, column_of(page, "instrument")).value = "M-1"  # touched, and still no reading
    book.save(stream := io.BytesIO())
    with pytest.raises(FileRefused) as caught:
        read_readings(stream.getvalue(), "shop.xlsx")
    assert [(fault.address, fault.reason.code) for fault in caught.value.faults] == [
        ("Readings!H3", "intake.row_says_nothing")
    ]


def test_a_template_is_the_same_every_time_and_overwrites_nothing(tmp_path: Path) -> None:
    path = tmp_path / "Vorlage.XLSX"
    write_template("readings", path, FILLED)
    assert path.read_bytes() == workbook_template("readings", FILLED)
    with pytest.raises(BookFailure):
        write_template("readings", path)
    write_template("readings", tmp_path / "plain.csv", FILLED)
    assert read_rows(tmp_path / "plain.csv") == "intake.no_readings"


def read_rows(path: Path) -> str:
    with pytest.raises(FileRefused) as caught:
        read_readings(path.read_bytes(), path.name)
    return caught.value.faults[0].reason.code


@pytest.mark.slow
def test_libreoffice_keeps_what_was_typed_into_the_template(tmp_path: Path) -> None:
    office = shutil.which("soffice")
    if office is None:
        pytest.skip("LibreOffice is not there")
    (tmp_path / "out").mkdir()
    path = tmp_path / "shop.xlsx"
    path.write_bytes(filled_features())
    profile = (tmp_path / "profile").as_uri()
    for form in ("xlsx", "pdf"):
        command = [office, f"-env:UserInstallation={profile}", "--headless", "--convert-to", form, "--outdir"]
        subprocess.run([*command, str(tmp_path / "out"), str(path)], check=True, capture_output=True, timeout=120)
    expect_features(read_features((tmp_path / "out" / "shop.xlsx").read_bytes(), "shop.xlsx"))
    assert (tmp_path / "out" / "shop.pdf").read_bytes().startswith(b"%PDF")
