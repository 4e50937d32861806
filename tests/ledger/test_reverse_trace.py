"""Reverse trace by keys: asked, what is wrong said at its field, shown gravest first, copied, gone on from."""

from __future__ import annotations

from collections import Counter
from typing import Any

from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication

from app.jobs import trace_told
from app.jobs.looking_back import trace
from app.jobs.trace_told import COLUMNS
from app.window.asking import Fault
from inspection.sheet.traced import sheets_to_be_seen
from storage.book.queries.read_with import MOST_READINGS
from tests.ledger.conftest import ALT, CTRL, Ledger

ESCAPE = Qt.Key.Key_Escape
ERROR = "-.0010"


def most_used(ledger: Ledger) -> str:
    """The tag of the instrument that the demo's sheet was read with most."""
    with ledger.book() as book:
        used = Counter(
            reading.method.parts[0].identity
            for reading in book.sheet(ledger.demo.sheet).readings.values()
            if reading.method.parts and reading.count is not None
        )
        return book.shop().crib[used.most_common(1)[0][0]].tag


def test_an_instrument_found_out_is_traced_by_keys(ledger: Ledger, answers: Any) -> None:
    given, asked = answers
    tag = most_used(ledger)
    answer = {"tag": tag.lower(), "error": ERROR, "size": "", "since": "2020-01-01"}
    given.append(answer)
    ledger.press(Qt.Key.Key_T, ALT)
    page = ledger.room.pages.trace_page
    ledger.until(lambda: page.found is not None and page.table.hasFocus())
    with ledger.book() as book:
        held = book.shop().by_tag(tag)
        expected = trace(book, held, page.found.error, since="2020-01-01")
    assert page.found.error < 0
    assert page.found.found == expected.found
    assert len(page.table.readings.lines) == len(expected.found) > 0
    assert tag in page.title.text()
    assert "was found to read" in page.said.text()
    assert "small" in page.said.text()
    assert "Nothing was changed." in page.said.text()
    QGuiApplication.clipboard().clear()
    ledger.press(Qt.Key.Key_C, CTRL)
    ledger.until(lambda: bool(QGuiApplication.clipboard().text()))
    copied = [line.split("\t") for line in QGuiApplication.clipboard().text().splitlines()]
    assert len(copied) == 1 + len(expected.found)
    assert {len(line) for line in copied} == {len(COLUMNS)}
    check = asked[-1].check
    assert check(answer) == ""
    for field, text in (("tag", "X-99"), ("error", "much"), ("size", "-1"), ("since", "3.4.")):
        fault = check(answer | {field: text})
        assert isinstance(fault, Fault)
        assert fault.field == field
    given.append(None)
    ledger.press(Qt.Key.Key_T, ALT)
    assert asked[-1].fields[0].value == tag.lower(), "what was asked before stands there again"
    assert page.isVisible()
    ledger.press(ESCAPE)
    ledger.until(ledger.room.top.search.hasFocus)


def test_enter_opens_the_sheet_of_a_reading_at_the_bench(ledger: Ledger, answers: Any) -> None:
    answers[0].append({"tag": most_used(ledger), "error": ERROR, "size": "", "since": "2020-01-01"})
    ledger.press(Qt.Key.Key_T, ALT)
    page = ledger.room.pages.trace_page
    ledger.until(lambda: page.found is not None and page.table.hasFocus())
    ledger.press(Qt.Key.Key_Down)
    sheet = page.found.found[1].read.sheet
    ledger.press(Qt.Key.Key_Return)
    bench = ledger.frame.room("bench")
    ledger.until(lambda: bench.isVisible() and bench.seen is not None and bench.seen.sheet.identity == sheet)
    before = page.found
    ledger.press(Qt.Key.Key_4, CTRL)
    ledger.until(lambda: page.found is not before)
    assert page.isVisible() and page.table.currentIndex().row() == 1, "looked at anew, at the same reading"


def test_no_line_is_put_in_words_before_it_is_looked_at(ledger: Ledger, answers: Any, monkeypatch: Any) -> None:
    """As many readings as are gone through at once hold the window up no longer than a page of them."""
    answers[0].append({"tag": most_used(ledger), "error": ERROR, "size": "", "since": "2020-01-01"})
    ledger.press(Qt.Key.Key_T, ALT)
    page = ledger.room.pages.trace_page
    ledger.until(lambda: page.found is not None and page.table.hasFocus())
    told: list[Any] = []
    one = trace_told.told
    monkeypatch.setattr(trace_told, "told", lambda *given: told.append(given) or one(*given))
    page._take(replace(page.found, found=(page.found.found * MOST_READINGS)[:MOST_READINGS]))
    ledger.until(lambda: bool(told))
    page.table.repaint()
    assert page.table.readings.rowCount() == MOST_READINGS
    assert len(told) < 200


def test_going_back_from_the_question_leaves_everything_as_it_was(ledger: Ledger, answers: Any) -> None:
    answers[0].append(None)
    ledger.press(Qt.Key.Key_T, ALT)
    assert answers[1]
    assert ledger.room.pages.shown() is ledger.room.pages.finding


def test_the_lead_marks_the_sheets_and_answers_by_keys(ledger: Ledger, answers: Any, tmp_path: Any) -> None:
    """The mark stands in the list, on the sheet's page and on the lead's list, where its answer closes it at whatever
    stage; the letter is written by a key."""
    given, asked = answers
    tag = most_used(ledger)
    given.append({"tag": tag, "error": "-.0020", "size": "", "since": "2020-01-01"})
    ledger.press(Qt.Key.Key_T, ALT)
    page = ledger.room.pages.trace_page
    ledger.until(lambda: page.found is not None and page.table.hasFocus())
    seen = sheets_to_be_seen(page.found.found)
    given.append({"words": "found out at its calibration"})
    ledger.press(Qt.Key.Key_M, ALT)
    ledger.until(lambda: "marked for review" in ledger.frame.notice())
    assert "Nothing was changed" not in page.said.text() and "Verdicts stay as they are" in page.said.text()
    with ledger.book() as book:
        assert {name for name in seen if book.sheet(name).marks} == set(seen)
    letter = tmp_path / "trace.pdf"
    given.append({"customer": "", "file": str(letter)})
    ledger.press(Qt.Key.Key_W, ALT)
    ledger.until(lambda: letter.exists() and "sign it before" in ledger.frame.notice())
    assert letter.read_bytes().startswith(b"%PDF") and len(asked[-1].fields[0].choices) > 1
    ledger.press(ESCAPE)
    ledger.until(ledger.room.top.search.hasFocus)
    ledger.types("marked:waiting")
    ledger.until(lambda: {line.sheet for line in ledger.room.model.lines} == set(seen))
    assert all("marked for review" in line.state for line in ledger.room.model.lines)
    ledger.until(lambda: "Marked for review" in ledger.room.side.page.toPlainText())
    ledger.press(Qt.Key.Key_L, CTRL)
    panel = ledger.room.pages.review_panel
    ledger.until(lambda: panel.seen is not None and any(each.code == "marked" for each in panel.seen.points))
    place = next(place for place, each in enumerate(panel.seen.points) if each.code == "marked")
    for _ in range(place - panel.points.row()):
        ledger.press(Qt.Key.Key_Down)
    ledger.press(Qt.Key.Key_A, ALT)
    ledger.types("read again, it holds")
    ledger.press(Qt.Key.Key_Return)
    sheet = panel.seen.sheet.identity

    def answered() -> bool:
        with ledger.book() as book:
            return all(mark.answer == "read again, it holds" for mark in book.sheet(sheet).marks.values())

    ledger.until(answered)
