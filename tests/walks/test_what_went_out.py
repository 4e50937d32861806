"""What went out, read back by other programs and held against the sheet: limits, units, readings, verdicts, reasons.

Expected values are computed here from the counts the sheet keeps, with exact fractions, not by the code that prints.
"""

from __future__ import annotations

import csv
import re
import shutil
import subprocess
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import openpyxl
import pytest
from msgspec import Struct

from app.jobs.demo import run_demo
from app.jobs.hand import Hand
from inspection.drawing.characteristic import Characteristic
from inspection.drawing.requirement import Form
from inspection.measuring.reading import Reading
from inspection.sheet.cells import required
from inspection.sheet.head import Piece
from inspection.sheet.state import Sheet
from inspection.words.say import say
from storage.book.clock import new_identity, wall_clock

#: Steps in one unit, by the definition of the inch (25.4 mm) and of the degree; steps are picometres and µas.
STEPS = {"in": 25_400_000_000, "mm": 10**9, "µm": 10**6, "µin": 25_400, "°": 3_600_000_000}
NUMBER = re.compile(r"-?\d+(\.\d+)?")

needs_pdftotext = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext is not installed")
needs_soffice = pytest.mark.skipif(shutil.which("soffice") is None, reason="soffice (LibreOffice) is not installed")


class Sent(Struct, frozen=True):
    """A signed sheet and the files made of it."""

    sheet: Sheet
    files: dict[str, Path]

    def cells(self) -> Iterator[tuple[Characteristic, Piece, list[Reading]]]:
        """Every row on every piece with all its readings, in the order taken."""
        for row in self.sheet.plan.characteristics:
            for piece in self.sheet.pieces:
                yield (
                    row,
                    piece,
                    [
                        r
                        for r in self.sheet.readings.values()
                        if (r.characteristic, r.piece) == (row.identity, piece.identity)
                    ],
                )


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Sent:
    made = run_demo(tmp_path_factory.mktemp("demo") / "out", wall_clock, new_identity)
    with Hand.open(made.files["book"], wall_clock, new_identity) as hand:
        return Sent(hand.book.sheet(made.sheet), made.files)


@pytest.fixture(scope="module")
def measured_bracket(measured) -> Sent:
    files = {form: measured.folder / f"bracket.{form}" for form in ("pdf", "xlsx", "csv")}
    for form, path in files.items():
        assert measured.command("export", form, str(path)) == 0
    with measured.hand() as hand:
        return Sent(hand.book.sheet(measured.sheet), files)


@pytest.fixture(params=["demo", "measured_bracket"])
def sent(request: pytest.FixtureRequest) -> Sent:
    return request.getfixturevalue(request.param)


# --- what is expected ---------------------------------------------------------------------------------------------


def exact(count: int, unit: str) -> Fraction:
    return Fraction(count, STEPS[unit])


def decimals(text: str) -> int:
    return len(text.partition(".")[2])


def unit_of(row: Characteristic) -> str:
    return "" if row.requirement.form in (Form.NOTE, Form.THREAD) else row.requirement.unit


def check_limit(text: str, count: int | None, row: Characteristic, inward: int) -> None:
    """A limit as printed: exactly the sheet's, or inside it by less than its last digit; never fewer decimals than the
    drawing's."""
    if count is None:
        assert text == ""
        return
    away = (Fraction(text) - exact(count, row.requirement.unit)) * inward
    assert 0 <= away < Fraction(1, 10 ** decimals(text)), (row.number, text)
    assert decimals(text) >= row.requirement.decimals, (row.number, text)
    assert away == 0 or 10**20 % exact(count, row.requirement.unit).denominator, (row.number, text)


def check_reading(text: str, reading: Reading, row: Characteristic) -> None:
    """A reading as printed: what was observed, or exactly the count where the row's unit can hold it, else within one
    last digit and out of limits only if it is; with the drawing's decimals and those it was written with."""
    if reading.count is None:
        assert text == str(reading.observed)
        return
    requirement = row.requirement
    assert NUMBER.fullmatch(text), (row.number, text)
    shown, kept = Fraction(text), exact(reading.count, requirement.unit)
    if not 10**20 % kept.denominator:  # a decimal number in this unit
        assert shown == kept, (row.number, text)
    assert abs(shown - kept) < Fraction(1, 10 ** decimals(text))
    for limit, inward in ((requirement.lower, 1), (requirement.upper, -1)):
        if limit is not None:
            edge = exact(limit, requirement.unit)
            assert ((shown - edge) * inward < 0) == ((kept - edge) * inward < 0), (row.number, text)
    own = reading.decimals or 0 if reading.unit == requirement.unit else 0
    assert decimals(text) >= max(requirement.decimals, own), (row.number, text)


def reasons(sent: Sent, row: Characteristic, piece: Piece) -> list[str]:
    return [say(reason) for reason in sent.sheet.judgement(row.identity, piece.identity).reasons]


def verdict(sent: Sent, row: Characteristic, piece: Piece) -> str:
    return str(sent.sheet.judgement(row.identity, piece.identity).verdict)


# --- csv ----------------------------------------------------------------------------------------------------------


def table_of(path: Path) -> list[dict[str, str]]:
    """The rows of the file, the apostrophe that guards a text against formulas taken away."""
    with path.open(encoding="utf-8-sig", newline="") as file:
        return [{head: text.removeprefix("'") for head, text in row.items()} for row in csv.DictReader(file)]


def test_the_csv_file_holds_the_sheet(sent: Sent) -> None:
    table = table_of(sent.files["csv"])
    for row, piece, readings in sent.cells():
        found = [line for line in table if (line["number"], line["piece"]) == (row.number, piece.serial)]
        assert len(found) == max(1, len(readings))
        for line in found:
            assert (line["requirement"], line["unit"], line["zone"]) == (
                row.requirement.written,
                unit_of(row),
                row.zone,
            )
            check_limit(line["lower"], row.requirement.lower, row, 1)
            check_limit(line["upper"], row.requirement.upper, row, -1)
            if row.requirement.judged:
                asked = required(sent.sheet, (row.identity, piece.identity))
                assert line["state"] == (verdict(sent, row, piece) if asked else "")
                assert line["verdict"].startswith(line["state"])
            assert line["reasons"].split(" | ") == (reasons(sent, row, piece) or [""])
        for line, reading in zip(found, readings, strict=False):
            check_reading(line["reading"], reading, row)
            check_withdrawal(sent, line["withdrawn"], reading)
            assert line["as written"] in ("", reading.written, f"{reading.written} {reading.unit}")
            assert line["as written"] or reading.count is None or reading.unit == row.requirement.unit


def check_withdrawal(sent: Sent, text: str, reading: Reading) -> None:
    why = sent.sheet.withdrawn.get(reading.identity)
    assert bool(text) == bool(why)
    if why is not None:
        assert text.endswith(why.reason)


# --- workbook -----------------------------------------------------------------------------------------------------


def shown(cell) -> str:
    """A cell as its own format shows it."""
    if cell.value is None:
        return ""
    if cell.data_type == "n":
        return f"{Decimal(str(cell.value)):.{decimals(cell.number_format)}f}"
    return str(cell.value)


def opened(path: Path) -> tuple[list[list[str]], list[list[str]]]:
    """Results and readings, as the library that wrote them reads them."""
    results, readings, *_ = openpyxl.load_workbook(path).worksheets
    for table, columns in ((results, (5, 6)), (readings, (5,))):
        for row in table.iter_rows(min_row=2):
            assert all(row[place].data_type == "n" or not NUMBER.fullmatch(str(row[place].value)) for place in columns)
    return tuple([[shown(cell) for cell in row] for row in table.iter_rows()] for table in (results, readings))  # type: ignore[return-value]


def converted(path: Path, folder: Path) -> tuple[list[list[str]], list[list[str]]]:
    """Results and readings, as another spreadsheet program shows them."""
    home = f"-env:UserInstallation={(folder / 'home').as_uri()}"
    every_sheet = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,true,false,false,-1"
    told = ["soffice", home, "--headless", "--convert-to", every_sheet, "--outdir", str(folder), str(path)]
    subprocess.run(told, check=True, capture_output=True, timeout=120)
    tables = []
    for name in ("Results", "Readings"):
        (made,) = folder.glob(f"{path.stem}-{name}.csv")
        with made.open(encoding="utf-8", newline="") as file:
            tables.append(list(csv.reader(file)))
    return tuple(tables)  # type: ignore[return-value]


def check_workbook(sent: Sent, results: list[list[str]], readings: list[list[str]]) -> None:
    heads, *rows = results
    taken = iter(readings[1:])
    by_number = {row[0]: dict(zip(heads, row, strict=True)) for row in rows}
    assert len(by_number) == len(rows) == len(sent.sheet.plan.characteristics)
    order = {number: place for place, number in enumerate(by_number)}
    for row, piece, given in sorted(sent.cells(), key=lambda cell: order[cell[0].number]):
        line = by_number[row.number]
        assert (line["requirement as drawn"], line["unit"]) == (row.requirement.written, unit_of(row))
        check_limit(line["lower limit"], row.requirement.lower, row, 1)
        check_limit(line["upper limit"], row.requirement.upper, row, -1)
        said = line[f"verdict {piece.serial}"]
        if row.requirement.judged and required(sent.sheet, (row.identity, piece.identity)):
            assert said.split(" ", 1)[1].startswith(verdict(sent, row, piece))
        assert all(reason in line["reasons"] for reason in reasons(sent, row, piece))
        for reading in given:
            told = next(taken)
            assert (told[0], told[2], told[6]) == (row.number, piece.serial, unit_of(row) if reading.count else "")
            check_reading(told[5], reading, row)
            check_withdrawal(sent, told[12], reading)
    assert next(taken, None) is None


def test_the_workbook_holds_the_sheet(sent: Sent) -> None:
    check_workbook(sent, *opened(sent.files["xlsx"]))


@needs_soffice
def test_another_spreadsheet_program_shows_the_sheet(sent: Sent, tmp_path: Path) -> None:
    check_workbook(sent, *converted(sent.files["xlsx"], tmp_path))


# --- pdf ----------------------------------------------------------------------------------------------------------


class Word(Struct, frozen=True):
    """A word on paper: left edge, top, text; points."""

    x: float
    y: float
    text: str


XHTML = "{http://www.w3.org/1999/xhtml}"
HEADS = ("no.", "zone", "requirement", "limits", "instrument", "piece", "in", "verdict")


def printed(path: Path) -> dict[str, dict[str, str]]:
    """Rows of the printed sheet by balloon number: the text of each column by its head, among them "piece …"
    and "below" (notes and withdrawn readings)."""
    done = subprocess.run(["pdftotext", "-bbox", str(path), "-"], check=True, capture_output=True)
    root = ET.fromstring(re.sub(rb"<!DOCTYPE[^>]*>", b"", done.stdout))
    rows: dict[str, dict[str, str]] = {}
    for page in root.iter(f"{XHTML}page"):
        words = [
            Word(float(each.get("xMin", 0)), float(each.get("yMin", 0)), each.text or "")
            for each in page.iter(f"{XHTML}word")
        ]
        rows |= _rows_of_page(words)
    return rows


#: The first words of the sections that may follow the rows.
AFTER = {"Sub-items", "Materials", "Special", "Functional", "Signatures"}


def _rows_of_page(words: list[Word]) -> dict[str, dict[str, str]]:
    lines = {word: [each for each in words if abs(each.y - word.y) < 2] for word in words if word.text == "no."}
    head = next((word for word, line in lines.items() if any(each.text == "requirement" for each in line)), None)
    if head is None:
        return {}
    columns = _columns(lines[head])
    left = min(word.x for word in words) + 1
    bottom = min((word.y for word in words if word.text in AFTER and word.x < left and word.y > head.y), default=572)
    body = [word for word in words if head.y + 10 < word.y < bottom]
    numbers = sorted(
        (word for word in body if word.x < columns[1][1] and word.text not in "◆"), key=lambda word: word.y
    )
    found = {}
    for number, following in zip(numbers, [*numbers[1:], None], strict=True):
        end = following.y - 4 if following else bottom
        inside = [word for word in body if number.y - 4 <= word.y < end and word.x >= columns[1][1] - 1]
        found[number.text] = _by_column(inside, columns)
    return found


def _columns(heads: list[Word]) -> list[tuple[str, float]]:
    """Name and left edge of each column."""
    heads = sorted(heads, key=lambda word: word.x)
    found = []
    for word, after in zip(heads, [*heads[1:], None], strict=True):
        if word.text == "piece" and after is not None:
            found.append((f"piece {after.text}", word.x))
        elif word.text in HEADS and word.text not in dict(found):  # "limits" stands once more in "in its limits"
            found.append((word.text, word.x))
    return found


def _by_column(words: list[Word], columns: list[tuple[str, float]]) -> dict[str, str]:
    requirement = dict(columns)["requirement"]
    below = min((w.y for w in words if abs(w.x - requirement) < 1 and w.text in ("note", "withdrawn")), default=1e9) - 1
    texts = {"below": " ".join(word.text for word in words if word.y >= below)}
    for (name, left), (_, right) in zip(columns, [*columns[1:], ("", 1e9)], strict=True):
        cell = [word for word in words if left - 1 <= word.x < right - 1 and word.y < below]
        texts[name] = " ".join(word.text for word in sorted(cell, key=lambda word: (round(word.y), word.x)))
    return texts


@needs_pdftotext
def test_the_printed_sheet_holds_the_sheet(sent: Sent) -> None:
    rows = printed(sent.files["pdf"])
    assert set(rows) == {row.number for row in sent.sheet.plan.characteristics}
    for row, piece, readings in sent.cells():
        line = rows[row.number]
        assert squeezed(row.requirement.written) in squeezed(line["requirement"])
        check_printed_limits(line["limits"], row)
        standing = [reading for reading in readings if reading.identity not in sent.sheet.withdrawn]
        check_printed_readings(line[f"piece {piece.serial}"], standing, row)
        for reading in readings:
            if reading.identity in sent.sheet.withdrawn:
                check_printed_withdrawal(line["below"], sent.sheet.withdrawn[reading.identity].reason, reading, row)
        if row.requirement.judged and standing:
            assert squeezed(verdict(sent, row, piece)) in squeezed(line["verdict"]), row.number
        for reason in reasons(sent, row, piece):
            assert squeezed(reason) in squeezed(line["verdict"]), row.number


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


def check_printed_limits(text: str, row: Characteristic) -> None:
    lower, upper, unit = row.requirement.lower, row.requirement.upper, unit_of(row)
    if lower is None and upper is None:
        assert text in ("–", "")
        return
    assert text.endswith(unit)
    numbers = NUMBER.pattern.replace("(", "(?:")
    first, *others = re.findall(numbers, text.removesuffix(unit))
    check_limit(first if lower is not None else "", lower, row, 1)
    check_limit((others or [first])[-1] if upper is not None else "", upper, row, -1)
    assert ("≤" in text, "≥" in text, "…" in text) == (lower is None, upper is None, None not in (lower, upper))


def check_printed_readings(text: str, readings: list[Reading], row: Characteristic) -> None:
    """Every reading that counts stands in its piece's cell, in the order taken."""
    tokens = text.split()
    for reading in readings:
        if reading.count is None:
            assert squeezed(str(reading.observed)) in squeezed(text)
            continue
        at = next((place for place, token in enumerate(tokens) if _is(token, reading, row)), None)
        assert at is not None, (row.number, reading.written, text)
        tokens = tokens[at + 1 :]


def _is(token: str, reading: Reading, row: Characteristic) -> bool:
    try:
        check_reading(token, reading, row)
    except AssertionError:
        return False
    return True


def check_printed_withdrawal(text: str, reason: str, reading: Reading, row: Characteristic) -> None:
    assert any(_is(token, reading, row) for token in text.split()), (row.number, text)
    assert squeezed(reason) in squeezed(text)


# --- decimals -----------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def half_inch(measured_bracket: Sent) -> str:
    """Row 3, ".4995 / .5000", was read .5000 on piece A3."""
    row = next(row for row in measured_bracket.sheet.plan.characteristics if row.number == "3")
    assert (row.requirement.written, row.requirement.upper) == (".4995 / .5000", STEPS["in"] // 2)
    return row.number


def test_a_half_of_four_decimals_stays_so(measured_bracket: Sent, half_inch: str) -> None:
    line = next(
        line for line in table_of(measured_bracket.files["csv"]) if (line["number"], line["piece"]) == (half_inch, "A3")
    )
    assert (line["upper"], line["reading"], line["result"]) == ("0.5000",) * 3
    results, readings = opened(measured_bracket.files["xlsx"])
    assert [row[6] for row in results if row[0] == half_inch] == ["0.5000"]
    assert [row[5] for row in readings if (row[0], row[2]) == (half_inch, "A3")] == ["0.5000"]


@needs_pdftotext
def test_and_in_print(measured_bracket: Sent, half_inch: str) -> None:
    line = printed(measured_bracket.files["pdf"])[half_inch]
    assert line["limits"] == "0.4995 … 0.5000 in"
    assert "0.5000" in line["piece A3"].split()
