"""Temperatures as a person writes them, in whole thousandths of a degree Celsius."""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction

from inspection.instruments.spelling import Piece, read_decimal
from inspection.quantity.speaker import placed, places_needed
from inspection.reasons import Refused

_SIGN = re.compile(r"([+\-−]?)\s*")
_CELSIUS = frozenset({"", "c", "°c", "℃", "degc"})
_FAHRENHEIT = frozenset({"f", "°f", "℉", "degf"})
#: One number with its scale; two for a span; a half-width behind the first.
_NUMBER = r"\s*([+\-−]?\d{1,4}(?:[.,]\d{1,4})?)\s*"
_SCALE = r"(°\s?[CF]|[CF]|[℃℉]|deg(?:rees)?\.?\s?[CF]|celsius|fahrenheit)?\s*"
_TOLD = re.compile(rf"{_NUMBER}{_SCALE}(?:(±|\+/?-|[–—…-]|\.{{2,3}}|\bto\b){_NUMBER}{_SCALE})?", re.IGNORECASE)
#: What stands between two numbers and makes the second a half-width.
_HALF_WIDTH = ("±", "+/-", "+-")


def read_temperature(piece: Piece) -> int:
    """A temperature in thousandths of a degree Celsius, as ``23.4``, ``23.4 °C`` or ``75F``.

    Celsius is taken exactly, three decimals at most; Fahrenheit to the nearest thousandth of a degree Celsius. Raises
    Refused, with ``at`` in the cell's text, for what is no temperature or has another unit.

    >>> read_temperature(Piece("23.4")), read_temperature(Piece("-4 °F")), read_temperature(Piece("75F"))
    (23400, -20000, 23889)
    """
    sign = _SIGN.match(piece.text)
    assert sign is not None  # every part of the pattern may be empty
    bare = piece.cut(sign.end())
    try:
        number, behind = read_decimal(bare)
    except Refused as refused:
        raise piece.refused("temperature.written", at=refused.reasons[0].parts.get("at", piece.at)) from None
    unit = "".join(behind.text.split()).casefold()
    if unit not in _CELSIUS | _FAHRENHEIT:
        raise behind.refused("temperature.written")
    degrees = -number if sign[1] in ("-", "−") else number
    if unit in _FAHRENHEIT:
        return round((degrees - 32) * Fraction(5_000, 9))
    if (degrees * 1_000).denominator != 1:
        raise piece.refused("temperature.written_fine")
    return int(degrees * 1_000)


def on_scale(written: str, scale: str) -> str | None:
    """A temperature as it stands in the head of a sheet ("70 °F", "20 ±1 °C", "68 - 72 °F"), in degrees of ``scale``
    ("C" or "F") and without its sign; None where it is none, or names no scale.

    Converted exactly (°C = (°F − 32) · 5/9; NIST SP 811, B.8) where decimals hold that, else rounded to decimals as
    fine as those written, a tie to the even digit (ISO 80000-1 annex B, rule A). A half-width has no zero point.

    >>> on_scale("70 °F", "C"), on_scale("68°F", "C"), on_scale("21 ±1 °C", "F"), on_scale("20.50 °C", "C")
    ('21.1', '20', '69.8 ±1.8', '20.50')
    """
    found = _TOLD.fullmatch(written)
    if found is None:
        return None
    first, one, sign, second, other = found.groups()
    named = {_letter(each) for each in (one, other) if each}
    if len(named) != 1:
        return None
    own = named.pop()
    half = sign in _HALF_WIDTH
    numbers = [_degrees(first, own, scale), *([_degrees(second, own, scale, width=half)] if sign else [])]
    places = max(places for _, places in numbers)
    return (" ±" if half else " … ").join(placed(round(value * 10**places), places) for value, _ in numbers)


def _letter(scale: str) -> str:
    told = unicodedata.normalize("NFKC", scale).casefold()
    return "C" if told.endswith("c") or told == "celsius" else "F"


def _degrees(written: str, own: str, scale: str, *, width: bool = False) -> tuple[Fraction, int]:
    """A number in degrees of another scale, and the decimals that hold it, or else are as fine as its own."""
    number = written.replace(",", ".").replace("−", "-")
    value, fine = Fraction(number), len(number.partition(".")[2])
    if own == scale:
        return value, fine
    size, step = Fraction(5, 9) if scale == "C" else Fraction(9, 5), Fraction(1, 10**fine)
    if not width:
        value = value - 32 if scale == "C" else value + Fraction(160, 9)  # 32 °F in degrees as large as Celsius'
    value *= size
    exact = places_needed(value.numerator, value.denominator)
    while exact is None and Fraction(1, 10**fine) > size * step:
        fine += 1
    return value, max(fine, exact or 0)
