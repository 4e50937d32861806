"""Where a sheet stands, in numbers: counted once, then moved by what each entry changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from inspection.sheet import events as ev
from inspection.sheet.counts import NAMES, counted_as, counts_of
from inspection.sheet.events import Event
from inspection.sheet.state import Cell, Sheet

_ANEW = frozenset((ev.PieceReworked, ev.PieceLeft))
_ASKING = frozenset((ev.QuestionAsked, ev.QuestionAnswered))


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
    return Tally(
        plan=sheet.plan.identity,
        round=sheet.round,
        sealed=sheet.sealed,
        questions=len(sheet.open_questions()),
        **counts_of(sheet),
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
    return Earlier(sheet.plan.identity, {cell: counted_as(sheet, cell) for cell in judged}, waiting)


def tally_after(tally: Tally | None, before: Earlier | None, after: Sheet, events: Sequence[Event]) -> Tally:
    """The tally after one entry's events: only the cells they judged are looked at, unless the plan changed, or a piece
    was worked on or left."""
    anew = not _ANEW.isdisjoint(map(type, events))
    if tally is None or before is None or anew or tally.plan != after.plan.identity:
        return counted(after)
    numbers = dict.fromkeys(NAMES, 0)
    for cell, was in before.cells.items():
        for name, by in ((was, -1), (counted_as(after, cell), 1)):
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


def _asked_about(events: Sequence[Event]) -> set[str]:
    """The slip questions that these events ask or answer; one can wait again when the reading that answered it was
    taken back."""
    if _ASKING.isdisjoint(map(type, events)):
        return set()
    asked = {event.question.identity for event in events if isinstance(event, ev.QuestionAsked)}
    return asked | {event.question for event in events if isinstance(event, ev.QuestionAnswered)}
