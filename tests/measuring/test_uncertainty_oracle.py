"""Random budgets, and the same through a general uncertainty library (GTC) as an oracle."""

from __future__ import annotations

from fractions import Fraction
from math import inf, sqrt

import GTC
import pytest
from GTC.reporting import k_factor
from hypothesis import assume, given
from hypothesis import strategies as st

from inspection.instruments.record import Use
from inspection.measuring.quantiles import quantile
from inspection.measuring.spread import Spread
from inspection.measuring.uncertainty import Distribution, Line, bounded, combined, deviating
from inspection.measuring.uncertainty_sources import Source, budget_of
from inspection.reasons import Reason

WHAT = Reason("")
#: The oracle takes degrees of freedom over a million as infinite.
MILLION = 10**6

SHAPES = {
    Distribution.RECTANGULAR: GTC.type_b.uniform,
    Distribution.TRIANGULAR: GTC.type_b.triangular,
    Distribution.ARCSINE: GTC.type_b.arcsine,
}
freedoms = st.one_of(st.none(), st.integers(1, 200))
sensitivities = st.fractions(-5, 5, max_denominator=50).filter(bool)


@st.composite
def known(draw: st.DrawFn) -> tuple[Line, object]:
    """A line, and the oracle's uncertain number for the same."""
    width, freedom, sensitivity = draw(st.integers(1, 10**9)), draw(freedoms), draw(sensitivities)
    df = inf if freedom is None else freedom
    shape = draw(st.sampled_from((None, *SHAPES)))
    if shape is None:
        m = draw(st.integers(1, 20))
        line = deviating("a", WHAT, WHAT, width * width, m, sensitivity=sensitivity, freedom=freedom)
        u = width / sqrt(m)
    else:
        line = bounded("b", WHAT, WHAT, width, shape, sensitivity=sensitivity, freedom=freedom)
        u = SHAPES[shape](width)
    return line, float(sensitivity) * GTC.ureal(0, u, df)


@given(st.lists(known(), min_size=1, max_size=12))
def test_random_budgets(held: list[tuple[Line, object]]) -> None:
    budget = combined(line for line, _ in held)
    oracle = GTC.result(sum(number for _, number in held))  # type: ignore[misc]
    assert sqrt(budget.variance) == pytest.approx(oracle.u, rel=1e-9)
    effective = inf if budget.effective is None else float(budget.effective)
    if effective > MILLION * (1 - 1e-9):
        assert oracle.df >= MILLION * (1 - 1e-9)
        return
    assert effective == pytest.approx(oracle.df, rel=1e-9)
    assert budget.freedom is not None
    assert budget.freedom <= effective < budget.freedom + 1


@given(st.integers(1, 500), st.sampled_from((Fraction(9545, 10000), Fraction(95, 100), Fraction(99, 100))))
def test_quantiles(freedom: int, confidence: Fraction) -> None:
    ours = quantile((1 + confidence) / 2, freedom)
    assert ours == pytest.approx(k_factor(freedom, p=float(confidence * 100)), rel=1e-9)


@given(
    st.integers(1, 10**8),
    st.integers(2, 10**8),
    st.fractions(1, 10**8),
    st.integers(1, 50),
    st.integers(1, 12),
)
def test_a_reading_through_an_instrument(
    error: int, step: int, deviation: Fraction, freedom: int, repeats: int
) -> None:
    """Permissible error, the larger of scatter and step, and a zero set once with the step only."""
    source = Source(
        "M-1",
        Use.OUTSIDE,
        steps=((10**12, error),),
        resolution=step,
        spread=Spread(deviation**2, freedom),
        zero=Spread(Fraction(0)),
    )
    budget = budget_of([source], 10**10, repeats)
    scatter, least = float(deviation) / sqrt(repeats), step / sqrt(12)
    assume(abs(scatter - least) > 1e-9 * least)
    read = GTC.ureal(0, scatter, freedom) if scatter > least else GTC.ureal(0, least)
    oracle = GTC.result(GTC.ureal(0, GTC.type_b.uniform(error)) + read + GTC.ureal(0, least))
    assert sqrt(budget.variance) == pytest.approx(oracle.u, rel=1e-9)
    effective = inf if budget.effective is None else float(budget.effective)
    assert min(effective, MILLION) == pytest.approx(min(oracle.df, MILLION), rel=1e-9)


@given(st.integers(1, 10**6), st.integers(10**9, 10**12), st.integers(-20_000, 20_000), st.integers(0, 30_000))
def test_the_lines_of_temperature_by_automatic_derivatives(width: int, size: int, theta: int, alpha: int) -> None:
    """u of L(α_i θ_i − α_p θ_p) with every quantity uncertain, the oracle finding the sensitivities."""
    from inspection.measuring.thermal import Measured, Temperatures, correction, temperature_lines

    warm = Temperatures(
        part_expansion=alpha,
        instrument_expansion=11_500,
        spread=width % 3_000,
        measured=Measured(theta, theta, width % 5_000),
        corrected=True,
    )
    half = GTC.type_b.uniform
    common = GTC.ureal(theta / 1000, max(half(width % 5_000 / 1000), 1e-300))
    apart = GTC.ureal(0, max(half(width % 3_000 / 1000), 1e-300))
    part = GTC.ureal(alpha * 1e-9, half(1e-6))
    instrument = GTC.ureal(11_500e-9, half(1e-6))
    oracle = GTC.result(size * (instrument * common - part * (common + apart)))
    variance = sum((line.variance for line in temperature_lines(size, warm)), Fraction(0))
    assert sqrt(variance) == pytest.approx(oracle.u, rel=1e-9, abs=1e-9)
    assert float(correction(size, warm)) == pytest.approx(oracle.x, rel=1e-9, abs=1e-6)
