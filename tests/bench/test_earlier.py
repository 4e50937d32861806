"""Earlier pieces on the measuring card: there for every row but one read blind, gone while a number is typed."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from app.parts.marks import Mark
from inspection.measuring.reading import Slot
from inspection.quantity.units import PICOMETRES_PER_INCH as INCH
from inspection.quantity.units import Kind, Quantity
from inspection.sheet import acts
from storage.book.door import Book

TAKEN = (("1", "0.7497"), ("2", "1.2520"), ("3", "2.0100"), ("8", "9.5000"), ("10", "3.0010"))


@pytest.fixture
def second(open_bench):
    """The Bench on the second sheet of a part whose first one was read in some rows."""
    bench = open_bench(serials=("A01",))
    bench.settle()
    with Book.open(bench.path) as book:
        sheet = book.sheet(bench.sheet_id)
        for number, text in TAKEN:
            row = next(row for row in sheet.plan.characteristics if row.number == number)
            quantity = Quantity(int(text.replace(".", "")) * INCH // 10_000, Kind.LENGTH, "in", text, 4)
            act = acts.TakeReading(
                sheet=sheet.identity,
                characteristic=row.identity,
                piece=sheet.pieces[0].identity,
                slot=Slot(),
                quantity=quantity,
            )
            book.do(act, person=sheet.made_by)
        make = acts.MakeSheet(plan=sheet.plan.identity, serials=("A02",))
        bench.second = book.do(make, person=sheet.made_by).stream
    bench.house.sheet_wanted.emit(bench.second)
    bench.qtbot.waitUntil(lambda: bench.sheet.identity == bench.second)
    return bench


def earlier(bench):
    return bench.room.card.why.earlier


def at(bench, number: str):
    """Stand at a row and wait until what is known of it is shown."""
    bench.go(number)
    bench.qtbot.waitUntil(lambda: bool(earlier(bench).shown().lines or earlier(bench).shown().note))
    return earlier(bench).shown()


def test_a_row_shows_what_earlier_pieces_came_to(second):
    shown = at(second, "2")
    (line,) = shown.lines
    assert (line.result, line.serial, line.revision, line.mark) == ("1.252", "A01", "A", Mark.CONFORMING)
    assert line.tag
    assert (shown.zone.lower, shown.zone.upper, shown.zone.results) == (31_623_000_000, 31_877_000_000, ())
    assert [dot.value for dot in line.dots] == [31_800_800_000]
    assert at(second, "3").lines[0].mark is Mark.OUT
    assert "A01" in earlier(second).accessibleDescription()


def test_the_display_switch_shows_them_in_the_other_unit(second):
    at(second, "2")
    second.house.set_units("mm")
    second.qtbot.waitUntil(lambda: earlier(second).shown().lines[0].result == "≈ 31.80")


def test_what_was_asked_about_and_never_answered_stands_with_its_question_and_without_a_dot(second):
    (line,) = at(second, "8").lines
    assert (line.result, line.mark, line.dots) == ("241.3, a question", Mark.QUESTION, ())


def test_a_row_that_was_never_read_says_so(second):
    shown = at(second, "7")
    assert (shown.lines, shown.note) == ((), "no earlier sheet")


def test_while_a_number_is_typed_nothing_of_it_is_seen(second):
    at(second, "2")
    second.types("1.2")
    assert earlier(second).shown().lines == ()
    assert earlier(second).isVisible()  # its place stays
    for _ in range(3):
        second.press(Qt.Key.Key_Backspace)
    assert len(earlier(second).shown().lines) == 1


def test_a_row_read_blind_shows_none_until_it_is_read(second):
    shown = at(second, "10")
    assert (shown.lines, shown.note) == ((), "hidden: read blind")
    assert "A01" not in earlier(second).accessibleDescription()
    second.types("3.0020\n")
    second.settle()
    assert at(second, "10").lines[0].result == "3.001"


def test_another_row_never_shows_what_belongs_to_the_one_before(second):
    at(second, "2")
    second.flow.go((_row(second, "7"), second.flow.at.piece))
    second.room._show_place()
    assert earlier(second).shown().lines == ()


def test_the_first_sheet_of_a_part_has_no_earlier_ones(open_bench):
    bench = open_bench()
    bench.settle()
    assert at(bench, "1").note == "no earlier sheet"


def _row(bench, number: str) -> str:
    return next(row.identity for row in bench.sheet.plan.characteristics if row.number == number)
