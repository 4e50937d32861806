"""A gauge study by keys, from its start at the Bench to its effect on a suggestion.

Keys go to the window that is active, which gives them to whatever has the focus.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog

from app.gauging.list_dialog import StudiesDialog
from app.gauging.reading_dialog import ReadingDialog
from app.gauging.result_dialog import ResultDialog
from app.gauging.start_dialog import StartDialog
from inspection.sheet import acts
from inspection.sheet.gauge_life import in_use
from inspection.sheet.people import Duty, Person
from inspection.sheet.study_entry import asked_of
from storage.book.door import Book
from storage.book.queries.gauge_studies import gauge_studies

CTRL, ALT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.AltModifier
NO = Qt.KeyboardModifier.NoModifier
ENTER = Qt.Key.Key_Return
#: What each part is, and what is read of it: Ann steadily, Bo a little larger and less so.
PARTS = (0.7498, 0.7512, 0.7526, 0.7540)
#: Where pictures of a walk go, if somebody wants to look.
LOOK = os.environ.get("TENTHWRIGHT_LOOK", "")


class Walk:
    """The window and whatever stands over it."""

    def __init__(self, bench: Any) -> None:
        self.bench, self.qtbot = bench, bench.qtbot

    @property
    def over(self) -> QDialog:
        dialog = QApplication.activeModalWidget()
        assert isinstance(dialog, QDialog)
        return dialog

    def wait(self, kind: type[QDialog]) -> Any:
        self.qtbot.waitUntil(lambda: isinstance(QApplication.activeModalWidget(), kind))
        self.qtbot.waitUntil(self.over.isActiveWindow)
        self.settle()
        return self.over

    def settle(self) -> None:
        self.qtbot.waitUntil(lambda: self.bench.house.worker.waiting() == 0)
        self.qtbot.wait(30)

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier = NO) -> None:
        QTest.keyClick(self.over.windowHandle(), key, modifier)
        self.qtbot.wait(5)

    def types(self, text: str) -> None:
        for sign in text:
            QTest.keyClick(self.over.windowHandle(), sign)
        self.qtbot.wait(5)

    def look(self, name: str) -> None:
        """Keep a picture, for the eye."""
        if LOOK:
            self.over.grab().save(str(Path(LOOK) / f"{name}.png"))


def read_all(walk: Walk, person: str) -> None:
    """Read everything that is one person's; what is questioned is kept by Enter alone."""
    dialog = walk.wait(ReadingDialog)
    place = 0
    while (asked := asked_of(dialog.held, person)) is not None:
        part = int(asked.label) - 1
        off = 0.0002 * ((place * 7) % 3 - 1) + (0.0004 if dialog.held.plan.people.index(person) else 0)
        if asked.question is None:
            walk.types(f"{PARTS[part] + off:.4f}")
            place += 1
        walk.qtbot.wait(60)  # a hand's pace: Enter alone agrees
        walk.press(ENTER)
        walk.settle()
    assert dialog.part.text() == ""


def start(walk: Walk) -> None:
    """Plan a study of the row at hand: two people, four parts, twice."""
    walk.press(Qt.Key.Key_N, CTRL)
    dialog = walk.wait(StartDialog)
    assert dialog.instrument.text() == "M-01", "of the row at hand"
    walk.types("plate, May")
    dialog.kind.setCurrentIndex(1)
    assert (dialog.parts.text(), dialog.trials.text(), dialog.row.currentData()) == ("", "10", "")
    assert "B1=.5000" in dialog.parts.placeholderText(), "how standards are written stands in the empty line"
    dialog.kind.setCurrentIndex(0)
    assert (dialog.parts.text(), dialog.trials.text(), dialog.row.currentData()) == ("10", "3", "this")
    dialog.people.setText("Ann Ames, bo")
    dialog.parts.setText("4")
    dialog.trials.setText("2")
    walk.look("start")
    walk.press(ENTER)
    listed = walk.wait(StudiesDialog)
    walk.qtbot.waitUntil(lambda: len(listed.list.items) == 1)
    walk.look("list")


def leave_and_go_on(walk: Walk) -> None:
    """A number half typed is put away, the dialog left; the same part waits."""
    walk.press(ENTER)
    reading = walk.wait(ReadingDialog)
    first = reading.part.text()
    walk.types(".7500")
    assert ".7500" not in reading.part.text() + reading.turn.text()
    walk.look("entry")
    walk.press(Qt.Key.Key_Escape)
    walk.press(Qt.Key.Key_Escape)
    walk.wait(StudiesDialog)
    walk.press(ENTER)
    assert walk.wait(ReadingDialog).part.text() == first


def correct(walk: Walk, waiting: list[object], asked: list[Any]) -> None:
    """The newest reading is corrected with a reason; what may be chosen from shows no number."""
    dialog = walk.over
    newest = max(dialog.held.readings.values(), key=lambda each: each.at)
    waiting.append({"reading": newest.identity, "reason": "held askew"})
    walk.press(Qt.Key.Key_F2)
    assert newest.written not in " ".join(label for field in asked[-1].fields for _, label in field.choices)
    walk.types(newest.written)
    walk.press(ENTER)
    walk.settle()
    assert len(dialog.held.readings) == 9
    walk.press(Qt.Key.Key_Escape)
    walk.wait(StudiesDialog)


def turned_away(walk: Walk) -> None:
    """An inspector may look, and is told why not more."""
    walk.press(Qt.Key.Key_R, CTRL)
    result = walk.wait(ResultDialog)
    walk.look("result")
    walk.press(Qt.Key.Key_U, ALT)
    assert "Bo Tran may not" in result.said.text()
    walk.press(Qt.Key.Key_C, ALT)
    walk.look("result-2")
    walk.press(Qt.Key.Key_Escape)
    walk.wait(StudiesDialog)


def use_and_withdraw(walk: Walk, path: Path, waiting: list[object], asked: list[Any]) -> None:
    """A lead takes it into use, sees beforehand and afterwards what that changes, and withdraws it."""
    walk.press(Qt.Key.Key_R, CTRL)
    result = walk.wait(ResultDialog)
    waiting.append({"what": "people"})
    walk.press(Qt.Key.Key_U, ALT)
    walk.qtbot.waitUntil(lambda: "is in use" in result.said.text())
    walk.settle()
    walk.look("used")
    assert "Row 1" in result.said.text() and "Row 1" in asked[-1].text
    with Book.open(path) as book:
        (one,) = book.ask(gauge_studies)
        assert in_use(book.shop(), one.study) is not None
    waiting.append({"reason": "the parts were burred"})
    walk.qtbot.waitUntil(lambda: not result.actions_by_name["withdraw"].property("rests"))
    walk.press(Qt.Key.Key_W, ALT)
    walk.qtbot.waitUntil(lambda: "no longer" in result.said.text())
    walk.settle()
    with Book.open(path) as book:
        assert in_use(book.shop(), one.study) is None
    for _ in range(2):
        walk.press(Qt.Key.Key_Escape)


@pytest.mark.slow
def test_a_study_from_its_start_to_its_effect_on_a_suggestion(
    open_bench: Any, answers: tuple[list[object], list[Any]]
) -> None:
    waiting, asked = answers
    bench = open_bench(rows=({"number": "1", "kind": "outside diameter", "requirement": "⌀.7500 ±.0005"},))
    walk, ann = Walk(bench), bench.house.person
    bench.house.do(acts.EnterPerson(person=Person("", "Bo Tran", (Duty.INSPECTOR,))))
    bench.settle()
    bench.house.set_shop(bench.room.seen.shop)
    bo = next(each for each in bench.room.seen.shop.people if each != ann)
    if "dark" in LOOK:
        bench.press(Qt.Key.Key_F7)
        bench.frame.resize(1440, 900)
        bench.settle()
    bench.press(Qt.Key.Key_J, CTRL)
    listed = walk.wait(StudiesDialog)
    start(walk)
    leave_and_go_on(walk)
    read_all(walk, ann)
    correct(walk, waiting, asked)
    waiting.append({"person": bo})
    walk.press(Qt.Key.Key_F8)
    walk.settle()
    assert "Bo Tran is at the bench" in listed.said.text()
    walk.press(ENTER)
    read_all(walk, bo)
    walk.look("done")
    walk.press(ENTER)
    walk.wait(StudiesDialog)
    turned_away(walk)
    bench.house.set_person(ann)
    use_and_withdraw(walk, bench.path, waiting, asked)
    bench.settle()


def test_nobody_gauges_a_note(open_bench: Any) -> None:
    bench = open_bench(rows=({"number": "1", "kind": "note", "requirement": "BREAK SHARP EDGES"},))
    bench.press(Qt.Key.Key_J, CTRL)
    walk = Walk(bench)
    walk.wait(StudiesDialog)
    walk.press(Qt.Key.Key_N, CTRL)
    dialog = walk.wait(StartDialog)
    assert (dialog.instrument.text(), dialog.row.currentData()) == ("", "")
    walk.press(Qt.Key.Key_Escape)
    walk.wait(StudiesDialog)
    walk.press(Qt.Key.Key_Escape)
