"""Files looked at before they are taken: rows with limits, faults by cell, what would change, and nothing taken."""

from __future__ import annotations

import hashlib
import io
import itertools
import json
import uuid
from pathlib import Path

import openpyxl
import pytest
from openpyxl.worksheet.worksheet import Worksheet

from app.command.main import run
from app.command.outcome import Exit
from app.jobs.hand import Hand
from app.jobs.opening_shop import open_shop
from app.jobs.reading_in import ReadingPreview, preview_readings, read_in
from app.jobs.reading_template import rows_to_fill
from app.jobs.taking_in import Preview, preview, take_in
from inspection.measuring.verdict import Verdict
from inspection.words.say import say
from storage.book.clock import Moment
from storage.intake.features import read_features
from storage.intake.readings import read_readings
from storage.intake.template_workbook import workbook_template

FEATURES = """\
# part,QF-11
# revision,A
# serials,"A1, A2"
# default .xxx,±.005
number,kind,requirement,name,places,blind,repeats
1,outside diameter,⌀.7500 ±.0005,journal,,,
2,length,1.250,body,,,2
3,bore,2X ⌀.250 +.004/-.000,pin holes,mouth; foot,,
4,note,DEBURR ALL EDGES,,,,
5,length,.500 ±.005,,,yes,
6,length,(1.750),,,,
"""


def hand_of(path: Path) -> Hand:
    seconds, numbers = itertools.count(1_790_000_000), itertools.count(1)
    hand = Hand.new(
        path,
        lambda: Moment(next(seconds) * 1_000_000, "2026-09-21"),
        lambda: str(uuid.UUID(int=next(numbers), version=4)),
    )
    open_shop(hand, shop="Quillfeather Machine", person="Mira Oduya", passphrase="streng geheim", starter_crib=True)
    return hand


@pytest.fixture
def hand(tmp_path: Path):
    """A shop with a starter crib."""
    with hand_of(tmp_path / "shop.tenthwright") as hand:
        yield hand


def with_sheet(hand: Hand) -> str:
    sheet = take_in(hand, read_features(FEATURES.encode(), "features.csv")).sheet
    assert sheet is not None
    return sheet.identity


def told(seen: Preview | ReadingPreview) -> list[str]:
    return [f"{say(fault.place())} {fault.reason.code}" for fault in seen.faults]


# --- features -----------------------------------------------------------------------------------------------------


def test_a_whole_file_shows_its_rows_with_their_limits() -> None:
    seen = preview(FEATURES.encode(), "features.csv")
    assert seen.whole
    assert [(row.characteristic.number, row.limits) for row in seen.rows] == [
        ("1", "0.7495 … 0.7505 in"),
        ("2", "1.245 … 1.255 in"),
        ("3.1", "0.250 … 0.254 in"),
        ("3.2", "0.250 … 0.254 in"),
        ("4", ""),
        ("5", "0.495 … 0.505 in"),
        ("6", ""),
    ]


def test_rows_without_a_fault_are_shown_beside_the_faults_of_the_others() -> None:
    seen = preview(FEATURES.replace("1.250,", "1.2S0,").replace("note,DEB", "nte,DEB").encode(), "features.csv")
    assert not seen.whole
    assert [row.characteristic.number for row in seen.rows] == ["1", "3.1", "3.2", "5", "6"]
    assert [line.split(":")[0] for line in told(seen)] == [
        "Row 7, column “requirement”, character 4",
        "Row 9, column “kind”",
    ]
    assert seen.count == 2


def test_a_file_that_cannot_be_read_at_all_is_a_preview_too() -> None:
    seen = preview(b"PK\x03\x04", "features.xlsx")
    assert (seen.file, seen.rows, told(seen)) == (None, (), ["The file: xlsx.cut_short"])


def test_what_a_further_issue_would_change_and_what_the_book_would_refuse(hand: Hand) -> None:
    assert [say(one) for one in preview(FEATURES.encode(), "f.csv", hand).notices] == ["QF-11 is new to the book."]
    with_sheet(hand)
    changed = FEATURES.replace("1.250,body", "1.2500 ±.003,body").replace("4,note", "14,note")
    seen = preview(changed.encode(), "f.csv", hand)
    assert [say(one) for one in seen.notices] == [
        "The book knows QF-11; this would be issue 2 of its plan.",
        "One row is new: 14.",
        "One row has another requirement than before: 2.",
        "One row of the issue before is not in the file: 4.",
    ]
    assert seen.whole
    twice = preview(FEATURES.encode(), "f.csv", hand, serials=("A1", "A1"))
    assert not twice.whole
    assert twice.faults[0].row == 0


# --- readings -----------------------------------------------------------------------------------------------------


def filled(rows: tuple[dict[str, str], ...], readings: dict[str, str]) -> tuple[openpyxl.Workbook, Worksheet]:
    """A sheet's template with a reading typed into each row of a number."""
    book = openpyxl.load_workbook(io.BytesIO(workbook_template("readings", rows)))
    page = book.worksheets[0]
    column = next(cell.column for cell in page[1] if cell.value == "reading")
    for number, row in enumerate(rows, 2):
        if row["number"] in readings:
            page.cell(number, column).value = readings[row["number"]]
    return book, page


def saved(book: openpyxl.Workbook) -> bytes:
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def test_a_sheets_template_holds_what_waits_and_tells_nothing_of_blind_rows(hand: Hand) -> None:
    sheet = hand.book.sheet(with_sheet(hand))
    rows = rows_to_fill(hand.book.shop(), sheet)
    assert sorted(row["number"] for row in rows if row["serial"] == "A1") == sorted(
        ["1", "2", "2", "3.1", "3.1", "3.2", "3.2", "4", "5"]
    )
    by_number = {row["number"]: row for row in rows}
    assert (by_number["1"]["requirement"], by_number["1"]["limits"]) == ("⌀.7500 ±.0005", "0.7495 … 0.7505 in")
    assert (by_number["5"]["requirement"], by_number["5"]["limits"]) == ("", "read blind")
    assert {row["repeat"] for row in rows if row["number"] == "2"} == {"1", "2"}
    assert {row["place"] for row in rows if row["number"] == "3.1"} == {"mouth", "foot"}


def test_a_template_tells_the_unit_of_a_number_without_one_where_it_is_not_that_of_the_limits(hand: Hand) -> None:
    """A metric drawing with inch gauges: 25.012 without a unit is inches, and 1.2 at a tester in microinches passes."""
    lines = "# part,FL-3\n# revision,A\n# unit,mm\n# serials,1\nnumber,kind,requirement\n"
    lines += "1,bore,⌀25 H7\n2,length,38 ±0.05\n3,roughness,Ra 1.6\n4,thread,M8 x 1.25 6H\n"
    sheet = take_in(hand, read_features(lines.encode(), "features.csv")).sheet
    assert sheet is not None
    told = {row["number"]: row["limits"] for row in rows_to_fill(hand.book.shop(), sheet)}
    assert told == {
        "1": "25.000 … 25.021 mm; without a unit: in (B-06)",
        "2": "37.95 … 38.05 mm",
        "3": "≤ 1.6 µm; without a unit: µin (Q-01)",
        "4": "",
    }


def test_readings_are_looked_at_with_limits_and_verdicts_and_then_taken_as_shown(hand: Hand) -> None:
    sheet = with_sheet(hand)
    rows = rows_to_fill(hand.book.shop(), hand.book.sheet(sheet))
    data = saved(filled(rows, {"1": ".7507", "2": "1.2505", "4": "as required", "5": ".501"})[0])
    seen = preview_readings(hand, sheet, data, "readings.xlsx")
    assert told(seen) == []
    found = {(row.serial, row.number): (row.limits, row.verdict) for row in seen.rows}
    assert found[("A1", "1")] == ("0.7495 … 0.7505 in", Verdict.NOT_CONFORMING)
    assert found[("A2", "2")][0] == "1.245 … 1.255 in"
    assert found[("A1", "5")] == ("", None)
    assert [say(notice) for notice in seen.notices] == ["8 rows were left empty."]
    assert not hand.book.sheet(sheet).readings
    done = read_in(hand, sheet, read_readings(data, "readings.xlsx"))
    assert done.readings == len(seen.rows) == 10
    left = rows_to_fill(hand.book.shop(), done.sheet)
    assert {row["number"] for row in left} == {"3.1", "3.2"}


def test_faults_of_readings_are_told_by_the_cell_and_the_other_rows_shown(hand: Hand) -> None:
    sheet = with_sheet(hand)
    rows = rows_to_fill(hand.book.shop(), hand.book.sheet(sheet))
    book, page = filled(rows, {"1": ".7501", "2": "1.25O", "4": "as required"})
    heads = {cell.value: cell.column for cell in page[1]}
    ones = [number for number, row in enumerate(rows, 2) if row["number"] == "1"]
    page.cell(ones[0], heads["requirement"]).value = "⌀.7500 ±.0010"
    page.cell(ones[1], heads["reading"]).value = 0.7501
    twos = [number for number, row in enumerate(rows, 2) if row["number"] == "2"]
    seen = preview_readings(hand, sheet, saved(book), "readings.xlsx")
    assert sorted(fault.address for fault in seen.faults) == sorted(
        [f"Readings!C{ones[0]}", f"Readings!H{ones[1]}", *(f"Readings!H{number}" for number in twos)]
    )
    assert {fault.reason.code for fault in seen.faults if fault.address == f"Readings!C{ones[0]}"} == {
        "intake.requirement_differs"
    }
    assert {row.number for row in seen.rows} == {"4"}


def test_what_is_taken_after_a_look_has_its_own_moment(hand: Hand) -> None:
    preview(FEATURES.encode(), "f.csv", hand)
    ahead = hand.foreseen.moment_ahead()
    preview(FEATURES.encode(), "f.csv", hand)
    assert hand.foreseen.moment_ahead() == ahead
    sheet = with_sheet(hand)
    data = b"serial,number,reading\nA1,1,.7501\n"
    preview_readings(hand, sheet, data, "r.csv")
    now = hand.foreseen.apart().moment_ahead()
    reading = next(iter(read_in(hand, sheet, read_readings(data, "r.csv")).sheet.readings.values()))
    assert reading.taken > now.at


# --- by command line ----------------------------------------------------------------------------------------------


class Line:
    def __init__(self, folder: Path) -> None:
        self.book = folder / "shop.tenthwright"
        self.say("new", "--shop", "Quillfeather Machine", "--person", "Mira Oduya", "--starter-crib")

    def say(self, *argv: str) -> tuple[int, str, str]:
        out, err = io.StringIO(), io.StringIO()
        environ = {"TENTHWRIGHT_PASSPHRASE": "streng geheim"}
        code = run([*argv, "--book", str(self.book)], environ=environ, out=out, err=err)
        return code, out.getvalue(), err.getvalue()

    def digest(self) -> str:
        return hashlib.sha256(self.book.read_bytes()).hexdigest()


def test_previews_by_command_line_take_nothing(tmp_path: Path) -> None:
    line = Line(tmp_path)
    features, readings = tmp_path / "features.csv", tmp_path / "readings.xlsx"
    features.write_text(FEATURES, encoding="utf-8")
    before = line.digest()
    code, out, err = line.say("take-in", str(features), "--preview")
    assert (code, err) == (Exit.DONE, "")
    assert "0.7495 … 0.7505 in" in out
    assert "features.csv can be taken as it is. Nothing was taken yet." in out
    features.write_text(FEATURES.replace("±.0005", "±.000S"), encoding="utf-8")
    code, out, err = line.say("take-in", str(features), "--preview", "--json")
    found = json.loads(out)
    assert (code, found["whole"], found["count"]) == (Exit.REFUSED, False, 1)
    assert line.digest() == before

    features.write_text(FEATURES, encoding="utf-8")
    assert line.say("take-in", str(features))[0] == Exit.DONE
    code, out, _ = line.say("template", "readings", str(readings), "--sheet", "QF-11")
    assert (code, "It holds 18 rows that wait for a reading." in out) == (Exit.DONE, True)
    assert line.say("template", "features", str(tmp_path / "x.xlsx"), "--sheet", "QF-11")[0] == Exit.REFUSED
    assert not (tmp_path / "x.xlsx").exists()
    book = openpyxl.load_workbook(readings)
    book.worksheets[0]["H2"] = ".7501"
    book.worksheets[0]["H3"] = "=H2"
    book.save(readings)
    before = line.digest()
    code, out, err = line.say("read", str(readings), "--preview")
    assert (code, err) == (Exit.REFUSED, "")
    assert "Readings!H3, column “reading”: this is a formula." in out
    assert line.digest() == before
    code, out, err = line.say("read", str(readings))
    assert (code, out) == (Exit.REFUSED, "")
    assert "Readings!H3, column “reading”: this is a formula." in err
    assert line.digest() == before
    book.worksheets[0]["H3"] = None
    book.save(readings)
    code, out, _ = line.say("read", str(readings))
    assert code == Exit.DONE
    assert out.startswith("One reading was taken.\n17 rows were left empty.")
