"""What a typed entry means, while it is typed: inch, millimetre, 64ths where apt, and as it is said aloud."""

from __future__ import annotations

from typing import NamedTuple

from inspection.drawing.characteristic import Characteristic
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.quantity.reader import read
from inspection.quantity.speaker import as_inch, as_mm, shown, spoken, with_64ths
from inspection.quantity.units import INCH_UNITS, Kind, Quantity
from inspection.reasons import Reason, Refused

_IN_64THS = frozenset({InstrumentKind.RULE, InstrumentKind.TAPE})
#: Faults that are told while typing: the entry can be read two ways, and going on typing does not settle it.
_TOLD_AT_ONCE = frozenset({"reader.comma", "reader.mil", "reader.tenths", "reader.two_marks", "reader.exponent"})


class Meaning(NamedTuple):
    """What stands below the entry: the value in words, or why it cannot be read as it stands."""

    words: tuple[str, ...] = ()
    fault: Reason | None = None


def meaning_of(text: str, unit: str, row: Characteristic, instrument: Instrument | None) -> Meaning:
    """What ``text`` means as an entry for a row in ``unit``."""
    return meaning_in(text, unit, row.requirement.kind, instrument)


def meaning_in(text: str, unit: str, kind: Kind, instrument: Instrument | None, *, signed: bool = False) -> Meaning:
    """What ``text`` means as an entry in ``unit``. A text that is not finished means nothing yet, and says nothing."""
    if not text.strip():
        return Meaning()
    try:
        return Meaning(_words(read(text, unit=unit, kind=kind, signed=signed), instrument))
    except Refused as refused:
        (reason,) = refused.reasons
        at = reason.parts.get("at", 0)
        unfinished = isinstance(at, int) and at >= len(text.rstrip()) - 1
        return Meaning() if unfinished and reason.code not in _TOLD_AT_ONCE else Meaning(fault=reason)


def _words(quantity: Quantity, instrument: Instrument | None) -> tuple[str, ...]:
    count = quantity.count
    if quantity.kind is Kind.ANGLE:
        return shown(count, Kind.ANGLE, "°"), spoken(count, Kind.ANGLE, quantity.unit)
    inch, millimetre = as_inch(count), as_mm(count)
    fraction = quantity.decimals is None or (instrument is not None and instrument.kind in _IN_64THS)
    said = spoken(count, Kind.LENGTH, quantity.unit)
    first, second = (inch, millimetre) if quantity.unit in INCH_UNITS else (millimetre, inch)
    return (first, second, *((with_64ths(count),) if fraction else ()), said)
