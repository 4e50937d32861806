"""A lead's walk by keys alone, real dialogs answered by keys too: find by fields, the part's rows and their results one
by one, two sheets side by side, an instrument traced back; what was seen goes out as files that others read."""

from __future__ import annotations

import csv
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

from openpyxl import load_workbook
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from tests.ledger.conftest import ALT, CTRL, Ledger

TAB, ENTER, ESCAPE = Qt.Key.Key_Tab, Qt.Key.Key_Return, Qt.Key.Key_Escape


class Dialogs:
    """Types into the next dialog that opens: texts sign by sign, keys as they are."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger, self.answered = ledger, 0

    def __call__(self, press: Callable[[], None], *keys: str | Qt.Key) -> None:
        timer, before = QTimer(self.ledger.frame, interval=5), self.answered

        def answer() -> None:
            dialog = QApplication.activeModalWidget()
            if dialog is None or not dialog.isVisible():
                return
            timer.stop()
            dialog.activateWindow()
            for key in keys:
                for sign in key if isinstance(key, str) else (key,):
                    QTest.keyClick(dialog.windowHandle(), sign)
            self.answered += 1

        timer.timeout.connect(answer)
        timer.start()
        press()
        self.ledger.until(lambda: self.answered > before)
        self.ledger.frame.activateWindow()  # as a window manager does, and this platform has none
        self.ledger.until(self.ledger.frame.isActiveWindow)


def cleared(path: Path) -> tuple[str | Qt.Key, ...]:
    """A path typed over what stands in the field."""
    return Qt.Key.Key_Home, *(Qt.Key.Key_Delete for _ in range(400)), str(path), ENTER


def test_a_lead_looks_back_by_keys(ledger: Ledger, tmp_path: Path) -> None:
    dialogs = Dialogs(ledger)
    # find: part and serial, field by field
    dialogs(lambda: ledger.press(Qt.Key.Key_F, ALT), TAB, "OB-22", TAB, TAB, "002", ENTER)
    ledger.shows("001, 002, 003")
    assert ledger.room.top.search.text() == "part:OB-22 serial:002"
    found = tmp_path / "found.csv"
    dialogs(lambda: ledger.press(Qt.Key.Key_E, CTRL), *cleared(found))
    ledger.until(found.exists)
    assert [row[3] for row in csv.reader(found.read_text("utf-8-sig").splitlines())] == ["serials", "001, 002, 003"]
    # the rows of the part; results one by one; the row as a workbook
    ledger.press(Qt.Key.Key_R, ALT)
    ledger.until(lambda: ledger.room.pages.rows_page is not None and ledger.room.pages.rows_page.looked is not None)
    rows = ledger.room.pages.rows_page
    for _ in range(2):
        ledger.press(Qt.Key.Key_Left)
    result = rows.looked.series.results[rows.shown.place()]
    assert result.serial in rows.shown.line.text()
    book = tmp_path / "row.xlsx"
    dialogs(lambda: ledger.press(Qt.Key.Key_E, CTRL), *cleared(book))
    ledger.until(book.exists)
    sheet = load_workbook(BytesIO(book.read_bytes())).active
    serials = [row[1] for row in sheet.iter_rows(values_only=True)]
    assert serials[-len(rows.looked.series.results) :] == [each.serial for each in rows.looked.series.results]
    ledger.press(ESCAPE)
    ledger.until(ledger.room.top.search.hasFocus)
    # the sheet beside the one before it, printed
    ledger.press(Qt.Key.Key_B, ALT)
    ledger.until(lambda: ledger.room.pages.beside_page is not None and ledger.room.pages.beside_page.looked is not None)
    page = tmp_path / "beside.pdf"
    dialogs(lambda: ledger.press(Qt.Key.Key_E, CTRL), *cleared(page))
    ledger.until(page.exists)
    assert page.read_bytes().startswith(b"%PDF")
    ledger.press(ESCAPE)
    ledger.until(ledger.room.top.search.hasFocus)
    # the instrument that the result was read with is found out
    tag = ledger.house.shop.crib[result.instrument].tag
    dialogs(lambda: ledger.press(Qt.Key.Key_T, ALT), tag, TAB, "-.0010", TAB, TAB, "2020-01-01", ENTER)
    ledger.until(lambda: ledger.room.pages.trace_page.found is not None)
    trace = ledger.room.pages.trace_page
    assert result.sheet in {each.read.sheet for each in trace.found.found}
    ledger.press(Qt.Key.Key_C, CTRL)
    ledger.until(lambda: len(QApplication.clipboard().text().splitlines()) == 1 + len(trace.found.found))
