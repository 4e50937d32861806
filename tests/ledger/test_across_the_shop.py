"""Nonconformances of the whole shop by keys: what waits first, found by what is typed, gone on with from there."""

from __future__ import annotations

from PySide6.QtCore import Qt

from app.ledger.review.deciding import DecideDialog
from inspection.sheet import acts
from inspection.sheet.nonconformance import Disposition, Leave
from tests.ledger.conftest import ALT, Ledger

ENTER, ESCAPE, DOWN = Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Down
LEAD = "Tomas Brandvold"


def named(ledger: Ledger) -> str:
    """The row that is out on the demo's sheet has its number."""
    with ledger.book() as book:
        sheet = book.sheet(ledger.demo.sheet)
    (cell,) = (cell for cell, judgement in sheet.judgements.items() if judgement.verdict == "not conforming")
    act = acts.RaiseNonconformance(
        sheet=sheet.identity, piece=cell[1], characteristics=(cell[0],), number="NC-7", what="over by one feed step"
    )
    names: list[str] = []
    ledger.house.do(act, kept=lambda outcome: names.append(outcome.events[0].nonconformance.identity))
    ledger.until(lambda: bool(names))
    return names[0]


def opened(ledger: Ledger) -> object:
    ledger.be(LEAD)
    ledger.press(Qt.Key.Key_N, ALT)
    page = ledger.room.pages.across_list
    ledger.until(lambda: page.isVisible() and page.search.hasFocus())
    return page


def test_an_empty_list_says_where_one_comes_from(ledger: Ledger) -> None:
    page = opened(ledger)
    ledger.until(page._empty.isVisible)
    assert page._empty.text().startswith("No nonconformance yet.")
    ledger.press(ENTER)
    ledger.press(ESCAPE)
    ledger.until(ledger.room.top.search.hasFocus)


def test_one_is_found_decided_and_its_sheet_reviewed(ledger: Ledger) -> None:
    name = named(ledger)
    page = opened(ledger)
    ledger.until(lambda: len(page.list.items) == 1)
    (item,) = page.list.items
    assert item.text == "NC-7   OB-2207  rev C   002" and item.side == "waits for a decision"
    assert "one row: over by one feed step" in item.told[0]
    assert page.about.text() == "one waits for a decision"
    ledger.writes("nothing like it")
    ledger.until(page._empty.isVisible)
    ledger.press(ESCAPE)
    ledger.until(lambda: len(page.list.items) == 1)
    ledger.writes("feed 002")
    ledger.press(DOWN)
    ledger.press(Qt.Key.Key_E, ALT)
    dialog = ledger.asked(DecideDialog)
    ledger.hits(ESCAPE)
    ledger.back()
    panel = ledger.room.pages.review_panel
    assert panel.isVisible() and panel.seen.sheet.identity == ledger.demo.sheet
    assert dialog._held.identity == name
    ledger.press(ESCAPE)
    ledger.until(page.isVisible)
    act = acts.DisposeNonconformance(
        sheet=ledger.demo.sheet,
        nonconformance=name,
        disposition=Disposition.USE_AS_IS,
        words="agreed",
        leave=Leave("CR-118", "2026-09-20", "piece 002"),
    )
    ledger.house.do(act)
    ledger.until(lambda: bool(page.list.items) and page.list.items[0].side == "use as is")
    assert page.about.text() == "none waits for a decision" and "CR-118" in page.list.items[0].told[1]
    ledger.press(ENTER)
    ledger.until(panel.isVisible)
