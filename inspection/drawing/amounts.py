"""The numbers in a callout: which unit governs them, and each as an exact count with the decimals it was written with.

Digits are read by the one reader of numbers; here is only where a number begins and ends in a callout.
"""

from __future__ import annotations

import re

from msgspec import Struct

from inspection.drawing.spelling import Line
from inspection.quantity.reader import read, unit_symbol
from inspection.quantity.speaker import fewest_decimals
from inspection.quantity.units import INCH_UNITS, UNITS, Kind

#: More decimals than these are never shown of a limit; nobody draws finer.
MOST_DECIMALS = 8

_DECIMAL = r"(?:\d[\d.,]*|[.,]\d[\d.,]*)"
_FRACTION = r"(?:\d+(?: +|-))?\d+/\d+"
_LENGTH_UNIT = (
    r'(?: *(?:millimet(?:er|re)s?|mm\b\.?|cm\b|inch(?:es)?\b|in\b\.?|"|[µu]in\b|[µu]m\b|microns?\b|thous?\b|tenths?\b'
    r"|ft\b|mils?\b|t\b|[µu]\b))?"
)
_NUMBER = {
    "in": re.compile(f"(?P<number>{_FRACTION}|{_DECIMAL})(?P<unit>{_LENGTH_UNIT})", re.IGNORECASE),
    "mm": re.compile(f"(?P<number>{_DECIMAL})(?P<unit>{_LENGTH_UNIT})", re.IGNORECASE),
}
_DEGREES = r"(?:°|deg(?:rees?)?\b\.?)"
_ANGLE = re.compile(
    rf"""{_DECIMAL}(?:\ *{_DEGREES}(?:\ *{_DECIMAL}\ *'(?:\ *{_DECIMAL}\ *")?)?|\ *'(?:\ *{_DECIMAL}\ *")?|\ *")?""",
    re.IGNORECASE | re.VERBOSE,
)
_BRACKETED = re.compile(r"\[[^\[\]]*\]")
_UNITS_HERE = re.compile(rf"(?<![\d.,])(?:{_FRACTION}|{_DECIMAL})(?P<unit>{_LENGTH_UNIT})", re.IGNORECASE)


class Written(Struct, frozen=True):
    """A number of a callout: its exact count, its decimals as written (None for a fraction or degrees and minutes),
    the unit it was read in, whether that unit stands beside it, and where it begins in the line."""

    count: int
    decimals: int | None
    unit: str
    explicit: bool
    at: int


def system(unit: str) -> str:
    """The system that a unit of length belongs to: "in" or "mm"."""
    return "in" if unit in INCH_UNITS else "mm"


def governing_unit(line: Line, row_unit: str, default: str) -> str:
    """The unit that bare numbers of a length callout are in.

    ``row_unit`` is the row's own (empty if it has none) and ``default`` the title block's. A unit written in the
    callout governs where the row names none. Bracketed numbers of dual dimensions have no say.

    Raises Refused if two systems are mixed (``callout.units_mixed``) or the callout contradicts its row
    (``callout.unit_conflict``).
    """
    held = row_unit
    bare = _BRACKETED.sub(lambda found: " " * len(found[0]), line.text)
    if not bare.strip():
        bare = line.text
    for found in _UNITS_HERE.finditer(bare):
        unit = unit_symbol(found["unit"]) if found["unit"].strip() else None
        if unit is None:
            continue
        if not held:
            held = system(unit)
        elif system(unit) != system(held):
            code = "callout.unit_conflict" if row_unit else "callout.units_mixed"
            at = found.start("unit") + len(found["unit"]) - len(found["unit"].lstrip())
            raise line.refused(code, at, unit=unit, row=held)
    return held or default


class Amounts:
    """Reads the numbers of one callout: lengths in ``unit``, or angles. Fractions are read on inch rows, and nowhere
    where a slash can only stand between limits."""

    def __init__(self, line: Line, kind: Kind, unit: str, *, fractions: bool = True) -> None:
        self.line = line
        self.kind = kind
        self.unit = unit
        self._pattern = _ANGLE if kind is Kind.ANGLE else _NUMBER[system(unit) if fractions else "mm"]

    def here(self) -> bool:
        """Whether a number stands next."""
        return self.line.sees(self._pattern)

    def take(self, *, unit: str = "") -> Written:
        """Read the number that stands next; ``unit`` overrides the unit of a bare number.

        Raises Refused at the character at fault, ``callout.number_missing`` if no number stands here.
        """
        found = self.line.take(self._pattern)
        if found is None:
            raise self.line.refused("callout.number_missing")
        return self.read_again(found[0], found.start(), unit or self.unit)

    def read_again(self, text: str, at: int, unit: str) -> Written:
        """Read ``text``, which begins at ``at``, with ``unit`` for a bare number."""
        with self.line.blaming(at):
            quantity = read(text, unit=unit, kind=self.kind)
        return Written(quantity.count, quantity.decimals, quantity.unit, not text.rstrip(".,")[-1:].isdigit(), at)

    def retake(self, number: Written, end: int, unit: str) -> Written:
        """A bare number read once more in ``unit``: 5-8 µm means microns at both ends."""
        return self.read_again(self.line.text[number.at : end], number.at, unit)


def decimals_of(unit: str, *counts: int | None, written: tuple[Written, ...] = ()) -> int:
    """The decimals of a row's limits: as many as anything was written with, and as the exact limits need.

    Limits that no decimal number of the unit holds (a third of a degree) ask for none.
    """
    stated = [number.decimals for number in written if number.decimals is not None and number.unit == unit]
    needed = [fewest_decimals(count, unit) for count in counts if count is not None]
    return min(max([0, *stated, *(some for some in needed if some is not None)]), MOST_DECIMALS)


def is_length_unit(unit: str) -> bool:
    """Whether a row may be governed by ``unit``."""
    return unit in UNITS and UNITS[unit].kind is Kind.LENGTH
