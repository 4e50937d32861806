"""The real window on a real book, in the Plan room, with keys sent to the window and never to a widget."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QGuiApplication, QKeyEvent
from PySide6.QtTest import QTest

from app.window.start import furnish
from inspection.instruments.starter import starter_crib
from inspection.sheet import acts
from inspection.sheet.people import Person
from storage.book.door import Book
from storage.settings import Settings

NO, SHIFT = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.ShiftModifier
CONTROL, ALT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.AltModifier
HELD = {"Ctrl": CONTROL, "Shift": SHIFT, "Alt": ALT}


class Planner:
    """A window whose Plan room was entered. ``types`` sends characters, ``press`` a key by name ("Ctrl+I")."""

    def __init__(self, frame: Any, sitting: Any, qtbot: Any, path: Path) -> None:
        self.frame, self.sitting, self.qtbot, self.path = frame, sitting, qtbot, path

    @property
    def house(self) -> Any:
        return self.sitting.house

    @property
    def room(self) -> Any:
        return self.frame.room("plan")

    @property
    def writing(self) -> Any:
        return self.room.writing

    @property
    def table(self) -> Any:
        return self.writing.table

    def press(self, *named: str) -> None:
        for name in named:
            *held, key = name.split("+")
            modifier = NO
            for each in held:
                modifier |= HELD[each]
            assert self.frame.isActiveWindow()
            QTest.keyClick(self.frame.windowHandle(), getattr(Qt.Key, f"Key_{key}"), modifier)

    def types(self, text: str) -> None:
        """Characters as they come; a tab and a line break are the keys of these names."""
        for sign in text:
            if sign in "\t\n":
                self.press("Tab" if sign == "\t" else "Return")
            elif sign.isascii():
                QTest.keyClick(self.frame.windowHandle(), sign)
            else:  # a sign that no plain key has comes as the window system sends it: by its text
                for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
                    QGuiApplication.sendEvent(self.frame.windowHandle(), QKeyEvent(kind, 0, NO, sign))

    def settle(self) -> None:
        """Until everything handed in is done."""
        self.qtbot.waitUntil(lambda: self.house.worker.waiting() == 0)
        self.qtbot.wait(60)

    def rows(self, *fields: str) -> list[tuple[str, ...]]:
        return [tuple(row.text(field) for field in fields) for row in self.writing.draft.rows]

    def clipboard(self, text: str | None = None) -> str:
        if text is not None:
            QGuiApplication.clipboard().setText(text)
        return QGuiApplication.clipboard().text()

    def kept(self, question: Any, *given: Any, **named: Any) -> Any:
        """What another reader finds in the book."""
        with Book.open(self.path) as book:
            return question(book, *given, **named)


def make_book(path: Path) -> None:
    crib = tuple(one for one in starter_crib(due="2099-01-01") if one.unit != "mm")
    with Book.new(path) as book:
        opened = book.do(acts.OpenShop(name="Quillfeather Machine", first_person=Person("", "Mira Oduya")), person="")
        book.do(acts.IssueInstruments(instruments=crib), person=next(iter(opened.shop.people)))


@pytest.fixture(autouse=True)
def own_data_folder(monkeypatch, tmp_path):
    """Drafts are kept in the user's data folder: here one of the test's own."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def open_plan(qapp, qtbot, tmp_path):
    """Open a window in the Plan room: ``open_plan(theme=…, scale=…, size=…)``; ``open_plan.close()`` closes it."""
    opened: list[tuple[Any, Any]] = []

    def begin(size: tuple[int, int] = (1280, 720), *, at_once: bool = False, **look: Any) -> Planner:
        path = tmp_path / "shop.tenthwright"
        if not path.exists():
            make_book(path)
        frame, sitting = furnish(qapp, Settings(**look))
        opened.append((frame, sitting))
        frame.resize(*size)
        frame.show()
        qtbot.waitUntil(frame.isActiveWindow)
        sitting.begin(path)
        if at_once:  # in the very moment in which the book is open
            sitting.house.worker.opened.connect(lambda _greeting: frame.enter("plan"))
        qtbot.waitUntil(lambda: sitting.house.shop is not None and frame.actions_by_name["plan"].isEnabled())
        if not at_once:
            qtbot.waitUntil(lambda: frame.beginning() or bool(frame._rooms))
        planner = Planner(frame, sitting, qtbot, path)
        if not at_once:
            planner.press("Ctrl+2")
        planner.settle()
        return planner

    def close_all() -> None:
        while opened:
            frame, sitting = opened.pop()
            frame.close()
            qtbot.waitUntil(lambda sitting=sitting: sitting.house.worker is None)
            with qtbot.waitSignal(frame.destroyed):
                frame.deleteLater()

    begin.close = close_all
    yield begin
    close_all()


@pytest.fixture
def planner(open_plan) -> Planner:
    return open_plan()
