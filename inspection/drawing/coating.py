"""Limits before coating, and whether the notes make a condition necessary to ask for.

A coating of t1 … t2 per side grows an outside by twice its thickness, closes a bore by as much, and moves the pitch
diameter of a 60° external thread by four times as much. In-process limits never replace the drawing's.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from enum import StrEnum

from msgspec import Struct

from inspection.quantity.units import Kind
from inspection.reasons import Amount, Reason, Refused


class Surface(StrEnum):
    """What a coating grows on."""

    OUTSIDE = "outside"
    BORE = "bore"
    EXTERNAL_THREAD = "60° external pitch diameter"


class Limits(Struct, frozen=True):
    """Lower and upper limit, picometres."""

    lower: int
    upper: int


#: How much a size grows for each unit of thickness per side.
GROWTH = {Surface.OUTSIDE: 2, Surface.BORE: -2, Surface.EXTERNAL_THREAD: 4}

_TREATMENTS = {
    "coating": re.compile(r"coat|plat(?:ed|ing)\b|anodi[sz]|black oxide|galvani[sz]|paint|chem(?:ical)? film", re.I),
    "heat treatment": re.compile(
        r"heat.?treat|harden|carburi[sz]|nitrid|temper(?:ed|ing)?\b|anneal|stress.?reliev|HRC\b", re.I
    ),
}


def before_coating(after: Limits, thinnest: int, thickest: int, surface: Surface, unit: str = "in") -> Limits:
    """The limits before coating that leave the drawing's limits ``after`` for every thickness per side from
    ``thinnest`` to ``thickest`` (pm): outside [L-2t1, U-2t2], bore [L+2t2, U+2t1], 60° external pitch diameter
    [L-4t1, U-4t2].

    Raises Refused ``coating.empty`` if no size before coating can do that, ``coating.thickness`` for a negative or
    reversed thickness. ``unit`` is what amounts are told in.
    """
    if not 0 <= thinnest <= thickest:
        raise Refused(Reason("coating.thickness"))
    growth = GROWTH[surface]
    least, most = sorted((growth * thinnest, growth * thickest))
    before = Limits(after.lower - least, after.upper - most)
    if before.lower > before.upper:
        band = Amount(after.upper - after.lower, Kind.LENGTH, unit)
        raise Refused(Reason("coating.empty", {"band": band, "spread": Amount(most - least, Kind.LENGTH, unit)}))
    return before


def treatments_named(notes: Iterable[str]) -> frozenset[str]:
    """Which treatments the notes of a drawing name: "coating", "heat treatment". For each, before or after is asked
    once; it is never assumed."""
    texts = tuple(notes)
    return frozenset(name for name, words in _TREATMENTS.items() if any(words.search(text) for text in texts))
