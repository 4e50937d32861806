"""How a sheet stands in the Desk's list: nothing in doubt is called done."""

from __future__ import annotations

import pytest

from app.desk.finding import found_of
from storage.book.queries.found_sheets import FoundSheet, State
from storage.book.queries.sheets import ListedSheet


def listed(*, sealed: bool = False, **counts: int) -> ListedSheet:
    numbers = {"conforming": 3, "marginal": 0, "not_conforming": 0, "open": 0, "questions": 0} | counts
    return ListedSheet("s", "P-1", "A", "", "", "", "", "2026-11-25", "p", ("1",), 1, sealed, **numbers)


@pytest.mark.parametrize(
    ("sheet", "state", "mark"),
    [
        (listed(), "not signed", "conforming"),
        (listed(open=2), "2 open", "open"),
        (listed(in_doubt=1), "1 in doubt", "doubt_inside"),
        (listed(in_doubt=1, open=2), "2 open, 1 in doubt", "doubt_inside"),
        (listed(in_doubt=1, sealed=True), "signed, 1 in doubt", "doubt_inside"),
        (listed(in_doubt=1, not_conforming=1), "1 in doubt", "out"),
        (listed(sealed=True), "signed", "conforming"),
    ],
)
def test_doubts_are_said_and_marked(sheet: ListedSheet, state: str, mark: str) -> None:
    found = found_of(FoundSheet(1, sheet, State.SIGNED if sheet.sealed else State.OPEN))
    assert (found.state, found.mark) == (state, mark)


@pytest.mark.parametrize(("at", "state"), [(State.APPROVED, "approved"), (State.RELEASED, "released, 1 in doubt")])
def test_how_far_its_review_is_is_said(at: State, state: str) -> None:
    assert found_of(FoundSheet(1, listed(sealed=True, in_doubt=state.count("doubt")), at)).state == state
