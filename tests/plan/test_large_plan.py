"""A plan of 500 rows stays under the hand: what is typed reads one row and paints what is seen."""

from __future__ import annotations

from time import perf_counter

import pytest
from PySide6.QtWidgets import QApplication

from app.plan.cells import PlanCell
from inspection.drawing.editing_issue import Reader

ROWS = 500


@pytest.fixture
def large(planner):
    planner.press("Ctrl+N")
    planner.types("BIG-1\tA")
    planner.press("F4")
    lines = (
        f"{n}\tlength\t{n % 9 + 1}.{n:03d} ±.005\tface {n}\t{'lathe' if n % 3 else 'mill'}" for n in range(1, ROWS + 1)
    )
    planner.clipboard("\n".join(lines))
    planner.press("Ctrl+V", "Ctrl+Home", "Right", "Right")
    planner.qtbot.wait(300)
    assert len(planner.writing.draft.rows) == ROWS
    return planner


def test_a_key_reads_one_row_and_paints_what_is_seen(large, monkeypatch) -> None:
    read, painted = [], []
    anew, paint = Reader._anew, PlanCell.paint
    monkeypatch.setattr(Reader, "_anew", lambda self, row: (read.append(row), anew(self, row))[1])
    monkeypatch.setattr(PlanCell, "paint", lambda self, *given: (painted.append(given[2].row()), paint(self, *given)))
    large.types("1.2")
    QApplication.processEvents()
    assert len(read) == 3  # one a key
    assert set(painted) <= {0, 1}
    large.press("Return")
    QApplication.processEvents()
    assert len(read) <= 4 and len(set(painted)) <= large.table.viewport().height() // large.table.rowHeight(0) + 2


def test_moving_and_undoing_read_nothing_anew(large, monkeypatch) -> None:
    read = []
    anew = Reader._anew
    monkeypatch.setattr(Reader, "_anew", lambda self, row: (read.append(row), anew(self, row))[1])
    large.press("Ctrl+Down", "Ctrl+Up", "Alt+Down", "Ctrl+D", "Ctrl+Z", "Ctrl+Z", "Ctrl+G", "Ctrl+G")
    large.qtbot.wait(250)
    assert [row for row in read if not row.blank] == []


@pytest.mark.measured
def test_every_key_is_done_within_a_frame(large) -> None:
    large.types("1")
    took = []
    for key in ["2", "Backspace"] * 40:
        begun = perf_counter()
        large.types(key) if len(key) == 1 else large.press(key)
        QApplication.processEvents()
        took.append(perf_counter() - begun)
    took.sort()
    print(f"typing in {ROWS} rows: median {took[40] * 1000:.1f} ms, worst {took[-1] * 1000:.1f} ms")
    assert took[-4] < 0.016
