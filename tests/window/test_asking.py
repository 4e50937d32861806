"""The one dialog: it stays while something is missing, answers by name, and goes back on Esc."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog, QLabel, QLineEdit

from app.window.asking import Fault, Field, Question, Sort
from app.window.dialog import QuestionDialog
from app.window.people import ask_new_book


@pytest.fixture
def dialog(frame, qtbot):
    def open_it(question: Question) -> QuestionDialog:
        made = QuestionDialog(frame, question)
        qtbot.addWidget(made)
        made.show()
        qtbot.waitUntil(made.isActiveWindow)
        return made

    return open_it


FIELDS = (Field("name", "Your name"), Field("secret", "Passphrase", Sort.SECRET))


def test_an_empty_field_keeps_the_question(dialog):
    shown = dialog(Question("Who?", fields=FIELDS, yes="Go on", no="Back"))
    QTest.keyClick(shown.windowHandle(), Qt.Key.Key_Return)
    assert shown.result() != QDialog.DialogCode.Accepted
    assert any("Your name" in label.text() and "empty" in label.text() for label in shown.findChildren(QLabel))


def test_enter_agrees_once_everything_is_there(dialog):
    shown = dialog(Question("Who?", fields=FIELDS, yes="Go on", no="Back"))
    for key in "Ann":
        QTest.keyClick(shown.windowHandle(), key)
    QTest.keyClick(shown.windowHandle(), Qt.Key.Key_Tab)
    for key in "tenths":
        QTest.keyClick(shown.windowHandle(), key)
    QTest.keyClick(shown.windowHandle(), Qt.Key.Key_Return)
    assert shown.result() == QDialog.DialogCode.Accepted
    assert shown.answer() == {"name": "Ann", "secret": "tenths"}


def test_tab_goes_from_field_to_field_and_looking_for_a_file_comes_after_them(dialog):
    fields = (Field("file", "File", Sort.SAVE_FILE, "a"), Field("folder", "Folder", Sort.FOLDER, "b"), FIELDS[0])
    shown = dialog(Question("Where?", fields=fields, yes="Go on", no="Back"))
    been = []
    for _ in range(7):
        been.append(shown.focusWidget().accessibleName() or shown.focusWidget().text())
        QTest.keyClick(shown.windowHandle(), Qt.Key.Key_Tab)
    assert been[:3] == ["File", "Folder", "Your name"]
    assert [name.partition(":")[0] for name in been[3:5]] == ["File", "Folder"]
    assert been[5:] == ["Back", "Go on"]


def test_a_passphrase_is_never_shown(dialog):
    shown = dialog(Question("Sign", fields=FIELDS, yes="Sign"))
    assert shown.findChildren(QLineEdit)[1].echoMode() is QLineEdit.EchoMode.Password


def test_escape_goes_back(dialog):
    shown = dialog(Question("Who?", fields=FIELDS, yes="Go on", no="Back"))
    QTest.keyClick(shown.windowHandle(), Qt.Key.Key_Escape)
    assert shown.result() == QDialog.DialogCode.Rejected


def test_a_choice_answers_with_its_value(dialog):
    field = Field("who", "Person", Sort.CHOICE, "2", (("1", "Ann"), ("2", "Ben")))
    assert dialog(Question("Who?", fields=(field,))).answer() == {"who": "2"}


NEW = {"path": "/nowhere/a.tenthwright", "shop": "Shop", "person": "Ann", "passphrase": "long enough"}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"again": "other words"}, "differ"),
        ({"passphrase": "short", "again": "short"}, "at least 8"),
        ({"path": __file__}, "is there already"),
    ],
)
def test_what_is_wrong_with_a_new_book_is_said_before_it_is_made(frame, answers, change, said):
    waiting, asked = answers
    waiting.append(None)
    assert ask_new_book(frame, None) is None
    assert asked[0].check is not None
    assert said in asked[0].check({**NEW, "again": NEW["passphrase"], **change})


def test_a_new_book_is_what_was_written(frame, answers):
    waiting, asked = answers
    waiting.append({**NEW, "again": NEW["passphrase"], "shop": " Shop "})
    made = ask_new_book(frame, Path("/nowhere/b.tenthwright"))
    assert made == (Path(NEW["path"]), "Shop", "Ann", "long enough")
    names = [field.name for field in asked[0].fields]
    assert (names[0], names[-1]) == ("shop", "path"), "who types at once types the shop's name, not over the file's"
    assert asked[0].check({**NEW, "again": NEW["passphrase"]}) == ""


def test_what_is_wrong_with_a_field_is_told_below_it_at_its_character(dialog):
    def check(answer: dict[str, str]) -> str | Fault:
        return Fault("end", "“4x” is no number.", 1) if answer["end"] == "4x" else ""

    fields = (Field("begin", "From", value="1"), Field("end", "To", value="4x"), Field("note", "Note", needed=False))
    shown = dialog(Question("How long?", fields=fields, yes="Go on", no="Back", check=check))
    QTest.keyClick(shown.windowHandle(), Qt.Key.Key_Return)
    assert shown.result() != QDialog.DialogCode.Accepted
    line = shown.focusWidget()
    assert isinstance(line, QLineEdit) and line.accessibleName() == "To"
    assert (line.selectionStart(), line.selectedText()) == (1, "x")
    assert line.accessibleDescription() == "“4x” is no number."
    told = next(label for label in shown.findChildren(QLabel) if label.text() == "“4x” is no number.")
    note = next(each for each in shown.findChildren(QLineEdit) if each.accessibleName() == "Note")
    assert line.geometry().bottom() < told.geometry().top() < note.geometry().top()
    assert told.geometry().bottom() < note.geometry().top()
    for key in (Qt.Key.Key_End, Qt.Key.Key_Backspace):
        QTest.keyClick(shown.windowHandle(), key)
    QTest.keyClick(shown.windowHandle(), Qt.Key.Key_Return)
    assert shown.result() == QDialog.DialogCode.Accepted


def test_a_long_text_is_never_cut(dialog):
    shown = dialog(Question("Read on", "All of the readings enter the mean, and none is dropped. " * 9, yes="Go on"))
    for label in shown.findChildren(QLabel):
        if label.isVisible():
            assert label.heightForWidth(label.width()) <= label.height(), label.text()


def test_on_a_low_screen_a_question_keeps_to_it_and_every_field_comes_into_sight_whole(frame, dialog, qtbot):
    frame.house.set_theme(frame.house.theme.scaled(250))  # on the screen that the tests have: 800 × 800
    rows = tuple((f"G-{place:02}", "a set of blocks that says a good deal of itself, and more") for place in range(12))
    far = tuple((str(place), f"an instrument with a long name, and what it comes to {place}") for place in range(4))
    fields = (
        *(Field(f"f{place}", f"Field {place}") for place in range(11)),
        Field("c", "Choice", Sort.CHOICE, "", far),
    )
    shown = dialog(Question("What?", "Said beforehand.", fields=fields, rows=rows, yes="Go on", no="Back"))
    screen = shown.screen().availableGeometry()
    assert shown.width() <= screen.width()
    assert shown.height() <= screen.height()
    for widget in shown._fields.values():
        assert shown.focusWidget() is widget
        qtbot.waitUntil(lambda: shown.focusWidget().visibleRegion().boundingRect() == shown.focusWidget().rect())
        assert widget.height() >= widget.sizeHint().height(), "none is pressed together"
        QTest.keyClick(shown.windowHandle(), Qt.Key.Key_Tab)


def test_on_a_low_screen_rows_alone_are_scrolled_by_key(frame, dialog, qtbot):
    frame.house.set_theme(frame.house.theme.scaled(250))
    shown = dialog(Question("Keys", rows=tuple((f"F{place}", "does something") for place in range(40)), yes="Close"))
    bar = shown._area.verticalScrollBar()
    assert bar.maximum() > 0 and bar.value() == 0
    QTest.keyClick(shown.windowHandle(), Qt.Key.Key_PageDown)
    qtbot.waitUntil(lambda: bar.value() > 0)
    QTest.keyClick(shown.windowHandle(), Qt.Key.Key_Return)
    assert shown.result() == QDialog.DialogCode.Accepted
