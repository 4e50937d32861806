"""Capability: NIST/SEMATECH 6.1.6, scipy on random data, one-sided and natural-zero limits, what intervals hold."""

from __future__ import annotations

from collections.abc import Callable
from math import pi, sqrt

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from scipy.optimize import brentq

from inspection.studies.capability import ENOUGH, LEAST, Lack, capability, least_index, range_freedom, room_index

Stated = Callable[[str, str], str]
SIZE = 12_700_000_000
HALF = 127_000_000
EXACT = 1e-12
VALUES = st.lists(st.integers(-HALF, HALF).map(lambda off: SIZE + off), min_size=LEAST, max_size=80)


def two_point(mean: int, deviation: int, n: int = 50) -> list[int]:
    """Values with this mean, and with s² = deviation² n/(n − 1)."""
    return [mean - deviation, mean + deviation] * (n // 2)


def test_worked_example(stated: Stated) -> None:
    """NIST/SEMATECH 6.1.6: limits 8 and 20, mean 16, s = 2. Scaled so that s is 2 but for √(n/(n − 1))."""
    item, one, n = "NIST 6.1.6 example", 10**6, 50
    values = two_point(16 * one, 2 * one, n)
    found = capability(values, 8 * one, 20 * one)
    assert found is not None and found.overall is not None and found.overall.room is not None
    back = sqrt(n / (n - 1))
    assert found.overall.room.value * back == pytest.approx(float(stated(item, "Cp")), rel=EXACT)
    assert found.overall.up is not None and found.overall.down is not None
    assert round(found.overall.up * back, 4) == float(stated(item, "Cpu"))
    assert round(found.overall.down * back, 4) == float(stated(item, "Cpl"))
    assert round(found.overall.least.value * back, 4) == float(stated(item, "Cpk"))


@pytest.mark.parametrize(("value", "n"), [("1.33", 30), ("1.0", 50), ("1.67", 10)])
def test_intervals_of_the_handbook(value: str, n: int, stated: Stated) -> None:
    """The formulas of NIST/SEMATECH 6.1.6, computed apart."""
    for name, found in (
        ("Cpk", least_index(float(value), n, n - 1)),
        ("Cp", room_index(float(value), n - 1)),
    ):
        low, high = stated(f"95 % interval for {name} = {value}, n = {n}", "lower..upper").split("..")
        assert (f"{found.low:.4f}", f"{found.high:.4f}") == (low, high)


@pytest.mark.parametrize("cp", ["1.0", "1.33", "1.67", "2.0"])
def test_share_outside_of_a_centred_process(cp: str, stated: Stated) -> None:
    """2 Φ(−3 C_p) in parts per million, to the four figures that are given."""
    n, one = 1_000, 10**9
    room = round(3 * float(cp) * one * sqrt(n / (n - 1)))
    found = capability(two_point(0, one, n), -room, room)
    assert found is not None and found.expected is not None
    printed = stated("fraction outside for centred normal", f"Cp = {cp}")
    assert found.expected * 1e6 == pytest.approx(float(printed), rel=3e-4)


@given(VALUES, st.integers(1, HALF))
def test_indices_against_numpy_and_scipy(values: list[int], half: int) -> None:
    found = capability(values, SIZE - half, SIZE + half)
    assert found is not None
    off = numpy.array([value - SIZE for value in values], dtype=float)
    assert (found.below, found.above) == (int((off < -half).sum()), int((off > half).sum()))
    if not off.std():
        assert found.lack is Lack.NO_SCATTER
        return
    n, overall = len(off), off.std(ddof=1)
    within = numpy.abs(numpy.diff(off)).mean() * sqrt(pi) / 2
    for scatter, sigma in ((found.overall, overall), (found.within, within)):
        assert scatter is not None and scatter.room is not None
        assert scatter.sigma == pytest.approx(sigma, rel=EXACT)
        assert scatter.room.value == pytest.approx(2 * half / (6 * sigma), rel=EXACT)
        least = min(half - off.mean(), off.mean() + half) / (3 * sigma)
        assert scatter.least.value == pytest.approx(least, rel=EXACT, abs=1e-12)
    assert found.overall is not None and found.overall.room is not None
    low, high = (sqrt(stats.chi2.ppf(side, n - 1) / (n - 1)) for side in (0.025, 0.975))
    assert found.overall.room.low == pytest.approx(2 * half / (6 * overall) * low, rel=1e-9)
    assert found.overall.room.high == pytest.approx(2 * half / (6 * overall) * high, rel=1e-9)
    outside = stats.norm.cdf(-half, off.mean(), overall) + stats.norm.sf(half, off.mean(), overall)
    assert found.expected == pytest.approx(outside, rel=1e-9, abs=1e-15)


def test_one_limit_has_no_room_and_looks_one_way() -> None:
    values = two_point(100, 10)
    upper, lower = capability(values, None, 160), capability(values, 70, None)
    assert upper is not None and upper.within is not None and upper.overall is not None
    assert lower is not None and lower.overall is not None
    assert (upper.within.room, upper.overall.room, upper.overall.down) == (None, None, None)
    assert upper.overall.least.value == upper.overall.up == pytest.approx(60 / 3 / upper.overall.sigma, rel=EXACT)
    assert lower.overall.least.value == lower.overall.down == pytest.approx(30 / 3 / lower.overall.sigma, rel=EXACT)
    none = capability(values, None, None)
    assert none is not None
    assert (none.lack, none.overall) == (Lack.NO_LIMIT, None)


def test_a_natural_zero_is_no_limit() -> None:
    """A flatness of 8 within 50: near 0 is good, and C_p from 0 to 50 would call it off the middle."""
    values = two_point(8_000, 4_000)
    found = capability(values, 0, 50_000, natural_zero=True)
    assert found is not None and found.overall is not None
    assert (found.lower, found.overall.room, found.overall.down, found.below) == (None, None, None, 0)
    assert found.overall.least.value == pytest.approx(42_000 / 3 / found.overall.sigma, rel=EXACT)
    assert found.is_near_zero, "8 lies 2 s from 0"
    far = capability(two_point(30_000, 4_000), 0, 50_000, natural_zero=True)
    assert far is not None
    assert not far.is_near_zero


def test_too_few_are_told_and_not_reckoned() -> None:
    assert capability([], 0, 1) is None
    few, least = (capability(two_point(5, 1, 24 + more)[: 24 + more], 0, 10) for more in (0, 2))
    assert few is not None and least is not None
    assert (few.lack, few.overall, few.within, few.expected) == (Lack.TOO_FEW, None, None, None)
    assert (few.below, few.above) == (0, 0)
    assert least.lack is Lack.NONE and least.is_few
    assert (LEAST, ENOUGH) == (25, 50)
    flat = capability([5] * 40, 0, 10)
    assert flat is not None
    assert flat.lack is Lack.NO_SCATTER


def _ranges(sample: numpy.ndarray) -> numpy.ndarray:
    deviations: numpy.ndarray = numpy.abs(numpy.diff(sample, axis=1)).mean(axis=1) * sqrt(pi) / 2
    return deviations


@pytest.mark.parametrize("n", [25, 60])
def test_intervals_hold_what_they_promise(n: int) -> None:
    """Twenty thousand normal processes: the interval of C_p from moving ranges holds the true one 19 times of 20 and
    more, for its degrees of freedom are rounded down."""
    chance = numpy.random.default_rng(n)
    sample = chance.standard_normal((20_000, n))
    freedom = range_freedom(n)
    unit = room_index(1.0, freedom)
    within = 1 / _ranges(sample)
    held = ((within * unit.low <= 1) & (within * unit.high >= 1)).mean()
    assert 0.945 < held < 0.965
    assert range_freedom(n) <= 1 / (2 * _ranges(sample).var()) * 1.05


@pytest.mark.parametrize("n", [25, 60])
@pytest.mark.parametrize("true", [0.8, 4 / 3, 2.0])
def test_intervals_of_the_least_index_hold_the_true_one(n: int, true: float) -> None:
    """Twenty thousand normal processes with a limit, or both limits, 3 C_pk σ off: the interval holds the true index
    19 times of 20 and misses no more than one in a hundred more; its low end, by which a customer goes, lies above the
    true index no more than 3 times of 100. So it is with s (P_pk) and with the moving ranges (C_pk)."""
    chance = numpy.random.default_rng(n)
    sample = chance.standard_normal((20_000, n))
    mean = sample.mean(axis=1)
    for sigma, freedom in ((sample.std(axis=1, ddof=1), n - 1), (_ranges(sample), range_freedom(n))):
        for off in (mean, numpy.abs(mean)):  # one limit; the nearer of two
            seen = [least_index(float(value), n, freedom) for value in (3 * true - off) / (3 * sigma)]
            low, high = (numpy.array([getattr(each, end) for each in seen]) for end in ("low", "high"))
            assert 0.94 < ((low <= true) & (true <= high)).mean() < 0.966
            assert (low > true).mean() < 0.03


@pytest.mark.parametrize(("value", "n"), [(1.0, 25), (4 / 3, 25), (4 / 3, 50), (2.0, 100)])
def test_the_interval_of_one_limit_is_near_the_exact_one(value: float, n: int) -> None:
    """Exactly, √n 3 C_pu is a noncentral t of n − 1 degrees of freedom with the noncentrality √n 3 C_pu of the process
    (by its definition); the approximation lies within a twenty-fifth of those ends."""
    found, root = least_index(value, n, n - 1), 3 * sqrt(n)
    for end, side in ((found.low, 0.975), (found.high, 0.025)):
        exact = brentq(lambda true, side=side: stats.nct.cdf(root * value, n - 1, root * true) - side, 0.2, 5)
        assert end == pytest.approx(exact, rel=0.04)
