"""What the range of n values of one normal distribution comes to, and the factors of charts that follow from it."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from math import sqrt

from msgspec import Struct

from inspection.standards.tables import rows


class RangeConstants(Struct, frozen=True):
    """For ranges R of ``n`` values that scatter with σ: ``d2`` is R̄/σ and ``d3`` the standard deviation of R over σ.

    As tabled, exact: a limit that is reckoned with them is exact too, and can be done again by hand.
    """

    n: int
    d2: Fraction
    d3: Fraction

    @property
    def upper(self) -> Fraction:
        """D₄ = 1 + 3 d₃/d₂: ranges lie beyond this times R̄ on about one chart point in a hundred by chance (n = 2)."""
        return 1 + 3 * self.d3 / self.d2

    @property
    def lower(self) -> Fraction:
        """D₃ = 1 − 3 d₃/d₂, not under 0."""
        return max(Fraction(0), 1 - 3 * self.d3 / self.d2)

    @property
    def of_one(self) -> float:
        """d₂* = √(d₂² + d₃²), which takes the place of d₂ where σ is told from a single range."""
        return sqrt(self.d2**2 + self.d3**2)


@cache
def _constants() -> Mapping[int, RangeConstants]:
    found = (RangeConstants(int(row["n"]), Fraction(row["d2"]), Fraction(row["d3"])) for row in rows("range_constants"))
    return {each.n: each for each in found}


def range_constants(n: int) -> RangeConstants | None:
    """The constants for ranges of ``n`` values; None beyond those tabled (2 … 25).

    >>> round(float(range_constants(2).d2), 3), round(float(range_constants(5).upper), 3)
    (1.128, 2.114)
    """
    return _constants().get(n)


def most_tabled() -> int:
    """The largest n tabled."""
    return max(_constants())
