"""Numbers in, verdicts out: what is typed at a row, what it costs in keys, and where the entry goes."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from app.bench.standing import Said
from app.parts.marks import Mark
from inspection.measuring.reading import Observed, Role


def test_a_reading_costs_its_characters_and_one_key(bench):
    assert bench.number() == "1"
    bench.types(".7498\n")
    assert bench.number() != "1"
    assert bench.room.entry.text() == ""
    bench.settle()
    assert bench.readings("1") == [".7498"]
    assert bench.line("1").mark is Mark.MARGINAL  # a band of .0005 in asks for more than a micrometer
    row, piece = bench.sheet.plan.characteristics[0].identity, bench.sheet.pieces[0].identity
    assert [each.written for each in bench.kept().counting(row, piece)] == [".7498"]


def test_the_row_left_behind_is_writing_until_it_is_on_disk(bench, door):
    bench.go("2")
    bench.types("1.2505\n")
    assert bench.line("2").mark is Mark.WRITING
    assert [each.text for each in bench.line("2").readings] == ["1.2505"]
    door.set()
    bench.settle()
    assert bench.line("2").mark is Mark.CONFORMING
    assert "No. 2: 1.2505 kept" in bench.room.card.said.text()


def test_while_a_number_is_typed_only_its_meaning_is_shown(bench):
    bench.go("2")
    before = bench.room.card.zone.grab().toImage()
    bench.types("1.2605")
    bench.qtbot.wait(60)
    words = bench.room.card.meaning.text()
    assert "1.2605 in" in words
    assert "32.0167 mm" in words
    assert "1 inch 260 thou and 5 tenths" in words
    assert bench.room.card.zone.grab().toImage() == before
    assert bench.line("2").mark is Mark.OPEN
    assert bench.room.card.said.text() == ""


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("1 1/4", "1.25 in"),
        ("31.75mm", "31.75 mm"),
        ("1,25", "1.25 in"),
        ("1.25 mil", "“mil” could mean"),
        ("1,250", "could mark decimals or thousands"),
        ("1..25", "second comma or point"),
    ],
)
def test_every_notation_is_read_as_it_is_typed(bench, typed, said):
    bench.go("2")
    bench.types(typed)
    bench.qtbot.wait(60)
    card = bench.room.card
    assert said in card.meaning.text() + card.said.text()


def test_what_cannot_be_read_is_told_over_the_words_of_a_return(bench):
    """The words asked for a reading; the reading that is typed now is what counts."""
    bench.go("2")
    bench.room.flow.say(Said("Returned: read it at both ends.", "doubt"))
    assert "both ends" in bench.room.card.said.text()
    bench.types("1..25")
    bench.qtbot.wait(60)
    assert "second comma or point" in bench.room.card.said.text()


def test_a_number_that_is_not_finished_says_nothing_yet(bench):
    bench.go("2")
    said = []
    for typed in "1 5/8":
        bench.types(typed)
        said.append(bench.room.card.meaning.text() + bench.room.card.said.text())
    assert said[3] == ""
    assert said[4].startswith("1.625 in")
    assert "1 5/8 in" in said[4]


def test_what_cannot_be_read_stays_and_is_pointed_at(bench):
    bench.go("2")
    bench.types("1.25x\n")
    assert bench.number() == "2"
    assert bench.room.entry.text() == "1.25x"
    assert "“x” is not a unit" in bench.room.card.said.text()
    bench.press(Qt.Key.Key_Backspace)
    bench.types("\n")
    bench.settle()
    assert bench.readings("2") == ["1.25"]


def test_enter_on_an_empty_field_does_nothing(bench):
    at = bench.number()
    bench.types("\n\n")
    assert bench.number() == at
    assert bench.sheet.readings == {}


def test_millimetres_on_an_inch_row_are_kept_as_written(bench):
    bench.go("2")
    bench.types("31.75 mm\n")
    bench.settle()
    (kept,) = bench.sheet.readings.values()
    assert (kept.written, kept.unit, kept.count) == ("31.75 mm", "mm", 31_750_000_000)
    assert [each.text for each in bench.line("2").readings] == ["1.2500"]  # as fine as .01 mm


def test_the_badge_is_the_unit_that_the_instrument_is_set_to(bench):
    bench.go("8")
    assert bench.room.card.badge.text() == bench.room.seen.instrument(bench.flow.at.row).unit
    bench.go("9")
    assert bench.room.card.badge.text() == "°"
    bench.go("6")
    assert bench.room.card.badge.text() == ""


def test_a_note_is_answered_by_one_letter(bench):
    bench.go("6")
    bench.says("e")
    bench.qtbot.waitUntil(lambda: bench.number() != "6")
    bench.settle()
    (kept,) = bench.sheet.readings.values()
    assert kept.observed is Observed.AS_REQUIRED
    assert bench.line("6").mark is Mark.CONFORMING


def test_a_gauge_is_answered_by_what_entered(bench):
    bench.go("5")
    assert "GO" in bench.room.card.prompt.text()
    bench.press(Qt.Key.Key_E, Qt.KeyboardModifier.AltModifier)
    assert bench.flow.at.slot.role is Role.NOT_GO
    bench.press(Qt.Key.Key_E, Qt.KeyboardModifier.AltModifier)
    bench.settle()
    assert bench.readings("5") == ["enters", "enters"]
    assert bench.line("5").mark is Mark.OUT


def test_a_letter_with_something_behind_it_is_no_command(bench):
    bench.go("5")
    bench.types("e\n")  # a burst: the letter is an answer by its Enter
    bench.settle()
    assert bench.readings("5") == ["enters"]


def test_nobody_types_pass(bench):
    for row in ("5", "6"):
        bench.go(row)
        bench.types("pass\n")
        assert bench.number() == row
        assert bench.room.entry.text() == "pass"
        bench.press(Qt.Key.Key_Escape)
    bench.settle()
    assert bench.sheet.readings == {}


def test_pins_ask_for_the_largest_that_enters_and_then_the_smallest_that_does_not(bench):
    bench.go("4.1")
    assert bench.flow.at.slot.role is Role.ENTERS
    assert "largest that enters" in bench.room.card.prompt.text()
    bench.types(".137\n")
    assert (bench.number(), bench.flow.at.slot.role) == ("4.1", Role.STOPS)
    bench.types(".138\n")
    bench.settle()
    assert [each.text for each in bench.line("4.1").readings] == ["0.1370 enters", "0.1380 not"]
    assert bench.line("4.1").mark in (Mark.CONFORMING, Mark.MARGINAL)


def test_places_are_named_before_each_is_read(bench):
    bench.go("7")
    bench.qtbot.wait(5)
    assert "left end" in bench.room.card.prompt.text()
    bench.types("1.0005\n")
    bench.qtbot.wait(5)
    assert bench.number() == "7"
    assert "right end" in bench.room.card.prompt.text()
    bench.types("1.0010\n")
    bench.settle()
    assert bench.line("7").mark in (Mark.CONFORMING, Mark.MARGINAL)


def test_a_blind_row_hides_what_would_tell_the_reading(bench):
    bench.go("10")
    bench.qtbot.wait(60)
    told = " ".join(str(part) for part in (*bench.line("10"), bench.room.card.heading.accessibleDescription()))
    told += bench.room.card.heading.accessibleName() + bench.room.card.why.sentence.text()
    told += bench.room.card.why.bars.accessibleDescription()
    assert "3.0" not in told
    assert "2.99" not in told
    bench.types("3.001\n")
    bench.settle()
    assert bench.line("10").limits == "2.995 … 3.005"
    assert bench.line("10").mark in (Mark.CONFORMING, Mark.MARGINAL)


def test_a_row_that_is_full_refuses_a_further_number(bench):
    bench.go("2")
    bench.types("1.25\n")
    bench.settle()
    bench.go("2")
    bench.types("1.26\n")
    assert bench.room.entry.text() == "1.26"
    assert "Row 2 holds all its readings" in bench.room.card.said.text()
    assert bench.readings("2") == ["1.25"]


def test_a_reference_dimension_may_be_measured_and_is_not_judged(bench):
    bench.go("11")
    bench.types("4.25\n")
    bench.settle()
    assert bench.readings("11") == ["4.25"]
    assert bench.line("11").mark is Mark.NOT_JUDGED


def test_text_left_with_the_arrow_keys_waits_in_its_row(bench):
    bench.go("2")
    bench.types("1.25")
    bench.press(Qt.Key.Key_Down)
    assert (bench.number(), bench.room.entry.text()) == ("3", "")
    bench.press(Qt.Key.Key_Up)
    assert (bench.number(), bench.room.entry.text()) == ("2", "1.25")


def test_left_and_right_belong_to_the_text(bench):
    bench.go("2")
    bench.types("1.2")
    bench.press(Qt.Key.Key_Left)
    bench.types("5")
    assert bench.room.entry.text() == "1.52"
    assert bench.number() == "2"


def test_the_switch_of_units_changes_what_is_shown_and_nothing_else(bench):
    bench.go("2")
    bench.types("1.2505\n")
    bench.settle()
    bench.go("3")
    bench.types("2.00")
    bench.press(Qt.Key.Key_F6)
    bench.press(Qt.Key.Key_F6)
    assert bench.house.units == "mm"
    assert bench.line("2").limits == "31.623 … 31.877"
    assert [each.text for each in bench.line("2").readings] == ["≈ 31.763"]  # of .0001 in, .001 mm
    assert bench.room.entry.text() == "2.00"
    bench.types("1\n")
    bench.settle()
    assert bench.readings("3") == ["2.001"]
    assert [each.unit for each in bench.sheet.readings.values()] == ["in", "in"]


def test_wheel_and_focus_never_change_a_typed_text(bench):
    from PySide6.QtCore import QPoint, QPointF
    from PySide6.QtGui import QWheelEvent
    from PySide6.QtWidgets import QApplication

    bench.go("2")
    bench.types("1.25")
    here = QPointF(bench.room.entry.rect().center())
    turn = QWheelEvent(
        here, bench.room.entry.mapToGlobal(here), QPoint(), QPoint(0, 120), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(bench.room.entry, turn)
    bench.frame.setFocus()
    bench.room.arrive()
    assert bench.room.entry.text() == "1.25"
    assert bench.room.entry.hasFocus()


def test_pointing_at_a_row_goes_there_and_leaves_the_keys_with_the_entry(bench):
    from PySide6.QtTest import QTest

    place = bench.room.model.place_of(bench.sheet.plan.characteristics[2].identity)
    rect = bench.room.table.visualRect(bench.room.model.index(place, 1))
    QTest.mouseClick(
        bench.room.table.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, rect.center()
    )
    assert bench.number() == "3"
    bench.types("2.001\n")
    bench.settle()
    assert bench.readings("3") == ["2.001"]


def test_a_number_typed_after_a_refusal_takes_the_place_of_what_was_refused(bench):
    bench.says(".74l\n")
    assert bench.flow.said.look == "out"
    bench.says(".7499")
    bench.qtbot.waitUntil(lambda: bench.room.entry.text() == ".7499")


def test_what_was_refused_can_be_mended_at_its_character(bench):
    bench.says(".749l\n")
    bench.press(Qt.Key.Key_Backspace)
    bench.says("9")
    bench.qtbot.waitUntil(lambda: bench.room.entry.text() == ".7499")


def test_a_key_with_alt_types_nothing(bench):
    b = bench
    b.press(Qt.Key.Key_2, Qt.KeyboardModifier.AltModifier)
    assert b.room.entry.text() == ""


def test_a_piece_key_at_the_end_says_which_piece_is_the_last(bench):
    for key, said in ((Qt.Key.Key_PageDown, "is the last one of this sheet"), (Qt.Key.Key_PageUp, "is the first one")):
        for _ in bench.sheet.pieces:
            bench.press(key)
        bench.qtbot.waitUntil(lambda said=said: said in bench.room.card.said.text())
