"""Roots of exact squares, rounded to the side that is asked for."""

from __future__ import annotations

from fractions import Fraction
from math import isqrt


def root_up(square: Fraction) -> int:
    """The smallest integer not below the square root of a fraction that is not negative.

    >>> root_up(Fraction(9)), root_up(Fraction(19, 2))
    (3, 4)
    """
    root = isqrt(square.numerator // square.denominator)
    return root if root * root >= square else root + 1
