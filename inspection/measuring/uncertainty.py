"""An uncertainty budget as a value: its lines, what they combine to, and what follows at 95.45 %.

Every variance is an exact fraction, so that budgets add up, ratios meet their thresholds and degrees of freedom are cut
to whole numbers without a rounding in between. Sources: JCGM 100:2008 (GUM) clauses 4, 5, 6 and annex G.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum
from fractions import Fraction

from msgspec import Struct

from inspection.measuring.quantiles import CONFIDENCE, coverage_factor
from inspection.quantity.roots import root_up
from inspection.reasons import Reason, Refused


class Distribution(StrEnum):
    """What is assumed of a quantity; with it goes the divisor from its stated width to its standard uncertainty."""

    NORMAL = "normal"
    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"
    ARCSINE = "arcsine"
    QUADRATIC = "quadratic"  # of a rectangular angle's square


#: Squares of the divisors of a half-width (JCGM 100:2008, 4.3.7, 4.3.9; JCGM 101:2008, 6.4.6 for the arcsine).
HALF_WIDTH = {
    Distribution.RECTANGULAR: Fraction(3),
    Distribution.TRIANGULAR: Fraction(6),
    Distribution.ARCSINE: Fraction(2),
}


class Measure(StrEnum):
    """In what a line's own quantity is counted; its standard uncertainty and sensitivity follow."""

    COUNT = "count"  # counts of the row's kind: pm or µas
    TEMPERATURE = "temperature"  # kelvin
    EXPANSION = "expansion"  # 1 per kelvin
    ANGLE = "angle"  # radian


class Line(Struct, frozen=True):
    """One line of a budget.

    ``name`` is its code, ``what`` says what it is and ``estimate`` the width or deviation as written. The squared
    standard uncertainty u(x)² is ``square``, in squares of ``measure``; the square of the divisor that gave it is
    ``divisor``. ``sensitivity`` is ∂y/∂x in counts of the result per ``measure``; ``freedom`` is ν, None for
    infinitely many.
    """

    name: str
    what: Reason
    estimate: Reason
    distribution: Distribution
    divisor: Fraction
    square: Fraction
    measure: Measure = Measure.COUNT
    sensitivity: Fraction = Fraction(1)
    freedom: Fraction | None = None

    @property
    def variance(self) -> Fraction:
        """(∂y/∂x · u(x))², in squared counts of the result: what the line contributes."""
        return self.square * self.sensitivity**2


class Budget(Struct, frozen=True):
    """A reading's uncertainty by its lines.

    ``uncorrected`` is the size of a known error left uncorrected (counts, not negative): it is added to U whole, as
    U' = U + |C| (JCGM 100:2008, F.2.4.5 as simplified; ISO 14253-2).
    """

    lines: tuple[Line, ...]
    uncorrected: Fraction = Fraction(0)

    @property
    def variance(self) -> Fraction:
        """The combined variance u_c², in squared counts."""
        return sum((line.variance for line in self.lines), Fraction(0))

    @property
    def effective(self) -> Fraction | None:
        """Effective degrees of freedom by Welch and Satterthwaite (JCGM 100:2008, G.4.1), None for infinitely many."""
        fourth = sum((line.variance**2 / line.freedom for line in self.lines if line.freedom is not None), Fraction(0))
        return self.variance**2 / fourth if fourth else None

    @property
    def freedom(self) -> int | None:
        """Effective degrees of freedom cut to a whole number (JCGM 100:2008, G.4.1 note 1)."""
        effective = self.effective
        return None if effective is None else effective.numerator // effective.denominator

    def factor(self, confidence: Fraction = CONFIDENCE) -> Fraction:
        """k for the budget's degrees of freedom."""
        return coverage_factor(self.freedom, confidence)

    def expanded_square(self, confidence: Fraction = CONFIDENCE) -> Fraction:
        """(k u_c)² in squared counts, before anything uncorrected is added."""
        return self.factor(confidence) ** 2 * self.variance

    def expanded(self, unit_count: int, confidence: Fraction = CONFIDENCE) -> int:
        """U, with what is left uncorrected, in counts: rounded up to two significant digits in the unit of
        ``unit_count`` counts (JCGM 100:2008, 7.2.6)."""
        return rounded_up_sum(self.expanded_square(confidence), self.uncorrected, unit_count)

    def share(self, line: Line) -> int:
        """What part of the combined variance a line is, in hundredths, to the nearest."""
        return round(100 * line.variance / self.variance)

    @property
    def largest(self) -> Line:
        """The line that contributes most."""
        return max(self.lines, key=lambda line: line.variance)


def combined(lines: Iterable[Line], uncorrected: Fraction = Fraction(0)) -> Budget:
    """The budget of independent ``lines``; lines that contribute nothing are left out.

    Raises Refused where nothing contributes: an instrument of which nothing is known proves nothing, and says so
    rather than giving an uncertainty of 0.
    """
    held = tuple(line for line in lines if line.variance)
    if not held:
        raise Refused(Reason("doubt.nothing_known"))
    return Budget(held, abs(uncorrected))


def bounded(
    name: str,
    what: Reason,
    estimate: Reason,
    half_width: Fraction | int,
    distribution: Distribution = Distribution.RECTANGULAR,
    measure: Measure = Measure.COUNT,
    sensitivity: Fraction | int = 1,
    freedom: Fraction | int | None = None,
) -> Line:
    """A line for a quantity known within ± ``half_width`` (in ``measure``): u = a / √divisor of its distribution.

    Raises Refused for a negative half-width.

    >>> line = bounded("error", Reason(""), Reason(""), 3)
    >>> line.square, line.divisor
    (Fraction(3, 1), Fraction(3, 1))
    """
    if half_width < 0:
        raise Refused(Reason("doubt.width_negative", {"part": name}))
    divisor = HALF_WIDTH[distribution]
    square = Fraction(half_width) ** 2 / divisor
    return Line(name, what, estimate, distribution, divisor, square, measure, Fraction(sensitivity), _nu(freedom))


def deviating(
    name: str,
    what: Reason,
    estimate: Reason,
    square: Fraction | int,
    divisor: Fraction | int = 1,
    measure: Measure = Measure.COUNT,
    sensitivity: Fraction | int = 1,
    freedom: Fraction | int | None = None,
) -> Line:
    """A line for a quantity with a known deviation: ``square`` is the squared deviation, or squared expanded
    uncertainty, before the division by ``divisor`` (m readings in a mean, k² of a certificate).

    Raises Refused for a negative square or a divisor that is not over 0.
    """
    if square < 0 or divisor <= 0:
        raise Refused(Reason("doubt.width_negative", {"part": name}))
    divisor = Fraction(divisor)
    held = Fraction(square) / divisor
    return Line(name, what, estimate, Distribution.NORMAL, divisor, held, measure, Fraction(sensitivity), _nu(freedom))


def _nu(freedom: Fraction | int | None) -> Fraction | None:
    if freedom is not None and freedom < 1:
        raise Refused(Reason("doubt.no_freedom", {"n": int(freedom) + 1}))
    return None if freedom is None else Fraction(freedom)


def rounded_up_sum(square: Fraction, added: Fraction, unit_count: int) -> int:
    """√``square`` + ``added`` (counts) rounded up to two significant digits in a unit of ``unit_count`` counts.

    Where a digit of the unit is finer than a count, the next whole count.

    >>> rounded_up_sum(Fraction(4), Fraction(1), 1), rounded_up_sum(Fraction(10**8), Fraction(101), 1)
    (3, 11000)
    """
    if square <= 0 and added <= 0:
        return 0
    step = Fraction(unit_count)
    while not _within(square, added, 99 * step):
        step *= 10
    while _within(square, added, Fraction(99, 10) * step):
        step /= 10
    digits = _digits(square, added, step)
    return -(-digits * step.numerator // step.denominator)


def _within(square: Fraction, added: Fraction, bound: Fraction) -> bool:
    """Whether √square + added ≤ bound, exactly."""
    return bound >= added and square <= (bound - added) ** 2


def _digits(square: Fraction, added: Fraction, step: Fraction) -> int:
    """The fewest whole steps that √square + added does not exceed."""
    digits = root_up(square / step**2) + added.numerator * step.denominator // (added.denominator * step.numerator)
    while not _within(square, added, digits * step):
        digits += 1
    while digits and _within(square, added, (digits - 1) * step):
        digits -= 1
    return digits
