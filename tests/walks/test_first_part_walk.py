"""A shop's first part, by key alone: no book, then shop, person, crib, a plan typed from its drawing, readings, seal,
what goes out, and the part's next piece with what the first one came to."""

from __future__ import annotations

import hashlib
import os
import shutil
import sqlite3
import subprocess
import time
from collections import deque
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any
from unittest.mock import ANY

import pytest
from openpyxl import load_workbook
from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtGui import QGuiApplication, QKeyEvent, QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLabel, QLineEdit, QWidget

from app.plan.columns import COLUMNS
from app.window.early import Early
from app.window.start import furnish
from inspection.measuring.reading import Role
from inspection.measuring.verdict import Verdict
from inspection.sheet.causes import causes
from inspection.sheet.evidence import Approval
from storage.book.verify import verify_book, verify_file

pytestmark = pytest.mark.slow

PASSPHRASE = "seven grey lanterns"
HELD = {
    "Ctrl": Qt.KeyboardModifier.ControlModifier,
    "Shift": Qt.KeyboardModifier.ShiftModifier,
    "Alt": Qt.KeyboardModifier.AltModifier,
}
#: Between two keys of a hand, in milliseconds; what comes closer together while a question stands is held as by cable.
BY_HAND = 60
#: How long a run of keys may take, in seconds.
PATIENCE = 8

#: The hub as its drawing has it: number, kind, requirement, and what it is called.
ROWS = (
    ("1", "note", "MATERIAL ALUMINUM 6061-T6 PER CERTIFICATE", "material"),
    ("2", "outside diameter", "⌀1.5000 +.0000/-.0005", "pilot"),
    ("3", "bore", "⌀20 H7", "bearing seat"),
    ("4", "bore", "4X ⌀.201 +.005/-.001", "clearance holes"),
    ("5", "bore", "⌀.3750 / .3760", "dowel"),
    ("6", "length", "2.250", "over all"),
    ("7", "length", "1.12", "hub length"),
    ("8", "step", ".125 ±.003", "shoulder"),
    ("9", "depth", ".250 ±.005", "counterbore depth"),
    ("10", "slot", ".1875 +.0030/-.0000", "keyway"),
    ("11", "width", ".060 MIN", "wall"),
    ("12", "chamfer", ".03 MAX", "lead-in"),
    ("13", "angle", "45°", "ramp"),
    ("14", "radius", "R.125 ±.015", "corner"),
    ("15", "thread", "2X 10-24 UNC-2B", "set screws"),
    ("16", "roughness", "Ra 63 µin MAX", "pilot"),
    ("17", "outside diameter", "⌀1.500 ±.003", "flange"),
    ("18", "centre distance", "[1.125]", "bolt circle"),
    ("19", "length", "(3.37)", "reference length"),
    ("20", "note", "BREAK SHARP EDGES", "edges"),
)
#: What some of them read as, before anything is measured.
READS = {
    "2": "1.4995 … 1.5000 in", "3": "20.000 … 20.021 mm", "4": "4 × 0.200 … 0.206 in", "5": "0.3750 … 0.3760 in",
    "6": "2.245 … 2.255 in", "7": "1.11 … 1.13 in", "11": "≥ 0.060 in", "12": "≤ 0.03 in", "13": "44 … 46°",
    "15": "2 × GO and NOT GO", "16": "≤ 63 µin", "18": "basic, not judged", "19": "reference, not judged",
}  # fmt: skip
#: The title block, field by field as Enter goes on.
HEAD = {
    "number": "QH-220",
    "revision": "A",
    "name": "Guide hub",
    "drawing": "QH-220-1",
    "drawing_revision": "C",
    "material": "aluminum 6061",
    "customer": "Lantern Hill Optical",
    "default .xx": ".010",
    "default .xxx": ".005",
    "angle": "1",
}


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
        if window is None or (asking is not None and not asking.isActiveWindow()):
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


class NoMouse(QObject):
    """Counts what a pointer does; nothing may."""

    seen = 0

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:  # noqa: N802 - named by Qt
        self.seen += isinstance(event, QMouseEvent) and event.type() == QEvent.Type.MouseButtonPress
        return False


class Shop:
    """The window as a person meets it for the first time."""

    def __init__(self, qapp: QApplication, qtbot: Any, folder: Path) -> None:
        self.qtbot, self.folder = qtbot, folder
        self.book = folder / "hub.tenthwright"
        self.frame, self.sitting = furnish(qapp, Early(theme="light", scale=100, folder=str(folder)))
        self.typist = Typist(qtbot, self.settled)
        self.frame.first_painted.connect(lambda: self.sitting.begin(self.book))
        self.frame.resize(1280, 720)
        self.frame.show()
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

    def leave(self) -> None:
        """Close the window by key."""
        self.typist.settled = lambda: self.sitting.house.worker is None
        self.type("<Ctrl+Q>")


def field() -> QLineEdit | QComboBox | None:
    """What has the keys, if it is a field."""
    widget = QApplication.focusWidget()
    return widget if isinstance(widget, (QLineEdit, QComboBox)) else None


def at_field(label: str) -> Callable[[], bool]:
    """Waits until the field of this name has the keys."""
    return lambda: (at := field()) is not None and at.accessibleName() == label


@pytest.fixture
def shop(qapp, qtbot, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    mouse = NoMouse()
    qapp.installEventFilter(mouse)
    made = Shop(qapp, qtbot, tmp_path)
    yield made
    qapp.removeEventFilter(mouse)
    assert mouse.seen == 0
    if made.sitting.house.worker is not None:
        made.leave()
    made.frame.close()
    made.frame.deleteLater()


def test_the_first_part(shop: Shop) -> None:
    keys = {"shop and person": open_shop(shop), "crib": enter_crib(shop), "head": type_head(shop)}
    assert sum(keys.values()) < 200, "five minutes are ample for a first run of this many keys"
    keys |= {"rows": type_rows(shop), "sheet": issue_and_make_sheet(shop)}
    keys["readings"] = measure(shop)
    keys |= {"record": keep_record(shop), "sign": sign(shop), "preview": preview(shop), "export": export(shop)}
    keys["next piece"] = next_piece(shop)
    assert sum(keys.values()) < 1250, "a 20-row part from nothing to what goes out"
    shop.leave()
    check_from_outside(shop)


def open_shop(shop: Shop) -> int:
    took = shop.type(
        "<Ctrl+Shift+N>", shop.asked, "<Tab>", "Quillfeather Machine", "<Tab>", "Mira Oduya",
        "<Tab>", PASSPHRASE, "<Tab>", PASSPHRASE, "<Return>", shop.frame.beginning,
    )  # fmt: skip
    assert shop.book.exists()
    assert "Quillfeather Machine" in shop.seen()
    assert "Mira Oduya" in shop.seen()
    return took


def enter_crib(shop: Shop) -> int:
    """The easy thing has the keys."""
    assert "crib" in shop.focus().accessibleName()
    took = shop.type("<Return>", lambda: "instruments" in shop.seen())
    shop.qtbot.waitUntil(lambda: shop.focus().accessibleName() == "Plan")
    assert "The crib is filled." in shop.frame.notice()
    shop.picture("begin")
    return took


def type_head(shop: Shop) -> int:
    plan = shop.room("plan")
    took = shop.type("<Ctrl+2>", plan.isVisible, "<Ctrl+N>", lambda: plan._page is not None and plan._page.isVisible())
    fields = plan.writing.form.fields
    for name in list(fields)[: list(fields).index(list(HEAD)[-1]) + 1]:
        assert fields[name].hasFocus(), "Enter goes on"
        took += shop.type(HEAD.get(name, ""), "<Return>")
    took += shop.type("<F4>")
    assert shop.focus() is plan.writing.table
    assert "QH-220" in plan.writing.title.text()
    return took


def type_rows(shop: Shop) -> int:
    """Twenty rows as the drawing has them; the one at fault is told, gone to by key and put right."""
    writing = shop.room("plan").writing
    took = 0
    for row in ROWS:
        took += shop.type(*tabbed(row))
    shop.qtbot.waitUntil(lambda: "One row cannot be read yet (Ctrl+E)" in shop.seen(writing.foot))
    assert "metric class" in writing.model.line(2).faults["requirement"]
    at_fault = lambda: writing.table.at == (2, COLUMNS.index("requirement"))  # noqa: E731
    took += shop.type("<Ctrl+E>", at_fault, "⌀20 mm H7", "<Return>", lambda: not writing.model.line(2).faults)
    reads = {line.row.text("number"): line.reads for line in map(writing.model.line, range(len(ROWS)))}
    for number, said in READS.items():
        assert reads[number] == said
    shop.picture("plan")
    return took


def tabbed(texts: tuple[str, ...]) -> list[str]:
    """A row's cells with Tab between them and Enter behind."""
    typed: list[str] = []
    for text in texts:
        typed += [text, "<Tab>"]
    return [*typed[:-1], "<Return>"]


def issue_and_make_sheet(shop: Shop) -> int:
    plan, bench = shop.room("plan").writing, shop.room("bench")
    took = shop.type("<Ctrl+S>", shop.asked, "<Return>", lambda: plan.untouched)
    assert shop.frame.notice() == "Issue 1 of QH-220 is in the book, with 24 rows. Next: Ctrl+M makes a sheet of it."
    took += shop.type("<Ctrl+M>", shop.asked, "001", "<Return>", bench.isVisible)
    return took


#: What the instruments show, by number; a number without a unit is in that of the instrument.
READINGS = {
    "2": "1.4998", "3": "20.010", "6": "2.250", "7": "1.121", "8": "3.18", "9": "6.38", "10": ".1890", "11": ".0640",
    "12": ".025", "13": "45", "14": ".125", "16": "42", "17": "1.4962",
}  # fmt: skip
#: The largest pin that enters and the smallest that does not.
PINS = {"4": ("5.15", "5.20"), "5": ("9.53", "9.55")}
LETTERS = {Role.FINDING: "e", Role.GO: "e", Role.NOT_GO: "n"}


def measure(shop: Shop) -> int:
    """Every open row in the order of the route."""
    took = slots = 0
    bench = shop.room("bench")
    assert isinstance(shop.focus(), QLineEdit), "the entry takes keys at once"
    walked = []
    while bench.flow.at.slot is not None and slots < 50:
        walked.append(bench.flow.at.row)
        took += enter_one(shop)
        slots += 1
    assert list(dict.fromkeys(walked)) == list(dict.fromkeys(row for row, _ in bench.seen.walk.cells)), "the route"
    verdicts = {bench.seen.row(row).number: each.verdict for (row, _), each in bench.seen.sheet.judgements.items()}
    assert slots == 29
    assert {number for number, each in verdicts.items() if each is Verdict.NOT_CONFORMING} == {"17"}
    assert {number for number, each in verdicts.items() if each is Verdict.MARGINAL} == {"2", "3", "14"}
    assert len(verdicts) == 22, "every row but basic and reference ones"
    shop.picture("measured")
    return took


def enter_one(shop: Shop) -> int:
    """One reading: it moves on by itself, or a slip is answered."""
    bench = shop.room("bench")
    flow, before = bench.flow, bench.flow.at
    row, number = bench.seen.row(before.row), bench.seen.row(before.row).number.partition(".")[0]
    moved = lambda: flow.at != before and not flow.under_way  # noqa: E731
    if letter := LETTERS.get(before.slot.role):
        return shop.type(letter, moved)
    text = PINS[number][before.slot.role is Role.STOPS] if number in PINS else READINGS[number]
    if row.requirement.unit == "mm":  # the bore gauge is an inch one: the person overlooks it, is asked, reads again
        took = shop.type(text, "<Return>", lambda: flow.standing is not None and not flow.under_way, BY_HAND)
        assert "inch and a millimetre" in flow.said.text
        for sign in ".7878":
            took += shop.type(BY_HAND, sign)
        return took + shop.type(BY_HAND, "<Return>", moved)
    return shop.type(text, "<Return>", moved)


def keep_record(shop: Shop) -> int:
    """Material with its certificate, functional test, and the rest of the head."""
    desk = shop.room("desk")
    took = shop.type("<Ctrl+5>", lambda: desk.isVisible() and desk.at_hand is not None, "<Alt+1>")
    assert at_field("customer")()
    evidence = lambda: len(desk.at_hand.sheet.evidence)  # noqa: E731
    assert at_field("customer")()
    evidence = lambda: len(desk.at_hand.sheet.evidence)  # noqa: E731
    took += shop.type(
        "<Alt+M>", "Aluminum 6061-T6", "<Tab>", "1", "<Tab>", "ALLOY SPEC 12", "<Tab>", "C", "<Tab>", "<Tab>",
        "Bellwether Metals", "<Tab>", "y", "<Tab>", "H-40417", "<Tab>", "2026-09-14", "<Return>",
        lambda: evidence() == 1,
    )  # fmt: skip
    took += shop.type(
        "<Alt+T>", "Leak test", *["<Tab>"] * 9, "12 psi MIN", "<Tab>", "14 psi", "<Return>", lambda: evidence() == 2
    )
    material, test = desk.at_hand.sheet.evidence.values()
    assert (material.certificate, material.approved) == ("H-40417", Approval.YES)
    assert (test.measurement.required, test.measurement.written) == ("12 psi MIN", "14 psi")
    assert "Everything here is written." in shop.seen(desk.record)
    took += shop.type(
        "<Ctrl+H>", "<Tab>", "55310", "<Tab>", "<Tab>", "SC-7", "<Tab>", "<Tab>", "RT-88 B", "<Tab>", "<Tab>",
        "<Tab>", "d", "<Tab>", "<Tab>", "<Space>", "<Ctrl+S>", lambda: desk.at_hand.sheet.head.order == "55310",
    )  # fmt: skip
    head = desk.at_hand.sheet.head
    assert (head.customer, head.supplier_code, head.process) == ("Lantern Hill Optical", "SC-7", "RT-88 B")
    assert (head.detail, head.cause) == ("detail", next(iter(causes())))
    shop.picture("record")
    return took


def sign(shop: Shop) -> int:
    ledger = shop.room("ledger")
    took = shop.type("<Ctrl+4>", lambda: ledger.isVisible() and ledger.line() is not None)
    return took + shop.type("<Ctrl+G>", shop.asked, PASSPHRASE, "<Return>", lambda: ledger.line().sealed)


def preview(shop: Shop) -> int:
    """The very pages; nothing stops them any more."""
    desk = shop.room("desk")
    took = shop.type("<Ctrl+D>", desk.isVisible, lambda: desk.at_hand.sheet.sealed, "<Alt+2>")
    shop.qtbot.waitUntil(lambda: not desk.previews.under_way() and desk.pages.isVisible(), timeout=10_000)
    assert shop.focus() is desk.pages
    assert "signed and sealed, round 1" in shop.seen(desk)
    assert "stop it" not in shop.seen(desk)
    shop.picture("pages")
    took += shop.type("<PageDown>")
    return took


def export(shop: Shop) -> int:
    """Every form at once."""
    desk = shop.room("desk")
    took = shop.type(
        "<Ctrl+Shift+E>", shop.asked, "<Return>", lambda: len(desk.at_hand.sheet.sent) == 4,
    )  # fmt: skip
    took += shop.type("<Alt+6>")
    shop.picture("sent")
    return took


def next_piece(shop: Shop) -> int:
    """The next piece of the part, and what the first one came to."""
    ledger, bench = shop.room("ledger"), shop.room("bench")
    before = shop.sitting.house.at_hand
    took = shop.type("<Ctrl+4>", lambda: ledger.isVisible() and ledger.line() is not None)
    took += shop.type("<Ctrl+N>", shop.asked, "002", "<Return>")
    shop.qtbot.waitUntil(lambda: bench.isVisible() and shop.sitting.house.at_hand != before)
    assert [piece.serial for piece in bench.seen.sheet.pieces] == ["002"]
    began = bench.flow.at
    took += shop.type("e", lambda: bench.flow.at.row != began.row)
    second = bench.flow.at
    took += shop.type("e", lambda: bench.flow.at.row != second.row)
    shop.qtbot.waitUntil(lambda: bool(bench.card.why.earlier.shown().lines))
    assert bench.seen.row(bench.flow.at.row).number == "2"
    assert [line[:4] for line in bench.card.why.earlier.shown().lines] == [(ANY, "001", "1.4998", "M-02")]
    assert bench.card.why.earlier.isVisible()
    shop.picture("next")
    return took


def check_from_outside(shop: Shop) -> None:
    """The book, the files and their digests, looked at without the window."""
    assert verify_book(shop.book).whole
    sent = {path.suffix: path for path in shop.folder.glob("QH-220_A_001.*")}
    assert set(sent) == {".pdf", ".xlsx", ".csv", ".json"}
    with sqlite3.connect(shop.book) as connection:
        kept = b"\n".join(content for (content,) in connection.execute("SELECT content FROM journal"))
    connection.close()
    for path in sent.values():
        assert hashlib.sha256(path.read_bytes()).hexdigest().encode() in kept
        assert verify_file(path, shop.book).whole
    told = {str(cell.value) for page in load_workbook(sent[".xlsx"]) for row in page.iter_rows() for cell in row}
    for said in ("QH-220", "Guide hub", "Quillfeather Machine", "H-40417", "14 psi", "1.4962"):
        assert any(said in text for text in told), said
    assert "1.4962" in sent[".csv"].read_text(encoding="utf-8-sig")
    read_pages(sent[".pdf"])


def read_pages(pdf: Path) -> None:
    """Another reader finds on the pages what was typed."""
    if shutil.which("pdftotext") is None:
        pytest.skip("poppler is not installed: the pages are not read by another reader")
    said = subprocess.run(["pdftotext", "-layout", str(pdf), "-"], capture_output=True, text=True, check=True).stdout
    for text in (
        "QH-220",
        "Guide hub",
        "Lantern Hill Optical",
        "Mira Oduya",
        "1.4962",
        "H-40417",
        "Leak test",
        "55310",
    ):
        assert text in said
