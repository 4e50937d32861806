"""Two sheets side by side by keys: beside the one made before, cut to what differs, stepped, copied, gone on from."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication

from app.jobs.comparing import COLUMNS, compare
from tests.ledger.conftest import ALT, CTRL, Ledger

LEFT, RIGHT = Qt.Key.Key_Left, Qt.Key.Key_Right


def test_a_sheet_beside_others_of_its_part(ledger: Ledger, answers: Any) -> None:
    names = {line.serials: line.sheet for line in ledger.room.model.lines}
    for _ in range(2):
        ledger.press(Qt.Key.Key_Down)
    assert ledger.room.line().serials == "001, 002, 003"
    ledger.press(Qt.Key.Key_B, ALT)
    ledger.until(lambda: ledger.room.pages.beside_page is not None)
    page = ledger.room.pages.beside_page

    def shows(serials: str) -> bool:
        return page.looked is not None and page.looked.compared.earlier.identity == names[serials]

    ledger.until(lambda: shows("C01"))
    assert page.table.hasFocus()
    ledger.press(LEFT, ALT)
    ledger.until(lambda: shows("B17"))
    with ledger.book() as book:
        expected = compare(book, names["001, 002, 003"], names["B17"])
    assert page.looked.compared.lines == expected.lines
    assert "Plan issue: 1, then 3." in page.said.text()
    ledger.press(Qt.Key.Key_2, ALT)
    lines = page.table.rows.lines
    assert 0 < len(lines) == expected.changed < len(expected.lines)
    ledger.press(Qt.Key.Key_C, CTRL)
    copied = [line.split("\t") for line in QGuiApplication.clipboard().text().splitlines()]
    assert copied[0][3:5] == ["rev B: B17", "rev C: 001, 002, 003"]
    assert len(copied) == 1 + len(lines)
    assert {len(line) for line in copied} == {len(COLUMNS)}
    ledger.press(LEFT, ALT)
    ledger.until(lambda: shows("B17"))
    ledger.press(RIGHT, ALT)
    ledger.until(lambda: shows("C01"))
    answers[0].append({"sheet": names["B17"]})
    ledger.press(Qt.Key.Key_O, ALT)
    ledger.until(lambda: shows("B17"))
    ledger.press(Qt.Key.Key_Return)
    bench = ledger.frame.room("bench")
    ledger.until(lambda: bench.isVisible() and bench.seen.sheet.identity == names["001, 002, 003"])


def test_a_part_s_only_sheet_says_that_it_is_alone(ledger: Ledger) -> None:
    said: list[str] = []
    ledger.house.noticed.connect(lambda text, *_: said.append(text))
    ledger.press(Qt.Key.Key_Down)
    ledger.until(lambda: ledger.room.line().serials == "01, 02")
    ledger.press(Qt.Key.Key_B, ALT)
    ledger.until(lambda: any("the only sheet" in text for text in said))
    ledger.until(ledger.room.top.search.hasFocus)
