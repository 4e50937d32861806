"""Units as exact counts of their kind's step.

A length is an integer count of picometres (1 in = 25 400 000 000 pm exactly, so 1/64 in, one micro-inch and one
nanometre are whole); an angle is an integer count of micro-arcseconds. Ra and coating thickness are lengths.
"""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct


class Kind(StrEnum):
    """The kind of quantity; each has one step, in which it is counted."""

    LENGTH = "length"  # picometres
    ANGLE = "angle"  # micro-arcseconds


class Unit(Struct, frozen=True):
    """A unit: its symbol as shown, its kind, and how many steps of the kind it holds."""

    symbol: str
    kind: Kind
    count: int


PICOMETRES_PER_INCH = 25_400_000_000
PICOMETRES_PER_MILLIMETRE = 1_000_000_000
MICRO_ARCSECONDS_PER_DEGREE = 3_600_000_000

UNITS: dict[str, Unit] = {
    unit.symbol: unit
    for unit in (
        Unit("in", Kind.LENGTH, PICOMETRES_PER_INCH),
        Unit("thou", Kind.LENGTH, PICOMETRES_PER_INCH // 1_000),
        Unit("tenth", Kind.LENGTH, PICOMETRES_PER_INCH // 10_000),
        Unit("µin", Kind.LENGTH, PICOMETRES_PER_INCH // 1_000_000),
        Unit("ft", Kind.LENGTH, 12 * PICOMETRES_PER_INCH),
        Unit("µm", Kind.LENGTH, 1_000_000),
        Unit("mm", Kind.LENGTH, PICOMETRES_PER_MILLIMETRE),
        Unit("cm", Kind.LENGTH, 10 * PICOMETRES_PER_MILLIMETRE),
        Unit("m", Kind.LENGTH, 1_000 * PICOMETRES_PER_MILLIMETRE),
        Unit("°", Kind.ANGLE, MICRO_ARCSECONDS_PER_DEGREE),
        Unit("'", Kind.ANGLE, MICRO_ARCSECONDS_PER_DEGREE // 60),
        Unit('"', Kind.ANGLE, MICRO_ARCSECONDS_PER_DEGREE // 3_600),
    )
}

#: The inch and what is told in parts or multiples of it.
INCH_UNITS = ("in", "thou", "tenth", "µin", "ft")

#: Beyond this a count cannot be written in the canonical form (RFC 8785 numbers); no bench measures 9 km.
LARGEST_COUNT = 2**53


class Quantity(Struct, frozen=True):
    """An exact value and, beside it, what was written.

    ``decimals`` is the number of decimals written in ``unit`` (None for a fraction or degrees-minutes form).
    """

    count: int
    kind: Kind
    unit: str
    written: str
    decimals: int | None = None
