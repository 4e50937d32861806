"""What is computed of a result, as the Bench shows it: nothing before the commit and nothing of a row read blind; guard
bands, U, margin, probability and reasons after it; a mean after a doubt; temperatures; the sheet's rule.

Values by hand: a micrometer 0–1 in with E = r = .0001 in has u_c = √(.0001²/3 + .00003² + .0001²/12 + …) = .000071 in
and U = .00015 in (two digits, rounded up; JCGM 100); g = 1.645 u_c = .00012 in (ISO 14253-1, from memory)."""

from __future__ import annotations

from typing import Any

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication

from app.bench.why_dialog import BUDGET, WHY, WhyDialog
from app.parts.marks import Mark
from app.window.asking import Fault
from inspection.instruments.rules import Rules
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.quantity.units import PICOMETRES_PER_INCH as INCH
from inspection.sheet import acts
from storage.book.door import Book

CONTROL, ALT, SHIFT = (
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.AltModifier,
    Qt.KeyboardModifier.ShiftModifier,
)
GUARDED, PROBABILITY = DecisionRule(RuleKind.GUARDED), DecisionRule(RuleKind.PROBABILITY)
ROWS = (
    {"number": "1", "kind": "outside diameter", "requirement": "⌀.7500 +.0000/-.0005", "name": "bearing seat"},
    {"number": "2", "kind": "length", "requirement": "1.250 ±.005", "name": "body"},
    {"number": "3", "kind": "geometric tolerance", "requirement": ".002", "name": "flatness"},
    {"number": "4", "kind": "outside diameter", "requirement": "⌀.5000 ±.0001", "name": "pin"},
    {"number": "5", "kind": "length", "requirement": "3.000 ±.005", "blind": "yes", "name": "rail"},
    {"number": "6", "kind": "note", "requirement": "BREAK ALL SHARP EDGES"},
    {"number": "7", "kind": "length", "requirement": "2.500 ±.003", "name": "step"},
)


@pytest.fixture
def guarded(open_bench) -> Any:
    return open_bench(ROWS, rules=Rules(decision=GUARDED))


def read(bench: Any, number: str, text: str) -> None:
    """A row read, and stood at again."""
    bench.go(number)
    bench.types(f"{text}\n")
    bench.settle()
    bench.go(number)
    bench.qtbot.wait(60)


def letter(bench: Any, sign: str) -> None:
    bench.qtbot.wait(60)
    bench.types(sign)
    bench.qtbot.wait(120)


# --- strip, words, card ---------------------------------------------------------------------------------------------


def test_nothing_of_it_is_shown_before_the_commit(guarded):
    guarded.go("1")
    guarded.types(".7496")
    guarded.qtbot.wait(80)
    zone = guarded.line("1").zone
    assert (zone.guard, zone.results, zone.raw) == (0, (), ())
    card = guarded.room.card
    assert card.zone._asked.zone.guard == 0
    assert card.pin.text() == "" and "guard" not in card.meaning.text() + card.said.text()
    assert "open" in guarded.line("1").spoken


def test_a_doubt_has_its_mark_its_words_and_its_guard_bands(guarded):
    read(guarded, "1", ".7496")
    line = guarded.line("1")
    assert (line.mark, line.verdict) == (Mark.DOUBT_INSIDE, "in doubt, inside")
    assert line.zone.results == (7496 * INCH // 10_000,)
    assert round(line.zone.guard / INCH, 5) == 0.00012
    card = guarded.room.card
    assert card.pin.text().split("     ") == ["0.7496", "U .00015", "guard band .00012", "inside by .00010"]
    assert card.said.text().startswith("Inside by 0.0001 in; conformity is shown from")
    assert guarded.room.head.counts.text().endswith("1 in doubt")
    assert "guard band" in guarded.room.entry.accessibleDescription()


def test_what_was_kept_is_told_with_its_figures_at_the_next_row(guarded):
    guarded.go("1")
    guarded.types(".7496\n")
    guarded.settle()
    said = guarded.room.card.said.text()
    assert said == "No. 1: .7496 kept, in doubt, inside. U .00015, guard band .00012, inside by .00010."


def test_outside_by_less_than_the_guard_band_is_in_doubt_too(guarded):
    read(guarded, "1", ".7501")
    assert guarded.line("1").mark is Mark.DOUBT_OUTSIDE
    assert guarded.line("1").verdict == "in doubt, outside"
    assert "outside by .00010" in guarded.room.card.pin.text()


def test_a_natural_zero_is_guarded_at_its_limit_alone(guarded):
    read(guarded, "3", ".0015")
    zone = guarded.line("3").zone
    assert zone.zero and zone.guard > 0


def test_where_no_result_could_show_conformity_all_of_the_band_is_guarded(guarded):
    """T under 3.92 u_c: no guard band leaves anything (JCGM 106, 8.3)."""
    read(guarded, "4", ".5000")
    line = guarded.line("4")
    assert line.mark is Mark.DOUBT_INSIDE
    assert line.zone.guard == 2 * INCH // 10_000
    assert "cannot show conformity" in guarded.room.card.said.text()


def test_a_row_read_blind_shows_nothing_until_it_is_read_through(guarded):
    guarded.go("5")
    assert guarded.line("5").zone.guard == 0 and guarded.room.card.pin.text() == ""
    read(guarded, "5", "3.0005")
    assert guarded.line("5").zone.guard > 0
    assert "guard band" in guarded.room.card.pin.text()


def test_with_probability_the_verdict_tells_it(open_bench):
    bench = open_bench(ROWS, rules=Rules(decision=PROBABILITY))
    read(bench, "1", ".7496")
    assert bench.line("1").verdict.startswith("in doubt, 9") and bench.line("1").verdict.endswith(" %")
    assert bench.line("1").zone.guard == 0
    assert bench.room.card.pin.text().split("     ")[-1].startswith("P 9")
    assert bench.room.head.state.text().endswith("probability 95 %")


def test_under_simple_acceptance_the_card_shows_the_margin_and_no_guard_band(open_bench):
    bench = open_bench(ROWS)
    read(bench, "2", "1.2505")
    assert bench.room.card.pin.text().split("     ") == ["1.2505", "U .0014", "inside by .0045"]
    assert bench.line("2").zone.guard == 0


def test_figures_follow_the_unit_shown(guarded):
    read(guarded, "2", "1.2505")
    guarded.house.set_units("mm")
    guarded.qtbot.wait(60)
    figures = guarded.room.card.pin.text().split("     ")
    assert figures[0] == "≈ 31.7627" or figures[0].startswith("≈ 31.76")
    assert figures[1] == "U 0.036"  # .0014 in is 0.03556 mm, never told as less


def test_while_a_correction_is_typed_the_figures_give_way_to_what_it_means(guarded):
    read(guarded, "1", ".7496")
    guarded.press(Qt.Key.Key_F2)
    guarded.types(".7497")
    guarded.qtbot.wait(30)
    assert guarded.room.card.pin.text() == ""
    assert "0.7497 in" in guarded.room.card.meaning.text()


# --- temperature and rule -------------------------------------------------------------------------------------------


def test_temperatures_are_logged_as_a_shop_writes_them_and_correct_what_follows(guarded, answers):
    state = guarded.room.head.state
    assert state.text().startswith("68.5 °F, not logged")
    typed = {"part": "77F", "instrument": "20", "thermometer": "", "other": "T-9", "within": ".2", "soak": "10 min"}
    answers[0].append(typed)
    guarded.press(Qt.Key.Key_T, CONTROL)
    guarded.settle()
    assert guarded.sheet.temperatures[0].part == 25_000
    assert "°C, logged " in state.text()
    assert state.accessibleName().startswith("part 25 °C, instrument 20 °C, logged ")
    assert "taken to 20 °C" in guarded.room.card.said.text()
    read(guarded, "1", ".7498")
    line = guarded.line("1")
    assert line.zone.raw == (7_498 * INCH // 10_000,)
    # steel, 11.5 millionths per °C (the program's own table), 5 °C: .75 in is .000043 in longer than at 20 °C
    assert round((line.zone.raw[0] - line.zone.results[0]) / INCH, 6) == pytest.approx(0.000043, abs=2e-6)
    assert guarded.room.card.pin.text().startswith("0.74976, read 0.7498 ")


@pytest.mark.parametrize(
    ("typed", "field", "at", "told"),
    [
        ({"part": "23.4x"}, "part", 4, "is no temperature"),
        ({"instrument": "75 K"}, "instrument", 3, "is no temperature"),
        ({"part": "234"}, "part", -1, "can't be the temperature"),
        ({"within": "a"}, "within", 0, ""),
        ({"within": ""}, "within", -1, "Nobody has said"),
        ({"soak": "a while"}, "soak", 0, "is no time"),
        ({"other": ""}, "other", -1, "No thermometer was named"),
        ({"other": "M-01"}, "other", -1, "no thermometer"),
    ],
)  # fmt: skip
def test_what_is_no_temperature_is_told_at_its_field(guarded, typed, field, at, told):
    from app.bench.temperatures import Temperatures
    from app.bench.times import now_at

    asked = Temperatures(guarded.house.shop, guarded.sheet, now_at(guarded.house), guarded.house.person)
    whole = {"part": "23.4", "instrument": "23.4", "thermometer": "", "other": "T-9", "within": ".2", "soak": ""}
    found = asked.read({**whole, **typed})
    assert isinstance(found, Fault)
    assert (found.field, found.at) == (field, at)
    assert told in found.text


def test_a_log_that_has_gone_stale_says_so(guarded):
    with Book.open(guarded.path, clock=_hours_ago(5)) as book:
        log = acts.LogTemperature(sheet=guarded.sheet_id, part=20_400, instrument=20_400, thermometer="T-9", within=200)
        book.do(log, person=guarded.house.person)
    guarded.room.arrive()
    guarded.qtbot.waitUntil(lambda: "stale" in guarded.room.head.state.text())
    assert guarded.room.head.state.text().startswith("20.4 °C of ")


def _hours_ago(hours: int) -> Any:
    from storage.book.clock import Moment, wall_clock

    def clock() -> Moment:
        now = wall_clock()
        return Moment(now.at - hours * 3_600_000_000, now.day)

    return clock


def test_the_lead_chooses_the_rule_with_a_reason_and_every_verdict_follows(guarded, answers):
    read(guarded, "1", ".7496")
    answers[0].append({"rule": "simple", "reason": "order P-7, agreed with Nobody & Sons"})
    guarded.press(Qt.Key.Key_R, CONTROL | SHIFT)
    guarded.settle()
    assert guarded.line("1").mark is Mark.MARGINAL and guarded.line("1").zone.guard == 0
    assert "One verdict is another now" in guarded.room.card.said.text()
    assert guarded.room.head.state.text().endswith("simple acceptance")
    question = answers[1][0]
    for text, told in (("guarded:40", "proves nothing"), ("guardd:95", "no decision rule"), ("guarded:95", "already")):
        fault = question.check({"rule": text, "reason": "x"})
        assert isinstance(fault, Fault) and fault.field == "rule" and told in fault.text


# --- a mean after a doubt -------------------------------------------------------------------------------------------


def test_m_sets_the_mean_before_it_is_taken_and_the_row_waits_for_the_rest(guarded, answers):
    read(guarded, "7", "2.5029")
    assert guarded.line("7").mark is Mark.DOUBT_INSIDE
    answers[0].append({"m": "3"})
    letter(guarded, "m")
    guarded.settle()
    question = answers[1][0]
    assert "all of them enter the mean, and none is dropped" in question.text
    assert guarded.number() == "7"
    assert guarded.room.card.prompt.text() == "2 of 3"
    assert guarded.line("7").verdict == "2 of 3 to take"
    assert guarded.line("7").zone.guard == 0
    guarded.says("2.5027\n")
    guarded.settle()
    assert guarded.room.card.prompt.text() == "3 of 3"
    guarded.says("2.5028\n")
    guarded.settle()
    guarded.go("7")
    guarded.qtbot.wait(60)
    assert guarded.readings("7") == ["2.5029", "2.5027", "2.5028"]
    assert guarded.room.card.pin.text().startswith("mean of 3: 2.5028")
    assert "The mean of 3 readings was set after a doubt" in guarded.room.card.said.text()


def test_m_offers_the_number_that_would_settle_it_or_says_what_stands_against(guarded, answers):
    read(guarded, "4", ".5000")
    answers[0].append(None)
    guarded.press(Qt.Key.Key_M, ALT)
    guarded.settle()
    (question,) = answers[1]
    assert "No mean of up to 12 readings settles it" in question.text
    assert "repeats don't make smaller" in question.text
    fault = question.check({"m": "13"})
    assert isinstance(fault, Fault) and fault.field == "m" and "12" in fault.text
    assert question.check({"m": "2"}) == ""


def test_what_nobody_doubts_is_not_read_again_for_a_mean(guarded):
    read(guarded, "2", "1.2500")
    letter(guarded, "m")
    assert "is not in doubt" in guarded.room.card.said.text()
    guarded.go("6")
    guarded.types("e\n")
    guarded.settle()
    guarded.go("6")
    letter(guarded, "m")
    assert "is not in doubt" in guarded.room.card.said.text()


# --- why ------------------------------------------------------------------------------------------------------------


def why(bench: Any) -> WhyDialog:
    letter(bench, "w")
    bench.qtbot.waitUntil(lambda: isinstance(QApplication.activeWindow(), WhyDialog))
    found = QApplication.activeWindow()
    assert isinstance(found, WhyDialog)
    return found


def closed(bench: Any, dialog: WhyDialog) -> None:
    QTest.keyClick(dialog.windowHandle(), Qt.Key.Key_Escape)
    bench.qtbot.waitUntil(bench.frame.isActiveWindow)
    assert bench.room.entry.hasFocus()


def test_w_tells_why_and_what_would_help_and_turns_to_the_budget(guarded):
    read(guarded, "1", ".7496")
    dialog = why(guarded)
    page = dialog.page.toPlainText()
    assert "resolution 5 : 1, 10 : 1 needed: too little" in page
    assert "What would help" in page and "a finer instrument" in page and "then 10 : 1" in page
    assert "is needed" in page.partition("Not chosen")[2]
    assert dialog.pages.currentIndex() == WHY
    QTest.keyClick(dialog.windowHandle(), Qt.Key.Key_2)
    assert dialog.pages.currentIndex() == BUDGET and dialog.table.hasFocus()
    shown = dialog.table.model_of
    parts = {row[0]: row for row in shown.cells}
    assert parts["permissible error of M-01, outside use"][2:7] == ("rectangular", "1.732", "0.0000577 in", "1", "∞")
    assert sum(shown.shares) == 100
    assert "k = 2.000 (95.45 %), U = 0.00015 in" in dialog.sums.text()
    QTest.keyClick(dialog.windowHandle(), Qt.Key.Key_W)
    assert dialog.pages.currentIndex() == WHY
    closed(guarded, dialog)


def test_everything_w_tells_is_copied_as_text(guarded):
    read(guarded, "1", ".7496")
    dialog = why(guarded)
    QTest.keyClick(dialog.windowHandle(), Qt.Key.Key_C, CONTROL)
    text = QGuiApplication.clipboard().text()
    assert dialog.said.text() == "Copied as text."
    rows = [line.split("\t") for line in text.splitlines() if line.count("\t") == 8]
    assert rows[0][0] == "Part" and rows[1][0].startswith("permissible error of M-01")
    assert "U = 0.00015 in" in text and "Not chosen" in text
    closed(guarded, dialog)


def test_before_a_reading_the_budget_is_that_of_one_taken_now(guarded):
    guarded.go("2")
    dialog = why(guarded)
    assert dialog.told.of_what == "Of a reading taken now." and dialog.told.budget is not None
    closed(guarded, dialog)
    guarded.go("6")
    dialog = why(guarded)
    assert dialog.told.budget is None and not dialog.table.isVisible()
    closed(guarded, dialog)


def test_of_a_row_read_blind_only_the_instruments_are_told(guarded):
    guarded.go("5")
    dialog = why(guarded)
    assert dialog.told.budget is None and dialog.told.standing == () and dialog.told.helps == ()
    assert all(against == "" for _, against in dialog.told.others)
    assert "3.000" not in dialog.told.title
    closed(guarded, dialog)


def test_at_the_largest_scale_both_pages_have_room_on_the_smallest_screen(open_bench, guarded):
    read(guarded, "1", ".7496")
    file, sheet = guarded.path, guarded.sheet_id
    open_bench.close()
    large = open_bench.window(file, sheet, scale=250)
    large.go("1")
    dialog = why(large)
    dialog.resize(1272, 712)
    for key in (Qt.Key.Key_1, Qt.Key.Key_2):
        QTest.keyClick(dialog.windowHandle(), key)
        QApplication.processEvents()
        assert dialog.height() <= 712 and dialog.width() <= 1272
        for button in dialog.findChildren(QAbstractButton):
            seen = button.rect().translated(button.mapTo(dialog, QPoint()))
            assert not button.isVisible() or dialog.rect().contains(seen)
    closed(large, dialog)
