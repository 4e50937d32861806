"""The Desk in the real window on a copy of the demo's book, with keys sent to the window and never to a widget."""

from __future__ import annotations

import itertools
import shutil
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.jobs.demo import Demo, run_demo
from app.window.start import furnish
from inspection.sheet import acts
from inspection.sheet.head import Head
from inspection.sheet.nonconformance_life import unnamed
from storage.book.clock import Moment
from storage.book.door import Book
from storage.book.queries.sent_of_sheet import sent_of_sheet
from storage.settings import Settings

NO = Qt.KeyboardModifier.NoModifier
CTRL = Qt.KeyboardModifier.ControlModifier
ALT = Qt.KeyboardModifier.AltModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier


def ticking(first: int) -> Callable[[], Moment]:
    """A clock that ticks a second an entry."""
    seconds = itertools.count(first)
    return lambda: Moment(next(seconds) * 1_000_000, "2026-09-21")


def counted(first: int) -> Callable[[], str]:
    """Identities that count."""
    numbers = itertools.count(first)
    return lambda: str(uuid.UUID(int=next(numbers), version=4))


class Shop:
    """A copy of the demo's book: a signed sheet, and beside it one that nobody has read or signed."""

    def __init__(self, folder: Path, demo: Demo, unsigned: str) -> None:
        self.folder, self.sheet, self.unsigned = folder, demo.sheet, unsigned
        self.passphrase = demo.passphrase
        self.path = Path(shutil.copy(demo.files["book"], folder / "shop.tenthwright"))

    def book(self) -> Book:
        return Book.open(self.path, clock=ticking(1_800_000_000), identities=counted(50_000))

    def sent(self, sheet: str = "") -> list[Any]:
        """What the book on disk says was sent of a sheet, the newest first."""
        with self.book() as book:
            return book.ask(sent_of_sheet, sheet or self.sheet)


@pytest.fixture(scope="session")
def demo_book(tmp_path_factory: pytest.TempPathFactory) -> tuple[Demo, str]:
    """The demo, its row that is out given a number, and in its book a further sheet of the same plan that waits for
    everything."""
    demo = run_demo(tmp_path_factory.mktemp("demo"), ticking(1_790_000_000), counted(1))
    with Book.open(demo.files["book"], clock=ticking(1_795_000_000), identities=counted(40_000)) as book:
        sheet = book.sheet(demo.sheet)
        plan, person = sheet.plan.identity, sheet.made_by
        (row, piece), *_ = unnamed(sheet)
        raised = acts.RaiseNonconformance(
            sheet=demo.sheet, piece=piece, characteristics=(row,), number="NC-26-31", what="drilled off location"
        )
        book.do(raised, person=person)
        act = acts.MakeSheet(plan=plan, serials=("0901", "0902"), head=Head(customer="Lantern Hill Optical"))
        return demo, book.do(act, person=person).stream


@pytest.fixture
def shop(demo_book: tuple[Demo, str], tmp_path: Path) -> Shop:
    return Shop(tmp_path, *demo_book)


class Desk:
    """A window at the Desk."""

    def __init__(self, frame: Any, sitting: Any, qtbot: Any, shop: Shop) -> None:
        self.frame, self.sitting, self.qtbot, self.shop = frame, sitting, qtbot, shop

    @property
    def house(self) -> Any:
        return self.sitting.house

    @property
    def room(self) -> Any:
        return self.frame.room("desk")

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier = NO) -> None:
        assert self.frame.isActiveWindow()
        QTest.keyClick(self.frame.windowHandle(), key, modifier)

    def types(self, text: str) -> None:
        for sign in text:
            QTest.keyClick(self.frame.windowHandle(), sign)

    def until(self, holds: Callable[[], bool]) -> None:
        self.qtbot.waitUntil(holds, timeout=20_000)

    def prepare(self, sheet: str) -> None:
        """Go to the Desk on a sheet, as another room asks for it."""
        self.house.desk_wanted.emit(sheet)
        self.until(lambda: self.room.at_hand is not None and self.room.at_hand.sheet.identity == sheet)

    def face(self, digit: int) -> None:
        self.press(Qt.Key(Qt.Key.Key_0 + digit), ALT)

    def see_pages(self) -> None:
        self.face(2)
        self.until(lambda: self.room.pages.shown(self.room.pages.page) is not None)

    def settle(self) -> None:
        """Until nothing is under way."""
        self.until(lambda: not self.room.previews.under_way() and self.room.doing.isHidden())
        self.qtbot.wait(30)


@pytest.fixture
def open_desk(qapp: Any, qtbot: Any, shop: Shop) -> Iterator[Callable[..., Desk]]:
    """Open a window on the shop's book and go to the Desk on the signed sheet, or another: ``open_desk(sheet)``."""
    opened: list[tuple[Any, Any]] = []

    def begin(sheet: str = "", *, theme: str = "light", scale: int = 100, size: tuple[int, int] = (1280, 720)) -> Desk:
        frame, sitting = furnish(qapp, Settings(theme=theme, scale=scale))
        opened.append((frame, sitting))
        frame.resize(*size)
        with shop.book() as book:
            sitting.remembered["person"] = book.sheet(shop.sheet).made_by
        frame.show()
        qtbot.waitUntil(frame.isActiveWindow)
        sitting.begin(shop.path)
        qtbot.waitUntil(lambda: bool(frame._rooms) and frame._pages.currentWidget() is not frame.waiting)
        desk = Desk(frame, sitting, qtbot, shop)
        desk.prepare(sheet or shop.sheet)
        return desk

    yield begin
    while opened:
        frame, sitting = opened.pop()
        frame.close()
        qtbot.waitUntil(lambda: sitting.house.worker is None)  # noqa: B023 - waited for at once
        with qtbot.waitSignal(frame.destroyed):
            frame.deleteLater()


@pytest.fixture
def desk(open_desk: Callable[..., Desk]) -> Desk:
    return open_desk()
