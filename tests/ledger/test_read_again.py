"""Rows read again at review: nothing of limits, nominal and earlier readings is in sight before one is entered."""

from __future__ import annotations

from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel, QLineEdit, QWidget

from app.ledger.review.again import AgainPage
from app.ledger.review.to_read import PROPOSED, blind_name, proposed
from app.parts.items import ItemsView
from app.parts.marks import Mark
from inspection.measuring.reading import Observed, Role
from inspection.quantity.units import Kind
from inspection.sheet.state import Cell, Sheet
from tests.ledger.conftest import ALT, CTRL, Ledger

ENTER, ESCAPE, SPACE, UP, DOWN = Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Space, Qt.Key.Key_Up, Qt.Key.Key_Down
LEAD = "Tomas Brandvold"


@pytest.fixture
def lead(ledger: Ledger) -> Ledger:
    ledger.be(LEAD)
    return ledger


def begin(ledger: Ledger, serials: str) -> AgainPage:
    panel = ledger.review(serials)
    ledger.press(Qt.Key.Key_R, ALT)
    page: AgainPage = ledger.room.pages.again_page
    ledger.until(page.picks.hasFocus)
    assert not panel.isVisible(), "the review is out of sight while rows are read"
    return page


def choose(ledger: Ledger, page: AgainPage, *cells: Cell) -> None:
    """Tick these rows and no other, and begin to read."""
    for cell in page.picks.picked():
        page.picks.go(page.picks.cells().index(cell))
        ledger.press(SPACE)
    for cell in cells:
        page.picks.go(page.picks.cells().index(cell))
        ledger.press(SPACE)
    assert set(page.picks.picked()) == set(cells)
    ledger.press(ENTER)
    ledger.until(page.entry.hasFocus)


def cells_of(sheet: Sheet, role: Role, **having: Any) -> list[Cell]:
    """Cells whose readings all answer this, of rows that have these values."""
    rows = [
        row for row in sheet.plan.characteristics if all(getattr(row, name) == value for name, value in having.items())
    ]
    cells = [(row.identity, piece.identity) for row in rows for piece in sheet.pieces]
    return [cell for cell in cells if {each.slot.role for each in sheet.counting(*cell)} == {role}]


def in_sight(page: QWidget) -> str:
    """Everything that can be read on the page."""
    seen = [label.text() for label in page.findChildren(QLabel) if label.isVisible()]
    seen += [line.text() for line in page.findChildren(QLineEdit) if line.isVisible()]
    seen += [item.spoken() for view in page.findChildren(ItemsView) for item in view.items]
    seen += [
        each.toolTip() + each.accessibleName() + each.accessibleDescription() for each in page.findChildren(QWidget)
    ]
    return "\n".join(seen)


def kept(ledger: Ledger) -> Sheet:
    with ledger.book() as book:
        return book.sheet(ledger.room.pages.review_panel.seen.sheet.identity)


def test_rows_of_the_list_are_proposed(lead: Ledger) -> None:
    page = begin(lead, "002")
    seen = lead.room.pages.review_panel.seen
    wanted = proposed(seen.points, seen.sheet)
    assert page.picks.picked() == wanted == page.picks.cells()[: len(wanted)]
    assert 0 < len(wanted) <= PROPOSED
    must = {cell for point in seen.points if point.must_answer for cell in point.cells}
    assert set(wanted) <= must
    lead.press(Qt.Key.Key_A, CTRL)
    assert page.picks.picked() == page.picks.cells()
    lead.press(Qt.Key.Key_A, CTRL)
    assert page.picks.picked() == ()


def test_nothing_that_tells_the_answer_is_in_sight_until_a_reading_is_kept(lead: Ledger) -> None:
    page = begin(lead, "002")
    sheet = lead.room.pages.review_panel.seen.sheet
    numeric = [cell for cell in cells_of(sheet, Role.VALUE) if len(sheet.counting(*cell)) == 1]
    cell = next(cell for cell in numeric if sheet.characteristic(cell[0]).requirement.kind is Kind.LENGTH)
    choose(lead, page, cell)
    row, (first,) = sheet.characteristic(cell[0]), sheet.counting(*cell)
    told = in_sight(page)
    assert blind_name(row) in told
    secrets = {row.requirement.written, first.written}
    assert not [secret for secret in secrets if secret in told]
    QTest.keyClicks(page.entry, "9.87")
    assert page.meaning.text(), "what is typed is read back"
    assert not [secret for secret in secrets if secret in in_sight(page)]
    lead.press(ENTER)
    lead.until(lambda: len(page.results.items) == 1)
    (item,) = page.results.items
    assert item.mark is Mark.OUT
    assert first.written in item.told[0].replace("0.", ".") or first.written in item.told[0]
    assert all("U = " in line for line in item.told), "both with their uncertainty"
    assert "Mira Oduya" in item.told[0] and LEAD in item.told[1]
    (again,) = kept(lead).read_again
    assert (again.reading.written, again.reading.by) == ("9.87", lead.house.person)
    assert kept(lead).judgements == sheet.judgements, "it counts for nothing but the comparison"


def test_the_same_number_agrees_and_is_a_point_of_the_list(lead: Ledger) -> None:
    page = begin(lead, "002")
    sheet = lead.room.pages.review_panel.seen.sheet
    cell = next(cell for cell in cells_of(sheet, Role.VALUE) if len(sheet.counting(*cell)) == 1)
    choose(lead, page, cell)
    lead.writes(sheet.counting(*cell)[0].written, then=ENTER)
    lead.until(lambda: len(page.results.items) == 1)
    assert page.results.items[0].mark is Mark.CONFORMING and "agree" in page.results.items[0].text
    assert "read again" in page.picks.items[page.picks.cells().index(cell)].side
    assert "Esc goes back to the review" in page.said.text()
    lead.press(ESCAPE)
    panel = lead.room.pages.review_panel
    lead.until(lambda: any(point.code == "again" for point in panel.seen.points))
    assert panel.isVisible()


def test_every_place_of_a_row_is_asked_for_and_rows_are_stepped_through(lead: Ledger) -> None:
    page = begin(lead, "002")
    sheet = lead.room.pages.review_panel.seen.sheet
    places = next(cell for cell in cells_of(sheet, Role.VALUE) if len(sheet.row_at(*cell).places) > 1)
    single = next(cell for cell in cells_of(sheet, Role.VALUE) if len(sheet.counting(*cell)) == 1)
    choose(lead, page, places, single)
    asked = [wanted.slot.place for wanted in page._queue if wanted.cell == places]
    assert tuple(asked) == sheet.row_at(*places).places
    first = page.wanted()
    lead.press(DOWN)
    assert page.wanted() is not first and page.count.text().startswith("2 of ")
    lead.press(UP)
    assert page.wanted() is first
    lead.writes("1.")
    lead.press(DOWN)
    assert page.wanted() is first, "what is typed belongs to its row"
    lead.press(ESCAPE)
    assert page.entry.text() == "" and page.wanted() is first
    lead.press(ESCAPE)
    assert page.picks.hasFocus() and page.wanted() is None
    lead.press(ESCAPE)
    lead.until(lead.room.pages.review_panel.isVisible)


def test_what_cannot_be_read_is_marked_and_stays(lead: Ledger) -> None:
    page = begin(lead, "002")
    sheet = lead.room.pages.review_panel.seen.sheet
    choose(lead, page, next(cell for cell in cells_of(sheet, Role.VALUE)))
    lead.writes("1.2.3", then=ENTER)
    assert page.said.text().startswith("There is a second comma or point.")
    assert page.entry.text() == "1.2.3" and not kept(lead).read_again


def test_a_finding_is_answered_by_a_letter(lead: Ledger) -> None:
    page = begin(lead, "002")
    sheet = lead.room.pages.review_panel.seen.sheet
    cell = next(iter(cells_of(sheet, Role.FINDING)))
    choose(lead, page, cell)
    assert sheet.characteristic(cell[0]).requirement.written in page.asked.text(), "a note is what is looked for"
    lead.writes("e")
    lead.until(lambda: len(page.results.items) == 1)
    (again,) = kept(lead).read_again
    assert again.reading.observed is Observed.AS_REQUIRED


def test_another_instrument_is_offered_without_what_would_tell_the_band(lead: Ledger, answers: Any) -> None:
    given, asked = answers
    page = begin(lead, "002")
    sheet = lead.room.pages.review_panel.seen.sheet
    cell = next(cell for cell in cells_of(sheet, Role.VALUE) if len(sheet.counting(*cell)) == 1)
    choose(lead, page, cell)
    before = page.with_.text()
    given.append(None)
    lead.press(Qt.Key.Key_I, ALT)
    (field,) = asked[-1].fields
    assert len(field.choices) > 1 and not [label for _, label in field.choices if " : 1" in label]
    other = next(key for key, label in field.choices if label not in before)
    given.append({"method": other})
    lead.press(Qt.Key.Key_I, ALT)
    assert page.with_.text() != before
    lead.writes(sheet.counting(*cell)[0].written, then=ENTER)
    lead.until(lambda: len(kept(lead).read_again) == 1)
    assert kept(lead).read_again[0].reading.method.key == other


def test_a_reading_that_was_not_kept_comes_back_to_its_row(lead: Ledger) -> None:
    page = begin(lead, "002")
    sheet = lead.room.pages.review_panel.seen.sheet
    cells = [cell for cell in cells_of(sheet, Role.VALUE) if len(sheet.counting(*cell)) == 1][:2]
    choose(lead, page, *cells)
    lead.be("Mira Oduya")
    people = lead.house.shop.people[lead.house.person]
    if "lead" in people.duties:  # the first person of a book may do everything
        lead.house.person = "nobody"
    lead.writes("1.5", then=ENTER)
    lead.until(lambda: bool(page.said.text()))
    assert page.wanted().cell == cells[0] and page.entry.text() == "1.5"
