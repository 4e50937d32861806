"""The real window on a real book in a folder of the test, with keys sent to the window and never to a widget."""

from __future__ import annotations

import threading
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.bench.entry import Entry
from app.jobs.hand import Foreseen, Hand
from app.jobs.proving import prove
from app.window.start import furnish
from inspection.drawing.plan import Part, Plan, TitleBlock
from inspection.drawing.rows import characteristic
from inspection.instruments.rules import Rules
from inspection.instruments.starter import starter_crib
from inspection.quantity.units import PICOMETRES_PER_INCH as INCH
from inspection.sheet import acts
from inspection.sheet.head import Head
from inspection.sheet.people import Person
from storage.book.clock import new_identity, wall_clock
from storage.book.door import Book
from storage.settings import Settings

NO = Qt.KeyboardModifier.NoModifier
BLOCK = TitleBlock(unit="in", inch={2: INCH // 100, 3: INCH // 200}, angle=1_800_000_000)

#: Rows of an invented part; the first are plain numbers.
ROWS = (
    {"number": "1", "kind": "outside diameter", "requirement": "⌀.7500 +.0000/-.0005", "name": "bearing seat"},
    {"number": "2", "kind": "length", "requirement": "1.250 ±.005", "name": "body"},
    {"number": "3", "kind": "length", "requirement": "2.000 ±.005", "name": "overall"},
    {"number": "4", "kind": "bore", "requirement": "4X ⌀.1360 +.004/-.001", "place": "3 h; 6 h; 9 h; 12 h"},
    {"number": "5", "kind": "thread", "requirement": "8-32 UNC-2B", "name": "clamp screws"},
    {"number": "6", "kind": "note", "requirement": "BREAK ALL SHARP EDGES", "name": "edges"},
    {"number": "7", "kind": "outside diameter", "requirement": "⌀1.000 ±.002", "places": "left end; right end"},
    {"number": "8", "kind": "width", "requirement": "9.5 ±0.1", "unit": "mm"},
    {"number": "9", "kind": "angle", "requirement": "60°"},
    {"number": "10", "kind": "length", "requirement": "3.000 ±.005", "blind": "yes", "name": "rail"},
    {"number": "11", "kind": "length", "requirement": "(4.25)"},
)  # fmt: skip


class Bench:
    """A window with a sheet open at the Bench; ``types`` sends keys as fast as they come, ``says`` at a hand's pace."""

    def __init__(self, frame: Any, sitting: Any, qtbot: Any, path: Path, sheet: str) -> None:
        self.frame, self.sitting, self.qtbot, self.path, self.sheet_id = frame, sitting, qtbot, path, sheet
        self.together = False

    @property
    def house(self) -> Any:
        return self.sitting.house

    @property
    def room(self) -> Any:
        return self.frame.room("bench")

    @property
    def flow(self) -> Any:
        return self.room.flow

    @property
    def sheet(self) -> Any:
        return self.room.seen.sheet

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier = NO) -> None:
        assert self.frame.isActiveWindow()
        QTest.keyClick(self.frame.windowHandle(), key, modifier)

    def types(self, text: str) -> None:
        """Keys in one burst; a line break is Enter."""
        for sign in self.in_one_go(text):
            if sign == "\n":
                self.press(Qt.Key.Key_Return)
            else:
                QTest.keyClick(self.frame.windowHandle(), sign)

    def in_one_go(self, text: str) -> Iterator[str]:
        """The signs of a text; all but the first are pressed right after the one before, however busy the machine."""
        for place, sign in enumerate(text):
            self.together = bool(place)
            yield sign
        self.together = False

    def says(self, text: str) -> None:
        """Keys one by one, as a hand types them."""
        for sign in text:
            self.qtbot.wait(60)
            self.types(sign)

    def settle(self) -> None:
        """Until everything handed in is on disk and shown."""
        self.qtbot.waitUntil(lambda: not self.flow.under_way and self.house.worker.waiting() == 0)
        self.qtbot.wait(60)

    def number(self) -> str:
        """The balloon number at which the entry stands."""
        return self.room.seen.row(self.flow.at.row).number

    def line(self, number: str) -> Any:
        rows = self.sheet.plan.characteristics
        place = next(i for i, row in enumerate(rows) if row.number == number)
        return self.room.model.line(place)

    def readings(self, number: str, piece: int = 0) -> list[str]:
        """What counts in a row, as written."""
        row = next(row for row in self.sheet.plan.characteristics if row.number == number)
        kept = self.sheet.counting(row.identity, self.sheet.pieces[piece].identity)
        return [each.written or each.observed.value for each in kept]

    def go(self, number: str) -> None:
        row = next(row for row in self.sheet.plan.characteristics if row.number == number)
        self.flow.go((row.identity, self.flow.at.piece))
        self.qtbot.wait(5)

    def kept(self) -> Any:
        """The sheet as another reader finds it on disk."""
        with Book.open(self.path) as book:
            return book.sheet(self.sheet_id)


def inch_crib() -> tuple[Any, ...]:
    """What a shop that works in inches has at hand."""
    return tuple(one for one in starter_crib(due="2099-01-01") if one.unit != "mm")


def make_book(
    path: Path,
    rows: Iterable[dict[str, str]],
    serials: tuple[str, ...],
    crib: Any = None,
    rules: Rules | None = None,
    *,
    proven: bool = True,
) -> str:
    """A book with a shop, its one person, a crib and one sheet whose instruments were checked; the sheet's identity."""
    made = [each for row in rows for each in characteristic(row, BLOCK)]
    with Book.new(path) as book:
        opened = book.do(acts.OpenShop(name="Ames", first_person=Person("", "Ann Ames")), person="")
        person = next(iter(opened.shop.people))
        book.do(acts.IssueInstruments(instruments=crib or inch_crib()), person=person)
        if rules is not None:
            book.do(acts.IssueRules(rules=rules), person=person)
        part = Part("LP-1", "A", "Little plate", customer="Nobody & Sons", material="steel")
        plan = book.do(acts.IssuePlan(plan=Plan("", "", 0, part, BLOCK, tuple(made))), person=person).events[0].plan
        act = acts.MakeSheet(plan=plan.identity, serials=serials, head=Head(temperature="68.5 °F"))
        sheet = book.do(act, person=person).stream
        if proven:
            hand = Hand(book, Foreseen(wall_clock, new_identity))
            hand.person = person
            prove(hand, sheet)
        return sheet


@pytest.fixture
def open_bench(qapp, qtbot, tmp_path, monkeypatch):
    """Open a window on a sheet of these rows and pieces: ``open_bench(rows, serials)``."""
    opened: list[tuple[Any, Any]] = []

    def begin(
        rows: Iterable[dict[str, str]] = ROWS, serials: tuple[str, ...] = ("001",), crib: Any = None, **more: Any
    ) -> Bench:
        file = tmp_path / "shop.tenthwright"
        return window(file, make_book(file, rows, serials, crib, **more))

    def furnished(sheet: str, theme: str = "light", scale: int = 100) -> tuple[Any, Any]:
        frame, sitting = furnish(qapp, Settings(theme=theme, scale=scale))
        opened.append((frame, sitting))
        frame.resize(1280, 720)
        sitting.remembered["sheet"] = sheet
        frame.show()
        qtbot.waitUntil(frame.isActiveWindow)
        return frame, sitting

    def window(file: Path, sheet: str, **look: Any) -> Bench:
        frame, sitting = furnished(sheet, **look)
        sitting.begin(file)
        qtbot.waitUntil(lambda: sitting.house.foreseen is not None)  # the shop is there at the first look already
        qtbot.waitUntil(lambda: "bench" in frame._rooms and frame.room("bench").seen is not None)
        qtbot.wait(60)
        made = Bench(frame, sitting, qtbot, file, sheet)
        plain = Entry._apart
        monkeypatch.setattr(Entry, "_apart", lambda entry, key: plain(entry, key) * (not made.together))
        return made

    def close_all() -> None:
        while opened:
            close(qtbot, *opened.pop())

    begin.window, begin.furnish, begin.close = window, furnished, close_all
    yield begin
    close_all()


def close(qtbot: Any, frame: Any, sitting: Any) -> None:
    """Close a window as a person does, and see that everything is finished."""
    frame.close()
    qtbot.waitUntil(lambda: sitting.house.worker is None)
    with qtbot.waitSignal(frame.destroyed):
        frame.deleteLater()


@pytest.fixture
def door(monkeypatch: pytest.MonkeyPatch) -> threading.Event:
    """The book's door, shut until it is set: what was handed in stays under way."""
    plain, opened = Book.do, threading.Event()

    def do(self: Book, *parts: Any, **named: Any) -> Any:
        opened.wait(5)
        return plain(self, *parts, **named)

    monkeypatch.setattr(Book, "do", do)
    return opened


@pytest.fixture
def bench(open_bench) -> Bench:
    return open_bench()
