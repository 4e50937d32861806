"""The chart of individual values and their moving ranges: whether what was measured in time comes of one process.

Limits are exact, so that a value on a limit is inside it on every machine.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import groupby, pairwise
from math import ceil, floor
from operator import sub

from msgspec import Struct

from inspection.standards.ranges import range_constants
from inspection.studies.sample import Sample, sample_of

#: Limits of a chart lie so many standard deviations from its middle; common practice since the first charts.
SIGMAS = 3
#: So many values one after another on one side of the middle are no chance: one series in 128 (NIST/SEMATECH
#: e-Handbook 6.3.2, the fourth of its usual rules).
RUN = 8
#: A chart of fewer values has limits that say little; common practice.
FEW = 20


class Individuals(Struct, frozen=True):
    """A chart of ``values`` (counts) in the order measured, two at least.

    ``mean`` is x̄, ``range_mean`` the mean moving range, both exact in counts. ``runs`` are the first and last places of
    each series of ``RUN`` or more values on one side of the mean.
    """

    values: tuple[int, ...]
    mean: Fraction
    range_mean: Fraction
    runs: tuple[tuple[int, int], ...]

    @property
    def ranges(self) -> tuple[int, ...]:
        """How far each value lies from the one before it; one fewer than values."""
        return tuple(abs(after - before) for before, after in pairwise(self.values))

    @property
    def sigma(self) -> Fraction:
        """σ within, told from the moving ranges: R̄/d₂."""
        return self.range_mean / _PAIR.d2

    @property
    def lower(self) -> Fraction:
        """The lower limit of the values, x̄ − 3 R̄/d₂."""
        return self.mean - SIGMAS * self.sigma

    @property
    def upper(self) -> Fraction:
        """The upper limit of the values, x̄ + 3 R̄/d₂."""
        return self.mean + SIGMAS * self.sigma

    @property
    def range_upper(self) -> Fraction:
        """The upper limit of the moving ranges, D₄R̄; their lower one is 0."""
        return _PAIR.upper * self.range_mean

    @property
    def beyond(self) -> tuple[int, ...]:
        """The places of values outside the limits."""
        low, high = ceil(self.lower), floor(self.upper)  # for whole values the same
        return tuple(place for place, value in enumerate(self.values) if value < low or value > high)

    @property
    def leaps(self) -> tuple[int, ...]:
        """The places of values that lie too far from the one before them."""
        most = floor(self.range_upper)
        return tuple(place for place, each in enumerate(self.ranges, 1) if each > most)

    @property
    def is_steady(self) -> bool:
        """Whether nothing on the chart tells of a change: no value beyond, no leap, no run."""
        return not (self.beyond or self.leaps or self.runs)


_FOUND = range_constants(2)
assert _FOUND is not None
_PAIR = _FOUND


def individuals(values: Sequence[int]) -> Individuals | None:
    """The chart of values (counts) in the order measured; None under two, which have no range.

    Source: NIST/SEMATECH e-Handbook 6.3.2.2; d₂ and D₄ with all their digits, so that limits differ in the fifth
    figure from those reckoned with 1.128.

    >>> chart = individuals([496, 476, 499, 513])
    >>> float(chart.range_mean), round(float(chart.upper), 1)
    (19.0, 546.5)
    """
    if len(values) < 2:
        return None
    sample = sample_of(values)
    ranges = sum(map(abs, map(sub, values[1:], values)))
    return Individuals(tuple(values), sample.mean, Fraction(ranges, sample.n - 1), tuple(_runs(values, sample)))


def _runs(values: Sequence[int], sample: Sample) -> Iterator[tuple[int, int]]:
    """The first and last places of long series on one side; a value on the mean ends one."""
    place, n_all, total = 0, sample.n, sample.total  # n times a value against the sum: integers are the quickest
    for side, group in groupby([(value * n_all > total) - (value * n_all < total) for value in values]):
        n = len(list(group))
        if side and n >= RUN:
            yield place, place + n - 1
        place += n
