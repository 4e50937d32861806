"""Readings before they are on disk: the act that a text makes, and the slip question that the book will ask of it."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import count

from app.bench.reading_text import observed_of, quantity_of
from app.bench.seen import Seen
from app.bench.under_way import At
from inspection.measuring.reading import Reading
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.evolve import fold_sheet
from inspection.sheet.reading_life import method_for, slip_of
from inspection.sheet.state import Sheet

_NUMBERS = count()
_NOBODY = ev.Entry(identity="", person="", at=0, day="")


def act_of(
    seen: Seen, at: At, text: str, *, reason: str = "", answers: str = "", replaces: str = ""
) -> tuple[acts.TakeReading, Reading]:
    """The act that a text makes at a place, and the reading expected of it, which lacks what only the book knows.
    ``replaces`` is the reading that an answer stands in for. Raises Refused."""
    row = seen.row(at.row)
    if at.slot is None:
        raise Refused(Reason("bench.nothing_waits", {"number": row.number}))
    observed = observed_of(text.strip(), row.number, at.slot)
    quantity = None if observed else quantity_of(text.strip(), row, seen.instrument(at.row))
    act = acts.TakeReading(
        sheet=seen.sheet.identity,
        characteristic=at.row,
        piece=at.piece,
        slot=at.slot,
        quantity=quantity,
        observed=observed,
        replaces=at.corrects,
        reason=reason,
        answers=answers,
    )
    expected = Reading(
        identity=f"ahead {next(_NUMBERS)}",
        characteristic=at.row,
        piece=at.piece,
        slot=at.slot,
        method=method_for(seen.shop, seen.sheet, row, act),
        plan=seen.sheet.plan.identity,
        by="",
        taken=0,
        day="",
        count=quantity.count if quantity else None,
        kind=row.requirement.kind,
        unit=quantity.unit if quantity else "",
        written=quantity.written if quantity else "",
        decimals=quantity.decimals if quantity else None,
        observed=observed,
        replaces=at.corrects or replaces,
    )
    return act, expected


class Ahead:
    """The sheet as it will be once everything that is on its way is on disk."""

    def __init__(self) -> None:
        self._sheet: Sheet | None = None

    def forget(self) -> None:
        """The sheet moved on: fold anew when next asked."""
        self._sheet = None

    def slip(self, seen: Seen, on_the_way: Iterable[Reading | None], reading: Reading) -> Reason | None:
        """The slip question that the book will ask of a reading, found by the book's own rule among what is kept and
        what is on its way; from now on the reading is on its way, too."""
        if self._sheet is None:
            self._sheet = _folded(seen.sheet, [each for each in on_the_way if each is not None])
        self._sheet = _folded(self._sheet, [reading])
        return slip_of(seen.shop, self._sheet, reading)


def _folded(sheet: Sheet, readings: list[Reading]) -> Sheet:
    return fold_sheet(sheet, [(ev.ReadingTaken(reading=each), _NOBODY) for each in readings], {}) if readings else sheet
