"""Entering a room costs the same in a book of any size: statements counted here, times on a quiet machine."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from sqlalchemy import event

from app.window.keys import ROOMS
from app.window.start import furnish
from storage.settings import Settings
from tests.benchmarks.large_book import LargeBook, make_large_book

#: A pair that a change is checked with, and the pair of a shop's life.
SMALL, LARGE = (100, 400), (1_000, 10_000)
#: Milliseconds in which a room is to be there.
AT_MOST = 150

Books = Callable[[int], LargeBook]


@pytest.fixture(scope="session")
def books(tmp_path_factory: pytest.TempPathFactory) -> Books:
    """Large books by their number of sheets, each made once for all tests."""
    made: dict[int, LargeBook] = {}
    folder = tmp_path_factory.mktemp("large")

    def book(sheets: int) -> LargeBook:
        if sheets not in made:
            made[sheets] = make_large_book(folder / f"{sheets}.tenthwright", sheets)
        return made[sheets]

    return book


class Window:
    """The window on a book, with a sheet at hand; ``enter`` goes to a room by its key and waits until it is filled."""

    def __init__(self, frame: Any, sitting: Any, qtbot: Any) -> None:
        self.frame, self.sitting, self.qtbot = frame, sitting, qtbot
        self.statements: list[str] = []

    def idle(self) -> bool:
        """Whether the book's thread has nothing to do."""
        worker = self.sitting.house.worker
        with worker._wake:
            return not (worker._acts or worker._acting or worker._jobs or worker._running)

    def answered(self) -> bool:
        """Whether everything short that was asked is answered; a file that is being made to be looked at goes on with
        its progress shown, and takes no key away."""
        worker = self.sitting.house.worker
        with worker._wake:
            running = worker._running
            short = [job for job in (*worker._jobs, *([running] if running else [])) if not job.long]
            return not (worker._acts or worker._acting or short)

    def settle(self) -> None:
        """Until the book's thread has nothing to do, and nothing of it is still to be shown."""
        self.qtbot.waitUntil(self.idle)
        self.qtbot.wait(150)
        self.qtbot.waitUntil(self.idle)

    def enter(self, room: str) -> tuple[float, int]:
        """Milliseconds until the room has taken its keys and painted its first answer, and the statements it asked."""
        self.settle()
        self.statements.clear()
        digit = Qt.Key(Qt.Key.Key_0 + int(ROOMS[room][0][-1]))
        began = time.perf_counter()
        QTest.keyClick(self.frame.windowHandle(), digit, Qt.KeyboardModifier.ControlModifier)
        while not self.answered():
            self.qtbot.wait(1)
        self.frame.repaint()
        took = (time.perf_counter() - began) * 1_000
        assert self.frame._pages.currentWidget() is self.frame.room(room)
        self.settle()
        return took, len(self.statements)


@pytest.fixture
def window(qapp: Any, qtbot: Any) -> Iterator[Callable[[LargeBook], Window]]:
    """Open a window on a large book, its newest sheet at the Bench."""
    opened: list[tuple[Any, Any]] = []

    def begin(large: LargeBook) -> Window:
        frame, sitting = furnish(qapp, Settings())
        opened.append((frame, sitting))
        sitting.remembered |= {"person": large.person, "sheet": large.sheets[-1]}
        shown = Window(frame, sitting, qtbot)
        frame.resize(1280, 720)
        frame.show()
        qtbot.waitUntil(frame.isActiveWindow)
        sitting.begin(large.path)
        qtbot.waitUntil(lambda: sitting.house.foreseen is not None and "bench" in frame._rooms, timeout=20_000)
        shown.settle()
        engine = sitting.house.worker._book._engines.reading
        event.listen(engine, "before_cursor_execute", lambda *given: shown.statements.append(given[2]))
        return shown

    yield begin
    while opened:
        frame, sitting = opened.pop()
        frame.close()
        qtbot.waitUntil(lambda: sitting.house.worker is None)  # noqa: B023 - waited for at once
        with qtbot.waitSignal(frame.destroyed):
            frame.deleteLater()


def entered(window: Window) -> dict[str, list[tuple[float, int]]]:
    """Every room entered twice, from the Bench on."""
    found: dict[str, list[tuple[float, int]]] = {room: [] for room in ROOMS}
    for _ in range(2):
        for room in (*(room for room in ROOMS if room != "bench"), "bench"):
            found[room].append(window.enter(room))
    return found


def counts(found: dict[str, list[tuple[float, int]]]) -> dict[str, list[int]]:
    return {room: [statements for _, statements in times] for room, times in found.items()}


@pytest.mark.slow
def test_a_room_asks_as_many_statements_in_a_book_four_times_as_large(books: Books, window: Any) -> None:
    small, large = (counts(entered(window(books(sheets)))) for sheets in SMALL)
    assert small == large
    assert all(statements > 0 for statements in small["ledger"])


@pytest.mark.slow
@pytest.mark.measured
def test_every_room_is_there_within_a_blink_on_ten_thousand_sheets(books: Books, window: Any) -> None:
    found = {sheets: entered(window(books(sheets))) for sheets in LARGE}
    for sheets, rooms in found.items():
        for room, times in rooms.items():
            said = ", then ".join(f"{took:.0f} ms with {statements} statements" for took, statements in times)
            print(f"{sheets:>6} sheets  {room:<7} {said}")
    assert counts(found[LARGE[0]]) == counts(found[LARGE[1]])
    first = {room: times[0][0] for room, times in found[LARGE[1]].items()}
    again = {room: times[1][0] for room, times in found[LARGE[1]].items()}
    assert {room: took for room, took in first.items() if took >= AT_MOST} == {}
    assert {room: took for room, took in again.items() if took >= AT_MOST} == {}
