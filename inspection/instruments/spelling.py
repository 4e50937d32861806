"""Amounts, spans and lists of them as a machinist writes them in an instrument's record, and as they are written back.

Digits are read by the one reader of numbers; here is only where an amount begins and ends in a cell. Every refusal
tells the character of the whole cell.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction

from msgspec import Struct

from inspection.instruments.record import Use
from inspection.quantity.reader import LONGEST_ENTRY, decimal_at, read
from inspection.quantity.speaker import as_64ths, degrees_minutes, fewest_decimals, plain
from inspection.quantity.units import UNITS, Kind, Quantity
from inspection.reasons import Part, Reason, Refused

#: More decimals of an inch than these are written as a fraction, if one holds the value.
MOST_DECIMALS = 5

#: What stands before a half-width: ``.012 ±.002``.
PLUS_MINUS = re.compile(r"±|\+/-|\+-")

_BETWEEN = re.compile(r"\s*(?:[–—…]|\.{2,3}|\bto\b|\bthrough\b|\s-\s)\s*", re.IGNORECASE)
_HYPHEN = re.compile(r"-")
_PARTING = re.compile(r"\s*(?:[;\n]|,\s+|\band\b|\bor\b)\s*", re.IGNORECASE)


class Piece(Struct, frozen=True):
    """A part of a cell's text, and at which character of the cell it begins."""

    text: str
    at: int = 0

    def cut(self, start: int, end: int | None = None) -> Piece:
        """The part from ``start`` to ``end`` without the blanks around it."""
        text = self.text[start:end]
        return Piece(text.strip(), self.at + start + len(text) - len(text.lstrip()))

    def refused(self, code: str, **parts: Part) -> Refused:
        """A refusal that points here."""
        return Refused(Reason(code, {"text": self.text[:60], "at": self.at, **parts}))


class Span(Struct, frozen=True):
    """From ``low`` to ``high`` (counts), and the unit that stands behind them or governs them."""

    low: int
    high: int
    unit: str


def pieces(text: str) -> Iterator[Piece]:
    """The entries of a list: parted by semicolons, line ends, a comma with a blank behind it, "and" or "or"."""
    whole, start = Piece(text), 0
    for found in _PARTING.finditer(text):
        if (piece := whole.cut(start, found.start())).text:
            yield piece
        start = found.end()
    if (piece := whole.cut(start)).text:
        yield piece


def readings_of(text: str) -> tuple[str, ...]:
    """Readings written one after another: parted by semicolons if there are any, else by blanks, so that a fraction or
    a unit can stand among them.

    >>> readings_of(".5001 .5"), readings_of("1 5/32; 29.4 mm")
    (('.5001', '.5'), ('1 5/32', '29.4 mm'))
    """
    parts = text.split(";") if ";" in text else text.split()
    return tuple(filter(None, (part.strip() for part in parts)))


def read_use(piece: Piece) -> Use:
    """The use that a line begins with. Raises Refused if it begins with none."""
    use = next((use for use in Use if re.match(rf"{use}\b", piece.text, re.IGNORECASE)), None)
    if use is None:
        raise piece.refused("crib.cell.use", uses=", ".join(Use))
    return use


def read_amount(piece: Piece, unit: str) -> Quantity:
    """One amount; ``unit`` holds where none is written. Raises Refused with ``at`` in the cell's text."""
    try:
        return read(piece.text, unit=unit, kind=UNITS[unit].kind)
    except Refused as refused:
        raise Refused(*(_shifted(reason, piece) for reason in refused.reasons)) from None


def read_decimal(piece: Piece) -> tuple[Fraction, Piece]:
    """The decimal number that a piece begins with, and what stands behind it. Raises Refused with ``at`` in the cell's
    text."""
    if len(piece.text) > LONGEST_ENTRY:
        raise piece.refused("reader.too_long", longest=LONGEST_ENTRY)
    try:
        digits, decimals, end = decimal_at(piece.text, 0, len(piece.text))
    except Refused as refused:
        raise Refused(*(_shifted(reason, piece) for reason in refused.reasons)) from None
    return Fraction(digits, 10**decimals), piece.cut(end)


def _shifted(reason: Reason, piece: Piece) -> Reason:
    at = reason.parts.get("at")
    return Reason(reason.code, {**reason.parts, "at": piece.at + (at if isinstance(at, int) else 0)})


def ends(piece: Piece) -> tuple[Piece, Piece] | None:
    """Both ends of a span, None if the piece is none: ``0–6``, ``.061 to .250``, ``0-1``; ``1-5/32`` is one number."""
    found = _BETWEEN.search(piece.text)
    if found is None and not _is_number(piece.text):
        found = _HYPHEN.search(piece.text)
    return (piece.cut(0, found.start()), piece.cut(found.end())) if found is not None else None


def _is_number(text: str) -> bool:
    try:
        read(text, unit="in")
    except Refused:
        return False
    return True


def read_span(piece: Piece, unit: str) -> Span:
    """A span as written. A unit behind one end holds for the other that has none: ``.5–1 in`` is in inches.

    Raises Refused for a single number, a span that runs backwards, and what is no number, at its character.
    """
    both = ends(piece)
    if both is None:
        read_amount(piece, unit)
        raise piece.refused("crib.cell.one_end")
    first, last = both
    if not first.text or not last.text:
        raise piece.refused("crib.cell.one_end")
    high = read_amount(last, read_amount(first, unit).unit)
    low = read_amount(first, high.unit if UNITS[high.unit].kind is UNITS[unit].kind else unit)
    if low.count > high.count:
        raise first.refused("crib.cell.backwards", first=first.text, last=last.text)
    return Span(low.count, high.count, high.unit)


# --- written back ---------------------------------------------------------------------------------------------


def number_text(count: int, unit: str) -> str | None:
    """The exact number in a unit as it stands on a drawing, without the unit; None where the unit cannot hold it.

    Inches have no leading zero, and a 64th that needs more than five decimals is written as the fraction.
    """
    fewest = fewest_decimals(count, unit)
    if fewest is None:
        return None
    if unit != "in":
        return plain(count, unit)
    fraction, rest = as_64ths(count)
    if fewest > MOST_DECIMALS and not rest:
        return fraction
    number = plain(count, unit)
    return number.removeprefix("0") if number.startswith("0.") else number


def amount_text(count: int, unit: str) -> str:
    """The exact amount with its unit; in millimetres, or degrees and minutes, where the unit cannot hold it."""
    number = number_text(count, unit)
    if number is not None:
        return number + _after(unit)
    if UNITS[unit].kind is Kind.ANGLE:
        return degrees_minutes(count)
    return f"{plain(count, 'mm')} mm"


def span_text(low: int, high: int, unit: str) -> str:
    """A span with its unit behind the last end."""
    first, last = number_text(low, unit), number_text(high, unit)
    if first is None or last is None:
        return f"{amount_text(low, unit)} – {amount_text(high, unit)}"
    return f"{first}–{last}{_after(unit)}"


def _after(unit: str) -> str:
    return unit if UNITS[unit].kind is Kind.ANGLE else f" {unit}"
