"""Proving the instruments of a sheet: a good check of each that its rows are measured with."""

from __future__ import annotations

from collections.abc import Iterable

from app.jobs.hand import Hand
from inspection.instruments.ratios import size_of
from inspection.measuring.checks import checklist, configured
from inspection.measuring.checks_good import good_answers
from inspection.sheet import acts
from inspection.sheet.proving import asked_of
from inspection.sheet.state import Sheet, Shop


def prove(hand: Hand, sheet: str, tags: Iterable[str] = (), *, closing: bool = False) -> None:
    """Check every instrument that the sheet's rows ask for, and those of these ``tags``, each well; ``closing``: those
    whose readings it closes."""
    shop, kept = hand.book.shop(), hand.book.sheet(sheet)
    found = _instruments(shop, kept)
    others = (shop.by_tag(tag) for tag in tags)
    found |= {each.identity: 0 for each in others if each is not None and each.identity not in found}
    for instrument, size in found.items():
        held = shop.crib[instrument]
        set_up = configured(held)
        if not checklist(held, set_up, closing=closing):
            continue
        answers = good_answers(held, set_up, size, closing=closing)
        act = acts.RecordCheck(
            instrument=instrument, issue=held.issue, configuration=set_up, answers=answers, closing=closing
        )
        hand.book.do(act, person=hand.person)


def _instruments(shop: Shop, sheet: Sheet) -> dict[str, int]:
    """The instruments that are checked for the sheet, each with the size of the first row that asks for it."""
    found: dict[str, int] = {}
    for row in sheet.plan.characteristics:
        assignment = sheet.assignments.get(row.identity)
        if assignment is None or assignment.assessment is None:
            continue
        for part in asked_of(shop, assignment.assessment.method):
            found.setdefault(part.identity, size_of(row))
    for reading in sheet.readings.values():
        for part in asked_of(shop, reading.method):
            found.setdefault(part.identity, size_of(sheet.characteristic(reading.characteristic)))
    return found
