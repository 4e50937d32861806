"""Where a sheet stands, in numbers: counted once, then moved by what each entry changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

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
_ANEW = frozenset((ev.PieceReworked, ev.PieceLeft))
_ASKING = frozenset((ev.QuestionAsked, ev.QuestionAnswered))
_NUMBERS = (*dict.fromkeys(_COUNTED.values()), "open")


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
    numbers = dict.fromkeys(_NUMBERS, 0)
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


class Earlier(Struct, frozen=True):
    """What a tally has to know of a sheet as it stood before an entry: its plan, what the cells that the entry judges
    counted as, and which of the slip questions it is about waited."""

    plan: str
    cells: Mapping[Cell, str]
    waiting: frozenset[str]


def earlier(sheet: Sheet, events: Sequence[Event]) -> Earlier:
    """What to keep of a sheet before these events change it."""
    judged = {(event.characteristic, event.piece) for event in events if type(event) is ev.CellJudged}
    waiting = frozenset(name for name in _asked_about(events) if sheet.waits(name))
    return Earlier(sheet.plan.identity, {cell: _counts_as(sheet, cell) for cell in judged}, waiting)


def tally_after(tally: Tally | None, before: Earlier | None, after: Sheet, events: Sequence[Event]) -> Tally:
    """The tally after one entry's events: only the cells they judged are looked at, unless the plan changed, or a piece
    was worked on or left."""
    anew = not _ANEW.isdisjoint(map(type, events))
    if tally is None or before is None or anew or tally.plan != after.plan.identity:
        return counted(after)
    numbers = dict.fromkeys(_NUMBERS, 0)
    for cell, counted_as in before.cells.items():
        for name, by in ((counted_as, -1), (_counts_as(after, cell), 1)):
            if name:
                numbers[name] += by
    waiting = sum(map(after.waits, _asked_about(events)))
    return replace(
        tally,
        round=after.round,
        sealed=after.sealed,
        questions=tally.questions + waiting - len(before.waiting),
        **{name: getattr(tally, name) + by for name, by in numbers.items() if by},
    )


def _counts_as(sheet: Sheet, cell: Cell) -> str:
    """The number of a tally that a cell is counted in; empty for none."""
    verdict = sheet.judgement(*cell).verdict
    if verdict is Verdict.OPEN:
        return "open" if required(sheet, cell) else ""
    return _COUNTED.get(verdict, "")


def _asked_about(events: Sequence[Event]) -> set[str]:
    """The slip questions that these events ask or answer; one can wait again when the reading that answered it was
    taken back."""
    if _ASKING.isdisjoint(map(type, events)):
        return set()
    asked = {event.question.identity for event in events if isinstance(event, ev.QuestionAsked)}
    return asked | {event.question for event in events if isinstance(event, ev.QuestionAnswered)}
