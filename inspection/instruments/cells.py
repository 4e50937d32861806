"""The cells of one record while it is read: every fault is kept with its field, so that all are told together."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from difflib import get_close_matches
from enum import StrEnum
from typing import TypeVar

from inspection.instruments.spelling import Piece, read_amount
from inspection.reasons import Part, Reason, Refused

_YES = ("yes", "y", "x", "1", "true")
_NO = ("no", "n", "0", "false")
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")

Word = TypeVar("Word", bound=StrEnum)
Value = TypeVar("Value")


class Cells:
    """The cells of one record, read one by one while every fault is kept with its field."""

    def __init__(self, cells: Mapping[str, str]) -> None:
        self.cells = cells
        self.faults: list[Reason] = []

    def text(self, field: str) -> str:
        return (self.cells.get(field) or "").strip()

    def whole(self, field: str) -> Piece:
        """The cell without the blanks around it, which the writer of a fault still counts."""
        return Piece(self.cells.get(field) or "").cut(0)

    @contextmanager
    def faults_of(self, field: str) -> Iterator[None]:
        try:
            yield
        except Refused as refused:
            parts: dict[str, Part] = {"text": self.text(field)[:60], "at": 0}
            self.faults += [Reason(each.code, {**parts, **each.parts, "field": field}) for each in refused.reasons]

    def fault(self, field: str, code: str, **parts: Part) -> None:
        with self.faults_of(field):
            raise Refused(Reason(code, parts))

    def one_of(self, field: str, known: Iterable[Word]) -> Word | None:
        """The word of an enumeration, however it is spaced and hyphened; None for an empty or unknown one."""
        words = {plainly(word): word for word in known}
        written = plainly(self.text(field))
        if written and written not in words:
            near = get_close_matches(written, words, n=1)
            if near:
                self.fault(field, "crib.cell.unknown_near", near=words[near[0]].value)
            else:
                self.fault(field, "crib.cell.unknown", known=", ".join(words.values()))
        return words.get(written)

    def yes(self, field: str, *, default: bool) -> bool:
        written = self.text(field).casefold()
        if written and written not in _YES + _NO:
            self.fault(field, "crib.cell.yes_or_no")
        return written in _YES if written else default

    def stated(self, field: str, reader: Callable[[Piece], Value]) -> Value | None:
        """What a reader makes of the cell; None for an empty one."""
        if not self.text(field):
            return None
        with self.faults_of(field):
            return reader(self.whole(field))
        return None

    def amount(self, field: str, unit: str) -> int | None:
        """A count; None for an empty cell."""
        return self.stated(field, lambda cell: read_amount(cell, unit).count)

    def day(self, field: str) -> str:
        """A day as 2027-03-01; no other way of writing it is the same day to everybody."""
        written = self.text(field)
        if not written:
            return ""
        try:
            if _DAY.fullmatch(written):
                return date.fromisoformat(written).isoformat()
        except ValueError:
            self.fault(field, "crib.cell.no_such_day")
        else:
            self.fault(field, "crib.cell.day")
        return ""

    def number(self, field: str, default: int) -> int:
        written = self.text(field)
        if not written:
            return default
        if not re.fullmatch(r"\d{1,4}", written):
            self.fault(field, "crib.cell.whole_number", most=9999)
            return default
        return int(written)


def plainly(text: str) -> str:
    """A text without capitals, hyphens and idle blanks, as words are compared."""
    return " ".join(re.sub(r"[-_]", " ", text.casefold()).split())
