"""The line through values in their order, against two other programs, and what a coarse step hides."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt

import numpy
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from inspection.studies.trend import trend_of

SIZE = 12_700_000_000
VALUES = st.lists(st.integers(-(10**7), 10**7).map(lambda off: SIZE + off), min_size=3, max_size=40)


@given(VALUES)
def test_slope_agrees_with_a_fitted_polynomial(values: list[int]) -> None:
    """numpy.polyfit as oracle, the size taken off first so that it keeps its digits."""
    found = trend_of(values)
    assert found is not None
    slope, _ = numpy.polyfit(range(len(values)), [value - SIZE for value in values], 1)
    assert float(found.slope) == pytest.approx(slope, rel=1e-9, abs=1e-3)


@given(VALUES)
def test_whether_a_slope_is_told_agrees_with_linear_regression(values: list[int]) -> None:
    """scipy.stats.linregress as oracle: its two-sided p against 1 − 0.9545."""
    found = trend_of(values)
    assert found is not None
    assume(found.left > 0)
    oracle = stats.linregress(range(len(values)), [value - SIZE for value in values])
    assert sqrt(found.left / found.freedom) / sqrt((found.n**3 - found.n) / 12) == pytest.approx(
        oracle.stderr, rel=1e-6
    )
    assume(abs(oracle.pvalue - 0.0455) > 1e-4)  # t is reckoned with to the three decimals it is printed with
    assert found.is_told() == (oracle.pvalue < 0.0455)


@given(VALUES, st.integers(-(10**12), 10**12))
def test_the_place_of_the_values_does_not_matter(values: list[int], by: int) -> None:
    assert trend_of(values) == trend_of([value + by for value in values])


@given(VALUES)
def test_backwards_the_slope_turns(values: list[int]) -> None:
    there, back = trend_of(values), trend_of(values[::-1])
    assert there is not None
    assert back is not None
    assert (there.slope, there.left) == (-back.slope, back.left)


def test_a_line_is_found_as_it_is() -> None:
    found = trend_of([SIZE + 250 * n for n in range(12)])
    assert found is not None
    assert (found.slope, found.left, found.over, found.freedom) == (250, 0, 2750, 10)


def test_under_three_there_is_none() -> None:
    assert trend_of([]) is trend_of([5]) is trend_of([5, 6]) is None


def test_values_that_never_differ_do_not_drift() -> None:
    found = trend_of([7] * 9)
    assert found is not None
    assert (found.slope, found.is_told(), found.is_told(10)) == (0, False, False)


def test_three_values_one_step_apart_are_no_drift_on_a_coarse_scale() -> None:
    """By themselves they lie on a line without any rest; read in steps, rounding alone may have put them there."""
    found = trend_of([0, 1, 2])
    assert found is not None
    assert found.left == Fraction(0)
    assert found.is_told()
    assert not found.is_told(step=1)


def test_a_long_climb_is_told_on_a_coarse_scale_too() -> None:
    found = trend_of([n // 3 for n in range(18)])
    assert found is not None
    assert found.is_told(step=1)
