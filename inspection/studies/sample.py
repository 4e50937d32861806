"""Mean and scatter of values, exactly: in whole numbers as far as whole numbers go.

Sums of squares of large counts lose their digits in floating point and wrap in 64 bits; Python's integers do neither.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import sqrt
from operator import mul
from typing import TypeVar

from msgspec import Struct


class Sample(Struct, frozen=True):
    """``n`` values (counts): their ``total``, and ``squares`` = n Σx² − (Σx)²."""

    n: int
    total: int
    squares: int

    @property
    def mean(self) -> Fraction:
        """x̄ in counts."""
        return Fraction(self.total, self.n)

    @property
    def about_mean(self) -> Fraction:
        """Σ(x − x̄)² in counts²."""
        return Fraction(self.squares, self.n)

    @property
    def square(self) -> Fraction:
        """s² = Σ(x − x̄)² / (n − 1), in counts². ZeroDivisionError for one value."""
        return Fraction(self.squares, self.n * (self.n - 1))

    @property
    def deviation(self) -> float:
        """s in counts, the exact square rounded once and its root once."""
        return sqrt(self.square)


_Of = TypeVar("_Of", bound=Sample)


def sums_of(values: Sequence[int], kind: type[_Of]) -> _Of:
    """The sums of values (counts), one at least, as a ``kind`` of sample."""
    n, first = len(values), values[0]
    off = [value - first for value in values]  # smaller numbers, the same sum of squares about the mean
    total = sum(off)
    return kind(n, total + n * first, n * sum(map(mul, off, off)) - total * total)


def sample_of(values: Sequence[int]) -> Sample:
    """The sums of values (counts), one at least.

    >>> sample = sample_of([10**7 + 1, 10**7 + 3, 10**7 + 2])
    >>> sample.mean, sample.deviation
    (Fraction(10000002, 1), 1.0)
    """
    return sums_of(values, Sample)


def lag_one(values: Sequence[int]) -> Fraction:
    """The autocorrelation at lag one, r₁ = Σ(xᵢ − x̄)(xᵢ₊₁ − x̄) / Σ(xᵢ − x̄)²; 0 where the values never differ.

    Source: NIST/SEMATECH e-Handbook 1.3.5.12.

    >>> lag_one([10000001, 10000003, 10000002])
    Fraction(-1, 2)
    """
    sample = sample_of(values)
    if not sample.squares:
        return Fraction(0)
    off = [sample.n * value - sample.total for value in values]
    return Fraction(sum(map(mul, off, off[1:])), sample.n * sample.squares)
