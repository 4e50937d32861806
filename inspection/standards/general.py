"""General tolerances of ISO 2768-1: linear sizes, broken edges (radii and chamfers), angles."""

from __future__ import annotations

from functools import cache

from msgspec import Struct

from inspection.standards.tables import Row, rows, steps

CLASSES = ("f", "m", "c", "v")


class _Band(Struct, frozen=True):
    """± ``value`` for sizes over … up to (pm); no upper end is None, no value (a dash in the standard) is None."""

    over: int
    up_to: int | None
    value: int | None

    def holds(self, size: int, *, first: bool) -> bool:
        """Whether ``size`` lies in the band; the lowest band includes its own lower end."""
        above = size >= self.over if first else size > self.over
        return above and (self.up_to is None or size <= self.up_to)


def _band(row: Row) -> _Band:
    return _Band(
        steps(row["over_mm"], "mm"),
        steps(row["up_to_mm"], "mm") if row["up_to_mm"] else None,
        steps(row["value"], row["unit"]) if row["value"] else None,
    )


@cache
def _bands(table: str, tolerance_class: str) -> tuple[_Band, ...]:
    found = [_band(row) for row in rows("iso2768_1") if (row["table"], row["class"]) == (table, tolerance_class)]
    return tuple(sorted(found, key=lambda band: band.over))


def _find(table: str, tolerance_class: str, size: int) -> int | None:
    bands = _bands(table, tolerance_class)
    return next((band.value for band in bands if band.holds(size, first=band is bands[0])), None)


def linear(tolerance_class: str, nominal: int) -> int | None:
    """Return the ± tolerance (pm, half-width) of a linear size; None where the standard gives none.

    Source: ISO 2768-1:1989, Table 1. Under 0.5 mm the tolerance must stand at the dimension.
    """
    return _find("linear", tolerance_class, nominal)


def broken_edge(tolerance_class: str, nominal: int) -> int | None:
    """Return the ± tolerance (pm, half-width) of an external radius or chamfer height.

    Source: ISO 2768-1:1989, Table 2.
    """
    return _find("broken edge", tolerance_class, nominal)


def angle(tolerance_class: str, shorter_side: int) -> int | None:
    """Return the ± tolerance (µas, half-width) of an angle whose shorter side is ``shorter_side`` pm.

    Source: ISO 2768-1:1989, Table 3.
    """
    return _find("angle", tolerance_class, shorter_side)
