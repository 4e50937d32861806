"""What to fetch from the crib is shown and written by key."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from PySide6.QtCore import Qt

from app.window import asking
from inspection.instruments.starter import starter_crib
from storage.book.verify import verify_file

ROWS = (
    {"number": "1", "kind": "outside diameter", "requirement": "⌀.7500 +.0000/-.0005"},
    {"number": "2", "kind": "outside diameter", "requirement": "⌀1.1400 ±.0005"},
    {"number": "3", "kind": "bore", "requirement": "2X ⌀.1360 +.004/-.001"},
)
#: What the shop of these rows has at hand.
HELD = ("M-01", "M-02", "P-02", "G-01")


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


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext is not installed")
def test_stacks_and_pins_are_shown_and_read_back_from_the_page(open_bench, answers, tmp_path: Path):
    given, asked = answers
    b = open_bench(ROWS, crib=tuple(one for one in starter_crib(due="2099-01-01") if one.tag in HELD))
    given += [{}, {"file": str(tmp_path / "set-up.pdf")}]
    b.press(Qt.Key.Key_L, Qt.KeyboardModifier.ControlModifier)
    b.qtbot.waitUntil(lambda: "set-up.pdf" in b.frame.notice())
    shown = dict(asked[0].rows)
    blocks = next(right for left, right in shown.items() if left.endswith("G-01")).splitlines()
    assert blocks[1:] == [
        "0.75 in, to check M-01, U = 7 µin",
        "1.14 in = 1 + 0.14, to check M-02, U = 9.1 µin",
    ]
    read = subprocess.run(
        ["pdftotext", "-raw", str(tmp_path / "set-up.pdf"), "-"], check=True, capture_output=True, timeout=60
    )
    text = " ".join(read.stdout.decode().split())
    assert text.count("gauge blocks, 81 pieces, inch") == 1
    assert "0.75 in one block to check M-01 U = 7 µin" in text
    assert "1.14 in 1 + 0.14 to check M-02 U = 9.1 µin" in text
    assert "Read a gauge block near 1.14 in, 3 times." in text
    assert "0.135 in … 0.141 in (7 pins)" in text
    assert "GO 0.136 in NO-GO 0.140 in for rows 3.1, 3.2" in text


def test_going_back_from_what_to_fetch_writes_nothing(bench, answers, tmp_path: Path):
    given, asked = answers
    b = bench
    given += [None]
    b.press(Qt.Key.Key_L, Qt.KeyboardModifier.ControlModifier)
    b.qtbot.waitUntil(lambda: len(asked) == 1)
    assert b.room.entry.hasFocus()
