"""More than 3 s from the mean, exactly: against the standard library's statistics, and at the very edge."""

from __future__ import annotations

import statistics
from fractions import Fraction
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import t

from inspection.studies.outlying import ENOUGH, Past, past_of

COUNTS = st.integers(-(2**53), 2**53)


def test_too_few_say_nothing() -> None:
    assert past_of([1, 2, 3, 4]) is None
    assert past_of([1, 2, 3, 4, 5]) is not None
    assert ENOUGH == 5


@given(st.lists(COUNTS, min_size=5, max_size=12), COUNTS)
def test_mean_and_deviation_are_exact(values: list[int], value: int) -> None:
    past = past_of(values)
    assert past is not None
    exact = [Fraction(each) for each in values]
    assert past.mean == statistics.mean(exact)
    assert past.square == statistics.variance(exact)
    assert past.is_beyond(value) is ((value - past.mean) ** 2 > 9 * past.square)


def test_on_three_s_is_not_beyond() -> None:
    past = past_of([-2, -1, 0, 1, 2, -2, -1, 0, 1, 2, 0])
    assert past == Past(11, 0, 220)
    assert past.square == 2
    assert not past.is_beyond(4), "3 s = 4.24"
    assert past.is_beyond(5)
    even = past_of([-3, -1, 1, 3, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0])
    assert even is not None and even.square == 1
    assert not even.is_beyond(3)
    assert even.is_beyond(4)


def test_equal_results_are_no_evidence_of_no_scatter() -> None:
    past = past_of([100] * 6)
    assert past is not None
    assert past.is_beyond(101)
    assert not past.is_beyond(106, least=4)
    assert past.is_beyond(107, least=4)


@pytest.mark.parametrize(("n", "one_in"), [(5, 19), (12, 67)])
def test_how_often_an_honest_result_lies_beyond(n: int, one_in: int) -> None:
    """What the docstring says, by Student's t and by chance."""
    assert round(1 / (2 * t.sf(3 / (1 + 1 / n) ** 0.5, n - 1))) == one_in
    chance, tried = Random(n), 6_000
    beyond = 0
    for _ in range(tried):
        past = past_of([round(chance.gauss(0, 1e6)) for _ in range(n)])
        assert past is not None
        beyond += past.is_beyond(round(chance.gauss(0, 1e6)))
    assert abs(beyond - tried / one_in) < 4 * (tried / one_in) ** 0.5
