"""What the height of a chart spans, and where round values lie on it, alike in the window and on paper."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from inspection.quantity.speaker import ABOUT, fewest_decimals, nearest, plain
from inspection.quantity.units import UNITS

#: The share of its height that a chart leaves free above and below what it shows.
FREE = Fraction(1, 12)
#: About so many round values stand beside a chart.
ROUND_VALUES = 5


class Span(NamedTuple):
    """From ``low`` to ``high``, in counts."""

    low: int
    high: int

    def share(self, value: int) -> float:
        """Where a value lies from 0 at ``low`` to 1 at ``high``: integers until the last step."""
        return (value - self.low) / (self.high - self.low)


class Grid(NamedTuple):
    """Round values within a span, with the decimals that tell them apart."""

    values: tuple[int, ...]
    decimals: int


def span_of(values: Iterable[int], least: int) -> Span | None:
    """What the height spans so that every value has its place, ``least`` wide at least; None without a value."""
    held = tuple(values)
    if not held:
        return None
    low, high = min(held), max(held)
    short = max(0, least - (high - low))
    free = int((high - low + short) * FREE) + 1
    return Span(low - short // 2 - free, high + short - short // 2 + free)


def grid_of(span: Span, unit: str) -> Grid:
    """Values of 1, 2 or 5 times a power of ten of the unit, as far apart as gives about ``ROUND_VALUES`` of them."""
    whole, wanted = UNITS[unit].count, Fraction(span.high - span.low, ROUND_VALUES)
    decimals = 0
    while Fraction(whole, 10**decimals) > wanted and whole % 10 ** (decimals + 1) == 0:
        decimals += 1
    step = whole // 10**decimals
    tens = 1
    while step * tens * 10 <= wanted:
        tens *= 10
    step *= tens * next((times for times in (1, 2, 5) if step * tens * times >= wanted), 10)
    while decimals and step % (whole // 10 ** (decimals - 1)) == 0:
        decimals -= 1
    first = -(-span.low // step)
    return Grid(tuple(step * n for n in range(first, span.high // step + 1)), decimals)


def number_near(value: int, unit: str, decimals: int) -> str:
    """A value beside a chart: exact where a decimal more than the round values have holds it, else marked as about."""
    fewest = fewest_decimals(value, unit)
    if fewest is not None and fewest <= decimals + 1:
        return plain(value, unit, decimals)
    return f"{ABOUT} {nearest(value, unit, decimals + 1)}"
