"""Quantiles and probabilities of the normal distribution and of Student's t; quantiles of chi-square.

The library that computes them takes a moment to load; it is loaded by the first question for one that is not known yet,
and answers are kept. ``warm`` asks the usual ones, for the background.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache

import msgspec

from inspection.reasons import Reason, Refused

#: The coverage probability of every expanded uncertainty: two-sided, so that k is 2.000 for many degrees of freedom
#: (JCGM 100:2008 table G.2, column 95.45 %).
CONFIDENCE = Fraction(9545, 10_000)

#: Beyond so many degrees of freedom k is 2.000 to its three decimals, whichever of the usual probabilities is meant.
MANY = 100_000

_THOUSANDTH = 1_000


def checked(freedom: int | None) -> int | None:
    """Degrees of freedom as they are, None for very many. Raises Refused below 1: nothing was repeated."""
    if freedom is not None and freedom < 1:
        raise Refused(Reason("doubt.no_freedom", {"n": freedom + 1}))
    return None if freedom is None or freedom >= MANY else freedom


@cache
def quantile(probability: Fraction, freedom: int | None = None) -> float:
    """The one-sided quantile: of the normal distribution, or of Student's t with ``freedom`` degrees of freedom.

    Raises Refused for a probability that is not between 0 and 1, and for fewer than 1 degree of freedom.

    >>> round(quantile(Fraction(95, 100)), 4), round(quantile(Fraction(975, 1000), 19), 2)
    (1.6449, 2.09)
    """
    if not 0 < probability < 1:
        raise Refused(Reason("doubt.probability", {"got": str(float(probability))}))
    from scipy.special import ndtri, stdtrit

    held = checked(freedom)
    return float(ndtri(float(probability)) if held is None else stdtrit(held, float(probability)))


def below(x: float, freedom: int | None = None) -> float:
    """The probability of a value under ``x`` standard uncertainties.

    >>> round(below(2.0), 4)
    0.9772
    """
    from scipy.special import ndtr, stdtr

    held = checked(freedom)
    return float(ndtr(x) if held is None else stdtr(held, x))


@cache
def chi_square(probability: Fraction, freedom: int) -> float:
    """The quantile of chi-square with ``freedom`` degrees of freedom below which ``probability`` lies.

    Raises Refused for a probability that is not between 0 and 1, and for fewer than 1 degree of freedom.

    >>> round(chi_square(Fraction(95, 100), 10), 3), round(chi_square(Fraction(5, 100), 10), 3)
    (18.307, 3.94)
    """
    if not 0 < probability < 1:
        raise Refused(Reason("doubt.probability", {"got": str(float(probability))}))
    checked(freedom)
    from scipy.special import gammaincinv

    return 2 * float(gammaincinv(freedom / 2, float(probability)))


@cache
def coverage_factor(freedom: int | None = None, confidence: Fraction = CONFIDENCE) -> Fraction:
    """k: two-sided Student's t at ``confidence`` for whole degrees of freedom (None: infinitely many), to the three
    decimals it is printed with; those are what is reckoned with, so that the sum can be done again by hand.

    Raises Refused for fewer than 1 degree of freedom. Source: JCGM 100:2008 G.3, G.6.4.

    >>> float(coverage_factor()), float(coverage_factor(4)), float(coverage_factor(16, Fraction(99, 100)))
    (2.0, 2.869, 2.921)
    """
    if confidence == CONFIDENCE and freedom is None:
        return Fraction(2)
    return Fraction(round(quantile((1 + confidence) / 2, freedom) * _THOUSANDTH), _THOUSANDTH)


def coverage_factors(most: int) -> list[float]:
    """``coverage_factor`` for 1 … ``most`` degrees of freedom, at once.

    >>> coverage_factors(4) == [float(coverage_factor(freedom)) for freedom in (1, 2, 3, 4)]
    True
    """
    from scipy.special import stdtrit

    found = stdtrit(range(1, most + 1), float((1 + CONFIDENCE) / 2))
    return [round(each * _THOUSANDTH) / _THOUSANDTH for each in found.tolist()]


def warm() -> None:
    """Load what is needed and ask the usual quantiles, so that no reading waits for them."""
    quantile(Fraction(95, 100))
    for freedom in range(1, 31):
        coverage_factor(freedom)


def warmed() -> bool:
    """Whether what is needed has been loaded, so that the next question costs no wait."""
    return quantile.cache_info().currsize > 0


class Interval(msgspec.Struct, frozen=True):
    """Where a value lies between two limits, both in standard uncertainties from it; None for an open side."""

    down: float | None
    up: float | None

    def probability(self, freedom: int | None = None) -> float:
        """How probable it is that the true value lies between the limits (JCGM 106:2012, 7.2 to 7.4).

        >>> round(Interval(-1.0, 1.0).probability(), 4), round(Interval(None, 1.4).probability(), 2)
        (0.6827, 0.92)
        """
        upper = 1.0 if self.up is None else below(self.up, freedom)
        if self.down is None:
            return upper
        if self.up is None:
            return below(-self.down, freedom)
        if self.down > 0:  # both limits above: the difference of small tails keeps its digits
            return below(-self.down, freedom) - below(-self.up, freedom)
        return upper - below(self.down, freedom)
