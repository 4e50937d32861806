"""The crib's room in a real window on a real book, with keys sent to the window and never to a widget."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.window.start import furnish
from inspection.drawing.plan import Part, Plan, TitleBlock
from inspection.drawing.rows import characteristic
from inspection.instruments.record import Instrument
from inspection.instruments.starter import starter_crib
from inspection.measuring.reading import Slot
from inspection.quantity.reader import read
from inspection.quantity.units import PICOMETRES_PER_INCH as INCH
from inspection.sheet import acts
from inspection.sheet.people import Person
from storage.book.door import Book
from storage.settings import Settings

NO = Qt.KeyboardModifier.NoModifier
CTRL = Qt.KeyboardModifier.ControlModifier
BLOCK = TitleBlock(unit="in", inch={3: INCH // 200})
ROWS = (
    {"number": "1", "kind": "bore", "requirement": "⌀.1275 ±.0025"},
    {"number": "2", "kind": "length", "requirement": "1.250 ±.005"},
)


class CribWindow:
    """A window whose crib is entered; ``press`` and ``types`` send keys to the window."""

    def __init__(self, frame: Any, sitting: Any, qtbot: Any, path: Path) -> None:
        self.frame, self.sitting, self.qtbot, self.path = frame, sitting, qtbot, path

    @property
    def house(self) -> Any:
        return self.sitting.house

    @property
    def room(self) -> Any:
        return self.frame.room("crib")

    @property
    def form(self) -> Any:
        return self.room.side.form

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier = NO) -> None:
        assert self.frame.isActiveWindow()
        QTest.keyClick(self.frame.windowHandle(), key, modifier)
        self.qtbot.wait(5)

    def types(self, text: str) -> None:
        for sign in text:
            QTest.keyClick(self.frame.windowHandle(), sign)
        self.qtbot.wait(5)

    def settle(self) -> None:
        self.qtbot.waitUntil(lambda: self.house.worker.waiting() == 0)
        self.qtbot.wait(60)

    def find(self, text: str) -> None:
        """Search for something, whatever was searched before."""
        self.press(Qt.Key.Key_F, CTRL)
        self.types(text)

    def tags(self) -> list[str]:
        return [line.tag for line in self.room.model.lines]

    def tagged(self, tag: str) -> Instrument:
        """The newest issue of an instrument as the book on disk has it."""
        with Book.open(self.path) as book:
            found = book.shop().by_tag(tag)
        assert found is not None, tag
        return found

    def page(self) -> str:
        """What the record beside the list says."""
        return str(self.room.side.record.toPlainText())


def fill(book: Book, crib: tuple[Instrument, ...], *, with_sheet: bool = True) -> str:
    """A shop with its one person, this crib, and one sheet; the sheet's identity, "" without one."""
    shop = book.do(acts.OpenShop(name="Quillfeather Machine", first_person=Person("", "Mira Oduya")), person="").shop
    person = next(iter(shop.people))
    if not crib:
        return ""
    book.do(acts.IssueInstruments(instruments=crib), person=person)
    if not with_sheet:
        return ""
    rows = tuple(each for row in ROWS for each in characteristic(row, BLOCK))
    plan = Plan("", "", 0, Part("LP-1", "A", "Little plate", customer="Lantern Hill Optical"), BLOCK, rows)
    issued = book.do(acts.IssuePlan(plan=plan), person=person).events[0].plan
    return book.do(acts.MakeSheet(plan=issued.identity, serials=("001",)), person=person).stream


def read_row(book: Book, sheet: str, number: str, written: str) -> str:
    """Read a row with the instrument it got; that instrument's tag."""
    shop, held = book.shop(), book.sheet(sheet)
    row = next(row for row in held.plan.characteristics if row.number == number)
    assessment = held.assignments[row.identity].assessment
    assert assessment is not None
    act = acts.TakeReading(
        sheet=sheet,
        characteristic=row.identity,
        piece=held.pieces[0].identity,
        slot=Slot(),
        quantity=read(written, unit="in"),
    )
    book.do(act, person=next(iter(shop.people)))
    part = assessment.method.parts[0]
    return shop.issues[part.identity, part.issue].tag


def usual_crib() -> tuple[Instrument, ...]:
    """What a shop that works in inches has at hand, each in its drawer."""
    held = [one for one in starter_crib("2099-01-01") if one.unit != "mm"]
    return tuple(replace(one, place=f"drawer {n % 9 + 1}") for n, one in enumerate(held))


@pytest.fixture
def take() -> Callable[[Book, str, str, str], str]:
    """Reads a row of a sheet: ``take(book, sheet, number, written)``."""
    return read_row


@pytest.fixture
def open_crib(qapp: Any, qtbot: Any, tmp_path: Path) -> Iterator[Callable[..., CribWindow]]:
    """Open a window on a book with this crib, in its crib: ``open_crib(instruments, theme=…, scale=…)``."""
    opened: list[tuple[Any, Any]] = []

    def begin(crib: tuple[Instrument, ...] | None = None, prepare: Any = None, **look: Any) -> CribWindow:
        path = tmp_path / "shop.tenthwright"
        with Book.new(path) as book:
            held = usual_crib() if crib is None else crib
            sheet = fill(book, held, with_sheet=look.get("with_sheet", True))
            if prepare is not None:
                prepare(book, sheet)
        frame, sitting = furnish(qapp, Settings(theme=look.get("theme", "light"), scale=look.get("scale", 100)))
        opened.append((frame, sitting))
        frame.resize(*look.get("size", (1280, 720)))
        frame.show()
        qtbot.waitUntil(frame.isActiveWindow)
        sitting.begin(path)
        qtbot.waitUntil(lambda: frame._pages.currentWidget() is not frame.waiting, timeout=20_000)
        QTest.keyClick(frame.windowHandle(), Qt.Key.Key_3, CTRL)
        qtbot.waitUntil(lambda: "crib" in frame._rooms)
        qtbot.wait(40)
        return CribWindow(frame, sitting, qtbot, path)

    yield begin
    while opened:
        frame, sitting = opened.pop()
        frame.close()
        qtbot.waitUntil(lambda sitting=sitting: sitting.house.worker is None)
        with qtbot.waitSignal(frame.destroyed):
            frame.deleteLater()


@pytest.fixture
def crib(open_crib: Callable[..., CribWindow]) -> CribWindow:
    return open_crib()
