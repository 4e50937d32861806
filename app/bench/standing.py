"""What stands in the way of the entry: a question that waits, a text that came back, and what is said of it."""

from __future__ import annotations

from typing import NamedTuple

from app.bench.under_way import At, UnderWay
from inspection.reasons import Reason

#: How a slip question is answered without a new number.
KEEP, LEAVE = "keep", "leave"


class Said(NamedTuple):
    """The sentence that stands below the entry: what happened to which row. ``look`` is "", "doubt" or "out"."""

    text: str = ""
    look: str = ""


class Returned(NamedTuple):
    """A text that came back to its row, and why."""

    text: str
    said: Said
    fault_at: int = -1


class Standing:
    """A slip question that stands. Its identity is known once the reading is on disk; an answer waits for that."""

    def __init__(self, at: At, written: str, reason: Reason, question: str = "", of: UnderWay | None = None) -> None:
        self.at, self.written, self.reason, self.question, self.of = at, written, reason, question, of
        self.answer: str | None = None  # KEEP, LEAVE, or the text of a new reading
