"""Nonconformances, returned rounds and statements read back from page, workbook and csv file."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

import openpyxl
import pypdfium2
import pytest
from msgspec.structs import replace

from inspection.reasons import Refused
from inspection.sheet.report import NonconformanceLine, NonconformingRow, Report, ReturnLine, Stated
from storage.dispatch.pdf import pdf_bytes
from storage.dispatch.table import COLUMNS, csv_bytes
from storage.dispatch.workbook import write_workbook

NONCONFORMANCES = (
    NonconformanceLine(
        "NC-7",
        "001",
        "over by one feed step",
        "Ann Ames, 2026-03-02 12:15",
        (
            NonconformingRow("1", "0.5100, not conforming", "0.5030, conforming"),
            NonconformingRow("2", "0.5010, conforming", "not measured again yet", affected=True),
        ),
        "rework",
        "turn it once more",
        "Lea Lund, 2026-03-02 12:16",
    ),
    NonconformanceLine(
        "NC-8", "002", "short", "Ann Ames, 2026-03-02 12:19", (NonconformingRow("4", "0.4960"),), "use as is",
        "the seal runs on 2", "Lea Lund, 2026-03-02 12:23", "CR-118 of 2026-03-01: piece 002",
    ),
)  # fmt: skip
RETURNS = (ReturnLine("1", "Lea Lund, 2026-03-02 12:21", (("", "", "read once"), ("4", "", "both ends"))),)
STATED = Stated(
    "Round 2: first article not complete", "Lea Lund", "2026-03-02 12:25", "a partial follows",
    ("Row 4 does not conform.",), "Lea Lund had signed this sheet as well.", "1d" * 32, "2e" * 32, "3f" * 32, "4a" * 32,
)  # fmt: skip


@pytest.fixture
def reviewed(focuser: Report) -> Report:
    first, *rest = focuser.lines[0].results
    before = replace(focuser.lines[0].values[0], aside="before rework under NC-7")
    line = replace(
        focuser.lines[0],
        results=(replace(first, nonconformance="NC-7: rework"), *rest),
        values=(before, *focuser.lines[0].values),
    )
    return replace(
        focuser,
        lines=(line, *focuser.lines[1:3]),
        nonconformances=NONCONFORMANCES,
        returns=RETURNS,
        statements=(STATED,),
    )


def words(text: str) -> str:
    return re.sub(r"\s+", "", text)


def test_the_page_shows_all_of_it(reviewed: Report) -> None:
    document = pypdfium2.PdfDocument(pdf_bytes(reviewed))
    page = words("".join(document[n].get_textpage().get_text_range() for n in range(len(document))))
    told = [text for line in NONCONFORMANCES for text in (line.number, line.what, line.words, line.decided, line.leave)]
    told += [text for line in NONCONFORMANCES for row in line.rows for text in (row.found, row.again)]
    told += [RETURNS[0].returned, "read once", "both ends", "before rework under NC-7", "NC-7: rework"]
    told += [getattr(STATED, name) for name in Stated.__struct_fields__ if name != "reasons"] + [*STATED.reasons]
    assert [text for text in told if words(text) not in page] == []


def test_the_workbook_shows_all_of_it(reviewed: Report, tmp_path: Path) -> None:
    write_workbook(reviewed, tmp_path / "sheet.xlsx")
    book = openpyxl.load_workbook(tmp_path / "sheet.xlsx")
    rows = [[cell.value for cell in row] for row in book["Nonconformances"].iter_rows(min_row=2)]
    assert [row[:5] for row in rows] == [
        ["NC-7", "001", "1", "0.5100, not conforming", "0.5030, conforming"],
        ["NC-7", "001", "2", "affected: 0.5010, conforming", "not measured again yet"],
        ["NC-8", "002", "4", "0.4960", None],
    ]
    assert rows[2][7:] == ["use as is", "the seal runs on 2", "Lea Lund, 2026-03-02 12:23", NONCONFORMANCES[1].leave]
    back = [[cell.value for cell in row] for row in book["Returned rounds"].iter_rows(min_row=2)]
    assert [row[2:] for row in back] == [["the sheet", None, "read once"], ["4", None, "both ends"]]
    head = [cell.value for (cell,) in book["Sheet"].iter_rows(min_col=2, max_col=2)]
    assert set(STATED.reasons) | {STATED.statement, STATED.words, STATED.own, STATED.seal, STATED.baseline} <= set(head)


def test_the_csv_file_tells_it_in_its_last_columns(reviewed: Report) -> None:
    first, second, *_ = csv.DictReader(io.StringIO(csv_bytes(reviewed).decode("utf-8-sig"), newline=""))
    assert COLUMNS[-2:] == ("nonconformance", "put aside")
    assert (first["nonconformance"], first["put aside"]) == ("NC-7: rework", "before rework under NC-7")
    assert (second["nonconformance"], second["put aside"]) == ("NC-7: rework", "")


def test_a_letter_that_the_page_cannot_show_is_named_there_too(reviewed: Report) -> None:
    strange = replace(reviewed, statements=(replace(STATED, words="done 完"),))
    with pytest.raises(Refused) as refused:
        pdf_bytes(strange)
    assert refused.value.reasons[0].code == "dispatch.glyph.closing"
