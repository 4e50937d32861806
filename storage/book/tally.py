"""Where a sheet stands, in numbers: counted once, then moved by what each entry changed."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct
from msgspec.structs import replace

from inspection.measuring.verdict import Verdict
from inspection.sheet import events as ev
from inspection.sheet.cells import cells_by_route, required
from inspection.sheet.events import Event
from inspection.sheet.state import Cell, Sheet

_COUNTED = {
    Verdict.CONFORMING: "conforming",
    Verdict.MARGINAL: "marginal",
    Verdict.NOT_CONFORMING: "not_conforming",
    Verdict.DOUBT_INSIDE: "in_doubt",
    Verdict.DOUBT_OUTSIDE: "in_doubt",
}


class Tally(Struct, frozen=True):
    """How many cells of a sheet came to which verdict or are in doubt, how many required ones are open, and how many
    slip questions wait."""

    plan: str
    round: int
    sealed: bool
    conforming: int
    marginal: int
    not_conforming: int
    open: int
    questions: int
    in_doubt: int = 0

    @property
    def stage(self) -> str:
        """Where the sheet is on its way: "open", "complete" (nothing is left to read or to answer) or "signed"."""
        if self.sealed:
            return "signed"
        return "open" if self.open or self.questions else "complete"


def counted(sheet: Sheet) -> Tally:
    """Count every cell; takes a moment on a sheet of thousands."""
    numbers = dict.fromkeys((*_COUNTED.values(), "open"), 0)
    for judgement in sheet.judgements.values():
        if judgement.verdict in _COUNTED:
            numbers[_COUNTED[judgement.verdict]] += 1
    judgements = sheet.judgements
    for cell in cells_by_route(sheet):
        kept = judgements.get(cell)
        numbers["open"] += kept is None or kept.verdict is Verdict.OPEN
    return Tally(
        plan=sheet.plan.identity,
        round=sheet.round,
        sealed=sheet.sealed,
        questions=len(sheet.open_questions()),
        **numbers,
    )


def tally_after(tally: Tally | None, before: Sheet | None, after: Sheet, events: Iterable[Event]) -> Tally:
    """The tally after one entry's events: only the cells they judged are looked at, unless the plan changed, or a piece
    was worked on or left."""
    events = tuple(events)
    anew = any(isinstance(event, ev.PieceReworked | ev.PieceLeft) for event in events)
    if tally is None or before is None or tally.plan != after.plan.identity or anew:
        return counted(after)
    numbers = dict.fromkeys((*_COUNTED.values(), "open"), 0)
    for cell in {(e.characteristic, e.piece) for e in events if isinstance(e, ev.CellJudged)}:
        _move(numbers, before, cell, -1)
        _move(numbers, after, cell, +1)
    return replace(
        tally,
        round=after.round,
        sealed=after.sealed,
        questions=tally.questions + _questions_moved(before, after, events),
        **{name: getattr(tally, name) + by for name, by in numbers.items()},
    )


def _move(numbers: dict[str, int], sheet: Sheet, cell: Cell, by: int) -> None:
    verdict = sheet.judgement(*cell).verdict
    if verdict in _COUNTED:
        numbers[_COUNTED[verdict]] += by
    elif verdict is Verdict.OPEN and required(sheet, cell):
        numbers["open"] += by


def _questions_moved(before: Sheet, after: Sheet, events: Iterable[Event]) -> int:
    """By how many more questions wait; one can wait again when the reading that answered it was taken back."""
    names = {event.question.identity for event in events if isinstance(event, ev.QuestionAsked)}
    names |= {event.question for event in events if isinstance(event, ev.QuestionAnswered)}
    return sum(after.waits(name) - before.waits(name) for name in names)
