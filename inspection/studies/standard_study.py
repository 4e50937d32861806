"""One instrument on standards of known size: bias at one, linearity over several, stability over time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from math import sqrt

from msgspec import Struct

from inspection.measuring.quantiles import CONFIDENCE, coverage_factor
from inspection.studies.sample import Sample, sample_of


class Bias(Struct, frozen=True):
    """Readings (counts) of a standard of ``size``, with the standard uncertainty ``known`` of that size (counts)."""

    sample: Sample
    size: int
    known: Fraction = Fraction(0)

    @property
    def bias(self) -> Fraction:
        """x̄ − size, in counts."""
        return self.sample.mean - self.size

    @property
    def freedom(self) -> int:
        """ν = n − 1."""
        return self.sample.n - 1

    def half_width(self, confidence: Fraction = CONFIDENCE) -> float:
        """The bias is known to ± this (counts): k √(s²/n + u²) with Student's t for k."""
        square = self.sample.square / self.sample.n + self.known**2
        return float(coverage_factor(self.freedom, confidence)) * sqrt(square)

    def is_told(self, step: int = 0, confidence: Fraction = CONFIDENCE) -> bool:
        """Whether the bias is more than chance, and more than half of the ``step`` r that readings are rounded to."""
        return abs(self.bias) > self.half_width(confidence) and 2 * abs(self.bias) > step


def bias_of(readings: Sequence[int], size: int, known: Fraction = Fraction(0)) -> Bias | None:
    """The bias shown by readings (counts) of a standard; None under two. Source: NIST/SEMATECH e-Handbook 2.1.1.3."""
    return Bias(sample_of(readings), size, known) if len(readings) > 1 else None


class Line(Struct, frozen=True):
    """The line of least squares y = ``at`` + ``slope`` (x − ``middle``) through ``n`` points: ``spread`` is Σ(x − x̄)²
    and ``left`` the sum of squares that the line leaves. Exact."""

    n: int
    middle: Fraction
    at: Fraction
    slope: Fraction
    spread: Fraction
    left: Fraction

    @property
    def freedom(self) -> int:
        """ν = n − 2."""
        return self.n - 2

    @property
    def deviation(self) -> float:
        """The standard deviation of what the line leaves."""
        return sqrt(self.left / self.freedom)

    @property
    def slope_deviation(self) -> float:
        """The standard deviation of the slope."""
        return self.deviation / sqrt(self.spread)

    def value(self, x: Fraction | int) -> Fraction:
        """y on the line."""
        return self.at + self.slope * (x - self.middle)

    def half_width(self, x: Fraction | int, confidence: Fraction = CONFIDENCE) -> float:
        """The line is known to ± this at x."""
        square = self.left / self.freedom * (Fraction(1, self.n) + (x - self.middle) ** 2 / self.spread)
        return float(coverage_factor(self.freedom, confidence)) * sqrt(square)

    def is_told(self, confidence: Fraction = CONFIDENCE) -> bool:
        """Whether the slope is more than chance: |slope| over its standard deviation exceeds Student's t."""
        factor = coverage_factor(self.freedom, confidence)
        return self.slope**2 * self.spread * self.freedom > factor**2 * self.left


def line_through(points: Sequence[tuple[int, int]]) -> Line | None:
    """The line through points of whole x and y; None under three points, or where x never differs.

    >>> line = line_through([(0, 1), (10, 3), (20, 5)])
    >>> line.slope, line.value(5), line.left
    (Fraction(1, 5), Fraction(2, 1), Fraction(0, 1))
    """
    if len(points) < 3 or len({x for x, _ in points}) < 2:
        return None
    n = len(points)
    xs, ys = sample_of([x for x, _ in points]), sample_of([y for _, y in points])
    first_x, first_y = points[0]
    mixed = sum((x - first_x) * (y - first_y) for x, y in points)
    together = mixed - Fraction((xs.total - n * first_x) * (ys.total - n * first_y), n)
    slope = together / xs.about_mean
    return Line(n, xs.mean, ys.mean, slope, xs.about_mean, ys.about_mean - slope * together)


class Linearity(Struct, frozen=True):
    """How the bias goes with the size: the line of each reading's error (counts) over its standard's size (counts), and
    the bias at each standard by its size."""

    line: Line
    at: Mapping[int, Bias]

    @property
    def over(self) -> Fraction:
        """By how much the bias on the line changes from the smallest standard to the largest, in counts."""
        return self.line.slope * (max(self.at) - min(self.at))


def linearity_of(readings: Mapping[int, Sequence[int]]) -> Linearity | None:
    """Readings (counts) by the size of the standard (counts); None under two standards of two readings each.

    Source: NIST/SEMATECH e-Handbook 2.1.1.4 and 4.1.4.1 (least squares).
    """
    biases = {size: bias for size, of in readings.items() if (bias := bias_of(of, size)) is not None}
    line = line_through([(size, each - size) for size in biases for each in readings[size]])
    return Linearity(line, biases) if line is not None else None
