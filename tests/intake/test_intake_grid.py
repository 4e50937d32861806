"""Csv files as grids: what is read, and every fault by its place."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.reasons import Refused
from inspection.words.say import known as has_words
from inspection.words.say import say
from storage.book.failures import BookFailure
from storage.intake.faults import MOST_KEPT, MOST_LISTED, FileRefused
from storage.intake.grid import (
    LARGEST_FILE,
    LONGEST_CELL,
    MOST_IN_FRONT,
    FrontLine,
    Grid,
    field_of,
    names,
    read_bytes,
    read_grid,
)
from storage.intake.templates import template, write_template

KNOWN = names("readings")
REQUIRED = ("number", "reading")


def grid_of(data: bytes, most: int = 100) -> Grid:
    grid, faults = read_grid(data, "file.csv", KNOWN, REQUIRED, most)
    faults.settle()
    return grid


def faults_of(data: bytes, most: int = 100) -> list[tuple[int, str, int, str]]:
    with pytest.raises(FileRefused) as caught:
        grid_of(data, most)
    for reason in caught.value.reasons:
        assert has_words(reason.code), reason.code
        assert "[" not in say(reason)
    return [(fault.row, fault.column, fault.at, fault.reason.code) for fault in caught.value.faults]


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_delimiters_marks_and_line_ends(delimiter: str, mark: bytes, ending: str) -> None:
    text = ending.join([delimiter.join(["Reading", "NUMBER"]), delimiter.join(["0.5", "7.10"]), ""])
    grid = grid_of(mark + text.encode())
    assert [row.cells for row in grid.rows] == [{"reading": "0.5", "number": "7.10"}]


def test_a_decimal_comma_stays_in_its_cell_under_semicolons() -> None:
    assert grid_of(b"number;reading\n1;0,5\n").rows[0].cells["reading"] == "0,5"


@pytest.mark.parametrize("head", ["Balloon No.", "balloon_no", " BALLOON-NO ", "Nr", "number", "Char. No."])
def test_heads_are_known_by_synonyms_in_any_case(head: str) -> None:
    assert field_of(head, KNOWN) == "number"


def test_rows_are_numbered_as_a_spreadsheet_shows_them() -> None:
    grid = grid_of(b'number,reading,note\n1,.5,"two\nlines"\n\n2,.6,\n')
    assert [row.number for row in grid.rows] == [2, 4]


def test_lines_in_front_of_the_table() -> None:
    grid = grid_of(b"# part,OB-1,,\n#Rev:,C,,\n,,,\nnumber,reading\n1,2\n")
    assert grid.front == (FrontLine(1, "part", "OB-1"), FrontLine(2, "Rev", "C"))


def test_all_faults_are_told_together_in_the_files_order() -> None:
    data = b"number,reading,raeding,number\n1,a\x07b,,\n2,3,4,5,6\n"
    assert faults_of(data) == [
        (1, "raeding", 0, "intake.head_unknown_near"),
        (1, "number", 0, "intake.head_twice"),
        (2, "reading", 2, "intake.odd_character"),
        (3, "", 0, "intake.too_many_cells"),
    ]


@pytest.mark.parametrize(
    ("data", "row", "code"),
    [
        (b"", 0, "intake.empty"),
        (b"  \n", 0, "intake.empty"),
        (b"PK\x03\x04whatever", 0, "intake.is_workbook"),
        (b"%PDF-1.7", 0, "intake.is_pdf"),
        ("number,reading".encode("utf-16"), 0, "intake.is_utf16"),
        (b"number,reading\n1,2\n2,\x003", 3, "intake.nul"),
        ("number,reading\n1,½".encode("latin-1"), 2, "intake.not_utf8"),
        (b"alpha,beta\n1,2", 0, "intake.no_heads"),
        (b"number\n1", 1, "intake.head_missing"),
        (b'number,reading\n1,"2\n2,3\n', 2, "intake.unclosed_quote"),
        (b'number,reading\n1,"2"x\n2,3\n', 2, "intake.stray_quote"),
        (b"number,reading\n1," + b"x" * (LONGEST_CELL + 1), 2, "intake.cell_too_long"),
        (b"number,reading\n1," + b"x" * 200_000, 2, "intake.cell_too_long"),
        (b"number,reading,\n1,2,3", 2, "intake.cell_without_head"),
    ],
)
def test_faults_by_their_place(data: bytes, row: int, code: str) -> None:
    found = faults_of(data)
    assert [(one[0], one[3]) for one in found] == [(row, code)]


def test_a_million_rows_are_refused_without_reading_them_all() -> None:
    data = b"number,reading\n" + b"1,2\n" * 1_000_000
    assert faults_of(data, most=1_000) == [(1002, "", 0, "intake.too_many_rows")]


def test_many_faults_are_counted_rather_than_listed() -> None:
    with pytest.raises(FileRefused) as caught:
        grid_of(b"number,reading\n" + b"1,2,3\n" * 90)
    assert len(caught.value.faults) == 90
    assert caught.value.reasons[-1].parts == {"n": 90 - MOST_LISTED}


def test_a_file_larger_than_any_such_file(tmp_path: Path) -> None:
    path = tmp_path / "großer Ordner.csv"
    with path.open("wb") as stream:
        stream.truncate(LARGEST_FILE + 1)
    with pytest.raises(Refused) as caught:
        read_bytes(path)
    assert caught.value.reasons[0].code == "intake.too_large"


@pytest.mark.parametrize("name", ["missing.csv", "."])
def test_no_file_at_all(tmp_path: Path, name: str) -> None:
    with pytest.raises(BookFailure):
        read_bytes(tmp_path / name)


def test_a_file_of_faults_alone_is_not_read_to_its_end() -> None:
    with pytest.raises(FileRefused) as caught:
        grid_of(b"number,reading\n" + b"1,2,3\n" * 90_000, most=100_000)
    assert (len(caught.value.faults), caught.value.count) == (MOST_KEPT, MOST_KEPT)
    assert say(caught.value.reasons[-1]) == "It was not read on after 2000 faults."


def test_more_lines_in_front_than_any_table_has() -> None:
    assert faults_of(b"# a,b\n" * 90_000) == [(0, "", 0, "intake.no_heads")]
    data = b"# a,b\n" * 90_000 + b"number,reading\n1,2\n"
    assert faults_of(data) == [(MOST_IN_FRONT + 1, "", 0, "intake.too_many_in_front")]


@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    try:
        grid_of(data)
    except FileRefused as refused:
        assert refused.faults
        assert all(has_words(reason.code) for reason in refused.reasons)


CELL = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cf", "Cs", "Co", "Cn")), max_size=20)


@given(st.lists(st.tuples(CELL, CELL), min_size=1, max_size=8), st.sampled_from(",;\t"))
def test_what_was_written_is_read(cells: list[tuple[str, str]], delimiter: str) -> None:
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=delimiter)
    writer.writerow(["number", "reading"])
    writer.writerows(cells)
    expected = [(a.strip(), b.strip()) for a, b in cells if a.strip() or b.strip()]
    found = [
        (row.cells.get("number", ""), row.cells.get("reading", "")) for row in grid_of(text.getvalue().encode()).rows
    ]
    assert found == expected


@pytest.mark.parametrize("kind", ["features", "readings"])
def test_templates_hold_every_column_and_overwrite_nothing(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "Vorlage für alle.csv"
    write_template(kind, path)
    grid, faults = read_grid(path.read_bytes(), path.name, names(kind), ("number",), 10)
    assert not faults.found
    assert list(grid.heads) == list(names(kind))
    with pytest.raises(BookFailure):
        write_template(kind, path)
    assert path.read_bytes() == template(kind)
