"""Balloon numbers: text, in natural order, and split over the places of a count."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

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


def in_short(numbers: Sequence[str], most: int) -> str:
    """Numbers on one line in the order given; of more than ``most`` the first ones and the last.

    >>> in_short(["1", "2", "3", "4"], 3), in_short(["1", "2", "3"], 3)
    ('1, 2 … 4', '1, 2, 3')
    """
    if len(numbers) <= most:
        return ", ".join(numbers)
    return f"{', '.join(numbers[: most - 1])} … {numbers[-1]}"


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
