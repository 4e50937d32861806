"""An invented bracket, not the demo's part, and what happens while three pieces of it are measured: one story, told as
the rows of a reading file, which command line and window carry out alike."""

from __future__ import annotations

import csv
import io
import itertools
import os
import shutil
import time
import uuid
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from msgspec import Struct
from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtGui import QGuiApplication, QKeyEvent, QMouseEvent, QWindow
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget

from app.checking.panel import CheckPanel
from app.command.main import run
from app.jobs.hand import Foreseen, Hand
from app.jobs.reading_in import read_in
from app.window.early import Early
from app.window.start import furnish
from inspection.measuring.checks_under_way import Wanted, wanted
from inspection.quantity.speaker import written_out
from inspection.sheet.cells import waiting
from storage.book.clock import Moment
from storage.book.queries.sheets import list_sheets
from storage.intake.readings import read_readings

HERE = Path(__file__).parent
SHOP, PERSON, PASSPHRASE = "Tern & Plover", "Ines Varga", "nine blue herons"
DAY = "2026-09-21"
FIRST_SECOND = 1_790_000_000

Row = dict[str, str]


class Step(Struct, frozen=True):
    """What happens at one slot, beside or in place of its plain reading; each row is one of a reading file."""

    before: tuple[Row, ...] = ()
    instead: tuple[Row, ...] = ()


#: By number and piece: everything that is no plain reading.
EVENTS: dict[tuple[str, str], Step] = {
    # a slip, answered with a new reading off the part
    ("3", "A2"): Step(instead=({"reading": ".5248"}, {"reading": ".4998", "answer": "new reading"})),
    # a slip that is kept as written: the slot is out
    ("13", "A3"): Step(instead=({"reading": ".2140"}, {"answer": "keep"})),
    # a correction
    ("4", "A1"): Step(
        instead=({"reading": ".7496"}, {"reading": ".7498", "replaces": "1", "reason": "read between the lines"})
    ),
    # one's own last entry taken back, and read again
    ("24", "A2"): Step(instead=({"reading": ".0041"}, {"withdraw": "yes"}, {"reading": ".0028"})),
    # another instrument, with a reason
    ("7", "A1"): Step(instead=({"reading": "1 1/2", "instrument": "R-02", "reason": "the caliper is at the lathe"},)),
    # a note
    ("16", "A1"): Step(before=({"note": "the leaf touches in the middle"},)),
}
FIELDS = (
    "serial",
    "number",
    "place",
    "role",
    "reading",
    "instrument",
    "reason",
    "replaces",
    "withdraw",
    "answer",
    "note",
)


class Ticking:
    """A clock that ticks a second an entry."""

    def __init__(self, first: int) -> None:
        self.second = first

    def __call__(self) -> Moment:
        self.second += 1
        return Moment((self.second - 1) * 1_000_000, DAY)

    def seen(self) -> Moment:
        """What it shows; looking does not make it tick."""
        return Moment(self.second * 1_000_000, DAY)


def ticking(first: int) -> Ticking:
    """A clock that begins at a second."""
    return Ticking(first)


@pytest.fixture(scope="session", autouse=True)
def looking_does_not_tick() -> Iterator[None]:
    """Window and command line look at the clock each in their own way; only entries make it tick."""

    def seen(foreseen: Any) -> Callable[[], Moment]:
        return getattr(foreseen._clock, "seen", foreseen._clock)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Foreseen, "now", lambda self: self._moments[0] if self._moments else seen(self)())
        patch.setattr(Foreseen, "apart", lambda self: Foreseen(seen(self), self._identities))
        yield


def counted(first: int) -> Callable[[], str]:
    """Identities that count."""
    numbers = itertools.count(first)
    return lambda: str(uuid.UUID(int=next(numbers), version=4))


class Walk:
    """A folder with a copy of the bracket's book, to be measured; time and identities go on where the book was left,
    the same in every copy."""

    def __init__(self, folder: Path, book: Path, sheet: str) -> None:
        self.folder, self.sheet = folder, sheet
        self.book = Path(shutil.copy(book, folder / "bracket.tenthwright"))
        self.clock, self.identities = ticking(FIRST_SECOND + 10_000), counted(10_000)
        self.said: list[str] = []

    def command(self, *argv: str) -> int:
        """Carry out one command line on the book, as on a computer of its own; its output is kept in ``said``."""
        out = io.StringIO()
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("XDG_DATA_HOME", str(self.folder / "data"))
            code = run(
                [*argv, "--book", str(self.book)],
                clock=self.clock,
                identities=self.identities,
                environ={"TENTHWRIGHT_PASSPHRASE": PASSPHRASE},
                out=out,
                err=out,
            )
        self.said.append(out.getvalue())
        return code

    def hand(self) -> Hand:
        """The book opened by the one person in it."""
        hand = Hand.open(self.book, self.clock, self.identities)
        hand.be("")
        return hand


def as_file(rows: list[Row]) -> str:
    """Rows as the text of a reading file."""
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, FIELDS, restval="")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


@pytest.fixture(scope="session")
def features() -> Path:
    """The bracket's feature file."""
    return HERE / "bracket_features.csv"


@pytest.fixture(scope="session")
def bracket(tmp_path_factory: pytest.TempPathFactory, features: Path) -> tuple[Path, str]:
    """A book with the shop and the bracket's sheet, nothing read yet, made by command line; and the sheet's name.

    The shop asks for no checks of instruments: those are walked elsewhere, and one walk goes by this computer's clock.
    """
    book = tmp_path_factory.mktemp("bracket") / "bracket.tenthwright"
    given = {
        "clock": ticking(FIRST_SECOND),
        "identities": counted(1),
        "environ": {"TENTHWRIGHT_PASSPHRASE": PASSPHRASE},
    }
    for line in (
        ["new", "--shop", SHOP, "--person", PERSON, "--starter-crib"],
        ["rules", "--set", "closing check under=none", "check life=none"],
        ["take-in", str(features)],
    ):
        out = io.StringIO()
        assert run([*line, "--book", str(book)], out=out, err=out, **given) == 0, out.getvalue()
    with Hand.open(book, ticking(0), counted(0)) as hand:
        (listed,) = hand.book.ask(list_sheets, limit=2)
    return book, listed.sheet


@pytest.fixture
def new_walk(bracket: tuple[Path, str], tmp_path: Path) -> Callable[[str], Walk]:
    """Make a copy of the bracket's book in a folder of the name given."""

    def make(name: str) -> Walk:
        folder = tmp_path / name
        folder.mkdir()
        return Walk(folder, *bracket)

    return make


@pytest.fixture(scope="session")
def story(bracket: tuple[Path, str], tmp_path_factory: pytest.TempPathFactory) -> tuple[Row, ...]:
    """Everything that is read on the three pieces, in the order of the route, which another instrument changes on the
    way: found by carrying it out on a copy."""
    walk = Walk(tmp_path_factory.mktemp("story"), *bracket)
    told: list[Row] = []
    with walk.hand() as hand:
        for rows in _at_each_slot(hand, walk.sheet):
            told += rows
            read_in(hand, walk.sheet, read_readings(as_file(list(rows)).encode(), "story.csv"))
    return tuple(told)


@pytest.fixture(scope="session")
def measured(bracket: tuple[Path, str], story: tuple[Row, ...], tmp_path_factory: pytest.TempPathFactory) -> Walk:
    """The bracket read and signed by command line."""
    walk = Walk(tmp_path_factory.mktemp("measured"), *bracket)
    readings = walk.folder / "readings.csv"
    readings.write_text(as_file(list(story)), encoding="utf-8")
    assert walk.command("read", str(readings)) == 0, walk.said
    assert walk.command("sign") == 0, walk.said
    return walk


@pytest.fixture(scope="session")
def story_file() -> Callable[[list[Row]], str]:
    """Rows as the text of a reading file."""
    return as_file


def _at_each_slot(hand: Hand, sheet_id: str) -> Iterator[tuple[Row, ...]]:
    values = _values()
    events = dict(EVENTS)
    at = None
    while True:
        sheet, shop = hand.book.sheet(sheet_id), hand.book.shop()
        following = next(waiting(shop, sheet, after=at), None)
        if following is None:
            assert not events, "every event of the story has its slot"
            return
        characteristic, piece, slot = following
        at = characteristic, piece
        number = sheet.characteristic(characteristic).number
        serial = next(each.serial for each in sheet.pieces if each.identity == piece)
        role = "" if slot.role in ("value", "finding") else str(slot.role)
        where = {"serial": serial, "number": number, "place": slot.place, "role": role}
        step = events.pop((number, serial), Step())
        plain = ({"reading": values[number.partition(".")[0], slot.place, role][serial]},)
        yield tuple({**where, **row} for row in (*step.before, *(step.instead or plain)))


def _values() -> dict[tuple[str, str, str], Row]:
    with (HERE / "bracket_values.csv").open(encoding="utf-8", newline="") as file:
        return {(row["number"], row["place"], row["role"]): row for row in csv.DictReader(file)}


# --- the window, by key ---------------------------------------------------------------------------------------------

HELD = {
    "Ctrl": Qt.KeyboardModifier.ControlModifier,
    "Shift": Qt.KeyboardModifier.ShiftModifier,
    "Alt": Qt.KeyboardModifier.AltModifier,
}
#: Between two keys of a hand, in milliseconds; what comes closer together while a question stands is held as by cable.
BY_HAND = 60
#: How long a run of keys may take, in seconds.
PATIENCE = 8


class Typist(QObject):
    """Types at whatever window has the keys, dialogs too: the next key when the last one was taken.

    What is typed is a list of names of keys in angle brackets (``<Ctrl+Shift+N>``), plain texts, pauses in milliseconds
    and conditions that are waited for. ``count`` counts keys.
    """

    def __init__(self, qtbot: Any, settled: Callable[[], bool]) -> None:
        super().__init__()
        self.qtbot, self.settled, self.count, self.stuck = qtbot, settled, 0, ""
        self._beat = 0
        self._todo: deque[Any] = deque()

    def type(self, *told: Any) -> int:
        """Type, and wait until nothing is on its way; how many keys it took."""
        before = self.count
        for each in told:
            self._todo.extend(each if isinstance(each, str) and not each.startswith("<") else (each,))
        self._until, self.stuck = time.monotonic() + PATIENCE, ""
        self._soon()
        self.qtbot.waitUntil(lambda: not self._todo and (bool(self.stuck) or self.settled()), timeout=PATIENCE * 2000)
        assert not self.stuck
        return self.count - before

    def _soon(self, pause: int = 1) -> None:
        """A timer of its own each: a key may open a dialog and return much later. Only the newest counts."""
        self._beat += 1
        QTimer.singleShot(pause, self, partial(self._step, self._beat))

    def _step(self, beat: int) -> None:
        if beat != self._beat:
            return
        window, asking = QGuiApplication.focusWindow(), QApplication.activeModalWidget()
        if not self._todo:
            return
        if time.monotonic() > self._until:  # a question that nobody expected stands: the walk ends here
            told = [label.text() for label in (asking or QApplication.activeWindow()).findChildren(QLabel)]
            self.stuck = f"{len(self._todo)} keys are left at {QApplication.focusWidget()}; {told}"
            self._todo.clear()
            if asking is not None:
                asking.reject()
            return
        if window is None or (asking is not None and not _has_the_keys(asking, window)):
            for widget in [asking] if asking is not None else QApplication.topLevelWidgets():
                if widget.isVisible():
                    widget.activateWindow()  # as a window manager does, and this platform has none
            self._soon()
        elif callable(self._todo[0]):
            if self._todo[0]():
                self._todo.popleft()
            self._soon()
        elif isinstance(self._todo[0], int):
            self._soon(self._todo.popleft())
        else:
            self._soon()  # before the key: it may open a dialog and return much later
            self.count += 1
            self._press(window, self._todo.popleft())

    @staticmethod
    def _press(window: Any, stroke: str) -> None:
        if stroke.startswith("<"):
            *held, key = stroke[1:-1].split("+")
            modifiers = Qt.KeyboardModifier.NoModifier
            for each in held:
                modifiers |= HELD[each]
            QTest.keyClick(window, getattr(Qt.Key, f"Key_{key}"), modifiers)
        elif stroke.isascii():
            QTest.keyClick(window, stroke)
        else:  # the test library knows ASCII only
            for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
                QApplication.sendEvent(window, QKeyEvent(kind, 0, Qt.KeyboardModifier.NoModifier, stroke))


def _has_the_keys(asking: QWidget, window: QWindow) -> bool:
    """Whether keys reach this dialog or what it has popped up: it may be active before they go to its window."""
    return asking.isActiveWindow() and (window == asking.windowHandle() or QApplication.activePopupWidget() is not None)


class NoMouse(QObject):
    """Counts what a pointer does; nothing may."""

    seen = 0

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:  # noqa: N802 - named by Qt
        self.seen += isinstance(event, QMouseEvent) and event.type() == QEvent.Type.MouseButtonPress
        return False


class Shop:
    """The window as a person meets it for the first time."""

    def __init__(self, qapp: QApplication, qtbot: Any, book: Path, remembered: dict[str, str]) -> None:
        self.qtbot, self.folder, self.book = qtbot, book.parent, book
        begun = book.exists()
        early = Early(theme="light", scale=100, folder=str(self.folder), **remembered)
        self.frame, self.sitting = furnish(qapp, early)
        self.typist = Typist(qtbot, self.settled)
        self.frame.first_painted.connect(lambda: self.sitting.begin(self.book))
        self.frame.resize(1280, 720)
        self.frame.show()
        if begun:
            qtbot.waitUntil(lambda: self.sitting.house.foreseen is not None, timeout=5000)
            qtbot.waitUntil(self.frame.isActiveWindow)
        else:
            qtbot.waitUntil(lambda: "make" in self.seen() or "Make" in self.seen(), timeout=5000)
        self.type = self.typist.type

    def room(self, name: str) -> Any:
        return self.frame.room(name)

    def settled(self) -> bool:
        """Nothing is on its way, and no dialog asks."""
        worker = self.sitting.house.worker
        return worker is not None and worker.waiting() == 0 and QApplication.activeModalWidget() is None

    def asked(self) -> bool:
        """A dialog asks, and takes keys."""
        dialog = QApplication.activeModalWidget()
        return dialog is not None and dialog.isActiveWindow() and dialog.isAncestorOf(QApplication.focusWidget())

    def seen(self, where: QWidget | None = None) -> str:
        """All that stands in labels to be seen, one a line."""
        labels = (where or self.frame).findChildren(QLabel)
        return "\n".join(label.text() for label in labels if label.isVisible())

    def focus(self) -> QWidget:
        widget = QApplication.focusWidget()
        assert widget is not None
        assert widget.isVisible()
        return widget

    def picture(self, name: str) -> None:
        """Keep how the window looks, where a folder for pictures is named."""
        if folder := os.environ.get("TENTHWRIGHT_PICTURES"):
            self.qtbot.wait(300)
            self.frame.grab().save(str(Path(folder) / f"{name}.png"))

    def proves(self, key: str, off: str = "") -> int:
        """Open the check panel by a key and go through it, everything as it should be; a block is read as ``off``."""
        with self.in_dialogs():
            took = self.type(key, self.at_check)
            took += self.checks(off)
        return took + self.type(lambda: QApplication.activeModalWidget() is None)

    @contextmanager
    def in_dialogs(self) -> Iterator[None]:
        """Meanwhile a dialog may stand when typing ends."""
        settled, self.typist.settled = self.typist.settled, lambda: True
        yield
        self.typist.settled = settled

    def checks(self, off: str = "", *then: Any) -> int:
        """Go through the check panel that is open, record what it came to, and type on."""
        took, panel = 0, self.panel()
        with self.in_dialogs():
            while panel.check.line is not None:
                took += self.answers(panel, off)
        return took + self.type(450, "<Return>", lambda: QApplication.activeModalWidget() is not panel, *then)

    def answers(self, panel: Any, off: str) -> int:
        """One line of the check panel, or one reading of it."""
        check, want = panel.check, wanted(panel.check)
        text = ""
        if want is Wanted.SIZE:
            text = f"S-1 {middle(check)}"
        elif want is Wanted.READING:
            on_block = check.line.asked.has_size
            text = off if on_block and off else written(check, check.standard.size if on_block else check.line.at)
        moved = lambda: panel.check != check  # noqa: E731
        return self.type(*((70, text) if text else ()), 70, "<Return>", moved)

    def at_check(self) -> bool:
        """Whether a check panel asks."""
        return isinstance(QApplication.activeModalWidget(), CheckPanel)

    def panel(self) -> Any:
        """The check panel that asks."""
        found = QApplication.activeModalWidget()
        assert isinstance(found, CheckPanel)
        return found

    def leave(self) -> None:
        """Close the window by key."""
        self.typist.settled = lambda: self.sitting.house.worker is None
        self.type("<Ctrl+Q>")


def written(check: Any, count: int) -> str:
    """A size as a person types it, in the unit that the instrument is set to, to the place it shows."""
    unit, step = check.configuration.unit, check.instrument.resolution or 1
    return written_out(count // step * step, unit).replace(" ", "").lstrip("≈")


def middle(check: Any) -> str:
    """The size of a setting standard in the middle of the range."""
    return written(check, (check.instrument.low + check.instrument.high) // 2)


@pytest.fixture
def shop_kind(qapp: QApplication, qtbot: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    """Opens windows as a person meets them: ``shop_kind(book)``, on a book there or not yet, without a mouse."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    mouse, made = NoMouse(), []
    qapp.installEventFilter(mouse)

    def make(book: Path, **remembered: str) -> Shop:
        made.append(Shop(qapp, qtbot, book, remembered))
        return made[-1]

    yield make
    qapp.removeEventFilter(mouse)
    assert mouse.seen == 0
    for each in made:
        if each.sitting.house.worker is not None:
            each.leave()
        each.frame.close()
        each.frame.deleteLater()
