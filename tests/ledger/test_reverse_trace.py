"""Reverse trace by keys: asked, what is wrong said at its field, shown gravest first, copied, gone on from."""

from __future__ import annotations

from collections import Counter

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication

from app.jobs.looking_back import trace
from app.jobs.trace_told import COLUMNS
from app.window.dialog import QuestionDialog
from tests.ledger.conftest import ALT, CTRL, Ledger

ENTER, ESCAPE, TAB = Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Tab
ERROR = "-.0010"


def most_used(ledger: Ledger) -> str:
    """The tag of the instrument that the demo's sheet was read with most."""
    with ledger.book() as book:
        used = Counter(
            reading.method.parts[0].identity
            for reading in book.sheet(ledger.demo.sheet).readings.values()
            if reading.method.parts and reading.amount is not None
        )
        return book.shop().crib[used.most_common(1)[0][0]].tag


def test_an_instrument_found_out_is_traced_by_keys(ledger: Ledger) -> None:
    tag = most_used(ledger)
    ledger.press(Qt.Key.Key_T, ALT)
    dialog = ledger.asked(QuestionDialog)
    ledger.writes(tag.lower(), then=TAB)
    ledger.writes("much", then=ENTER)
    assert ledger.asked(QuestionDialog) is dialog, "what is wrong is said, and the question stays"
    ledger.hits(Qt.Key.Key_A, CTRL)
    ledger.writes(ERROR, then=TAB)
    ledger.hits(TAB)
    ledger.writes("2020-01-01", then=ENTER)
    ledger.back()
    page = ledger.room.pages.trace_page
    ledger.until(lambda: page.found is not None and page.table.hasFocus())
    with ledger.book() as book:
        held = book.shop().by_tag(tag)
        expected = trace(book, held, page.found.error, since="2020-01-01")
    assert page.found.error < 0
    assert page.found.found == expected.found
    assert len(page.table.readings.lines) == len(expected.found) > 0
    assert "small" in page.title.text()
    assert "Nothing was changed." in page.said.text()
    ledger.press(Qt.Key.Key_C, CTRL)
    copied = [line.split("\t") for line in QGuiApplication.clipboard().text().splitlines()]
    assert len(copied) == 1 + len(expected.found)
    assert {len(line) for line in copied} == {len(COLUMNS)}
    wanted: list[str] = []
    ledger.house.sheet_wanted.connect(wanted.append)
    ledger.press(ESCAPE)
    ledger.until(ledger.room.top.search.hasFocus)
    assert wanted == []


def test_going_back_from_the_question_leaves_everything_as_it_was(ledger: Ledger) -> None:
    ledger.press(Qt.Key.Key_T, ALT)
    ledger.asked(QuestionDialog)
    ledger.hits(ESCAPE)
    ledger.back()
    assert ledger.room.pages.shown() is ledger.room.pages.finding
