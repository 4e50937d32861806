"""Cells of whole steps: nothing lost, no mark on an edge, as many marks in each; and what step and doubt hide."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.studies.discrimination import Discrimination
from inspection.studies.distribution import histogram
from inspection.studies.sample import sample_of

STEP = 12_700_000


@given(
    st.lists(st.integers(-400, 400), min_size=1, max_size=80),
    st.integers(-(10**12), 10**12),
    st.integers(1, STEP),
    st.integers(1, 40),
)
def test_cells_hold_every_value_and_whole_marks(marks: list[int], first: int, step: int, most: int) -> None:
    values = [first + mark * step for mark in marks]
    found = histogram(values, step, most)
    assert found is not None
    assert sum(found.counts) == len(values)
    assert len(found.counts) <= most
    assert found.width % step == 0
    assert found.counts[0] > 0 and found.counts[-1] > 0
    counted, _ = numpy.histogram([value - found.start for value in values], [e - found.start for e in found.edges])
    assert tuple(counted.tolist()) == found.counts
    if step > 1:
        assert not set(found.edges) & set(values), "a mark is never on an edge"


def test_nothing_and_nonsense() -> None:
    assert histogram([], STEP) is None
    for step, most in ((0, 10), (1, 0)):
        with pytest.raises(ValueError, match="least"):
            histogram([1], step, most)


def test_what_the_step_hides() -> None:
    sample = sample_of([0, STEP, 0, STEP, STEP, 0])
    assert Discrimination(sample, STEP).is_hidden_by_step
    assert not Discrimination(sample, STEP // 10).is_hidden_by_step
    assert Discrimination(sample, 0).categories is None


@pytest.mark.parametrize(("doubt", "categories"), [(10, 14), (50, 2), (90, 1), (150, 1)])
def test_categories_are_those_of_a_gauge_study(doubt: int, categories: int) -> None:
    """√2 σ_process/u with σ_process² = s² − u², by hand for s = 100: 14.07, 2.45, 0.68; nothing is left for 150."""
    n = 10_001
    s = 100 * sqrt((n - 1) / n)  # the values' s comes out as 100 within 0.01 %
    values = [round(1e6 * s) * (1 if place % 2 else -1) for place in range(n - 1)] + [0]
    found = Discrimination(sample_of(values), 1, Fraction(doubt * 10**6))
    assert found.categories == categories
    assert found.doubt_share == pytest.approx((doubt / 100) ** 2, rel=1e-3)
