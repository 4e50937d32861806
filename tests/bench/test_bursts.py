"""Keys as fast as a cable sends them: each reading in its own row, none lost, none across a question."""

from __future__ import annotations

import threading

import pytest
from PySide6.QtCore import Qt

from app.parts.marks import Mark
from inspection.instruments.record import InstrumentKind
from inspection.instruments.starter import starter_crib
from storage.book.door import Book

MANY = 200


def lengths(number: int) -> list[dict[str, str]]:
    """Rows of 1.001, 1.002 … inch, so that every reading tells which row it belongs to."""
    return [
        {"number": str(i), "kind": "length", "requirement": f"{1 + i / 1000:.3f} ±.005"} for i in range(1, number + 1)
    ]


def calipers():
    return tuple(one for one in starter_crib(due="2099-01-01") if one.kind is InstrumentKind.DIGITAL_CALIPER)


@pytest.fixture
def long_bench(open_bench):
    return open_bench(lengths(MANY), ("1",), crib=calipers())


@pytest.fixture
def slow_commits(monkeypatch):
    """Every act takes 50 ms longer, as on a slow disk."""
    plain = Book.do

    def slowly(self, *parts, **named):
        threading.Event().wait(0.05)
        return plain(self, *parts, **named)

    monkeypatch.setattr(Book, "do", slowly)


def assert_each_in_its_row(bench, number):
    for place, row in enumerate(bench.sheet.plan.characteristics[:number], 1):
        (kept,) = bench.sheet.counting(row.identity, bench.sheet.pieces[0].identity)
        assert kept.written == f"{1 + place / 1000:.4f}"


def test_200_readings_as_one_burst(long_bench):
    long_bench.types("".join(f"{1 + i / 1000:.4f}\n" for i in range(1, MANY + 1)))
    long_bench.settle()
    assert_each_in_its_row(long_bench, MANY)
    assert len(long_bench.kept().readings) == MANY


@pytest.mark.slow
@pytest.mark.usefixtures("slow_commits")
def test_200_readings_as_one_burst_on_a_slow_disk(long_bench):
    long_bench.types("".join(f"{1 + i / 1000:.4f}\n" for i in range(1, MANY + 1)))
    assert long_bench.house.worker.waiting() > 0, "keys came faster than the disk"
    long_bench.qtbot.waitUntil(lambda: long_bench.house.worker.waiting() == 0, timeout=60_000)
    long_bench.settle()
    assert_each_in_its_row(long_bench, MANY)
    assert len(long_bench.kept().readings) == MANY


def test_a_burst_stops_at_a_question_and_goes_on_behind_its_answer(long_bench):
    bench = long_bench
    lines = [f"{1 + i / 1000:.4f}\n" for i in range(1, 11)]
    lines[2] = "1.1030\n"  # a tenth of an inch misread in row 3
    bench.types("".join(lines))
    assert bench.number() == "3"
    assert "tenth of an inch" in bench.room.card.said.text()
    assert "1.0040" in bench.room.card.held.text()
    assert bench.room.entry.text() == ""
    bench.settle()
    assert bench.number() == "3"
    assert bench.readings("4") == []
    bench.says("1.0030\n")
    bench.settle()
    assert bench.readings("3") == ["1.0030"]
    assert [bench.readings(str(i)) for i in range(4, 11)] == [[f"{1 + i / 1000:.4f}"] for i in range(4, 11)]
    assert len(bench.sheet.readings) == 11
    assert bench.room.card.held.text() == ""


def test_a_cable_never_answers_a_question(long_bench):
    bench = long_bench
    bench.types("1.101\n")
    bench.settle()
    bench.types("1.0025\n")
    bench.qtbot.wait(120)
    assert bench.number() == "1"
    assert bench.room.entry.text() == ""
    assert bench.readings("2") == []
    bench.qtbot.wait(60)
    bench.types("\n")
    bench.settle()
    assert bench.readings("1") == ["1.101"]
    assert bench.readings("2") == ["1.0025"]


def test_a_line_held_may_be_taken_as_the_answer(long_bench):
    bench = long_bench
    bench.types("1.101\n")
    bench.settle()
    bench.types("1.0015\n")
    bench.press(Qt.Key.Key_R, Qt.KeyboardModifier.AltModifier)
    bench.settle()
    assert bench.readings("1") == ["1.0015"]
    assert bench.number() == "2"


def test_what_is_held_may_be_dropped(long_bench):
    bench = long_bench
    bench.types("1.101\n1.0025\n")
    bench.press(Qt.Key.Key_X, Qt.KeyboardModifier.AltModifier)
    assert bench.room.card.held.text() == ""
    bench.settle()
    bench.types("\n")
    bench.settle()
    assert bench.readings("2") == []


def test_an_answer_given_before_the_reading_is_on_disk_waits_for_it(long_bench, door):
    bench = long_bench
    bench.types("1.101\n")
    bench.qtbot.wait(1)
    bench.flow.submit()  # Enter on the empty field, before the question has its identity
    assert bench.flow.standing.answer is not None
    bench.types("1.0025\n")
    assert "1.0025" in bench.room.card.held.text()
    door.set()
    bench.settle()
    assert bench.readings("1") == ["1.101"]
    assert bench.sheet.open_questions() == ()
    assert bench.readings("2") == ["1.0025"]


def test_a_line_that_cannot_be_read_stops_the_burst(long_bench):
    bench = long_bench
    bench.types("1.0010\n1.0O20\n1.0030\n")
    assert bench.number() == "2"
    assert bench.room.entry.text() == "1.0O20"
    bench.press(Qt.Key.Key_Escape)
    assert "1.0030" in bench.room.card.held.text()
    bench.qtbot.wait(60)
    bench.says("1.002\n")
    bench.settle()
    assert [bench.readings(str(i)) for i in (1, 2, 3)] == [["1.0010"], ["1.002"], ["1.0030"]]


def test_a_scanned_mark_that_the_crib_does_not_know_is_refused(long_bench):
    bench = long_bench
    bench.types("XQ-77\n")
    assert bench.room.entry.text() == "XQ-77"
    assert "neither a reading nor the mark" in bench.room.card.said.text()
    assert bench.sheet.readings == {}


def test_a_text_by_hand_is_never_taken_for_a_cable(long_bench):
    bench = long_bench
    bench.types("1.101\n")
    bench.settle()
    bench.says("1.00")
    bench.types("1\n")  # the last digit and Enter struck together
    bench.settle()
    assert bench.readings("1") == ["1.001"]
    assert bench.line("1").mark is Mark.CONFORMING


def test_the_keys_for_what_is_held_say_so_where_nothing_is(long_bench):
    for key in (Qt.Key.Key_R, Qt.Key.Key_X):
        long_bench.room.flow.say_plainly("")
        long_bench.press(key, Qt.KeyboardModifier.AltModifier)
        assert long_bench.room.card.said.text().startswith("Nothing that came by cable waits here.")
