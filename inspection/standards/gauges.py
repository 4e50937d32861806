"""Gagemakers' tolerances of plain plugs, rings and pins, by class and size."""

from __future__ import annotations

from functools import cache

from msgspec import Struct

from inspection.standards.tables import Row, rows, steps


class _Band(Struct, frozen=True):
    """Total tolerance (pm) of a class for sizes over … up to (pm)."""

    over: int
    up_to: int
    tolerance: int


def _band(row: Row) -> _Band:
    unit = row["unit"]
    return _Band(steps(row["over"], unit), steps(row["up_to"], unit), steps(row["tolerance"], row["tolerance_unit"]))


@cache
def _bands(gauge_class: str) -> tuple[_Band, ...]:
    return tuple(_band(row) for row in rows("gauge_classes") if row["class"] == gauge_class)


def class_tolerance(gauge_class: str, size: int) -> int | None:
    """Return the total tolerance t (pm) of class "XXX" … "ZZ" at ``size`` pm; None where none is tabled.

    The lowest band includes its own lower end. Source: ASME B89.1.5, chart of gagemakers' tolerances.
    """
    bands = _bands(gauge_class)
    for band in bands:
        if band.over < size <= band.up_to or (band is bands[0] and size == band.over):
            return band.tolerance
    return None
