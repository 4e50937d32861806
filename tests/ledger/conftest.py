"""The Ledger in a real window on a real book, with keys sent to the window and never to a widget."""

from __future__ import annotations

import itertools
import shutil
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog, QWidget

from app.jobs.demo import Demo, run_demo
from app.window.start import furnish
from inspection.sheet import acts
from inspection.sheet.head import Head
from storage.book.clock import Moment
from storage.book.door import Book
from storage.settings import Settings

NO = Qt.KeyboardModifier.NoModifier
CTRL = Qt.KeyboardModifier.ControlModifier
ALT = Qt.KeyboardModifier.AltModifier
DAY = "2026-09-21"


def ticking(first: int) -> Callable[[], Moment]:
    """A clock that ticks a second an entry."""
    seconds = itertools.count(first)
    return lambda: Moment(next(seconds) * 1_000_000, DAY)


def counted(first: int) -> Callable[[], str]:
    """Identities that count."""
    numbers = itertools.count(first)
    return lambda: str(uuid.UUID(int=next(numbers), version=4))


class Ledger:
    """A window at the Ledger."""

    def __init__(self, frame: Any, sitting: Any, qtbot: Any, path: Path, demo: Demo) -> None:
        self.frame, self.sitting, self.qtbot, self.path, self.demo = frame, sitting, qtbot, path, demo

    @property
    def house(self) -> Any:
        return self.sitting.house

    @property
    def room(self) -> Any:
        return self.frame.room("ledger")

    def book(self) -> Book:
        return Book.open(self.path)

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier = NO) -> None:
        assert self.frame.isActiveWindow()
        QTest.keyClick(self.frame.windowHandle(), key, modifier)

    def types(self, text: str) -> None:
        for sign in text:
            QTest.keyClick(self.frame.windowHandle(), sign)

    def hits(self, key: Qt.Key, modifier: Qt.KeyboardModifier = NO) -> None:
        """A key to whatever window is active: the frame, or a dialog over it."""
        window = QApplication.activeWindow()
        assert window is not None
        QTest.keyClick(window.windowHandle(), key, modifier)

    def writes(self, text: str, *, then: Qt.Key | None = None) -> None:
        """A text to whatever has the focus, and the key that ends it."""
        window = QApplication.activeWindow()
        assert window is not None
        for sign in text:
            QTest.keyClick(window.windowHandle(), sign)
        if then is not None:
            self.hits(then)

    def tabs_to(self, field: QWidget) -> None:
        """Tab on, in whatever window is active, until this field has the keys; fails where no Tab leads there."""
        for _ in range(20):
            if field.hasFocus():
                return
            self.hits(Qt.Key.Key_Tab)
        raise AssertionError(f"no Tab leads to {field.accessibleName() or field}")

    def asked(self, kind: type[QDialog]) -> Any:
        """The dialog of this kind, once it is there."""
        self.until(lambda: isinstance(QApplication.activeWindow(), kind))
        return QApplication.activeWindow()

    def back(self) -> None:
        """Wait until no dialog is open."""
        self.until(self.frame.isActiveWindow)

    def be(self, name: str) -> None:
        """Let the person of this name be at the bench."""
        people = {person.name: identity for identity, person in self.house.shop.people.items()}
        self.house.set_person(people[name])

    def answer_what_must(self, panel: Any) -> None:
        """Answer every point of the list that must be answered, one after the other."""

        def waiting() -> int:
            answered = panel.seen.sheet.point_answers
            return sum(point.must_answer and point.key not in answered for point in panel.seen.points)

        while left := waiting():
            self.press(Qt.Key.Key_U, ALT)
            self.press(Qt.Key.Key_Return)
            self.writes("looked at on the part", then=Qt.Key.Key_Return)
            self.until(lambda left=left: waiting() < left)  # type: ignore[misc]

    def review(self, *words: str) -> Any:
        """Find a sheet by these words, and open its review."""
        for word in words:
            self.types(f"{word} ")
        self.until(lambda: len(self.room.model.lines) == 1)
        self.press(Qt.Key.Key_L, CTRL)
        self.until(lambda: self.room.pages.review_panel is not None and self.room.pages.review_panel.seen is not None)
        return self.room.pages.review_panel

    def until(self, holds: Callable[[], bool]) -> None:
        self.qtbot.waitUntil(holds, timeout=10_000)

    def serials(self) -> list[str]:
        """The serials of the sheets listed, from above."""
        return [line.serials for line in self.room.model.lines]

    def shows(self, *serials: str) -> None:
        """Wait until these sheets are listed, by their serials."""
        self.until(lambda: self.serials() == list(serials))

    def reads(self, text: str) -> None:
        """Wait until the page beside the list says this."""
        self.until(lambda: text in self.room.side.text())


@pytest.fixture(scope="session")
def demo_book(tmp_path_factory: pytest.TempPathFactory) -> Demo:
    """The demo, and in its book a note and a head written later."""
    demo = run_demo(tmp_path_factory.mktemp("demo"), ticking(1_790_000_000), counted(1))
    with Book.open(demo.files["book"], clock=ticking(1_795_000_000), identities=counted(40_000)) as book:
        sheet = book.sheet(demo.sheet)
        made = book.do(
            acts.MakeSheet(plan=sheet.plan.identity, serials=("0901",), head=Head(order="PO-1")), person=sheet.made_by
        )
        head = replace(made.sheet.head, order="PO-2", customer="Pale Harbour Pumps")
        book.do(acts.WriteHead(sheet=made.stream, head=head), person=sheet.made_by)
    return demo


@pytest.fixture
def open_ledger(qapp: Any, qtbot: Any, demo_book: Demo, tmp_path: Path) -> Iterator[Callable[..., Ledger]]:
    """Open a window on a copy of the demo's book and enter the Ledger by its key."""
    opened: list[tuple[Any, Any]] = []

    def begin(*, theme: str = "light", scale: int = 100, size: tuple[int, int] = (1280, 720)) -> Ledger:
        path = Path(shutil.copy(demo_book.files["book"], tmp_path / "shop.tenthwright"))
        with Book.open(path) as book:
            person = book.sheet(demo_book.sheet).made_by
        frame, sitting = furnish(qapp, Settings(theme=theme, scale=scale))
        opened.append((frame, sitting))
        sitting.remembered["person"] = person
        frame.resize(*size)
        frame.show()
        qtbot.waitUntil(frame.isActiveWindow)
        sitting.begin(path)
        qtbot.waitUntil(lambda: bool(frame._rooms) and frame._pages.currentWidget() is not frame.waiting)
        ledger = Ledger(frame, sitting, qtbot, path, demo_book)
        ledger.press(Qt.Key.Key_4, CTRL)
        ledger.until(lambda: len(ledger.room.model.lines) == 5)
        ledger.until(lambda: bool(ledger.room.side.text()))
        return ledger

    yield begin
    while opened:
        frame, sitting = opened.pop()
        frame.close()
        qtbot.waitUntil(lambda: sitting.house.worker is None)  # noqa: B023 - waited for at once
        with qtbot.waitSignal(frame.destroyed):
            frame.deleteLater()


@pytest.fixture
def ledger(open_ledger: Callable[..., Ledger]) -> Ledger:
    return open_ledger()
