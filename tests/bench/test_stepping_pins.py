"""Pins stepped up in a bore by keys: the card says which one comes next, and Enter keeps the two that size it."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt

from inspection.instruments.starter import starter_crib
from inspection.measuring.reading import Role

ALT, CTRL = Qt.KeyboardModifier.AltModifier, Qt.KeyboardModifier.ControlModifier
ENTER, ESCAPE = Qt.Key.Key_Return, Qt.Key.Key_Escape
ROWS = (
    {"number": "1", "kind": "bore", "requirement": "2X ⌀.1360 +.004/-.001", "place": "left; right"},
    {"number": "2", "kind": "bore", "requirement": "⌀.1500–.1540", "blind": "yes"},
    {"number": "3", "kind": "outside diameter", "requirement": "⌀.7500 +.0000/-.0005"},
)
THOU = 25_400_000


def crib(**changes: Any) -> tuple[Any, ...]:
    """A 0–1 in micrometer, and ZZ minus pins in steps of a thou from .061 to .250."""
    held = [one for one in starter_crib(due="2099-01-01") if one.tag in ("M-01", "P-02")]
    return tuple(replace(one, **changes) if one.tag == "P-02" else one for one in held)


@pytest.fixture
def bench(open_bench: Any) -> Any:
    b = open_bench(ROWS, crib=crib())
    b.go("1.1")
    b.qtbot.wait(80)
    return b


def line(b: Any) -> str:
    """The line below the entry, one of the two that may stand there."""
    b.qtbot.wait(60)
    shown = [each for each in (b.room.card.meaning, b.room.card.pin) if each.isVisible()]
    assert len(shown) == 1
    return str(shown[0].text())


def sentence(b: Any) -> str:
    b.qtbot.wait(60)
    return str(b.room.card.said.text())


def tries(b: Any, letters: str) -> None:
    """Letters one by one, each with the time that tells it from a burst."""
    for letter in letters:
        b.types(letter)
        b.qtbot.wait(80)


def roles(b: Any, number: str) -> dict[Role, str]:
    row = next(row for row in b.sheet.plan.characteristics if row.number == number)
    kept = b.sheet.counting(row.identity, b.sheet.pieces[0].identity)
    return {each.slot.role: each.written for each in kept}


def test_each_pin_leads_to_the_next_and_enter_keeps_both(bench: Any) -> None:
    assert line(bench) == "Try 0.136 in first: E if it enters, N if it does not."
    tries(bench, "E")
    assert line(bench) == "Try 0.137 in next: E if it enters, N if it does not."
    assert sentence(bench) == "0.136 in enters."
    assert roles(bench, "1.1") == {}, "nothing is kept before Enter"
    tries(bench, "N")
    assert sentence(bench) == (
        "0.136 in enters, 0.137 in does not: by class and direction the bore is 0.1358 in to 0.137 in."
    )
    assert line(bench) == "Enter keeps: .136 enters, .137 does not."
    bench.press(ENTER)
    bench.settle()
    assert roles(bench, "1.1") == {Role.ENTERS: ".136", Role.STOPS: ".137"}
    verdict = bench.line("1.1").verdict
    assert verdict in ("conforming", "marginal")  # as far as the pins were checked before use
    assert bench.number() == "1.2"
    assert sentence(bench) == (
        f"No. 1.1: .137 kept, {verdict}. 0.136 in enters, 0.137 in does not: by class and direction the bore is "
        "0.1358 in to 0.137 in."
    )
    assert len(bench.kept().readings) == 2


def test_the_next_hole_begins_where_the_last_one_was_sized(bench: Any) -> None:
    tries(bench, "EEEN")  # .136, .137, .139 enter, .143 does not
    assert line(bench) == "Try 0.141 in next: E if it enters, N if it does not."
    tries(bench, "NE")  # .141, .140
    bench.press(ENTER)
    bench.settle()
    assert roles(bench, "1.1") == {Role.ENTERS: ".140", Role.STOPS: ".141"}
    assert bench.line("1.1").verdict not in ("conforming", "marginal")  # .141 is over the upper limit of .140
    assert bench.number() == "1.2"
    assert line(bench) == "Try 0.140 in first: E if it enters, N if it does not."


def test_escape_takes_pins_back_one_by_one(bench: Any) -> None:
    tries(bench, "EN")
    bench.press(ESCAPE)
    assert sentence(bench) == "0.137 in counts as not tried."
    assert line(bench) == "Try 0.137 in next: E if it enters, N if it does not."
    bench.press(ESCAPE)
    assert line(bench) == "Try 0.136 in first: E if it enters, N if it does not."
    bench.press(ENTER)
    bench.settle()
    assert roles(bench, "1.1") == {}


def test_the_alt_keys_do_the_same(bench: Any) -> None:
    bench.press(Qt.Key.Key_E, ALT)
    bench.press(Qt.Key.Key_N, ALT)
    bench.press(ENTER)
    bench.settle()
    assert roles(bench, "1.1") == {Role.ENTERS: ".136", Role.STOPS: ".137"}


def test_a_letter_with_enter_in_one_burst_is_a_try_as_well(bench: Any) -> None:
    bench.types("E\n")
    bench.qtbot.wait(80)
    assert line(bench) == "Try 0.137 in next: E if it enters, N if it does not."


def test_a_size_that_is_typed_counts_as_tried(bench: Any) -> None:
    bench.types(".138\n")
    bench.settle()
    assert bench.number() == "1.1"
    assert line(bench) == "Try 0.139 in next: E if it enters, N if it does not."
    tries(bench, "N")
    assert line(bench) == "Enter keeps: .139 does not."
    bench.press(ENTER)
    bench.settle()
    assert roles(bench, "1.1") == {Role.ENTERS: ".138", Role.STOPS: ".139"}


def test_a_pin_between_that_nobody_tried_is_told_afterwards(bench: Any) -> None:
    bench.types(".136\n")
    bench.settle()
    bench.types(".138\n")
    bench.settle()
    assert sentence(bench).endswith("0.137 in lies between and was not tried; with it the bore could be told finer.")


def test_a_larger_pin_that_enters_after_one_was_kept_is_not_kept_over_it(bench: Any) -> None:
    bench.types(".136\n")
    bench.settle()
    tries(bench, "EN")  # .137 enters, .139 does not
    tries(bench, "N")  # .138
    assert sentence(bench).endswith("0.137 in enters, but 0.136 in is kept as the largest that enters. F2 corrects it.")
    assert line(bench) == ""
    bench.press(ENTER)
    bench.settle()
    assert roles(bench, "1.1") == {Role.ENTERS: ".136"}


def test_a_typed_size_that_is_no_pin_is_said(bench: Any) -> None:
    bench.types(".1365\n")
    bench.settle()
    bench.press(Qt.Key.Key_Down)
    bench.press(Qt.Key.Key_Up)
    assert sentence(bench) == "P-02 has no pin of 0.1365 in that is there and of known class."


def test_typing_hides_the_pin_and_shows_what_the_number_means(bench: Any) -> None:
    bench.types(".13")
    assert line(bench).startswith("0.13 in")
    assert sentence(bench) == ""
    bench.press(ESCAPE)
    assert line(bench) == "Try 0.136 in first: E if it enters, N if it does not."


def test_another_row_has_its_own_pins_and_coming_back_goes_on(bench: Any) -> None:
    tries(bench, "E")
    bench.press(Qt.Key.Key_Down)
    assert line(bench) == "Try 0.136 in first: E if it enters, N if it does not."
    bench.press(Qt.Key.Key_Up)
    assert line(bench) == "Try 0.137 in next: E if it enters, N if it does not."
    bench.go("3")
    assert line(bench) == ""
    tries(bench, "E")
    assert sentence(bench) == "Row 3 asks for a number. Nothing was entered. Type what the instrument shows."


def test_a_missing_pin_is_passed_over(open_bench: Any) -> None:
    b = open_bench(ROWS, crib=crib(missing=(137 * THOU,)))
    b.go("1.1")
    tries(b, "EN")
    assert sentence(b) == (
        "0.136 in enters, 0.138 in does not: by class and direction the bore is 0.1358 in to 0.138 in. "
        "One pin between 0.136 in and 0.138 in is missing from P-02; with it the bore could be told finer."
    )


def test_a_row_read_blind_begins_in_the_middle_of_the_set_and_shows_no_limit(bench: Any) -> None:
    """.061 to .250 has its middle at .156; neither .150 nor .154 stands on the card before the bore is read."""
    bench.go("2")
    assert line(bench) == "Try 0.156 in first: E if it enters, N if it does not."
    tries(bench, "NNNE")  # .156, .155, .153 do not enter, .149 does
    shown = " ".join((line(bench), sentence(bench), bench.room.card.prompt.text()))
    assert ".1540" not in shown and ".1500" not in shown
    assert line(bench) == "Try 0.151 in next: E if it enters, N if it does not."


def test_pins_are_told_as_they_are_marked_whatever_is_shown(bench: Any) -> None:
    bench.press(Qt.Key.Key_F6)
    bench.press(Qt.Key.Key_F6)
    assert bench.house.units == "mm"
    assert line(bench) == "Try 0.136 in first: E if it enters, N if it does not."


def test_what_was_kept_can_be_taken_back_and_tried_again(bench: Any) -> None:
    tries(bench, "EN")
    bench.press(ENTER)
    bench.settle()
    bench.press(Qt.Key.Key_Z, CTRL)
    bench.settle()
    bench.go("1.1")
    assert roles(bench, "1.1") == {Role.ENTERS: ".136"}
    assert line(bench) == "Try 0.137 in next: E if it enters, N if it does not."
