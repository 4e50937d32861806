"""Whether a process holds its limits: C_p, C_pk, P_p and P_pk, each with how far it can be believed.

C takes the scatter within, told from the moving range; P the scatter overall. Both divide the room there is by three
standard deviations, so that 1 means that the limits just hold x̄ ± 3σ. What they say of the share outside holds for
values that are normally distributed and come of a steady process; the chart tells whether it is one.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from fractions import Fraction
from functools import cache
from math import floor, pi, sqrt

from msgspec import Struct
from msgspec.structs import replace

from inspection.measuring.quantiles import below, chi_square, quantile
from inspection.studies.charts import SIGMAS, Individuals, individuals
from inspection.studies.sample import Sample, sample_of

#: Of fewer values no index is told: of 25 that come to 1.33, the process may as well be at 0.93 or at 1.73.
LEAST = 25
#: From so many on an estimate is of use (NIST/SEMATECH e-Handbook 6.1.6: "at least 50 independent data values").
ENOUGH = 50
#: How sure the intervals are, two-sided: 95 %, as common practice is with these indices.
SURE = Fraction(95, 100)


class Lack(StrEnum):
    """Why no index is told."""

    NONE = ""
    TOO_FEW = "too_few"
    NO_LIMIT = "no_limit"
    NO_SCATTER = "no_scatter"


class Index(Struct, frozen=True):
    """An index with the interval that holds the process's own one ``SURE`` of the time."""

    value: float
    low: float
    high: float


class Scatter(Struct, frozen=True):
    """Indices by one standard deviation ``sigma`` (counts) with its degrees of freedom: ``room`` is C_p or P_p, None
    without two limits; ``least`` is C_pk or P_pk; ``down`` and ``up`` its two sides, None where a side is open."""

    sigma: float
    freedom: int
    room: Index | None
    least: Index
    down: float | None
    up: float | None


class Capability(Struct, frozen=True):
    """What values come to against limits (counts). ``within`` and ``overall`` are None where ``lack`` says why.

    ``below`` and ``above`` count the values outside, ``expected`` is the share that a normal process of this mean and
    overall scatter puts outside, None without one. ``lower`` is None where the limit is a natural zero.
    """

    sample: Sample
    lower: int | None
    upper: int | None
    natural_zero: bool
    below: int
    above: int
    lack: Lack = Lack.NONE
    within: Scatter | None = None
    overall: Scatter | None = None
    expected: float | None = None

    @property
    def is_few(self) -> bool:
        """Whether there are fewer values than an estimate wants."""
        return self.sample.n < ENOUGH

    @property
    def is_near_zero(self) -> bool:
        """Whether values of an error lie so near to their natural zero that they cannot be normally distributed: it
        is nearer to the mean than 3 s. The indices then stand for no share outside."""
        if not self.natural_zero or self.sample.n < 2:
            return False
        return self.sample.mean**2 < SIGMAS**2 * self.sample.square


def capability(
    values: Sequence[int],
    lower: int | None,
    upper: int | None,
    *,
    natural_zero: bool = False,
    chart: Individuals | None = None,
) -> Capability | None:
    """The capability of values (counts) in the order measured; None without any. ``chart`` is that of these values,
    where it is there already.

    A natural zero is no limit: nothing lies under it, so that C_p has no meaning and C_pk looks up alone.
    Source: NIST/SEMATECH e-Handbook 6.1.6.

    >>> found = capability([0, 2, 1, 3, 2] * 10, -5, 8)
    >>> round(found.overall.least.value, 2), round(found.overall.room.value, 2)
    (2.07, 2.1)
    """
    if not values:
        return None
    if natural_zero:
        lower = None
    sample = sample_of(values)
    low = 0 if lower is None or min(values) >= lower else sum(value < lower for value in values)
    high = 0 if upper is None or max(values) <= upper else sum(value > upper for value in values)
    found = Capability(sample, lower, upper, natural_zero, low, high, _lack(sample, lower, upper))
    if found.lack:
        return found
    return _reckoned(found, chart or individuals(values))


def _lack(sample: Sample, lower: int | None, upper: int | None) -> Lack:
    if lower is None and upper is None:
        return Lack.NO_LIMIT
    if sample.n < LEAST:
        return Lack.TOO_FEW
    return Lack.NONE if sample.squares else Lack.NO_SCATTER


def _reckoned(found: Capability, chart: Individuals | None) -> Capability:
    assert chart is not None
    sample = found.sample
    within = _scatter(found, float(chart.sigma), range_freedom(sample.n))
    overall = _scatter(found, sample.deviation, sample.n - 1)
    outside = sum(below(-SIGMAS * side) for side in (overall.down, overall.up) if side is not None)
    return replace(found, within=within, overall=overall, expected=outside)


def _scatter(found: Capability, sigma: float, freedom: int) -> Scatter:
    n, total = found.sample.n, found.sample.total  # integers divided are rounded once, as a fraction would be
    down = None if found.lower is None else (total - n * found.lower) / n / (SIGMAS * sigma)
    up = None if found.upper is None else (n * found.upper - total) / n / (SIGMAS * sigma)
    room = None
    if found.lower is not None and found.upper is not None:
        room = room_index((found.upper - found.lower) / (2 * SIGMAS * sigma), freedom)
    least = min(side for side in (down, up) if side is not None)
    return Scatter(sigma, freedom, room, least_index(least, n, freedom), down, up)


def room_index(value: float, freedom: int, sure: Fraction = SURE) -> Index:
    """C_p or P_p with its interval: value × √(χ²/ν), by chi-square with ν ``freedom``.

    Source: NIST/SEMATECH e-Handbook 6.1.6.

    >>> found = room_index(1.33, 29)
    >>> round(found.low, 4), round(found.high, 4)
    (0.9894, 1.67)
    """
    low, high = _factors(freedom, sure)
    return Index(value, value * low, value * high)


@cache
def _factors(freedom: int, sure: Fraction) -> tuple[float, float]:
    low, high = (sqrt(chi_square(side, freedom) / freedom) for side in ((1 - sure) / 2, (1 + sure) / 2))
    return low, high


@cache
def _deviations(sure: Fraction) -> float:
    return quantile((1 + sure) / 2)


def least_index(value: float, n: int, freedom: int, sure: Fraction = SURE) -> Index:
    """C_pk or P_pk with its approximate interval: value ± z √(1/(9n) + value²/(2ν)).

    Source: NIST/SEMATECH e-Handbook 6.1.6 (where ν = n − 1), an approximation that serves from n = 25 on.

    >>> found = least_index(1.33, 30, 29)
    >>> round(found.low, 4), round(found.high, 4)
    (0.9675, 1.6925)
    """
    half = _deviations(sure) * sqrt(1 / (9 * n) + value * value / (2 * freedom))
    return Index(value, value - half, value + half)


def range_freedom(n: int) -> int:
    """ν of σ told from the mean moving range of ``n`` values, rounded down: that of the chi-square whose root scatters
    as much. About 0.6 (n − 1): moving ranges overlap, and tell less than s does.

    Var R̄ by the covariance of |x₁ − x₂| and |x₂ − x₃|, (2√3/π + 1/3 − 4/π) σ², from the bivariate normal distribution.

    >>> range_freedom(50), range_freedom(1_000)
    (29, 604)
    """
    own, shared = 2 - 4 / pi, 2 * sqrt(3) / pi + 1 / 3 - 4 / pi
    variance = ((n - 1) * own + 2 * (n - 2) * shared) / (n - 1) ** 2 * pi / 4
    return max(1, floor(1 / (2 * variance)))
