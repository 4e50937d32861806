"""Balloon numbers: text, in natural order, split over the places of a count, and complete against the drawing."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic, FeatureKind

_PIECES = re.compile(r"[0-9]+|[^0-9]+")
_WHOLE = re.compile(r"[0-9]+")

Key = tuple[tuple[int, int, str], ...]


def natural_key(number: str) -> tuple[Key, str]:
    """The key to sort balloon numbers by: 7 before 7.1, 7.9 before 7.10, suffixes after what they follow.

    >>> sorted(["7.10", "12", "7.9", "7a", "7"], key=natural_key)
    ['7', '7.9', '7.10', '7a', '12']
    """
    pieces = _PIECES.findall(number.strip())
    key = tuple((0, int(piece), "") if _WHOLE.fullmatch(piece) else (1, 0, piece.casefold()) for piece in pieces)
    return key, number


def split_count(number: str, count: int, places: Iterable[str] = ()) -> tuple[tuple[str, str], ...]:
    """The numbers and places of a requirement that occurs ``count`` times: 4X at 7 becomes 7.1 … 7.4.

    ``places`` name the places in order; where none are given they are counted from 1. A single requirement keeps its
    number. Raises ValueError if the number of names differs from the count.

    >>> split_count("7", 2, ("upper", "lower"))
    (('7.1', 'upper'), ('7.2', 'lower'))
    """
    named = tuple(places)
    if named and len(named) != count:
        raise ValueError(f"{len(named)} places named for a count of {count}")
    if count == 1:
        return ((number, named[0] if named else ""),)
    return tuple((f"{number}.{n}", named[n - 1] if named else str(n)) for n in range(1, count + 1))


class Completeness(Struct, frozen=True):
    """What a plan leaves open against its drawing: balloons without a row, notes without a row, numbers used twice."""

    missing: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    doubled: tuple[str, ...] = ()

    @property
    def complete(self) -> bool:
        """Whether nothing is open."""
        return not (self.missing or self.notes or self.doubled)


def completeness(
    characteristics: Iterable[Characteristic], *, highest: int | None = None, notes: Iterable[str] = ()
) -> Completeness:
    """Count rows against the highest balloon of the drawing (``highest``, by default the highest among the rows) and
    against the drawing's ``notes``, each as its text or as the number a note row may carry ("NOTE 3").

    A customer's own numbers may keep gaps: what is missing is told, not refused. 7.1 and 7A stand for balloon 7.
    """
    rows = tuple(characteristics)
    numbers = [row.number.strip() for row in rows]
    whole = {int(found[0]) for number in numbers if (found := _WHOLE.match(number))}
    last = max(whole, default=0) if highest is None else highest
    missing = tuple(str(balloon) for balloon in range(1, last + 1) if balloon not in whole)
    doubled = sorted((number for number, times in Counter(numbers).items() if times > 1), key=natural_key)
    return Completeness(missing, _notes_without_rows(rows, notes), tuple(doubled))


def _notes_without_rows(rows: tuple[Characteristic, ...], notes: Iterable[str]) -> tuple[str, ...]:
    answered = {
        _bare(text)
        for row in rows
        if row.kind is FeatureKind.NOTE
        for text in (row.requirement.written, row.name, row.number)
    }
    return tuple(note for note in notes if _bare(note) not in answered)


def _bare(text: str) -> str:
    return " ".join(text.casefold().split())
