"""One point of the lead's list, and how much each weighs: ``resources/tables/points.csv``."""

from __future__ import annotations

from functools import cache
from hashlib import sha256

from msgspec import Struct

from inspection.reasons import Reason
from inspection.sheet.state import Cell
from inspection.standards.tables import rows

_KEY_DIGITS = 32


class Point(Struct, frozen=True):
    """One thing that a lead has to look at.

    ``cells`` and ``readings`` (identities) are what it is about; both are empty where it is about the sheet as a whole.
    ``about`` tells points of one code and the same cells apart (an instrument's identity, a line of the log). ``why``
    are further reasons: what makes a row marginal, which check failed. The heavier ``weight``, the worse;
    ``must_answer`` says that the list is not done before somebody answered it.
    """

    code: str
    reason: Reason
    cells: tuple[Cell, ...] = ()
    readings: tuple[str, ...] = ()
    weight: int = 0
    must_answer: bool = True
    about: str = ""
    why: tuple[Reason, ...] = ()

    @property
    def key(self) -> str:
        """By what the point is answered: its code, what it is about and its cells, in whatever order. An answer to it
        holds for these cells and no more: one that joins them makes another point of it."""
        named = "\n".join((self.code, self.about, *sorted(f"{row} {piece}" for row, piece in self.cells)))
        return f"{self.code}:{sha256(named.encode()).hexdigest()[:_KEY_DIGITS]}"


class Grade(Struct, frozen=True):
    """How much the points of a code weigh, whether they must be answered, and their place in the table."""

    weight: int
    must_answer: bool
    place: int


@cache
def grades() -> dict[str, Grade]:
    """The grade of each code."""
    return {
        row["code"]: Grade(int(row["weight"]), row["answer"] == "must", place)
        for place, row in enumerate(rows("points"))
    }
