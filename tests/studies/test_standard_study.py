"""An instrument on standards: bias, linearity and stability, against scipy and NIST/SEMATECH 2.6.3."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from math import sqrt

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from inspection.studies.charts import individuals
from inspection.studies.sample import sample_of
from inspection.studies.standard_study import bias_of, line_through, linearity_of

SIZE = 25_400_000_000
READINGS = st.lists(st.integers(-(10**6), 10**6), min_size=2, max_size=20)


@given(READINGS)
def test_bias_against_a_t_test(off: list[int]) -> None:
    found = bias_of([SIZE + each for each in off], SIZE)
    assert found is not None
    assume(found.sample.squares)
    oracle = stats.ttest_1samp(off, 0)
    assert float(found.bias) / sqrt(found.sample.square / found.sample.n) == pytest.approx(oracle.statistic, rel=1e-9)
    assume(abs(oracle.pvalue - 0.0455) > 1e-4)
    assert found.is_told() == (oracle.pvalue < 0.0455)


def test_bias_minds_the_standard_and_the_step() -> None:
    readings = [SIZE + 100, SIZE + 101, SIZE + 99, SIZE + 100]
    clear = bias_of(readings, SIZE)
    assert clear is not None
    assert clear.is_told()
    assert clear.is_told(step=199)
    assert not clear.is_told(step=200), "a reading is rounded by half a step"
    doubtful = bias_of(readings, SIZE, Fraction(90))
    assert doubtful is not None
    assert not doubtful.is_told()
    assert bias_of([SIZE], SIZE) is None


@given(st.lists(st.tuples(st.integers(0, 10**5), st.integers(-(10**6), 10**6)), min_size=3, max_size=30))
def test_line_against_linear_regression(points: list[tuple[int, int]]) -> None:
    found = line_through(points)
    assume(len({x for x, _ in points}) > 1)
    assert found is not None
    oracle = stats.linregress([x for x, _ in points], [y for _, y in points])
    scale = max(1.0, *(abs(y) for _, y in points))
    assert float(found.slope) == pytest.approx(oracle.slope, rel=1e-8, abs=1e-9)
    assert float(found.value(0)) == pytest.approx(oracle.intercept, rel=1e-7, abs=1e-8 * scale)
    assume(found.left > Fraction(1, 10**6))
    assert found.slope_deviation == pytest.approx(oracle.stderr, rel=1e-5)
    assert found.half_width(0) / found.half_width(found.middle) >= 1
    assert found.half_width(0) == pytest.approx(
        oracle.intercept_stderr * found.half_width(found.middle) * sqrt(found.n) / found.deviation, rel=1e-5
    )


def test_linearity_of_an_instrument_that_reads_more_the_longer() -> None:
    """One part in a million long, and two more counts everywhere: the line finds both."""
    step = 1_000_000
    readings = {n * step: [n * step + n + 2 + each for each in (-1, 0, 1)] for n in (0, 10, 20, 40)}
    found = linearity_of(readings)
    assert found is not None
    assert found.line.slope == Fraction(1, step)
    assert found.line.value(0) == 2
    assert found.over == 40
    assert {size: bias.bias for size, bias in found.at.items()} == {n * step: n + 2 for n in (0, 10, 20, 40)}
    assert found.line.is_told()
    assert linearity_of({0: [1, 2], 5: [1]}) is None


def test_stability_of_a_check_standard(
    data: Callable[[str, int], dict[tuple[str, str], int]], stated: Callable[[str, str], str]
) -> None:
    """NIST/SEMATECH 2.6.3, the check standard's mean and s; the chart of individuals takes it for steady."""
    values = list(data("NIST check standard 137", 4).values())
    sample, item = sample_of(values), "NIST 2.6.3"
    assert float(sample.mean) / 1e4 == pytest.approx(float(stated(item, "mean")), abs=5e-6)
    assert sample.deviation / 1e4 == pytest.approx(float(stated(item, "s")), abs=5e-9)
    chart = individuals(values)
    assert chart is not None
    assert chart.beyond == ()
