"""Whether values may be normal, held against scipy's own test, its critical values, and NIST's data."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inspection.studies.normality import CRITICAL, LEAST, normality
from inspection.studies.sample import sample_of

SIZE = 12_700_000_000
VALUES = st.lists(st.integers(-(10**6), 10**6), min_size=LEAST, max_size=80).filter(lambda held: len(set(held)) > 1)


def scipy_test(values: list[int]) -> tuple[float, float]:
    """A² and the critical value for 5 %."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", FutureWarning)
        found = stats.anderson([float(value) for value in values], "norm")
    return found.statistic, found.critical_values[list(found.significance_level).index(5.0)]


@given(VALUES)
def test_against_scipy(values: list[int]) -> None:
    found = normality([SIZE + value for value in values])
    assert found is not None
    square, critical = scipy_test(values)
    assert found.square == pytest.approx(square, rel=1e-9, abs=1e-11)
    assert critical * (1 + 0.75 / found.n + 2.25 / found.n**2) == pytest.approx(CRITICAL, abs=6e-4)


def test_in_twelve_digits_where_the_arithmetic_allows_it() -> None:
    source = Random(7)
    whole = [round(source.gauss(0, 10**6)) for _ in range(60)]
    found = normality(whole)
    assert found is not None
    assert found.square == pytest.approx(scipy_test(whole)[0], rel=1e-12)


def test_nist_data_that_are_normal_and_that_are_not(data: Callable[[str, int], dict[tuple[str, str], int]]) -> None:
    """Lew (StRD) is two-humped as a deflecting beam is: normality is refused."""
    found = normality(list(data("StRD Lew", 0).values()))
    assert found is not None
    assert found.is_refused
    normal = Random(3)
    steady = normality([round(normal.gauss(0, 10**6)) for _ in range(200)])
    assert steady is not None
    assert not steady.is_refused


def test_a_normal_process_is_refused_one_time_in_twenty() -> None:
    source = Random(11)
    refused = 0
    for _ in range(400):
        found = normality([round(source.gauss(0, 10**6)) for _ in range(30)])
        assert found is not None
        refused += found.is_refused
    assert stats.binom.sf(refused - 1, 400, 0.05) > 0.001
    assert stats.binom.cdf(refused, 400, 0.05) > 0.001


def test_of_few_values_and_of_equal_ones_nothing_is_told() -> None:
    assert normality(list(range(LEAST - 1))) is None
    assert normality([SIZE] * 50) is None
    assert sample_of([SIZE] * 50).squares == 0
