"""What to fetch from the crib is shown and written by key."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt

from app.window import asking
from storage.book.verify import verify_file


@pytest.fixture
def answers():
    given: list[dict[str, str] | None] = []
    asked: list[asking.Question] = []

    def answer(_parent, question):
        asked.append(question)
        return given.pop(0) if given else None

    asking.replace_asker(answer)
    yield given, asked
    asking.replace_asker(None)


def test_what_to_fetch_is_shown_in_pick_up_order_and_written_as_a_page(bench, answers, tmp_path: Path):
    given, asked = answers
    b = bench
    given += [{}, {"file": str(tmp_path / "set-up.pdf")}]
    b.press(Qt.Key.Key_L, Qt.KeyboardModifier.ControlModifier)
    b.qtbot.waitUntil(lambda: len(asked) == 2)
    shown = [left for left, _ in asked[0].rows]
    assert any("M-01" in left for left in shown)
    page = tmp_path / "set-up.pdf"
    b.qtbot.waitUntil(lambda: "set-up.pdf" in b.frame.notice())
    assert page.read_bytes().startswith(b"%PDF")
    assert verify_file(page, b.path).statements


def test_going_back_from_what_to_fetch_writes_nothing(bench, answers, tmp_path: Path):
    given, asked = answers
    b = bench
    given += [None]
    b.press(Qt.Key.Key_L, Qt.KeyboardModifier.ControlModifier)
    b.qtbot.waitUntil(lambda: len(asked) == 1)
    assert b.room.entry.hasFocus()
