"""Temperatures as a person writes them, in whole thousandths of a degree Celsius."""

from __future__ import annotations

import re
from fractions import Fraction

from inspection.instruments.spelling import Piece, read_decimal
from inspection.reasons import Refused

_SIGN = re.compile(r"([+\-−]?)\s*")
_CELSIUS = frozenset({"", "c", "°c", "℃", "degc"})
_FAHRENHEIT = frozenset({"f", "°f", "℉", "degf"})


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
