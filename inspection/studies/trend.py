"""A straight line through values in their order, and whether its slope can be told from nothing."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from msgspec import Struct

from inspection.measuring.quantiles import CONFIDENCE, coverage_factor


class Trend(Struct, frozen=True):
    """The line of least squares through ``n`` values taken one after another: ``slope`` in counts a step from one to
    the next, and ``left``, the sum of squares (counts²) that it leaves. Exact."""

    n: int
    slope: Fraction
    left: Fraction

    @property
    def freedom(self) -> int:
        """ν = n − 2: the line takes two."""
        return self.n - 2

    @property
    def over(self) -> Fraction:
        """How far the line goes from the first value to the last, in counts."""
        return self.slope * (self.n - 1)

    def is_told(self, step: int = 0, confidence: Fraction = CONFIDENCE) -> bool:
        """Whether the slope is told from nothing: |slope| over its standard deviation exceeds two-sided Student's t.

        ``step`` is the smallest step r (counts) of the scale that the values were read from. What the line leaves is
        taken as r²/12 at least, for values on a coarse scale can lie on a line by rounding alone.
        """
        scatter = max(self.left / self.freedom, Fraction(step * step, 12))
        return self.slope**2 * _squares(self.n) > coverage_factor(self.freedom, confidence) ** 2 * scatter


def trend_of(values: Sequence[int]) -> Trend | None:
    """The trend of values (counts) in the order taken; None under three, where nothing is left to judge it by.

    >>> trend_of([0, 2, 1, 3]).slope
    Fraction(4, 5)
    """
    n = len(values)
    if n < 3:
        return None
    off = [value - values[0] for value in values]
    places = [2 * place - (n - 1) for place in range(n)]  # twice the distance from the middle, so that it is whole
    together = Fraction(sum(place * value for place, value in zip(places, off, strict=True)), 2)
    slope = together / _squares(n)
    squares = sum(value * value for value in off) - Fraction(sum(off) ** 2, n)
    return Trend(n, slope, squares - slope * together)


def _squares(n: int) -> Fraction:
    """Σ(i − ī)² of 0 … n − 1."""
    return Fraction(n * (n * n - 1), 12)
