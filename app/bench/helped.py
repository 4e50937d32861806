"""How far the method of a row can be trusted, what would help, and which readings would settle a doubt."""

from __future__ import annotations

from typing import NamedTuple

from app.bench.seen import Seen
from inspection.instruments.method import Method
from inspection.measuring.remedies import Remedy
from inspection.reasons import Reason, Refused
from inspection.sheet.helping import BudgetTold, budget_told, given_on, remedies_for, settling_of
from inspection.sheet.reading_life import newest
from inspection.sheet.state import Cell
from storage.book.clock import Moment


class Helped(NamedTuple):
    """The budget that a reading taken now would have (None: nothing answers the row), the remedies, what repeats would
    do about the doubt of the cell, and how many readings in the mean would help (0: no number does)."""

    told: BudgetTold | None = None
    remedies: tuple[Remedy, ...] = ()
    doubt: Reason | None = None
    repeats: int = 0


def helped(seen: Seen, cell: Cell, now: Moment) -> Helped:
    """What is known of a cell's method now."""
    settling = settling_of(seen.shop, seen.sheet, cell)
    doubt, needed = (settling.reason, settling.needed or 0) if settling is not None else (None, 0)
    method = method_of(seen, cell[0])
    if method is None:
        return Helped(None, (), doubt, needed)
    given, row = given_on(seen.shop, seen.sheet, now.day, now.at), seen.row_at(cell)
    found = remedies_for(given, row, method)
    by_repeats = next((each.repeats for each in found if each.repeats), 0)
    return Helped(budget_told(given, row, method), found, doubt, needed or by_repeats)


def method_of(seen: Seen, row: str) -> Method | None:
    """The method of a row at the newest issues of its instruments, None where nothing answers it any more."""
    assignment = seen.sheet.assignments.get(row)
    if assignment is None or assignment.assessment is None:
        return None
    try:
        return newest(seen.shop, assignment.assessment.method)
    except Refused:
        return None
