"""The check panel by keys through the window: a whole check, what is refused and where, what is kept, what it hands
over; and telling that something happened to an instrument."""

from __future__ import annotations

from typing import Any

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtGui import QFontMetrics, QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit

from app.bench.checking import Whose, act_of, check_instrument, give_back, report_upset
from app.bench.entry import LOOKS_UP
from app.checking.keys import KEYS
from app.checking.panel import CheckPanel
from app.parts.fitted import Fitted, Sentence
from app.parts.marks import Mark
from app.parts.sketch import Sketch
from app.window.theme import SMALL
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.measuring.checks import Configuration, configured
from inspection.measuring.checks_life import Upset
from inspection.measuring.checks_outcome import outcome_of
from inspection.quantity.units import UNITS
from inspection.sheet.acts import RecordCheck, ReportUpset

INCH, TENTH = UNITS["in"].count, UNITS["tenth"].count
NO, ALT, CONTROL = (
    Qt.KeyboardModifier.NoModifier,
    Qt.KeyboardModifier.AltModifier,
    Qt.KeyboardModifier.ControlModifier,
)
ROWS = ({"number": "1", "kind": "length", "requirement": "1.250 ±.005"},)
ESC, BACK, ENTER = Qt.Key.Key_Escape, Qt.Key.Key_Backspace, Qt.Key.Key_Return


class Hands:
    """A person at the check panel: keys go to whatever window is active."""

    def __init__(self, bench: Any) -> None:
        self.bench, self.got = bench, []

    def of(self, tag: str) -> Instrument:
        found = self.bench.house.shop.by_tag(tag)
        assert found is not None
        return found

    def opens(self, tag: str, size: int | None = INCH // 2, **more: Any) -> CheckPanel:
        check_instrument(self.bench.house, self.of(tag), size, more.pop("closing", False), self.got.append, **more)
        self.bench.qtbot.waitUntil(lambda: isinstance(QApplication.activeWindow(), CheckPanel))
        return self.panel

    @property
    def panel(self) -> CheckPanel:
        found = QApplication.activeWindow()
        assert isinstance(found, CheckPanel)
        return found

    @property
    def at(self) -> str:
        return self.panel.check.at

    @property
    def said(self) -> str:
        return self.panel.card.said.text()

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier = NO) -> None:
        self.bench.qtbot.wait(60)
        QTest.keyClick(QApplication.activeWindow().windowHandle(), key, modifier)

    def bursts(self, text: str) -> None:
        """Keys as fast as a cable sends them; a line break is Enter."""
        for sign in self.bench.in_one_go(text):
            key = ENTER if sign == "\n" else sign
            QTest.keyClick(QApplication.activeWindow().windowHandle(), key)

    def enters(self, *lines: str) -> None:
        """Lines as a hand enters them."""
        for line in lines:
            self.bench.qtbot.wait(60)
            self.bursts(line)
            self.press(ENTER)

    def letter(self, sign: str) -> None:
        self.bench.qtbot.wait(60)
        self.bursts(sign)
        self.bench.qtbot.wait(80)

    def records(self) -> RecordCheck:
        """Look at the outcome, then record it."""
        self.bench.qtbot.wait(LOOKS_UP + 50)
        self.press(ENTER)
        self.bench.qtbot.waitUntil(lambda: bool(self.got) and self.bench.frame.isActiveWindow())
        return self.got[-1]

    def leaves(self) -> None:
        self.press(ESC)
        self.bench.qtbot.waitUntil(self.bench.frame.isActiveWindow)


@pytest.fixture
def hands(open_bench) -> Hands:
    return Hands(open_bench(ROWS))


CALIPER = ("", "", "", "", "0", "0", "-.0005", ".5", ".5005", ".5", "")


# --- a whole check ----------------------------------------------------------------------------------------------


def test_a_caliper_is_checked_by_keys_alone_and_the_book_keeps_it(hands):
    panel = hands.opens("C-05")
    assert panel.title.text() == "C-05   digital caliper 6 in"
    assert panel.card.asked.text() == "Wipe faces and reference surface."
    hands.enters(*CALIPER[:7])
    assert panel.card.asked.text() == "Read a gauge block near 0.5 in, 3 times."
    assert panel.card.take.text().startswith("Take 0.5 in from G-01.")
    assert panel.card.badge.text() == "in"
    hands.enters(*CALIPER[7:])
    assert panel.end.isVisible() and panel.end.title.text() == "Passed"
    assert "Zeros differ by 0.0005 in, 0.001 in allowed." in panel.end.lines.text()
    assert "Mean error on what was read: ≈ +0.000167 in." in panel.end.lines.text()
    assert {row.line.mark for row in panel.lines.rows} == {Mark.CONFORMING}
    act = hands.records()
    caliper = hands.of("C-05")
    assert (act.instrument, act.issue, act.sheet) == (caliper.identity, caliper.issue, hands.bench.sheet_id)
    assert outcome_of(caliper, act.configuration, act.answers).passed
    block = next(answer for answer in act.answers if answer.line == "block")
    assert (block.size, block.standard, block.written) == (INCH // 2, "G-01", (".5", ".5005", ".5"))
    kept = []
    hands.bench.house.do(act, kept=kept.append)
    hands.bench.qtbot.waitUntil(lambda: bool(kept))
    assert hands.bench.room.entry.hasFocus()


def test_n_says_that_it_is_not_as_it_should_be_and_the_check_fails_with_reasons(hands):
    panel = hands.opens("C-05")
    hands.enters("", "")
    hands.letter("n")
    assert (hands.at, panel.lines.rows[2].line.mark) == ("zero", Mark.OUT)
    hands.enters("", "0", "0", "0", ".5", ".5025", ".5", "")
    assert panel.end.title.text() == "Failed"
    assert panel.end.lines.text().startswith("Not as it should be: Close the jaws against the light: no gap.\n")
    assert "0.5 in, read 3 times: at most 0.0025 in off, 0.001 in allowed." in panel.end.lines.text()
    marks = {row.line.code: row.line.mark for row in panel.lines.rows}
    assert [code for code, mark in marks.items() if mark is Mark.OUT] == ["light_gap", "block"]
    act = hands.records()
    assert not outcome_of(hands.of("C-05"), act.configuration, act.answers).passed


def test_a_key_with_alt_does_what_the_letter_does(hands):
    hands.opens("R-01", None)
    hands.press(Qt.Key.Key_N, ALT)
    assert (hands.at, hands.panel.check.answer("wipe").seen) == ("on_edge", False)


def test_a_micrometer_that_begins_at_an_inch_is_zeroed_there(hands):
    panel = hands.opens("M-02", 13 * INCH // 8)
    hands.enters("", "", "", "")
    assert "at 1 in: reading 1 of 3" in panel.card.prompt.text()
    hands.enters("1", "1.0001", "1")
    assert panel.card.take.text().startswith("Wring 0.85 + 0.8 in from G-01.")
    hands.enters("1.65", "1.65", "1.6499")
    assert panel.end.title.text() == "Passed"


def test_a_closing_check_asks_only_for_what_is_read(hands):
    panel = hands.opens("M-01", closing=True)
    assert "after use" in panel.title.text()
    hands.enters("0", "0", "0", ".5", ".5", ".5")
    assert hands.records().closing


# --- entering ---------------------------------------------------------------------------------------------------


def test_what_cannot_be_read_is_marked_where_it_is_wrong_and_typed_over(hands):
    panel = hands.opens("M-01")
    hands.enters("", "", "", "", "0x")
    assert panel.text == "0x"
    assert "not a unit" in hands.said
    hands.enters("0")
    assert (panel.text, hands.said, panel.check.answer("zero_again").written) == ("", "", ("0",))


def test_a_number_where_one_looks_says_so_and_enters_nothing(hands):
    hands.opens("C-05")
    hands.enters(".5")
    assert hands.said.startswith("Here you look and type nothing.")
    assert (hands.at, hands.panel.check.is_begun) == ("wipe", False)


def test_enter_alone_does_not_leave_a_line_that_lacks_readings(hands):
    hands.opens("M-01")
    hands.enters("", "", "", "", "0", "")
    assert hands.at == "zero_again"
    assert hands.said == "3 readings are needed, 1 entered: zero, opened and closed between."


def test_more_readings_may_be_taken_and_enter_goes_on(hands):
    hands.opens("M-01")
    hands.enters("", "", "", "", "0", "0", "0")
    hands.press(BACK)
    assert hands.at == "zero_again"
    hands.enters("0", ".0001")
    assert len(hands.panel.check.answer("zero_again").readings) == 5
    hands.enters("")
    assert hands.at == "block"


def test_backspace_mends_the_text_and_on_the_empty_field_goes_a_line_back(hands):
    hands.opens("M-01")
    hands.enters("", "", "", "")
    hands.bursts("01")
    hands.press(BACK)
    assert (hands.panel.text, hands.at) == ("0", "zero_again")
    hands.press(BACK)
    hands.press(BACK)
    assert hands.at == "zero"
    hands.press(Qt.Key.Key_Up)
    assert hands.at == "ratchet"
    hands.press(Qt.Key.Key_Down)
    assert hands.at == "zero"


def test_the_last_reading_is_taken_back(hands):
    hands.opens("M-01")
    hands.enters("", "", "", "", "0", ".01")
    hands.press(Qt.Key.Key_Z, CONTROL)
    assert hands.said == ".01 was taken back."
    assert hands.panel.check.answer("zero_again").written == ("0",)


def test_while_a_number_is_typed_only_what_it_means_is_shown(hands):
    panel = hands.opens("M-01")
    hands.enters("", "", "", "", "0", "0", "0")
    hands.bursts(".5001")
    assert panel.card.meaning.text() == "0.5001 in     12.70254 mm     500 thou and 1 tenth"
    assert "off" not in panel.card.meaning.text() + hands.said


# --- a hand and a cable -----------------------------------------------------------------------------------------


def test_the_second_end_of_a_line_by_cable_agrees_to_nothing(hands):
    hands.opens("C-05")
    hands.enters("", "", "", "", "0", "0", "0", ".5", ".5")
    hands.bursts(".5000\n\n")
    assert hands.at == "unit_shown"
    assert not hands.panel.check.answer("unit_shown").shown


def test_enter_held_down_looks_at_one_line_only(hands):
    hands.opens("C-05")
    handle = hands.panel.windowHandle()
    hands.press(ENTER)
    for _ in range(5):
        hands.bench.qtbot.wait(55)
        again = QKeyEvent(QEvent.Type.KeyPress, ENTER, NO, "\r", True)
        QCoreApplication.sendEvent(handle, again)
    assert hands.at == "free_travel"


def test_an_outcome_is_not_recorded_before_it_could_be_looked_at(hands):
    panel = hands.opens("R-01", None)
    hands.enters("", "", "")
    hands.press(ENTER)
    assert panel.isVisible() and hands.got == []
    assert isinstance(hands.records(), RecordCheck)


def test_from_the_outcome_back_to_mend_a_slip(hands):
    panel = hands.opens("M-01")
    hands.enters("", "", "", "", "0", "0", "0", ".5", ".5", ".6")
    assert panel.end.title.text() == "Failed"
    hands.press(BACK)
    assert hands.at == "block"
    hands.press(Qt.Key.Key_Z, CONTROL)
    hands.enters(".5")
    assert panel.end.title.text() == "Passed"


# --- blocks and how it is set up ----------------------------------------------------------------------------------


def test_another_block_is_named_in_place_of_the_suggested_one(hands):
    panel = hands.opens("M-01")
    hands.enters("", "", "", "", "0", "0", "0")
    hands.letter("b")
    assert "Which block" in hands.said
    hands.enters(".3333")
    assert "is no block of G-01" in hands.said and panel.text == ".3333"
    hands.enters("X-7 .3333")
    assert panel.card.take.text().startswith("X-7 0.3333 in.")
    hands.enters(".3333", ".3333", ".3334")
    act = hands.records()
    block = next(answer for answer in act.answers if answer.line == "block")
    assert (block.size, block.standard) == (3_333 * TENTH, "X-7")


def test_esc_leaves_the_naming_of_a_block_and_not_the_panel(hands):
    panel = hands.opens("M-01")
    hands.enters("", "", "", "", "0", "0", "0")
    hands.letter("b")
    hands.press(ESC)
    assert panel.isVisible() and "reading 1 of 3" in panel.card.prompt.text()


def test_a_setting_ring_has_its_size_asked_for(hands):
    panel = hands.opens("B-04")
    hands.enters("", "")
    assert panel.card.prompt.text().startswith("Size of the setting standard")
    hands.enters("R-3 .6000", ".6", ".6", ".6")
    act = hands.records()
    assert act.answers[-1].standard == "R-3"


def test_a_caliper_set_to_millimetres_is_checked_in_millimetres(hands):
    panel = hands.opens("C-05")
    hands.enters("")
    hands.press(Qt.Key.Key_F4)
    assert panel.form.isVisible()
    hands.press(Qt.Key.Key_Down)
    hands.press(ENTER)
    assert panel.set_up_as.text() == "set to mm"
    assert (hands.at, panel.check.answer("wipe").seen) == ("free_travel", True)
    hands.enters("", "", "", "0", "0", "0")
    assert "near 12.7 mm" in panel.card.asked.text()
    assert panel.card.badge.text() == "mm"


def test_what_is_fitted_is_written_and_a_range_it_cannot_have_is_refused_there(hands):
    panel = hands.opens("M-31")
    hands.press(Qt.Key.Key_F4)
    hands.press(Qt.Key.Key_Tab)
    hands.bursts("rod 2-3")
    hands.press(Qt.Key.Key_Tab)
    hands.bursts("5-7")
    hands.press(ENTER)
    assert "cannot be set up for 5 in to 7 in" in panel.form.said.text()
    for _ in range(3):
        hands.press(BACK)
    hands.bursts("2-3")
    hands.press(ENTER)
    assert panel.check.configuration == Configuration("in", "rod 2-3", 2 * INCH, 3 * INCH)
    assert "fitted: rod 2-3" in panel.set_up_as.text()


def test_esc_leaves_it_set_up_as_it_was(hands):
    panel = hands.opens("C-05")
    hands.press(Qt.Key.Key_F4)
    hands.press(Qt.Key.Key_Down)
    hands.press(ESC)
    assert panel.isVisible() and panel.card.isVisible()
    assert panel.check.configuration.unit == "in"


def test_it_is_set_up_as_this_person_last_checked_it(hands):
    caliper = hands.of("C-05")
    hands.opens("C-05", configuration=configured(caliper, "mm"))
    hands.enters("", "", "", "", "0", "0", "0", "12.7", "12.7", "12.7", "")
    kept = []
    hands.bench.house.do(hands.records(), kept=kept.append)
    hands.bench.qtbot.waitUntil(lambda: bool(kept))
    hands.got.clear()
    assert hands.opens("C-05").check.configuration.unit == "mm"
    hands.leaves()


# --- leaving, and taking up again -------------------------------------------------------------------------------


def test_esc_with_nothing_entered_leaves_nothing(hands):
    hands.opens("C-05")
    hands.leaves()
    assert hands.got == [None]
    assert hands.bench.house.left_off == {}
    assert hands.bench.room.entry.hasFocus()


def test_what_was_entered_and_typed_is_there_again(hands):
    hands.opens("C-05")
    hands.enters("", "", "", "", "0")
    hands.bursts("-.00")
    hands.leaves()
    assert hands.got == [None]
    panel = hands.opens("C-05")
    assert (hands.at, panel.text) == ("zero_again", "-.00")
    assert "Taken up where it was left" in hands.said
    hands.bursts("05")
    hands.press(ENTER)
    assert panel.check.answer("zero_again").written == ("0", "-.0005")
    hands.press(Qt.Key.Key_F5)
    assert (hands.at, panel.check.is_begun) == ("wipe", False)
    hands.leaves()


def test_another_person_does_not_go_on_with_it(hands):
    hands.opens("C-05")
    hands.enters("")
    hands.leaves()
    hands.bench.house.person = "someone else"
    assert not hands.opens("C-05").check.is_begun
    hands.leaves()


def test_what_was_recorded_is_not_taken_up_again_unless_it_came_back(hands):
    hands.opens("R-01", None)
    hands.enters("", "", "")
    act = hands.records()
    hands.got.clear()
    assert not hands.opens("R-01", None).check.is_begun
    hands.leaves()
    give_back(hands.bench.house, hands.of("R-01"), act)
    hands.got.clear()
    panel = hands.opens("R-01", None)
    assert panel.end.isVisible()
    assert hands.records() == act


def test_what_cannot_be_checked_is_said_and_no_panel_opens(hands):
    told = []
    hands.bench.house.noticed.connect(lambda text, failure: told.append((text, failure)))
    eye = Instrument("e", 1, "EYE", InstrumentKind.EYE, "by eye")
    assert check_instrument(hands.bench.house, eye, None, False, hands.got.append) is None
    assert hands.got == [None]
    assert told == [("EYE, by eye: nothing is to be recorded for it.", True)]


def test_a_check_is_stamped_when_it_is_recorded_and_not_when_it_was_begun(hands):
    foreseen = hands.bench.house.foreseen
    hands.opens("R-01", None)
    assert not foreseen._moments
    hands.leaves()


# --- something happened to it -----------------------------------------------------------------------------------


def test_what_happened_is_told_with_a_note_and_ends_what_was_begun(hands, answers):
    hands.opens("C-05")
    hands.enters("")
    hands.leaves()
    assert any(isinstance(each, Whose) for each in hands.bench.house.left_off)
    answers[0].append({"what": "dropped", "note": " off the bench "})
    told = []
    caliper = hands.of("C-05")
    report_upset(hands.bench.house, caliper, told.append)
    assert told == [ReportUpset(instrument=caliper.identity, what=Upset.DROPPED, note="off the bench")]
    assert hands.bench.house.left_off == {}
    question = answers[1][0]
    assert question.title == "What happened to C-05 digital caliper 6 in?"
    assert [label for _, label in question.fields[0].choices] == ["dropped", "repaired or adjusted", "set up otherwise"]
    kept = []
    hands.bench.house.do(told[0], kept=kept.append)
    hands.bench.qtbot.waitUntil(lambda: bool(kept))


def test_going_back_tells_nothing(hands, answers):
    answers[0].append(None)
    told = []
    report_upset(hands.bench.house, hands.of("C-05"), told.append)
    assert told == [None]


# --- how it looks -----------------------------------------------------------------------------------------------


def cut(panel: CheckPanel) -> list[str]:
    """Sentences that are too long for their place even in the smallest text, and labels that are cut."""
    found = []
    for label in panel.findChildren(Sentence):
        if label.isVisible() and label.text():
            small = label._theme.font(label._sizes[-1], bold=label._bold)
            metrics = QFontMetrics(small)
            needed = metrics.boundingRect(0, 0, label.width(), 9999, int(Qt.TextFlag.TextWordWrap), label.text())
            if needed.height() > label.height():
                found.append(label.text())
    for each in panel.findChildren(Fitted):
        if each.isVisible() and each.fontMetrics().horizontalAdvance(each.text()) > each.width():
            found.append(each.text())
    return found


@pytest.mark.parametrize("scale", [100, 150, 200])
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_nothing_is_cut_at_the_usual_sizes(hands, theme, scale):
    hands.bench.house.set_theme(hands.bench.house.theme.named(theme).scaled(scale))
    for tag in ("C-05", "M-02", "P-02", "R-01", "I-01"):
        panel = hands.opens(tag)
        panel.resize(min(panel.width(), 1272), min(panel.height(), 712))
        for line in panel.check.lines:
            panel._go_to(line.code)
            assert cut(panel) == [], (tag, line.code)
            assert panel.rect().contains(panel.card.entry.geometry())
        hands.leaves()


def test_the_outcome_is_whole_at_every_scale(hands):
    for scale in (100, 200):
        hands.bench.house.set_theme(hands.bench.house.theme.scaled(scale))
        panel = hands.opens("C-05")
        panel.resize(min(panel.width(), 1272), min(panel.height(), 712))
        hands.letter("n")
        hands.enters("", "", "", ".002", "0", "-.0005", ".5", ".5025", ".5", "")
        assert cut(panel) == []
        hands.press(Qt.Key.Key_F5)
        hands.leaves()


def test_the_card_keeps_its_place_while_checking(hands):
    panel = hands.opens("C-05")
    places = set()
    for text in CALIPER[:-1]:
        hands.enters(text)
        places.add(panel.card.entry.mapTo(panel, panel.card.entry.rect().topLeft()).toTuple())
    assert len(places) == 1


def test_everything_has_a_name_and_the_sketch_says_what_its_line_asks(hands):
    panel = hands.opens("C-05")
    assert panel.accessibleName() == "Check C-05 before use"
    assert "Wipe faces" in panel.card.entry.accessibleName()
    assert "Enter: as it should be" in panel.card.entry.accessibleName()
    assert all(sketch.accessibleName() for sketch in panel.findChildren(Sketch))
    assert all(field.accessibleName() for field in panel.form.findChildren(QLineEdit) if field.parent() is panel.form)
    assert panel.lines.rows[0].accessibleName() == "Wipe faces and reference surface. open"
    hands.enters(".5")
    assert panel.card.entry.accessibleDescription() == hands.said
    hands.leaves()


def test_cautions_of_the_kind_stand_on_the_panel(hands):
    assert "drive isolated" in hands.opens("I-01").caution.text()
    hands.leaves()
    assert "turns" in hands.opens("P-02").caution.text()
    hands.leaves()


def test_no_key_of_the_panel_means_two_things():
    keys = [each.key for each in KEYS.values()]
    assert len(keys) == len(set(keys))


def test_letters_that_are_read_are_never_smaller_than_the_smallest_text(hands):
    panel = hands.opens("C-05")
    assert all(label._sizes[-1] >= SMALL for label in panel.findChildren(Sentence))
    hands.leaves()


def test_the_act_of_a_check_holds_every_answer_in_the_order_of_the_list(hands):
    hands.opens("C-05")
    hands.enters(*CALIPER)
    panel = hands.panel
    act = act_of(panel.check, "sheet")
    assert [answer.line for answer in act.answers] == [line.code for line in panel.check.lines]
    hands.leaves()
