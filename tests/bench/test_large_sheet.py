"""Entry on a sheet of 5,000 rows: from Enter to the verdict in the model, after the commit."""

from __future__ import annotations

import statistics
import time

import pytest
from PySide6.QtCore import QEventLoop, Qt
from PySide6.QtTest import QTest

from app.parts.marks import Mark
from inspection.instruments.record import InstrumentKind
from inspection.instruments.starter import starter_crib
from storage.book.door import Book

ROWS, ENTRIES = 5_000, 2_000


def rows():
    return [
        {"number": str(i), "kind": "length", "requirement": f"{1 + i % 400 / 1000:.3f} ±.005"}
        for i in range(1, ROWS + 1)
    ]


@pytest.fixture
def large(open_bench):
    crib = tuple(one for one in starter_crib(due="2099-01-01") if one.kind is InstrumentKind.DIGITAL_CALIPER)
    return open_bench(rows(), ("1",), crib)


@pytest.fixture
def door(monkeypatch):
    """How long the door itself took for each act: decided, written, on disk."""
    plain, times = Book.do, []

    def do(self, *parts, **named):
        began = time.perf_counter()
        outcome = plain(self, *parts, **named)
        times.append((time.perf_counter() - began) * 1_000)
        return outcome

    monkeypatch.setattr(Book, "do", do)
    return times


def p99(times):
    return sorted(times)[len(times) * 99 // 100]


@pytest.mark.measured
def test_entry_to_verdict_on_5000_rows(large, door, capsys):
    """The loop of events runs as in the program: it sleeps while nothing comes, and the thread of the book works.

    Where other work takes the machine's time the door's own tail says so, and the window may add little to it.
    """
    window, model, loop = large.frame.windowHandle(), large.room.model, QEventLoop()
    times = []
    waited: dict[str, float] = {}

    def changed(first, _last):
        if "began" in waited and first.row() == waited["row"] and model.line(first.row()).mark is Mark.CONFORMING:
            times.append((time.perf_counter() - waited.pop("began")) * 1_000)
            loop.quit()

    model.dataChanged.connect(changed)
    for place in range(ENTRIES):
        row = large.sheet.plan.characteristics[place]
        for sign in f"{row.requirement.nominal / 25_400_000_000:.4f}":
            QTest.keyClick(window, sign)
        waited["row"] = model.place_of(row.identity)
        waited["began"] = time.perf_counter()
        QTest.keyClick(window, Qt.Key.Key_Return)
        if "began" in waited:  # a key may have let the answer through already
            loop.exec()
    told = {"median": statistics.median(times), "p99": p99(times), "of it the door": p99(door[-ENTRIES:])}
    with capsys.disabled():
        print("\nEnter to verdict", {name: f"{value:.1f} ms" for name, value in told.items()})
    assert len(large.sheet.readings) == ENTRIES
    assert told["p99"] < 16
