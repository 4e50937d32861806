"""The bracket measured through the window alone, by key: every act of the story, the window closed and opened again
half-way, signed and sent. What it writes is, to the byte, what the command line writes of the same acts."""

from __future__ import annotations

import re
import sqlite3
from collections import deque
from collections.abc import Callable, Iterable
from contextlib import closing
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from pypdfium2 import PdfDocument
from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtGui import QGuiApplication, QKeyEvent, QWindow
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit
from shiboken6 import isValid

from app.background.opening import Opening
from app.command.outcome import Exit
from app.window.early import Early
from app.window.start import furnish
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.canonical.form_4 import read_entry

PASSPHRASE = "nine blue herons"
CONTROL, NONE = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.NoModifier
RETURN = Qt.Key.Key_Return


#: Between two keys of a hand, in milliseconds; what comes closer together while a question stands is held as by cable.
BY_HAND = 60


class Stroke(NamedTuple):
    """One key, or (``text``) one character; ``until`` is waited for before the next, and ``pause`` before this one."""

    key: Qt.Key | None = None
    modifier: Qt.KeyboardModifier = NONE
    text: str = ""
    until: Callable[[], bool] | None = None
    pause: int = 1


class Typist(QObject):
    """Types strokes at whatever window is active, dialogs too, as a person would: the next one when the last was taken.

    ``count`` counts strokes.
    """

    def __init__(self) -> None:
        super().__init__()
        self.count = 0
        self._strokes: deque[Stroke] = deque()
        self._until: Callable[[], bool] | None = None
        self._typing = False

    def type(self, strokes: Iterable[Stroke]) -> None:
        """Begin to type."""
        self._strokes.extend(strokes)
        if not self._typing:
            self._typing = True
            self._soon()

    @property
    def done(self) -> bool:
        """Whether everything was typed and taken."""
        return not self._typing

    def stop(self) -> None:
        """Type no more."""
        self._strokes.clear()
        self._typing = False

    def _soon(self) -> None:
        pause = self._strokes[0].pause if self._strokes else 1
        QTimer.singleShot(
            pause, self, self._step
        )  # a timer of its own each: a key may open a dialog and return much later

    @staticmethod
    def _give_focus() -> None:
        """What a window manager does when a dialog opens or closes, and this platform has none."""
        asking = QApplication.activeModalWidget()
        for widget in [asking] if asking is not None else QApplication.topLevelWidgets():
            if widget.isVisible():
                widget.activateWindow()

    def _step(self) -> None:
        window, asking = QGuiApplication.focusWindow(), QApplication.activeModalWidget()
        if window is None or (asking is not None and not asking.isActiveWindow()):
            self._give_focus()
            self._soon()
        elif self._until is not None and not self._until():
            self._soon()
        elif not self._strokes:
            self._typing, self._until = False, None
        else:
            stroke = self._strokes.popleft()
            self._until = stroke.until
            self.count += 1
            self._soon()
            self._press(window, stroke)

    @staticmethod
    def _press(window: QWindow, stroke: Stroke) -> None:
        if not stroke.text:
            QTest.keyClick(window, stroke.key, stroke.modifier)
        elif stroke.text.isascii():
            QTest.keyClick(window, stroke.text)
        else:  # the test library knows ASCII only
            for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
                QApplication.sendEvent(window, QKeyEvent(kind, 0, NONE, stroke.text))


def typed(text: str, pause: int = 1) -> list[Stroke]:
    return [Stroke(text=character, pause=pause) for character in text]


class Bench:
    """The real window on a walk's book, without its process."""

    def __init__(self, walk: Any, qapp: QApplication, qtbot: Any, remembered: dict[str, str]) -> None:
        self.walk, self.qtbot = walk, qtbot
        self.frame, self.sitting = furnish(qapp, Early(theme="light", scale=100, **remembered))
        self.sitting._opener = partial(Opening, clock=walk.clock, identities=walk.identities)
        self.typist = Typist()
        self.frame.first_painted.connect(lambda: self.sitting.begin(walk.book))
        self.frame.resize(1280, 720)
        self.frame.show()
        qtbot.waitUntil(lambda: self.sitting.house.foreseen is not None)
        qtbot.waitUntil(self.frame.isActiveWindow)

    @property
    def room(self) -> Any:
        return self.frame.room("bench")

    def settled(self) -> bool:
        """Nothing is on its way, and no dialog asks."""
        worker = self.sitting.house.worker
        idle = worker is not None and worker.waiting() == 0 and not self.room.flow.under_way
        return idle and QApplication.activeModalWidget() is None

    def asked(self) -> bool:
        """A dialog asks, and takes keys."""
        dialog = QApplication.activeModalWidget()
        return dialog is not None and dialog.isActiveWindow() and dialog.isAncestorOf(QApplication.focusWidget())

    def do(self, strokes: list[Stroke]) -> int:
        """Type, and wait until everything is on disk; how many strokes it took."""
        before = self.typist.count
        self.typist.type(strokes)
        self.qtbot.waitUntil(lambda: self.typist.done and self.settled(), timeout=20_000)
        return self.typist.count - before

    def at(self) -> tuple[str, str, str, str]:
        """Serial, number, place and role of the slot where the entry stands."""
        flow, seen = self.room.flow, self.room.seen
        slot = flow.at.slot
        role = "" if slot is None or slot.role in ("value", "finding") else str(slot.role)
        return seen.serial(flow.at.piece), seen.row(flow.at.row).number, slot.place if slot else "", role

    def remembered(self) -> dict[str, str]:
        """What the window would find again."""
        kept = self.sitting.remembered
        return {name: kept.get(name, "") for name in ("book", "person", "sheet")}

    def leave(self) -> None:
        """Close the window by key."""
        self.typist.type([Stroke(Qt.Key.Key_Q, CONTROL)])
        self.qtbot.waitUntil(lambda: self.sitting.house.worker is None)
        self.typist.stop()
        self.frame.close()
        self.frame.deleteLater()
        self.qtbot.waitUntil(lambda: not isValid(self.frame))

    # --- the story as keys ------------------------------------------------------------------------------------------

    def strokes_of(self, row: dict[str, str]) -> list[Stroke]:
        """What a person types for one row of the story."""
        room = self.room
        settled, asked = self.settled, self.asked
        if row.get("note"):
            return [Stroke(text="d", until=asked), *typed(row["note"]), Stroke(RETURN, until=settled)]
        if row.get("withdraw"):
            return [Stroke(Qt.Key.Key_Z, CONTROL, until=settled)]
        if row.get("answer") == "keep":
            return [Stroke(RETURN, until=settled, pause=BY_HAND)]
        if row.get("answer"):
            return [*typed(row["reading"], BY_HAND), Stroke(RETURN, until=settled, pause=BY_HAND)]
        first: list[Stroke] = []
        if row.get("instrument"):
            first = [
                Stroke(text="i", until=asked),
                *typed(row["instrument"]),
                Stroke(Qt.Key.Key_Tab),
                *typed(row["reason"]),
                Stroke(RETURN, until=settled),
            ]
        if row.get("replaces"):
            correcting = lambda: bool(room.flow.at.corrects)  # noqa: E731
            return [
                Stroke(Qt.Key.Key_F2, until=correcting),
                *typed(row["reading"]),
                Stroke(RETURN, until=asked),
                *typed(row["reason"]),
                Stroke(RETURN, until=settled),
            ]
        return [*first, *self.entering(row["reading"])]

    def entering(self, reading: str) -> list[Stroke]:
        """A number and Enter; what was seen is one letter, by itself."""
        letter = {"as required": "e", "enters": "e", "does not enter": "n"}.get(reading)
        if letter is None:
            return [*typed(reading), Stroke(RETURN, until=self.settled)]
        before = self.at()
        return [Stroke(text=letter, until=lambda: self.at() != before and self.settled())]


@pytest.fixture
def open_bench(qapp, qtbot):
    """Open the window on a walk's book."""
    opened: list[Bench] = []

    def make(walk, **remembered: str) -> Bench:
        opened.append(Bench(walk, qapp, qtbot, remembered))
        return opened[-1]

    yield make
    for bench in opened:
        bench.typist.stop()
        if bench.sitting.house.worker is not None:
            bench.leave()


def plain(row: dict[str, str]) -> bool:
    return set(row) <= {"serial", "number", "place", "role", "reading"}


def journal(book) -> list[bytes]:
    with closing(sqlite3.connect(book)) as connection:
        return [content for (content,) in connection.execute("SELECT content FROM journal ORDER BY sequence")]


def entries(book: Path) -> int:
    with closing(sqlite3.connect(book)) as connection:
        return int(connection.execute("SELECT count(*) FROM journal").fetchone()[0])


@pytest.fixture
def walked(new_walk, open_bench, story, bracket):
    """The whole story typed, the window closed and opened again half-way; what each plain reading cost beyond its
    characters, and where the entry stood before and after the interval."""
    walk = new_walk("window")
    half = len(story) // 2
    costs: list[int] = []
    bench = open_bench(walk, sheet=walk.sheet)
    for row in story[:half]:
        step(bench, row, costs)
    stood = bench.at()
    remembered = bench.remembered()
    bench.leave()
    bench = open_bench(walk, **remembered)
    returned = bench.at()
    for row in story[half:]:
        step(bench, row, costs)
    return walk, bench, costs, (stood, returned)


def step(bench: Bench, row: dict[str, str], costs: list[int]) -> None:
    where = tuple(row[name] for name in ("serial", "number", "place", "role"))
    if plain(row):
        assert bench.at() == where, "the entry moved along the route by itself"
    took = bench.do(bench.strokes_of(row))
    if plain(row):
        letters = 0 if row["reading"] in ("as required", "enters", "does not enter") else len(row["reading"])
        costs.append(took - letters)


@pytest.mark.slow
def test_the_walk(walked, measured) -> None:
    walk, bench, costs, (stood, returned) = walked
    assert set(costs) == {1}, "a plain reading costs its characters and one key"
    assert len(costs) > 150
    assert returned == stood
    sent = sign_and_send(bench, walk)
    bench.leave()
    check_same_bytes(walk, measured)
    check_same_print(sent, measured)
    for argv in (["verify"], ["verify", str(sent)]):
        assert walk.command(*argv) == Exit.DONE, walk.said[-1]


def sign_and_send(bench: Bench, walk: Any) -> Path:
    """In the Ledger and at the Desk, by key."""
    ledger: Any = bench.frame.room("ledger")
    bench.do([Stroke(Qt.Key.Key_4, CONTROL, until=lambda: ledger.isVisible() and ledger.line() is not None)])
    signing = [Stroke(Qt.Key.Key_G, CONTROL, until=bench.asked), *typed(PASSPHRASE)]
    bench.do([*signing, Stroke(RETURN, until=lambda: bench.settled() and ledger.line().sealed)])
    desk: Any = bench.frame.room("desk")
    bench.do([Stroke(Qt.Key.Key_D, CONTROL, until=lambda: desk.isVisible() and desk.at_hand is not None)])
    bench.qtbot.waitUntil(lambda: not desk.previews.under_way() and desk.doing.isHidden(), timeout=20_000)
    sent = walk.folder / "walk.pdf"
    before = entries(walk.book)
    bench.do(
        [
            Stroke(Qt.Key.Key_U, CONTROL, until=lambda: "pdf" in desk.previews.made),
            Stroke(Qt.Key.Key_E, CONTROL, until=bench.asked),
            Stroke(RETURN, until=lambda: bench.asked() and lacks_no_more()),
            *(Stroke(Qt.Key.Key_Tab), Stroke(Qt.Key.Key_A, CONTROL), *typed(str(walk.folder))),
            *(Stroke(Qt.Key.Key_Tab), Stroke(Qt.Key.Key_A, CONTROL), *typed(sent.stem)),
            Stroke(RETURN, until=lambda: sent.exists() and entries(walk.book) > before),
        ]
    )
    return sent


def lacks_no_more() -> bool:
    """Whether what the customer will miss was told and agreed to: the question at hand has fields."""
    return bool(QApplication.activeModalWidget().findChildren(QLineEdit))


def check_same_bytes(walk: Any, measured: Any) -> None:
    """Every entry up to the seal is the same to the byte, and so is what the seal covers."""
    by_key, by_line = journal(walk.book), journal(measured.book)
    records = [read_entry(content) for content in by_key]
    sealing = next(place for place, record in enumerate(records) if isinstance(record.act, acts.SignSheet))
    assert sealing > 175
    assert by_key[:sealing] == by_line[:sealing]
    mine, other = records[sealing].events[0], read_entry(by_line[sealing]).events[0]
    assert isinstance(mine, ev.SheetSealed)
    assert isinstance(other, ev.SheetSealed)
    assert (mine.content, mine.digest) == (other.content, other.digest)


def check_same_print(sent: Path, measured: Any) -> None:
    """The two printed sheets are one, but for the head of the chain: no two signatures by one key are the same."""
    other = measured.folder / "by line.pdf"
    assert measured.command("export", "pdf", str(other)) == Exit.DONE
    assert pages(sent) == pages(other)


def pages(file: Path) -> list[str]:
    """The texts of a file's pages, each head of a chain by its position alone."""
    with PdfDocument(file) as document:
        texts = [page.get_textpage().get_text_range() for page in document]
    return [re.sub(r"(?<=\d:)[0-9a-f]{4}(-[0-9a-f]{4}){4}", "", text) for text in texts]
