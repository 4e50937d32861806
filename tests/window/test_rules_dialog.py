"""The window of the shop's rules by keys: typed anew, refused at the character, what follows said before, by whom."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QLineEdit, QPlainTextEdit, QTextBrowser

from app.rules.dialog import RulesDialog
from app.rules.keys import BUTTONS, KEYS
from app.window.theme import SCALES
from inspection.instruments.rules import Rules
from inspection.instruments.rules_as_written import rule_lines, written_rules
from inspection.sheet import acts
from inspection.sheet.people import Duty, Person
from storage.book.door import Book

NO, CTRL = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.ControlModifier
ENTER, ESCAPE, DOWN, TAB = Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Down, Qt.Key.Key_Tab
FIELDS = [line.field for line in rule_lines(Rules())]


class Hands:
    """A keeper at the window: keys go to whatever window is active."""

    def __init__(self, frame: Any, sitting: Any, qtbot: Any, path: Path) -> None:
        self.frame, self.sitting, self.qtbot, self.path = frame, sitting, qtbot, path

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier = NO) -> None:
        QTest.keyClick(QApplication.activeWindow().windowHandle(), key, modifier)
        self.qtbot.wait(5)

    def types(self, text: str) -> None:
        for sign in text:
            if sign == "\n":
                self.press(ENTER)
            else:
                QTest.keyClick(QApplication.activeWindow().windowHandle(), sign)
        self.qtbot.wait(5)

    def opens(self) -> RulesDialog:
        self.press(Qt.Key.Key_F9)
        self.qtbot.waitUntil(lambda: isinstance(QApplication.activeWindow(), RulesDialog))
        return self.dialog

    @property
    def dialog(self) -> RulesDialog:
        found = QApplication.activeWindow()
        assert isinstance(found, RulesDialog)
        return found

    def goes_to(self, field: str) -> None:
        """From the first rule on by Enter."""
        for _ in range(FIELDS.index(field)):
            self.press(ENTER)
        assert self.dialog.form.field(field).hasFocus()
        self.press(Qt.Key.Key_A, CTRL)

    def issues(self) -> None:
        self.press(ENTER, CTRL)
        self.qtbot.waitUntil(lambda: self.sitting.house.worker.waiting() == 0)
        self.qtbot.wait(60)

    def rules(self) -> Rules:
        """As the book on disk has them."""
        with Book.open(self.path) as book:
            return book.shop().rules


@pytest.fixture
def sit(frame_and_sitting: Any, qtbot: Any, tmp_path: Path) -> Callable[..., Hands]:
    """Sit down at a book: ``sit()``, or ``sit(Duty.INSPECTOR)`` as somebody with that duty alone."""
    frame, sitting = frame_and_sitting

    def begin(duty: Duty | None = None, *before: Rules) -> Hands:
        path = tmp_path / "little shop.tenthwright"
        with Book.new(path) as book:
            first = Person("", "Ann Ames")
            keeper = next(iter(book.do(acts.OpenShop(name="Little Shop", first_person=first), person="").shop.people))
            for rules in before:
                book.do(acts.IssueRules(rules=rules), person=keeper)
            person = keeper
            if duty is not None:
                book.do(acts.EnterPerson(person=Person("", "Bo Birch", (duty,))), person=keeper)
                person = next(each for each in book.shop().people if each != keeper)
        sitting.remembered["person"] = person
        frame.show()
        qtbot.waitUntil(frame.isActiveWindow)
        sitting.begin(path)
        qtbot.waitUntil(frame.actions_by_name["rules"].isEnabled, timeout=20_000)
        return Hands(frame, sitting, qtbot, path)

    return begin


def test_every_rule_stands_there_with_what_it_says_its_value_and_its_source(sit: Any) -> None:
    dialog = sit().opens()
    told = " ".join(label.text() for label in dialog.form.findChildren(QLabel))
    for line in rule_lines(Rules()):
        field = dialog.form.field(line.field)
        text = field.toPlainText() if isinstance(field, QPlainTextEdit) else field.text()
        assert text == line.text
        assert field.accessibleName() == line.name
        assert line.name in told and line.source in told
    assert dialog.issued.text() in ("", "Nobody has issued rules yet: these are the usual ones.")
    assert not dialog.actions_by_name["issue"].isEnabled()


def test_a_rule_is_typed_anew_what_follows_is_said_and_then_it_holds(sit: Any, answers: Any) -> None:
    waiting, asked = answers
    hands = sit()
    dialog = hands.opens()
    hands.press(DOWN)
    hands.types("5 to 1")
    waiting.append(None)
    hands.issues()
    assert hands.rules() == Rules()
    (question,) = asked
    assert question.rows == (("accuracy ratio", "4 : 1", "→", "5 : 1"),)
    assert question.text.startswith("Sheets made from now on go by them; those that are there keep theirs.")
    waiting.append({})
    hands.issues()
    assert (hands.rules().accuracy_needed, hands.rules().issue) == (500, 1)
    hands.qtbot.waitUntil(lambda: dialog.title.text() == "The shop’s rules, issue 1")
    assert dialog.said.text() == "Issue 1 holds from now on."
    assert dialog.form.field("accuracy_needed").text() == "5 : 1"
    hands.qtbot.waitUntil(lambda: "accuracy ratio: 4 : 1, now 5 : 1" in dialog.history.toPlainText())
    assert ", Ann Ames" in dialog.history.toPlainText()
    assert dialog.issued.text().endswith("by Ann Ames.")


@pytest.mark.parametrize(
    ("field", "typed", "said", "at"),
    [
        ("accuracy_needed", "4:2", "is no ratio", 1),
        ("check_minutes", "8", "Write whole minutes with their unit", 1),
        ("closing_band", ".001", "Write the unit behind it", 0),
        ("decision", "guarded:40", "proves nothing here", 8),
        ("decision", "simply", "is no decision rule", 0),
        ("customers", "Harrow Mills = guarded:95\nNock = gard", "is no decision rule", 33),
    ],
)
def test_a_refusal_stands_under_the_very_character(sit: Any, field: str, typed: str, said: str, at: int) -> None:
    hands = sit()
    dialog = hands.opens()
    hands.goes_to(field)
    hands.types(typed)
    hands.press(TAB)  # left: it is looked at
    fault = dialog.form.fault_of(field)
    assert said in fault.said()
    line, mark = dialog.form.field(field), fault.points_at()
    assert mark is not None
    if isinstance(line, QLineEdit):
        assert line.x_of(at) == mark
        assert line.x_of(0) <= mark <= line.x_of(len(typed))
    else:
        (shown,) = line.extraSelections()
        assert shown.cursor.selectionStart() == at
    hands.issues()
    assert dialog.said.text() == "One rule cannot be as it is typed. Nothing was issued."
    assert line.hasFocus()
    text = line.text() if isinstance(line, QLineEdit) else line.toPlainText()
    assert text == typed, "what was typed stays"
    assert hands.rules() == Rules()


def test_rules_that_go_against_each_other_are_told_below(sit: Any) -> None:
    hands = sit()
    dialog = hands.opens()
    hands.goes_to("gauge_class_marginal")
    hands.types("30 : 1")
    hands.issues()
    assert dialog.said.text().startswith("A fixed gauge cannot be marginal at a ratio at which it is not yet good.")
    assert hands.rules() == Rules()


def test_decision_rules_are_told_in_words_and_agreed_per_customer(sit: Any, answers: Any) -> None:
    waiting, asked = answers
    hands = sit()
    dialog = hands.opens()
    hands.goes_to("decision")
    hands.types("guarded-U")
    assert "guarded acceptance by the expanded uncertainty U" in dialog.form._below["decision"].text()
    assert "was simple" in dialog.form._below["decision"].text()
    hands.press(ENTER)
    hands.press(Qt.Key.Key_A, CTRL)
    hands.types("Harrow Mills = guarded:97.5\nNock = probability:99, printed")
    below = dialog.form._below["customers"].text()
    assert "Nock: probability of conformity (JCGM 106): at least 99 %" in below
    waiting.append({})
    hands.issues()
    rules = hands.rules()
    assert rules.decision.by_expanded
    assert rules.decision_for("harrow mills").probability == 9_750
    assert rules.decision_for("Nock").printed
    assert "only by a decision rule of its own, with a reason." in asked[0].text


def test_a_rule_written_otherwise_is_no_change(sit: Any) -> None:
    hands = sit()
    dialog = hands.opens()
    hands.types("10:1")
    hands.issues()
    assert dialog.said.text() == "The rules say this already. Nothing was issued."
    assert dialog.form.field("resolution_needed").text() == "10 : 1"
    assert hands.rules() == Rules()


def test_what_was_typed_is_not_lost_by_accident(sit: Any, answers: Any) -> None:
    waiting, asked = answers
    hands = sit()
    dialog = hands.opens()
    hands.types("9")
    waiting.append(None)
    hands.press(ESCAPE)
    assert dialog.isVisible() and len(asked) == 1
    waiting.append({})
    hands.press(ESCAPE)
    hands.qtbot.waitUntil(hands.frame.isActiveWindow)
    hands.opens()
    hands.press(ESCAPE)
    hands.qtbot.waitUntil(hands.frame.isActiveWindow)


def test_rules_issued_meanwhile_stand_there_and_what_is_being_typed_stays(sit: Any, answers: Any) -> None:
    waiting, asked = answers
    hands = sit()
    dialog = hands.opens()
    hands.types("9")
    hands.sitting.house.do(acts.IssueRules(rules=Rules(accuracy_needed=600)))
    hands.qtbot.waitUntil(lambda: dialog.form.field("accuracy_needed").text() == "6 : 1")
    assert dialog.form.field("resolution_needed").text() == "9"
    waiting.append({})
    hands.issues()
    assert asked[0].rows == (("resolution ratio", "10 : 1", "→", "9 : 1"),)
    assert (hands.rules().resolution_needed, hands.rules().accuracy_needed, hands.rules().issue) == (900, 600, 2)


def test_who_may_not_issue_them_reads_them_and_is_told_whose_they_are(sit: Any) -> None:
    hands = sit(Duty.INSPECTOR, Rules(accuracy_needed=500))
    dialog = hands.opens()
    assert dialog.form.field("accuracy_needed").text() == "5 : 1"
    hands.types("7")
    assert dialog.form.field("resolution_needed").text() == "10 : 1"
    assert "it is for a lead or the keeper of the book" in dialog.said.text()
    assert not dialog.actions_by_name["issue"].isEnabled()
    hands.qtbot.waitUntil(lambda: "accuracy ratio: 4 : 1, now 5 : 1" in dialog.history.toPlainText())
    hands.press(ESCAPE)
    hands.qtbot.waitUntil(hands.frame.isActiveWindow)


def test_a_lead_may_issue_them(sit: Any, answers: Any) -> None:
    answers[0].append({})
    hands = sit(Duty.LEAD)
    hands.opens()
    hands.types("9")
    hands.issues()
    assert hands.rules().resolution_needed == 900


def test_the_crib_leads_there_too(sit: Any) -> None:
    hands = sit()
    hands.press(Qt.Key.Key_3, CTRL)
    hands.qtbot.waitUntil(lambda: "crib" in hands.frame._rooms)
    (button,) = hands.frame.room("crib").top.rules.buttons
    assert button.text() == "The shop’s rules  F9"
    assert button.accessibleName() == "The shop’s rules"
    button.setFocus()
    hands.press(ENTER)
    hands.qtbot.waitUntil(lambda: isinstance(QApplication.activeWindow(), RulesDialog))


def test_f1_lists_the_key_and_without_a_book_there_are_no_rules(frame: Any, qtbot: Any, answers: Any) -> None:
    waiting, asked = answers
    waiting += [{}, {}]
    frame.show()
    qtbot.waitUntil(frame.isActiveWindow)
    QTest.keyClick(frame.windowHandle(), Qt.Key.Key_F9)
    QTest.keyClick(frame.windowHandle(), Qt.Key.Key_F1)
    frame.open_rooms()
    QTest.keyClick(frame.windowHandle(), Qt.Key.Key_F1)
    without, with_book = (dict(question.rows) for question in asked)
    assert "F9" not in without
    assert with_book["F9"] == "The shop’s rules"


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("scale", SCALES)
def test_everything_has_its_place_and_its_name(sit: Any, scale: int, theme: str) -> None:
    hands = sit()
    house = hands.sitting.house
    house.set_theme(house.theme.named(theme).scaled(scale))
    hands.frame.resize(1280 * scale // 100, 720 * scale // 100)
    dialog = hands.opens()
    hands.qtbot.wait(60)
    assert dialog.width() <= hands.frame.width() and dialog.height() <= hands.frame.height()
    for kind in (QAbstractButton, QLineEdit, QPlainTextEdit, QTextBrowser):
        for widget in dialog.findChildren(kind):
            if widget.isVisible() and widget.objectName() != "qt_scrollarea_viewport":
                assert widget.accessibleName(), widget
    for label in dialog.form.findChildren(QLabel):
        if label.isVisible() and label.text():
            assert label.height() >= label.heightForWidth(label.width()), label.text()
    inner = dialog.form.widget()
    assert inner.width() <= dialog.form.viewport().width()
    assert set(BUTTONS) <= set(KEYS)


def test_the_form_shows_every_rule_that_can_be_written() -> None:
    assert set(FIELDS) == set(written_rules(Rules()))
