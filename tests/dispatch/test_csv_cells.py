"""No cell of a csv file starts a formula, wherever a spreadsheet program splits the line; texts come back as they were.

That a cell may start one with = + - @, after spaces or in full width, is common knowledge on csv files ("CSV
Injection", OWASP, from memory); that quotes protect nothing in the middle of a cell is RFC 4180, 2.5.
"""

from __future__ import annotations

import csv
import io
import shutil
import subprocess
import zipfile
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from storage.csv_cells import csv_of, guarded, unguarded

PIECES = (
    *"=+-@＝＋－＠'\"; \t\r\n|,.0a",
    "\u00a0",
    "\u200b",
    "\u2028",
    "\v",
    "1+1",
    "-0.5",
    ";=1+1;",
    ';"=1+1',
    "\r\n=1",
)
wild = st.one_of(st.lists(st.sampled_from(PIECES), max_size=8).map("".join), st.text(max_size=12))
tables = st.lists(st.lists(wild, min_size=3, max_size=3), min_size=1, max_size=3)


@given(wild)
@example("a;'=b")
@example("x;\t=1")
@example("''")
def test_a_text_comes_back(text: str) -> None:
    assert unguarded(guarded(text)) == text


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("-0.0030", "-0.0030"),  # a number of ours stays one
        ("-.003", "'-.003"),
        ("a;=1+1;", "a;'=1+1;"),
        ('a;"=1+1"', 'a;\'"=1+1"'),
        ("see\r\n- edges", "see\r\n'- edges"),
        (".5; 1; -.0001", ".5; 1;' -.0001"),
        ("4X ⌀.136 +.004/-.001; DEEP", "4X ⌀.136 +.004/-.001; DEEP"),
        ("a;\u00a0\u200b＝1", "a;'\u00a0\u200b＝1"),
    ],
)
def test_an_apostrophe_stands_where_a_cell_would_start_a_formula_and_nowhere_else(text: str, told: str) -> None:
    assert guarded(text) == told
    assert unguarded(told) == text


@pytest.mark.parametrize("text", ["'A' SIDE", "a;'b", "it's", "''", "x|'y"])
def test_an_apostrophe_that_somebody_typed_into_a_file_stays(text: str) -> None:
    assert unguarded(text) == text or guarded(unguarded(text)) == text


@given(tables)
@example([["n", "a;=1+1;", "b"]])
@example([["n", 'a;"=1+1;b', "b"], ["-5", "a,;", "=1"]])
@example([["n", "x", "a,;"], ["-0.5", '"', "=1"]])
def test_no_cell_starts_a_formula_however_the_line_is_split(started, table: list[list[str]]) -> None:
    made = csv_of(table)
    assert started(made) == []
    back = list(csv.reader(io.StringIO(made.decode("utf-8-sig"), newline="")))
    assert [[unguarded(cell) for cell in row] for row in back] == table


def test_what_looks_for_formulas_finds_them(started) -> None:
    for row in (b"n,a;=1+1;b", b'n,"a,;""=1"', b'n,"a\r\n =1"', b"n,a|@x", "n,a\t＝1".encode(), b"-5,=1", b"=1,b"):
        assert started(row), row


SEVERAL = ("59", "44/59/9/124")
"""Where LibreOffice is told to split: at semicolons alone; at commas, semicolons, tabs and bars."""


@pytest.mark.skipif(shutil.which("soffice") is None, reason="soffice (LibreOffice) is not installed")
@pytest.mark.parametrize("split", SEVERAL)
def test_another_spreadsheet_program_makes_no_formula_of_it(split: str, tmp_path: Path) -> None:
    texts = (
        "a;=1+1;b",
        'x;"=1+2;b',
        "x;=1+3,4",
        "q\t=1+4",
        "=1+5",
        "r|=1+6|",
        "s\n=1+7\n",
        "t; ＝1+8;",
        "-1+9",
        "u;-9+1;",
    )
    rows = [(text, "n", text, text) for text in texts]
    (tmp_path / "ours.csv").write_bytes(csv_of(rows))
    bare = io.StringIO(newline="")
    csv.writer(bare).writerows(rows)
    (tmp_path / "bare.csv").write_bytes(bare.getvalue().encode("utf-8-sig"))
    home = f"-env:UserInstallation={(tmp_path / 'home').as_uri()}"
    read = f"--infilter=CSV:{split},34,76,1,,0,false,true,false,false"
    told = ["soffice", home, "--headless", read, "--convert-to", "xlsx", "ours.csv", "bare.csv"]
    subprocess.run(told, cwd=tmp_path, check=True, capture_output=True, timeout=120)

    def formulas(name: str) -> int:
        with zipfile.ZipFile(tmp_path / name) as book:
            return book.read("xl/worksheets/sheet1.xml").count(b"<f ")

    assert formulas("bare.xlsx") > 2
    assert formulas("ours.xlsx") == 0
