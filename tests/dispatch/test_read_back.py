"""What goes out reads back equal to the report: every reading, limit, unit, verdict and reason, in all three files."""

import csv
import re
import shutil
import subprocess
import tempfile
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from inspection.reasons import Refused
from inspection.sheet.report import Line, Report, Result, Signed, Value
from inspection.words.say import say
from storage.csv_cells import guarded, unguarded
from storage.dispatch.pdf import pdf_bytes
from storage.dispatch.table import COLUMNS, write_csv
from storage.dispatch.workbook import write_workbook
from storage.typeface import characters

# --- reports made by a rule: hostile texts, numbers with trailing zeros, open sides, withdrawn readings -------------

HOSTILE = [
    "=2+2",
    "+cmd|' /C calc'!A0",
    "-3",
    "@SUM(A1)",
    "'quoted",
    '"',
    "a,b;c\td",
    "#N/A",
    "2026-01-02",
    "1e5",
    "TRUE",
]
alphabet = st.sampled_from(sorted(characters() - set("\u00ad")))
texts = st.one_of(st.sampled_from(HOSTILE), st.text(alphabet, max_size=30), st.just(""))
named = st.one_of(st.sampled_from(HOSTILE), st.builds("n{}".format, st.text(alphabet, max_size=30)))
numbers = st.builds(
    lambda count, decimals: f"{Decimal(count).scaleb(-decimals):.{decimals}f}",
    st.integers(-99_999, 99_999),
    st.integers(0, 5),
)
states = st.sampled_from(["open", "conforming", "conforming, instrument marginal", "not conforming", "not judged"])


@st.composite
def values(draw: st.DrawFn, serial: str) -> Value:
    number = draw(st.one_of(numbers, st.just("")))
    return Value(
        serial=serial,
        text=number or draw(named),
        number=number,
        decimals=len(number.partition(".")[2]),
        unit=draw(st.sampled_from(["in", "mm", "µm", "°"])) if number else "",
        place=draw(texts),
        role=draw(texts),
        instrument=draw(texts),
        calibration=draw(texts),
        by=draw(texts),
        taken="2026-11-25 09:12",
        written=draw(texts),
        converted=draw(st.booleans()),
        withdrawn=draw(texts),
    )


@st.composite
def rows(draw: st.DrawFn, number: str, serials: tuple[str, ...]) -> Line:
    lower, upper = draw(st.one_of(numbers, st.just(""))), draw(st.one_of(numbers, st.just("")))
    taken = [value for serial in serials for value in draw(st.lists(values(serial), max_size=3))]
    results = tuple(
        Result(
            serial, draw(st.one_of(numbers, texts)), draw(states), draw(named), tuple(draw(st.lists(named, max_size=2)))
        )
        for serial in serials
    )
    return Line(
        number=number,
        requirement=draw(named),
        name=draw(texts),
        place=draw(texts),
        kind=draw(texts),
        sheet=draw(texts),
        zone=draw(texts),
        key=draw(texts),
        condition=draw(texts),
        lower=lower,
        upper=upper,
        lower_number=lower,
        upper_number=upper,
        unit="in",
        decimals=4,
        explained=tuple(draw(st.lists(named, max_size=2))),
        values=tuple(taken),
        results=results,
        state=draw(states),
        verdict=draw(named),
        notes=tuple(draw(st.lists(named, max_size=2))),
    )


@st.composite
def reports(draw: st.DrawFn) -> Report:
    serials = tuple(f"S{place}" for place in range(draw(st.sampled_from([1, 3, 6]))))
    lines = tuple(draw(rows(f"{place}.1", serials)) for place in range(draw(st.integers(1, 3))))
    return Report(
        title=draw(named),
        head=(("customer", draw(texts)),),
        serials=serials,
        lines=lines,
        totals=(draw(named),),
        signatures=(Signed(draw(named), draw(named), "2026-11-25 11:02", "3f" * 32, "ab" * 32),),
        cautions=(draw(named),),
        labels={},
        sealed=True,
        shop=draw(named),
    )


# --- csv ------------------------------------------------------------------------------------------------------------


def csv_rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return [{name: unguarded(text) for name, text in row.items()} for row in csv.DictReader(file)]


def expected_csv(report: Report) -> list[tuple[str, ...]]:
    expected = []
    for line in report.lines:
        for serial in report.serials:
            result = next((each for each in line.results if each.serial == serial), Result(serial, "", "", ""))
            for value in [each for each in line.values if each.serial == serial] or [Value(serial, "")]:
                expected.append(
                    (
                        line.number,
                        line.requirement,
                        line.lower_number,
                        line.upper_number,
                        line.unit,
                        serial,
                        value.number or value.text,
                        value.instrument,
                        value.calibration,
                        value.withdrawn,
                        result.state,
                        result.verdict,
                        " | ".join(result.reasons),
                        " | ".join(line.notes),
                    )
                )
    return expected


COMPARED = (
    "number",
    "requirement",
    "lower",
    "upper",
    "unit",
    "piece",
    "reading",
    "instrument",
    "calibration",
    "withdrawn",
    "state",
    "verdict",
    "reasons",
    "notes",
)


def check_csv(report: Report, folder: Path) -> None:
    path = folder / "readings.csv"
    write_csv(report, path)
    assert [tuple(row[name] for name in COMPARED) for row in csv_rows(path)] == expected_csv(report)


def test_csv_of_the_focuser_reads_back(focuser: Report, tmp_path: Path) -> None:
    check_csv(focuser, tmp_path)


@settings(deadline=None, max_examples=60)
@given(reports())
def test_any_csv_reads_back(report: Report) -> None:
    with tempfile.TemporaryDirectory() as folder:
        check_csv(report, Path(folder))


@given(st.text())
def test_guarding_is_undone_exactly_and_no_formula_is_left(text: str) -> None:
    assert unguarded(guarded(text)) == text
    if guarded(text)[:1] in ("=", "+", "-", "@", "\t", "\r"):
        assert re.fullmatch(r"-?\d+(\.\d+)?", guarded(text))


def test_a_negative_number_stays_a_number_and_keeps_its_decimals(focuser: Report, tmp_path: Path) -> None:
    line = focuser.lines[0]
    value = replace(line.values[0], text="-0.0200", number="-0.0200")
    write_csv(replace(focuser, lines=(replace(line, values=(value,)),)), tmp_path / "readings.csv")
    raw = (tmp_path / "readings.csv").read_bytes()
    assert b",-0.0200," in raw
    assert raw.startswith(b"\xef\xbb\xbfnumber,")
    assert len(raw.splitlines()[0].split(b",")) == len(COLUMNS)


# --- workbook -------------------------------------------------------------------------------------------------------


def shown(cell: Any) -> str:
    """A cell as a spreadsheet program shows it, by its own number format."""
    if cell.data_type != "n" or cell.value is None:
        return str(cell.value or "")
    return f"{Decimal(str(cell.value)):.{len(cell.number_format.partition('.')[2])}f}"


def check_workbook(report: Report, folder: Path) -> None:
    path = folder / "sheet.xlsx"
    write_workbook(report, path)
    book = openpyxl.load_workbook(path)
    results, readings, head = book.worksheets
    assert not [cell for sheet in book for row in sheet.iter_rows() for cell in row if cell.data_type in "fe"]
    table = [[shown(cell) for cell in row] for row in results.iter_rows(min_row=2)]
    count = len(report.serials)
    for line, row in zip(report.lines, table, strict=True):
        assert (row[0], row[3]) == (line.number, line.requirement)
        assert row[5:8] == [
            line.lower_number and f"{Decimal(line.lower_number):.{decimals(line, line.lower_number)}f}",
            line.upper_number and f"{Decimal(line.upper_number):.{decimals(line, line.upper_number)}f}",
            line.unit,
        ]
        for place, result in enumerate(line.results):
            text, verdict = row[9 + 2 * place : 11 + 2 * place]
            assert text == result.text or Decimal(text) == Decimal(result.text)
            assert verdict.split(" ", 1)[1] == result.verdict
            assert all(reason in row[10 + 2 * count] for reason in result.reasons)
        assert row[-1] == "\n".join(line.notes)
    taken = [[shown(cell) for cell in row] for row in readings.iter_rows(min_row=2)]
    told = [(line, value) for line in report.lines for value in line.values]
    for (line, value), row in zip(told, taken, strict=True):
        assert row[:7] == [
            line.number,
            line.requirement,
            value.serial,
            value.place,
            value.role,
            value.number or value.text,
            value.unit,
        ]
        assert row[7:] == [value.written, value.instrument, value.calibration, value.by, value.taken, value.withdrawn]
    said = [cell.value for row in head.iter_rows() for cell in row]
    assert {report.signatures[0].digest, report.signatures[0].person} <= set(said)


def decimals(line: Line, number: str) -> int:
    return max(line.decimals, len(number.partition(".")[2]))


def test_workbook_of_the_focuser_reads_back(focuser: Report, tmp_path: Path) -> None:
    check_workbook(focuser, tmp_path)


@settings(deadline=None, max_examples=30)
@given(reports())
def test_any_workbook_reads_back(report: Report) -> None:
    with tempfile.TemporaryDirectory() as folder:
        check_workbook(report, Path(folder))


def test_numbers_are_numbers_and_keep_the_drawing_s_decimals(focuser: Report, tmp_path: Path) -> None:
    write_workbook(focuser, tmp_path / "sheet.xlsx")
    readings = openpyxl.load_workbook(tmp_path / "sheet.xlsx").worksheets[1]
    cell = next(row[5] for row in readings.iter_rows() if row[0].value == "14")
    assert (cell.data_type, cell.value, cell.number_format, shown(cell)) == ("n", 0.5, "0.0000", "0.5000")


def with_mean(report: Report, text: str, number: str) -> Report:
    line = next(line for line in report.lines if line.number == "14")
    results = (replace(line.results[0], text=text, number=number), *line.results[1:])
    return replace(report, lines=(replace(line, results=results),))


@pytest.mark.parametrize(
    ("text", "number", "number_format"),
    [
        ("mean 0.50007 (n = 3)", "0.50007", '"mean "0.00000" (n = 3)";"mean "-0.00000" (n = 3)"'),
        ("mean -0.0012 (n = 3)", "-0.0012", '"mean "0.0000" (n = 3)";"mean "-0.0000" (n = 3)"'),
        ('"=" 1.25', "1.25", '\\""="\\"" "0.0000;\\""="\\"" "-0.0000'),
    ],
)
def test_a_mean_is_a_number_whose_format_says_what_it_is(
    focuser: Report, tmp_path: Path, text: str, number: str, number_format: str
) -> None:
    write_workbook(with_mean(focuser, text, number), tmp_path / "sheet.xlsx")
    cell = openpyxl.load_workbook(tmp_path / "sheet.xlsx").worksheets[0].cell(2, 10)
    assert (cell.data_type, Decimal(str(cell.value))) == ("n", Decimal(number))
    assert cell.number_format == number_format


@pytest.mark.skipif(shutil.which("soffice") is None, reason="soffice (LibreOffice) is not installed")
@pytest.mark.parametrize(
    ("text", "number"),
    [("mean 0.50007 (n = 3)", "0.50007"), ("mean -0.0012 (n = 3)", "-0.0012"), ('"x" 1.2500', "1.2500")],
)
def test_another_spreadsheet_program_shows_a_mean_in_its_words(
    focuser: Report, tmp_path: Path, text: str, number: str
) -> None:
    write_workbook(with_mean(focuser, text, number), tmp_path / "sheet.xlsx")
    assert as_shown(tmp_path)[1][9] == text


@pytest.mark.parametrize("text", HOSTILE)
def test_no_text_becomes_anything_else(focuser: Report, tmp_path: Path, text: str) -> None:
    line = replace(focuser.lines[0], requirement=text, notes=(text,))
    write_workbook(replace(focuser, lines=(line,)), tmp_path / "sheet.xlsx")
    results = openpyxl.load_workbook(tmp_path / "sheet.xlsx").worksheets[0]
    for cell in (results["D2"], results.cell(2, results.max_column)):
        assert (cell.value, cell.data_type) == (text, "s")
        assert bool(cell.quotePrefix) == text.startswith(("=", "+", "-", "@"))


def test_heads_stay_in_sight_and_on_paper(focuser: Report, tmp_path: Path) -> None:
    write_workbook(focuser, tmp_path / "sheet.xlsx", paper="Letter")
    for sheet in openpyxl.load_workbook(tmp_path / "sheet.xlsx").worksheets[:2]:
        assert (sheet.freeze_panes, sheet.print_title_rows, sheet.page_setup.paperSize) == ("B2", "$1:$1", 1)
        assert sheet.page_setup.orientation == "landscape"


@pytest.mark.parametrize("write", [write_csv, write_workbook])
def test_what_no_file_can_carry_is_named(focuser: Report, tmp_path: Path, write: Any) -> None:
    line = replace(focuser.lines[0], notes=("pasted\x0btext \ud800",))
    with pytest.raises(Refused) as refused:
        write(replace(focuser, lines=(line,)), tmp_path / "out")
    assert say(refused.value.reasons[0]).startswith("Row 9, notes, holds U+000B, U+D800,")
    assert list(tmp_path.iterdir()) == []


def test_a_text_longer_than_a_cell_is_refused_not_cut(focuser: Report, tmp_path: Path) -> None:
    line = replace(focuser.lines[0], notes=("x" * 32_768,))
    with pytest.raises(Refused) as refused:
        write_workbook(replace(focuser, lines=(line,)), tmp_path / "sheet.xlsx")
    assert "Row 9, notes, is 32768 characters long" in say(refused.value.reasons[0])
    assert list(tmp_path.iterdir()) == []


def as_shown(folder: Path) -> list[list[str]]:
    """The first table of ``sheet.xlsx`` as LibreOffice shows its cells."""
    home = f"-env:UserInstallation={(folder / 'home').as_uri()}"
    told = ["soffice", home, "--headless", "--convert-to", "csv:Text - txt - csv (StarCalc):44,34,76,1", "sheet.xlsx"]
    subprocess.run(told, cwd=folder, check=True, capture_output=True, timeout=120)
    with (folder / "sheet.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


@pytest.mark.skipif(shutil.which("soffice") is None, reason="soffice (LibreOffice) is not installed")
def test_another_spreadsheet_program_reads_the_same(focuser: Report, tmp_path: Path) -> None:
    line = replace(focuser.lines[0], requirement="=2+2", notes=("@SUM(1;2)",))
    write_workbook(replace(focuser, lines=(line, *focuser.lines[1:])), tmp_path / "sheet.xlsx")
    table = as_shown(tmp_path)
    assert (table[1][3], table[1][-1]) == ("=2+2", "@SUM(1;2)")
    assert table[1][5:7] == ["1.2495", "1.2505"]
    assert [row[9] for row in table if row[0] == "14"] == ["0.5000"]


# --- pdf ------------------------------------------------------------------------------------------------------------


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


def pdf_text(report: Report) -> str:
    document = pypdfium2.PdfDocument(pdf_bytes(report))
    return squeezed("".join(page.get_textpage().get_text_bounded() for page in document))


def test_the_printed_sheet_tells_everything_in_the_report(focuser: Report) -> None:
    text = pdf_text(focuser)
    for line in focuser.lines:
        for part in (line.number, line.requirement, line.lower, line.upper, line.name, *line.explained, *line.notes):
            assert squeezed(part) in text, part
        for value in line.values:
            for part in (
                value.text,
                value.place,
                value.role,
                value.calibration,
                value.by,
                value.written,
                value.withdrawn,
            ):
                assert squeezed(part) in text, part
            assert squeezed(value.instrument) in text
        for result in line.results:
            for part in (result.verdict, *result.reasons):
                assert squeezed(part) in text, part
    for signed in focuser.signatures:
        assert signed.digest in text
        assert squeezed(signed.statement) in text
    for caution in focuser.cautions:
        assert squeezed(caution) in text


@settings(deadline=None, max_examples=40)
@given(reports())
def test_any_report_prints_every_reading(report: Report) -> None:
    text = pdf_text(report)
    for line in report.lines:
        for value in line.values:
            if value.number:
                assert value.number in text
