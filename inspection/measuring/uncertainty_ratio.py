"""The uncertainty ratio T / 2U from a budget, exactly: with its own k, and with what is left uncorrected in U."""

from __future__ import annotations

from fractions import Fraction
from math import isqrt

from inspection.measuring.uncertainty import Budget


def uncertainty_hundredths(band: int, budget: Budget) -> int:
    """⌊100 · T / 2U⌋ for a ``band`` T in counts, with U = k u_c + |C| unrounded.

    >>> from inspection.measuring.uncertainty import combined, deviating
    >>> from inspection.reasons import Reason
    >>> line = deviating("reading", Reason(""), Reason(""), 100)
    >>> uncertainty_hundredths(120, combined([line])), uncertainty_hundredths(120, combined([line], Fraction(10)))
    (300, 200)
    """
    if band <= 0:
        return 0
    square, left = budget.expanded_square(), budget.uncorrected
    if not left:
        return isqrt(2500 * band * band * square.denominator // square.numerator)
    low, high = 0, isqrt(2500 * band * band * square.denominator // square.numerator) + 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if _holds(band, square, left, middle) else (low, middle)
    return low


def _holds(band: int, square: Fraction, left: Fraction, hundredths: int) -> bool:
    """Whether 100 T ≥ hundredths · 2 (√square + left)."""
    rest = 100 * band - 2 * hundredths * left
    return rest >= 0 and rest**2 >= (2 * hundredths) ** 2 * square


def largest_bound(band: int, needed: int) -> int:
    """The largest part that ``band`` holds ``needed`` hundredths times: r for T / r, or 2E for T / 2E.

    >>> largest_bound(1_000, 400)
    250
    """
    return 100 * band // needed if needed > 0 else band
