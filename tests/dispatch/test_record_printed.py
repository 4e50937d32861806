"""Sub-items, materials, processes and tests read back from page and workbook; what was struck is on neither."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import openpyxl
import pypdfium2
import pytest
from msgspec.structs import replace

from inspection.attached import Attached
from inspection.reasons import Refused
from inspection.sheet.evidence import Approval, Evidence, EvidenceKind
from inspection.sheet.measured import measurement
from inspection.sheet.report import EvidenceLine, Report, SubItemLine
from inspection.sheet.report_evidence import evidence_line
from inspection.words.say import say
from storage.dispatch.pdf import pdf_bytes
from storage.dispatch.table import write_csv
from storage.dispatch.workbook import write_workbook

DIGEST = "3a" * 32
PLATE = Evidence(
    "p",
    EvidenceKind.MATERIAL,
    "6061-T6 plate, 1.5 in",
    "N2",
    "QS-12/8",
    "rev F",
    "heat 55-201",
    "Ostrava Metals",
    Approval.YES,
    "55-201",
    "2026-11-02",
    files=(Attached("mill certificate 55-201.pdf", DIGEST, 9), Attached("photograph of the mark.jpg", "4b" * 32, 9)),
    note="Cut from the third sheet of the heat.",
)
ANODISE = replace(
    PLATE, kind=EvidenceKind.PROCESS, name="anodise, black, type II", approved=Approval.NO, files=(), note=""
)
TESTS = (
    Evidence("a", EvidenceKind.TEST, "hardness", "N4", measurement=measurement("≥ 88.0 HRB", "89.5")),
    Evidence("b", EvidenceKind.TEST, "tightening torque", measurement=measurement("12 ±1 N·m", "106 in·lbf")),
    Evidence("c", EvidenceKind.TEST, "leak", measurement=measurement("MAX 5 mbar", "5.1"), code="pressure decay"),
    Evidence("d", EvidenceKind.TEST, "runs without noise", passed="yes", supplier="Kestrel Laboratory"),
    Evidence("e", EvidenceKind.TEST, "burst", measurement=measurement("60 … 75 psi")),
)
SUB_ITEMS = (
    SubItemLine("OB-2207-1", "C", "drawtube", "0014-1", "sheet 7"),
    SubItemLine("OB-2207-2", "A", "clamping ring", "0014-2", "certificate of conformity 12"),
)


@pytest.fixture
def recorded(focuser: Report) -> Report:
    lines = tuple(evidence_line(each) for each in (PLATE, ANODISE, *TESTS))
    return replace(focuser, evidence=lines, sub_items=SUB_ITEMS, lines=focuser.lines[:2])


def said(line: EvidenceLine) -> list[str]:
    told_apart = ("kind", "state", "files", "lower", "upper")
    texts = [getattr(line, field) for field in line.__struct_fields__ if field not in told_apart]
    limits = {"hardness": "≥ 88.0 HRB", "tightening torque": "11 … 13 N·m", "leak": "≤ 5 mbar", "burst": "60 … 75 psi"}
    texts.append(limits.get(line.name, ""))
    return [text for text in (*texts, *(part for file in line.files for part in file)) if text]


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


def page_texts(report: Report) -> list[str]:
    return [squeezed(page.get_textpage().get_text_bounded()) for page in pypdfium2.PdfDocument(pdf_bytes(report))]


def test_the_page_tells_the_whole_record(recorded: Report) -> None:
    text = "".join(page_texts(recorded))
    for line in recorded.evidence:
        for part in said(line):
            assert squeezed(part) in text, part
    for item in SUB_ITEMS:
        for field in item.__struct_fields__:
            assert squeezed(getattr(item, field)) in text
    places = [
        text.index(squeezed(title)) for title in ("Sub-items", "Materials", "Specialprocesses", "Functionaltests")
    ]
    assert places == sorted(places)


def test_a_result_in_another_unit_is_told_in_both(recorded: Report) -> None:
    torque = recorded.evidence[3]
    assert (torque.result, torque.verdict) == ("106 in·lbf (11.976391876 N·m)", "conforming")
    assert (torque.lower, torque.upper, torque.required) == ("11 N·m", "13 N·m", "12 ±1 N·m")


def test_a_source_is_approved_only_where_there_is_one(recorded: Report) -> None:
    """A test done in the house has no source; one done elsewhere is not decided until somebody says so."""
    assert [line.approved for line in recorded.evidence] == ["yes", "no", "", "", "", "not decided", ""]


def test_a_verdict_is_told_only_of_tests(recorded: Report) -> None:
    assert [line.verdict for line in recorded.evidence] == [
        "", "", "conforming", "conforming", "not conforming", "conforming", "open",
    ]  # fmt: skip
    assert [line.result for line in recorded.evidence[4:]] == ["5.1 mbar", "passed", ""]


def test_a_sheet_without_a_record_prints_no_empty_table(focuser: Report) -> None:
    text = "".join(page_texts(focuser))
    for title in ("Sub-items", "Materials", "Specialprocesses", "Functionaltests"):
        assert title not in text


def test_the_heads_of_a_long_table_stand_on_every_page_of_it(recorded: Report) -> None:
    many = tuple(replace(recorded.evidence[0], name=f"plate number {n}") for n in range(90))
    pages = page_texts(replace(recorded, evidence=many, sub_items=()))
    with_plates = [page for page in pages if "platenumber" in page]
    assert len(with_plates) > 2
    assert all("customerapproved" in page for page in with_plates)
    told = "".join(pages)
    assert all(f"platenumber{n}" in told for n in range(90))
    assert told.count(DIGEST) == 90


def table(sheet: Any) -> list[dict[str, str]]:
    heads, *rows = [[str(cell.value or "") for cell in row] for row in sheet.iter_rows()]
    return [dict(zip(heads, row, strict=True)) for row in rows]


def test_the_workbook_has_a_table_of_each_kind(recorded: Report, tmp_path: Path) -> None:
    write_workbook(recorded, tmp_path / "sheet.xlsx")
    book = openpyxl.load_workbook(tmp_path / "sheet.xlsx")
    assert book.sheetnames == [
        "Results", "Readings", "Materials", "Special processes", "Functional tests", "Sub-items", "Sheet",
    ]  # fmt: skip
    (plate,) = table(book["Materials"])
    assert (plate["name"], plate["revision"], plate["customer approved"]) == (PLATE.name, "rev F", "yes")
    assert plate["attached files"].split("\n") == [file.name for file in PLATE.files]
    assert plate["SHA-256"].split("\n") == [file.digest for file in PLATE.files]
    tests = table(book["Functional tests"])
    assert [row["result"] for row in tests] == [line.result for line in recorded.evidence[2:]]
    assert [row["verdict"].split(" ", 1)[1] for row in tests] == [line.verdict for line in recorded.evidence[2:]]
    assert [(row["lower limit"], row["upper limit"]) for row in tests[:2]] == [("88.0 HRB", ""), ("11 N·m", "13 N·m")]
    assert [row["part number"] for row in table(book["Sub-items"])] == ["OB-2207-1", "OB-2207-2"]
    for sheet in book.worksheets[:-1]:
        assert sheet.freeze_panes == "B2"


@pytest.mark.parametrize("text", ["=2+2", "+1", "-3", "@SUM(A1)", "'quoted", "2026-01-02", "#N/A"])
def test_no_text_of_the_record_becomes_a_formula(recorded: Report, tmp_path: Path, text: str) -> None:
    line = replace(recorded.evidence[0], name=text, specification=text, supplier=text, note=text)
    write_workbook(replace(recorded, evidence=(line,)), tmp_path / "sheet.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "sheet.xlsx")["Materials"]
    found = [cell for cell in sheet[2] if cell.value == text]
    assert len(found) == 4
    assert {cell.data_type for cell in found} == {"s"}


def test_the_csv_stays_the_rows(recorded: Report, focuser: Report, tmp_path: Path) -> None:
    """One file, one table: materials, processes and tests go out in page, workbook and data file."""
    write_csv(recorded, tmp_path / "one.csv")
    write_csv(replace(focuser, lines=focuser.lines[:2]), tmp_path / "other.csv")
    assert (tmp_path / "one.csv").read_bytes() == (tmp_path / "other.csv").read_bytes()


def test_a_letter_that_no_page_shows_is_named_with_its_place(recorded: Report) -> None:
    line = replace(recorded.evidence[1], supplier="\u4e2d")
    with pytest.raises(Refused) as refused:
        pdf_bytes(replace(recorded, evidence=(line,)))
    assert say(refused.value.reasons[0]).startswith("anodise, black, type II holds \u4e2d (U+4E2D)")


def test_a_number_of_more_digits_than_a_cell_holds_stays_as_it_is(focuser: Report, tmp_path: Path) -> None:
    line = replace(focuser.lines[0], lower_number="0.00009007199254740993", upper_number="9007199254740993")
    write_workbook(replace(focuser, lines=(line,)), tmp_path / "sheet.xlsx")
    row = openpyxl.load_workbook(tmp_path / "sheet.xlsx").worksheets[0][2]
    assert [cell.value for cell in row[5:7]] == ["0.00009007199254740993", "9007199254740993"]
