"""What a review leaves on a sheet: marks, points answered, rows read again, words of a return, statements."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

from msgspec import Struct

from inspection.measuring.reading import Reading


class StatementKind(StrEnum):
    """What is stated of a signed sheet: three statements, never one button, each signed for itself.

    Approved: the record is true and complete. First article complete: every characteristic was measured and conforms,
    on this sheet or on it and its baseline together; not complete otherwise. Released: the run may go on, within what
    the words say.
    """

    APPROVED = "sheet approved"
    COMPLETE = "first article complete"
    NOT_COMPLETE = "first article not complete"
    RELEASED = "run released"


#: What is stated of a first article, one or the other: where both were stated of a round, the later one holds.
FIRST_ARTICLE = (StatementKind.COMPLETE, StatementKind.NOT_COMPLETE)


def replacing(made: Sequence[tuple[StatementKind, int]]) -> dict[int, int]:
    """Of statements (kind and round, in the order made) those that hold no longer, each with the one that came in its
    place, both by their place: of a first article the next that says the same of a round or the contrary."""
    held: dict[int, int] = {}
    found: dict[int, int] = {}
    for place, (kind, of_round) in enumerate(made):
        if kind in FIRST_ARTICLE:
            if of_round in held:
                found[held[of_round]] = place
            held[of_round] = place
    return found


class PointAnswer(Struct, frozen=True):
    """What a lead answered to one point of the computed list, called by its ``point`` key."""

    point: str
    words: str
    by: str
    at: int


class Mark(Struct, frozen=True):
    """A sheet marked for review because an ``instrument`` was found out: by which error e = indication − true (counts),
    found at a ``size`` (None: at every size), in what was read after ``since`` (UTC microseconds). ``readings`` are
    those of the sheet that somebody has to look at. A mark stands beside the seal and alters no verdict.

    ``answer`` is what a lead said to it, by whom and when; all empty (0) while it waits."""

    identity: str
    instrument: str
    issue: int
    error: int
    size: int | None
    since: int
    readings: tuple[str, ...]
    words: str
    by: str
    at: int
    answer: str = ""
    answered_by: str = ""
    answered_at: int = 0

    @property
    def waits(self) -> bool:
        """Whether nobody has answered it yet."""
        return not self.answered_at


class Returned(Struct, frozen=True):
    """Words with which a sheet was returned, to one row on one piece (piece empty: on all; row empty: to the sheet)."""

    characteristic: str
    piece: str
    words: str


class Return(Struct, frozen=True):
    """A sheet returned to the bench from a round."""

    round: int
    rows: tuple[Returned, ...]
    by: str
    at: int


class ReadAgain(Struct, frozen=True):
    """A row that the lead read again, without seeing what had been read; it counts for nothing but the comparison."""

    reading: Reading
    round: int
