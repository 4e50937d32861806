"""Fixed limits: which members of a set answer a bore as GO and NO-GO, and what part of its band they spend.

A gauge marked N of tolerance t lies in N … N + t (plus) or N − t … N (minus). GO must not be under the lower limit
and NO-GO not over the upper one, whatever the gauge's true size within its class. Source: ASME B89.1.5 practice.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right

from msgspec import Struct

from inspection.instruments.ratios import hundredths
from inspection.instruments.record import Direction, Instrument, Member
from inspection.standards.gauges import class_tolerance


class Gauge(Struct, frozen=True):
    """One member: its marked size, its class tolerance t, and the bounds of its true size; all in pm."""

    size: int
    tolerance: int
    least: int
    most: int
    label: str = ""


class Pair(Struct, frozen=True):
    """The members for one bore; None on a side that has no limit."""

    go: Gauge | None
    no_go: Gauge | None

    def share_hundredths(self, band: int) -> int:
        """T / t in hundredths, rounded down, of the member that spends most."""
        return min(hundredths(band, gauge.tolerance) for gauge in (self.go, self.no_go) if gauge is not None)


def tolerance_of(instrument: Instrument, size: int) -> int:
    """t of a member (pm): the record's own, else its class's at that size; 0 if neither is known."""
    return instrument.class_tolerance or class_tolerance(instrument.gauge_class, size) or 0


def true_bounds(size: int, tolerance: int, direction: Direction | None) -> tuple[int, int]:
    """Between which sizes a gauge marked ``size`` lies; without a stated direction, to both sides by t."""
    down = 0 if direction is Direction.PLUS else tolerance
    up = 0 if direction is Direction.MINUS else tolerance
    return size - down, size + up


def present(instrument: Instrument) -> tuple[Member, ...]:
    """The members of a set that are there: lost, worn and lent ones are not."""
    if not instrument.missing:
        return instrument.members
    missing = frozenset(instrument.missing)
    return tuple(member for member in instrument.members if member.size not in missing)


def _gauge(instrument: Instrument, member: Member) -> Gauge:
    tolerance = tolerance_of(instrument, member.size)
    least, most = true_bounds(member.size, tolerance, instrument.direction)
    return Gauge(member.size, tolerance, least, most, member.label)


def gauges_of(instrument: Instrument) -> tuple[Gauge, ...]:
    """The members of a set that are there and whose tolerance is known, by size."""
    made = (id(instrument.members), instrument.class_tolerance, instrument.gauge_class, instrument.direction)
    key = (*made, instrument.missing)
    held = _known.get(key)
    if held is None:
        gauges = (_gauge(instrument, member) for member in present(instrument))
        found = tuple(sorted((gauge for gauge in gauges if gauge.tolerance > 0), key=lambda gauge: gauge.size))
        while len(_known) >= _KEPT:
            _known.pop(next(iter(_known)))
        held = _known[key] = (instrument.members, found)
    return held[1]


# Hashing a set of hundreds of members costs more than the answer. The members are kept beside it, so that their id
# names no other tuple while the entry lives.
_known: dict[tuple[int, int, str, Direction | None, tuple[int, ...]], tuple[tuple[Member, ...], tuple[Gauge, ...]]] = {}
_KEPT = 512


def pair_for(gauges: tuple[Gauge, ...], lower: int | None, upper: int | None) -> Pair | None:
    """GO and NO-GO for a bore lower … upper (pm, None for an open side) from gauges by size; None if there are none.

    GO is the smallest that is surely not under the lower limit, NO-GO the largest surely not over the upper one; a
    pair needs GO the smaller of the two, else one size would have both to enter and not to enter.
    """
    go = no_go = None
    if lower is not None:
        at = bisect_left(gauges, lower, key=lambda gauge: gauge.least)
        if at == len(gauges):
            return None
        go = gauges[at]
    if upper is not None:
        at = bisect_right(gauges, upper, key=lambda gauge: gauge.most)
        if at == 0:
            return None
        no_go = gauges[at - 1]
    if (go is None and no_go is None) or (go and no_go and go.size >= no_go.size):
        return None
    return Pair(go, no_go)


def go_bounds(lower: int, upper: int, tolerance: int, *, ring: bool = False) -> tuple[tuple[int, int], tuple[int, int]]:
    """Where GO and NO-GO gauges made for lower … upper lie within their tolerance (pm), each as least and most.

    Plugs: GO L … L + t, NO-GO U − t … U. Rings for a shaft: GO U − t … U, NO-GO L … L + t.
    """
    at_lower, at_upper = (lower, lower + tolerance), (upper - tolerance, upper)
    return (at_upper, at_lower) if ring else (at_lower, at_upper)
