"""How soon an instrument is calibrated anew, in one cell: ``12 months``, ``2000 readings`` or both."""

from __future__ import annotations

import re

from inspection.instruments.record import Instrument
from inspection.instruments.spelling import Piece
from inspection.reasons import Reason

#: No shop waits longer, and no hand instrument lasts more readings.
MOST_MONTHS, MOST_READINGS = 120, 1_000_000

_PART = re.compile(r"\s*(\d{1,7})\s*([^\W\d]*)\s*")
_BETWEEN = re.compile(r"[;,/]|\band\b|\bor\b", re.IGNORECASE)
_MONTHS = {"month": 1, "months": 1, "mo": 1, "year": 12, "years": 12, "a": 12}
_READINGS = frozenset({"reading", "readings", "use", "uses"})


def read_interval(piece: Piece) -> tuple[int, int]:
    """Months and readings, 0 for what is not said. Raises Refused at the character for anything else.

    >>> read_interval(Piece("1 year, 2000 readings"))
    (12, 2000)
    """
    months = readings = at = 0
    for text in _BETWEEN.split(piece.text):
        place = piece.cut(piece.text.index(text, at))
        at = piece.text.index(text, at) + len(text)
        found = _PART.fullmatch(text)
        number, unit = (int(found[1]), found[2].casefold()) if found else (0, "")
        if unit in _MONTHS and not months and 0 < number * _MONTHS[unit] <= MOST_MONTHS:
            months = number * _MONTHS[unit]
        elif unit in _READINGS and not readings and 0 < number <= MOST_READINGS:
            readings = number
        else:
            raise place.refused("crib.cell.interval", months=MOST_MONTHS)
    return months, readings


def interval_text(instrument: Instrument) -> str:
    """What ``read_interval`` takes; empty for none."""
    months, readings = instrument.every_months, instrument.every_readings
    told = (f"{months} months" if months else "", f"{readings} readings" if readings else "")
    return ", ".join(filter(None, told))


def used_up(instrument: Instrument, readings: int) -> Reason | None:
    """Why an instrument is to be calibrated anew for its use, where it was read as often since its certificate as its
    interval allows; None where it was not, or where nothing is said of that."""
    if not instrument.every_readings or readings < instrument.every_readings:
        return None
    return Reason("crib.used_up", {"tag": instrument.tag, "n": readings, "most": instrument.every_readings})
