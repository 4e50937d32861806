"""Workbooks as grids: equal to what csv gives, a number as its format shows it, and files of another office program."""

from __future__ import annotations

import csv
import io
import re
import shutil
import subprocess
import zipfile
from collections.abc import Callable, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.styles import Font
from openpyxl.worksheet.worksheet import Worksheet

from inspection.words.say import say
from storage.intake.faults import FileRefused
from storage.intake.features import read_features
from storage.intake.grid import Grid, names, read_grid
from storage.intake.workbook.formats import Sense, number_of, shown

REQUIRED = ("number", "kind", "requirement")


def saved(workbook: Workbook) -> bytes:
    stream = io.BytesIO()
    workbook.save(stream)
    return stream.getvalue()


def workbook_of(rows: Sequence[Sequence[object]], sheet: str = "Features") -> tuple[Workbook, Worksheet]:
    workbook = Workbook()
    page = workbook.active
    assert isinstance(page, Worksheet)
    page.title = sheet
    for row in rows:
        page.append(list(row))
    return workbook, page


def grid_of(data: bytes, kind: str = "features", required: tuple[str, ...] = REQUIRED) -> Grid:
    grid, faults = read_grid(data, "shop.xlsx", names(kind), required, 1_000)
    faults.settle()
    return grid


def told(data: bytes) -> list[str]:
    with pytest.raises(FileRefused) as caught:
        grid_of(data)
    return [f"{say(fault.place())} {say(fault.reason)}" for fault in caught.value.faults]


# --- the same as csv ----------------------------------------------------------------------------------------------

CELL = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cf", "Cs", "Co", "Cn")), max_size=20)
FIELDS = ("number", "reading", "note")


@given(st.lists(st.tuples(CELL, CELL, CELL), min_size=1, max_size=8))
@settings(max_examples=60)
def test_texts_read_from_a_workbook_as_from_csv(cells: list[tuple[str, str, str]]) -> None:
    text = io.StringIO(newline="")
    csv.writer(text).writerows([FIELDS, *cells])
    workbook, page = workbook_of([FIELDS])
    for at, row in enumerate(cells, 2):
        for column, cell in enumerate(row, 1):
            if cell:
                page.cell(at, column, cell).data_type = "s"  # also what looks like a formula or an error
    required = ("number", "reading")
    plain = read_grid(text.getvalue().encode(), "shop.csv", names("readings"), required, 1_000)[0]
    found = grid_of(saved(workbook), "readings", required)
    assert [row.cells for row in found.rows] == [row.cells for row in plain.rows]
    assert [row.number for row in found.rows] == [row.number for row in plain.rows]
    assert found.heads == plain.heads


def test_a_whole_feature_file_is_equal_to_its_csv() -> None:
    lines = [
        ["# part", "QF-11"],
        ["# revision", "A"],
        ["# default .xxx", "±.005"],
        [],
        ["No.", "Kind", "Requirement as drawn", "Places", "Note"],
        ["1", "outside diameter", "⌀.7500 ±.0010", "top; foot", ""],
        ["7.10", "length", "1.250", "", "two\nlines"],
    ]
    text = io.StringIO(newline="")
    csv.writer(text).writerows(lines)
    workbook, _ = workbook_of(lines)
    assert read_features(saved(workbook), "shop.xlsx") == read_features(text.getvalue().encode(), "shop.csv")


def rewritten(data: bytes, change: Callable[[str], str]) -> bytes:
    """A workbook with the markup of its worksheets changed."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            part = old.read(name)
            if name.startswith("xl/worksheets/"):
                changed = change(part.decode()).encode()
                assert changed != part
                part = changed
            new.writestr(name, part)
    return out.getvalue()


@pytest.mark.parametrize(
    "change",
    [
        lambda text: re.sub(r"<(/?)(?=\w)", r"<\1x:", text).replace("xmlns=", "xmlns:x="),  # names with a prefix
        lambda text: re.sub(r' r="[A-Z]*[0-9]+"', "", text),  # cells and rows told by their order alone
        lambda text: text.replace("<t>", "<t><!-- a remark -->"),
        lambda text: text.replace("><", ">\n\t<"),
    ],
)
def test_other_ways_of_writing_the_same_worksheet(change: Callable[[str], str]) -> None:
    rows = [["# part", "QF-1"], ["# rev", "A"], REQUIRED, ["1", "length", "1.5 ±.1"], ["2", "bore", "⌀.5 ±.1"]]
    data = saved(workbook_of(rows)[0])
    assert read_features(rewritten(data, change), "shop.xlsx") == read_features(data, "shop.xlsx")


# --- numbers as they are shown ------------------------------------------------------------------------------------


@given(
    st.integers(-(10**9), 10**9),
    st.integers(0, 6),
    st.sampled_from(["{}", "{}_)", "[Red]{}", "#,##{}", '{}" mm"', "{};-{}", "{};[Red]-{}", "{};-{};{}"]),
)
def test_a_number_is_the_text_that_its_format_shows(digits: int, decimals: int, form: str) -> None:
    number = Decimal(digits).scaleb(-decimals)
    places = "0" + ("." + "0" * decimals if decimals else "")
    text = f"{number:.{decimals}f}" + (" mm" if "mm" in form else "")
    assert shown(form.replace("{}", places), repr(float(number))) == text


@given(st.integers(-(10**9), 10**9), st.integers(1, 6))
def test_a_number_with_more_decimals_than_shown_is_not_rounded(digits: int, decimals: int) -> None:
    number = Decimal(digits).scaleb(-decimals)
    fewer = "0." + "0" * (decimals - 1) if decimals > 1 else "0"
    assert (shown(fewer, repr(float(number))) is None) == (digits % 10 != 0)


@pytest.mark.parametrize(
    ("code", "raw", "text"),
    [
        ("0.000", "0.5", "0.500"),
        ("0.0000", "0.50000000000000011", None),  # one step of binary above a half
        ("0.0", "1.1000000000000001", "1.1"),  # as spreadsheets store 1.1
        ("0.000", "5e-1", "0.500"),
        ("0", "-0", "0"),
        ("000", "7", "007"),
        ("#.000", "0.5", ".500"),
        ("#,##0.00", "1234.5", "1234.50"),
        ('"⌀"0.000', "0.5", "⌀0.500"),
        ("⌀0.000", "0.5", "⌀0.500"),
        (r"0.00\ \m\m", "0.5", "0.50 mm"),
        ("[$-409]0.00", "0.5", "0.50"),
        ("0.00;(0.00)", "-0.5", Sense.OTHER),  # a sign told by brackets
        ("0.00;0.00", "-0.5", Sense.OTHER),  # a sign not told at all
        ("0.00;-0.0", "-0.5", Sense.OTHER),
        ('0.00;-0.00;"none"', "0", Sense.OTHER),
        (";;;", "0.5", Sense.OTHER),
        ("0.0##", "0.5", Sense.OTHER),
        ("0.???", "0.5", Sense.OTHER),
        ("#", "0", Sense.OTHER),
        ("0.00%", "0.5", Sense.OTHER),
        ("0.00E+00", "0.5", Sense.OTHER),
        ("0.000,", "1500", Sense.OTHER),
        ("[>1]0.0;0.00", "0.5", Sense.OTHER),
        ("General", "0.5", Sense.GENERAL),
        ("GENERAL", "0.5", Sense.GENERAL),
        ("", "0.5", Sense.OTHER),
        ("@", "0.5", Sense.TEXT),
        ("# ?/?", "0.5", Sense.FRACTION),
        ("# ??/64", "0.5", Sense.FRACTION),
        ("d-mmm", "46024", Sense.DATE),
        ("[$-F800]dddd, mmmm dd", "46024", Sense.DATE),
        ("[h]:mm", "0.5", Sense.DATE),
        ("0.00 mm", "0.5", Sense.DATE),  # months, to a spreadsheet
    ],
)
def test_formats(code: str, raw: str, text: str | Sense | None) -> None:
    assert shown(code, raw) == text


@pytest.mark.parametrize("raw", ["", "nan", "inf", "1_0", "0x1", "1e400", "1e16", "١", "1,5", " 1", "--1", "1" * 500])
def test_no_numbers(raw: str) -> None:
    assert number_of(raw) is None


@given(st.text(max_size=30), st.floats(-1e14, 1e14))
def test_any_format_is_sorted(code: str, value: float) -> None:
    text = shown(code, repr(value))
    assert text is None or isinstance(text, str)


FORMATS = ("0", "0.0", "0.000", "0.0000", "#,##0.00", "#.00", "000", '0.00" mm"', '"⌀"0.000', "0.00_)", "0.000;-0.000")
NUMBERS = ("0", "1", "-1", "0.5", "0.05", "12.25", "-0.125", "1234.5", "7.1", "0.3", "-1000000.25", "0.1001")


@given(st.lists(st.tuples(st.integers(-(10**7), 10**7), st.integers(0, 5)), min_size=1, max_size=8))
@settings(max_examples=40)
def test_numbers_under_fixed_formats_read_as_csv_of_what_is_shown(numbers: list[tuple[int, int]]) -> None:
    workbook, page = workbook_of([("number", "reading")])
    texts = []
    for at, (digits, decimals) in enumerate(numbers, 2):
        number = Decimal(digits).scaleb(-decimals)
        texts.append(f"{number:.{decimals}f}")
        for column, (value, form) in enumerate(((at, "0"), (float(number), f"{0:.{decimals}f}")), 1):
            page.cell(at, column, value).number_format = form
    plain = "number,reading\n" + "".join(f"{at},{text}\n" for at, text in enumerate(texts, 2))
    required = ("number", "reading")
    found = read_grid(plain.encode(), "shop.csv", names("readings"), required, 1_000)[0]
    assert grid_of(saved(workbook), "readings", required).rows == found.rows


# --- cells as people leave them -----------------------------------------------------------------------------------


def test_runs_of_mixed_looks_are_plain_text() -> None:
    workbook, page = workbook_of([REQUIRED, ["1", "bore"], ["2", "length"], ["3", "length"]])
    bold, lowered = InlineFont(b=True), InlineFont(vertAlign="subscript")
    page["C2"] = CellRichText(TextBlock(InlineFont(rFont="Symbol", charset=2), "Æ"), TextBlock(bold, ".500"), " ±.001")
    page["C3"] = CellRichText("1.250", TextBlock(lowered, " +.005"), TextBlock(lowered, " -.002"))
    page["C4"] = CellRichText("1", TextBlock(InlineFont(vertAlign="superscript"), "1"), "/2")
    assert [row.cells["requirement"] for row in _looked(saved(workbook)).rows[:2]] == [
        "⌀.500 ±.001",
        "1.250 +.005 -.002",
    ]
    assert told(saved(workbook)) == [
        "Features!C4, column “requirement”: raised or lowered digits stand against others here, and as plain text they "
        "would run together: “11/2”. Write it plainly, 1 1/2 with a space."
    ]


def _looked(data: bytes) -> Grid:
    return read_grid(data, "shop.xlsx", names("features"), REQUIRED, 1_000)[0]


def test_what_a_cell_hides_by_its_look_is_not_taken() -> None:
    workbook, page = workbook_of([REQUIRED, *([str(number), "length", None] for number in range(1, 5))])
    page["C2"], page["C2"].number_format, page["C2"].font = 0.5, "0.000", Font(strike=True)
    page["C3"], page["C3"].number_format, page["C3"].font = 0.5, "0.000", Font(name="Symbol", charset=2)
    page["C4"], page["C4"].number_format = ".500", '0;0;0;"see note"'
    page["C5"], page["C5"].number_format = 0.5, "0/0"
    with pytest.raises(FileRefused) as caught:
        grid_of(saved(workbook))
    assert [(one.address, one.reason.code) for one in caught.value.faults] == [
        ("Features!C2", "xlsx.struck"),
        ("Features!C3", "xlsx.symbol_font"),
        ("Features!C4", "xlsx.text_masked"),
        ("Features!C5", "xlsx.fraction"),
    ]


def test_faults_of_heads_and_lines_in_front() -> None:
    rows = [["# part", "A", "B"], ["# part", "x"], ["# part", "y"], ["#zzzz", "x"], [*REQUIRED, 7, "qqqq", "kind"]]
    workbook, page = workbook_of(rows)
    head = workbook.create_sheet("Head")
    head.append(["rev", "A"])
    head.row_dimensions[1].hidden = True
    with pytest.raises(FileRefused) as caught:
        read_features(saved(workbook), "shop.xlsx")
    assert [(one.address, one.reason.code) for one in caught.value.faults] == [
        ("Head!1:1", "xlsx.row_hidden"),
        ("Features!B1", "xlsx.head_line_split"),
        ("Features!B3", "intake.head_line_twice"),
        ("Features!B4", "intake.head_line_unknown"),
        ("Features!D5", "xlsx.number_general"),
        ("Features!E5", "intake.head_unknown"),
        ("Features!F5", "intake.head_twice"),
    ]
    assert page.title == "Features"


def test_every_fault_is_told_at_once_by_its_cell() -> None:
    workbook, page = workbook_of(
        [["# part", 77], REQUIRED, [1, "=B9", date(2026, 1, 2)], ["2", True, 0.5]], sheet="Rev B"
    )
    page["C4"].number_format = "0.00"
    page.row_dimensions[4].hidden = True
    assert [line.split(":")[0] for line in told(saved(workbook))] == [
        "'Rev B'!B1, column “part”",
        "'Rev B'!A3, column “number”",
        "'Rev B'!B3, column “kind”",
        "'Rev B'!C3, column “requirement”",
        "Sheet Rev B, row 4",
        "'Rev B'!B4, column “kind”",
    ]
    assert "1/2 typed into a cell becomes 2-Jan" in told(saved(workbook))[3]


def test_faults_of_the_trade_are_told_by_the_cell_and_once() -> None:
    workbook, page = workbook_of(
        [["# part", "QF-1"], ["# rev", "A"], REQUIRED, ["1", "length", "1.250 ±.0o5"], ["2", "=B4", "1.250 ±.005"]]
    )
    with pytest.raises(FileRefused) as caught:
        read_features(saved(workbook), "shop.xlsx")
    assert [(one.address, one.at, one.reason.code) for one in caught.value.faults][1:] == [
        ("Features!B5", 0, "xlsx.formula")
    ]
    first = caught.value.faults[0]
    assert (first.address, "1.250 ±.0o5"[first.at - 1]) == ("Features!C4", "o")
    assert page.title == "Features"


# --- which sheet --------------------------------------------------------------------------------------------------


def test_the_table_is_on_the_first_visible_sheet_with_its_heads_and_a_sheet_head_holds_the_lines() -> None:
    workbook, page = workbook_of([["Notes on the kind of thing"]], sheet="Cover")
    workbook.create_chartsheet("Chart", 0)
    old = workbook.create_sheet("Old")
    old.sheet_state = "hidden"
    for sheet in (old, workbook.create_sheet("Now"), workbook.create_sheet("Later")):
        sheet.append(REQUIRED)
        sheet.append([sheet.title, "length", "1.250 ±.005"])
    head = workbook.create_sheet("Head")
    for line in (["part", "QF-11"], ["# revision", "A"], ["default .xxx", "±.005"], ["customer"]):
        head.append(line)
    file = read_features(saved(workbook), "shop.xlsx")
    assert (file.part.number, file.part.revision) == ("QF-11", "A")
    assert [row.number for row in file.characteristics] == ["Now"]
    assert [say(notice) for notice in file.notices] == [
        "The sheet “Later” holds such a table too. Only “Now”, the first, was read.",
        "The hidden sheet “Old” was not read.",
    ]
    head["B1"] = 77
    head["B3"] = "much"
    with pytest.raises(FileRefused) as caught:
        read_features(saved(workbook), "shop.xlsx")
    assert [one.address for one in caught.value.faults] == ["Head!B1", "Head!B3"]
    assert page.title == "Cover"


# --- another office program ---------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def converted(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Path, str], Path]:
    """Open a file in LibreOffice and save it in another form."""
    office = shutil.which("soffice")
    if office is None:
        pytest.skip("LibreOffice is not there")
    folder = tmp_path_factory.mktemp("office")

    def convert(path: Path, form: str) -> Path:
        profile = (folder / "profile").as_uri()
        command = [office, f"-env:UserInstallation={profile}", "--headless", "--convert-to", form]
        subprocess.run([*command, "--outdir", str(folder), str(path)], check=True, capture_output=True, timeout=120)
        return folder / f"{path.stem}.{form.partition(':')[0]}"

    return convert


@pytest.mark.slow
def test_workbooks_saved_by_libreoffice_are_read_alike(converted: Callable[[Path, str], Path], tmp_path: Path) -> None:
    workbook, page = workbook_of(
        [
            ["# part", "QF-11"],
            ["# rev", "A"],
            REQUIRED,
            ["7.10", "bore", None],
            ["2", "length", 1.25],
            ["3", "note", "π"],
        ]
    )
    bold = InlineFont(b=True)
    page["C4"] = CellRichText(TextBlock(bold, "⌀.500"), " ±.001")
    page["C5"].number_format = '0.000" mm ±0.1"'
    path = tmp_path / "shop.xlsx"
    path.write_bytes(saved(workbook))
    again = converted(path, "xlsx:Calc MS Excel 2007 XML").read_bytes()
    assert again != path.read_bytes()
    assert read_features(again, "shop.xlsx") == read_features(path.read_bytes(), "shop.xlsx")
    assert [row.requirement.written for row in read_features(again, "shop.xlsx").characteristics] == [
        "⌀.500 ±.001",
        "1.250 mm ±0.1",
        "π",
    ]


#: Separator, quote and encoding of its csv, and to save what cells show rather than what they hold.
SHOWN_CSV = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,true"


@pytest.mark.slow
def test_numbers_are_taken_as_libreoffice_shows_them(converted: Callable[[Path, str], Path], tmp_path: Path) -> None:
    """The other office program is the judge of what a format shows; its thousands' marks alone are left out."""
    workbook, page = workbook_of([("number", "reading")])
    pairs = [(number, form) for number in NUMBERS for form in FORMATS]
    for at, (number, form) in enumerate(pairs, 2):
        page.cell(at, 1, str(at))
        page.cell(at, 2, float(number)).number_format = form
    path = tmp_path / "shop.xlsx"
    path.write_bytes(saved(workbook))
    text = converted(path, SHOWN_CSV).read_text("utf-8")
    seen = [record[1].strip().replace(",", "") for record in csv.reader(io.StringIO(text))][1:]
    ours = [shown(form, repr(float(number))) for number, form in pairs]
    taken = [(pair, own, their) for pair, own, their in zip(pairs, ours, seen, strict=True) if own is not None]
    assert [(own, their) for _, own, their in taken if own != their] == []
    assert len(taken) > len(pairs) // 2


@pytest.mark.slow
@pytest.mark.parametrize(
    ("form", "code"),
    [("ods", "xlsx.is_ods"), ("xls", "xlsx.is_xls"), ("html", "xlsx.is_html"), ("fods", "xlsx.is_ods")],
)
def test_other_forms_of_libreoffice_are_told(
    converted: Callable[[Path, str], Path], tmp_path: Path, form: str, code: str
) -> None:
    path = tmp_path / "shop.xlsx"
    path.write_bytes(saved(workbook_of([REQUIRED])[0]))
    with pytest.raises(FileRefused) as caught:
        read_features(converted(path, form).read_bytes(), "shop.xlsx")
    assert [fault.reason.code for fault in caught.value.faults] == [code]


@pytest.mark.slow
def test_traps_saved_by_libreoffice_are_told(converted: Callable[[Path, str], Path], tmp_path: Path) -> None:
    workbook, page = workbook_of([REQUIRED, ["1", "length", date(2026, 1, 2)], ["2", "=A2", "x"], [True, "a", 0.5]])
    page.merge_cells("B4:B5")
    page.column_dimensions["C"].hidden = True
    path = tmp_path / "shop.xlsx"
    path.write_bytes(saved(workbook))
    with pytest.raises(FileRefused) as caught:
        grid_of(converted(path, "xlsx").read_bytes())
    assert [(one.address, one.reason.code) for one in caught.value.faults] == [
        ("Features!C1", "xlsx.column_hidden"),
        ("Features!C2", "xlsx.date"),
        ("Features!B3", "xlsx.formula"),
        ("Features!A4", "xlsx.formula"),  # it writes TRUE as =TRUE()
        ("Features!C4", "xlsx.number_general"),
        ("Features!B4:B5", "xlsx.merged"),
    ]
