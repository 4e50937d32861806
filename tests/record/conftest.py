"""The record's panel in a window of its own, on a real book; keys go to the window, never to a widget."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.background.worker import Worker
from app.desk.record import RecordPanel
from app.window import asking
from app.window.house import House
from app.window.style import dress
from app.window.theme import load
from inspection.drawing.plan import Part, Plan, TitleBlock
from inspection.drawing.rows import characteristic
from inspection.sheet import acts
from inspection.sheet.people import Person
from storage.book.door import Book
from storage.seals.keys import make_key, unlock

NO = Qt.KeyboardModifier.NoModifier
CONTROL = Qt.KeyboardModifier.ControlModifier
ALT = Qt.KeyboardModifier.AltModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
NOON = 1_772_452_800_000_000  # 2026-03-02 12:00 UTC
PASSPHRASE = "four grey geese"
BLOCK = TitleBlock(inch={3: 127_000_000})
ROWS = (
    {"number": "1", "kind": "length", "requirement": ".500 ±.005"},
    {"number": "N1", "kind": "note", "requirement": "BLACK ANODIZE PER QS-77 REV C"},
)


class Shop:
    """A book with one sheet, closed; ``sheet()`` is how it stands on disk."""

    def __init__(self, path: Path) -> None:
        self.path = path
        key = make_key("Mira Oduya", PASSPHRASE, NOON)
        with Book.new(path) as book:
            first = Person("", "Mira Oduya", certificate=key.certificate, locked_key=key.locked_key)
            self.person = next(
                iter(book.do(acts.OpenShop(name="Quillfeather Machine", first_person=first), person="").shop.people)
            )
            rows = tuple(each for row in ROWS for each in characteristic(row, BLOCK))
            part = Part("OB-2207", "C", "focuser bearing carrier", customer="Lantern Hill Optical")
            plan = book.do(acts.IssuePlan(plan=Plan("", "", 0, part, BLOCK, rows)), person=self.person).events[0].plan
            self.sheets = [
                book.do(acts.MakeSheet(plan=plan.identity, serials=(serial,)), person=self.person).stream
                for serial in ("001", "002")
            ]

    def sheet(self, place: int = 0) -> Any:
        with Book.open(self.path) as book:
            return book.sheet(self.sheets[place])

    def do(self, act: Any, **named: Any) -> Any:
        with Book.open(self.path) as book:
            return book.do(act, person=self.person, **named)

    def sign(self) -> None:
        with Book.open(self.path) as book:
            key = unlock(book.shop().people[self.person], PASSPHRASE)
            act = acts.SignSheet(sheet=self.sheets[0], incomplete="not read yet")
            book.do(act, person=self.person, sign=key)


class Window(QWidget):
    """The window that keys are sent to."""


class Desk:
    """The panel on its worker. ``asked`` are the questions that came up, ``answers`` what is answered to them."""

    def __init__(self, qapp: Any, qtbot: Any, shop: Shop, theme: str = "light", scale: int = 100) -> None:
        look = load(theme, scale)
        dress(qapp, look)
        self.qtbot, self.shop = qtbot, shop
        self.house = House(look)
        self.house.person = shop.person
        self.notices: list[str] = []
        self.house.noticed.connect(self._note)
        self.worker = Worker(lambda: Book.open(shop.path), lambda book: book.shop(), self.house)
        self.house.worker = self.worker
        with qtbot.waitSignal(self.worker.opened):
            self.worker.start()
        self.window = Window()
        self.window.setObjectName("page")
        self.panel = RecordPanel(self.house, self.window)
        QVBoxLayout(self.window).addWidget(self.panel)
        self.window.resize(look.px(880), look.px(600))
        self.changes = 0
        self.panel.changed.connect(self._count)
        self.asked: list[asking.Question] = []
        self.answers: list[Any] = []
        asking.replace_asker(self._answer)
        self.show(0)
        self.window.show()
        qtbot.waitUntil(self.window.isActiveWindow)
        self.panel.setFocus()

    def _note(self, sentence: str, _failure: bool) -> None:
        self.notices.append(sentence)

    def _count(self) -> None:
        self.changes += 1

    def _answer(self, _parent: QWidget, question: asking.Question) -> Any:
        self.asked.append(question)
        return self.answers.pop(0)

    def show(self, place: int) -> None:
        """Show a sheet as it stands in the book."""
        seen: list[Any] = []
        self.worker.read(lambda book: book.sheet(self.shop.sheets[place]), seen.append)
        self.qtbot.waitUntil(lambda: bool(seen))
        self.panel.show_sheet(seen[0])

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier = NO, times: int = 1) -> None:
        for _ in range(times):
            QTest.keyClick(self.window.windowHandle(), key, modifier)

    def types(self, text: str) -> None:
        for sign in text:
            QTest.keyClick(self.window.windowHandle(), sign)

    def fill(self, *texts: str) -> None:
        """Type into one field after the other; Tab goes on."""
        for text in texts:
            self.types(text)
            self.press(Qt.Key.Key_Tab)

    def settle(self) -> None:
        """Until everything handed in is on disk and shown."""
        self.qtbot.waitUntil(lambda: self.worker.waiting() == 0)
        self.qtbot.wait(30)

    def close(self) -> None:
        self.window.hide()
        self.settle()
        asking.replace_asker(None)
        with self.qtbot.waitSignal(self.worker.closed):
            self.worker.close_book()
        self.worker.wait()
        with self.qtbot.waitSignal(self.window.destroyed):
            self.window.deleteLater()
        self.house.deleteLater()


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(tmp_path / "shop.tenthwright")


@pytest.fixture
def open_desk(qapp: Any, qtbot: Any, shop: Shop) -> Iterator[Any]:
    made: list[Desk] = []

    def opened(**look: Any) -> Desk:
        made.append(Desk(qapp, qtbot, shop, **look))
        return made[-1]

    yield opened
    for desk in made:
        desk.close()


@pytest.fixture
def desk(open_desk: Any) -> Desk:
    return open_desk()
