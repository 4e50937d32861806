"""Kappa: published worked examples, bounds on random data, shares against scipy."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inspection.studies.attribute_agreement import Share, against_known, of_many, of_two

#: How often each of ten things was put into each of five kinds by fourteen judges: the usual worked example of Fleiss'
#: kappa, κ = 0.210 with 0.378 seen and 0.213 expected (from memory).
TEN_BY_FOURTEEN = (
    (0, 0, 0, 0, 14),
    (0, 2, 6, 4, 2),
    (0, 0, 3, 5, 6),
    (0, 3, 9, 2, 0),
    (2, 2, 8, 1, 1),
    (7, 7, 0, 0, 0),
    (3, 2, 6, 3, 0),
    (2, 5, 3, 2, 2),
    (6, 5, 2, 1, 0),
    (0, 2, 2, 3, 7),
)
LETTERS = st.lists(st.tuples(st.sampled_from("abc"), st.sampled_from("abc")), min_size=1, max_size=40)


def test_worked_example_of_two() -> None:
    """Fifty proposals read by two: 20 both yes, 15 both no; κ = 0.4 (usual example, from memory)."""
    first = "y" * 20 + "y" * 5 + "n" * 10 + "n" * 15
    second = "y" * 20 + "n" * 5 + "y" * 10 + "n" * 15
    found = of_two(first, second)
    assert (found.seen, found.expected, found.kappa) == (Fraction(7, 10), Fraction(1, 2), Fraction(2, 5))


def test_worked_example_of_many() -> None:
    found = of_many(["".join(sign * n for sign, n in zip("12345", row, strict=True)) for row in TEN_BY_FOURTEEN])
    assert found.kappa is not None
    assert (f"{float(found.seen):.3f}", f"{float(found.expected):.3f}") == ("0.378", "0.213")
    assert f"{float(found.kappa):.3f}" == "0.210"


@given(LETTERS)
def test_bounds_and_symmetry(said: list[tuple[str, str]]) -> None:
    first, second = [one for one, _ in said], [other for _, other in said]
    found = of_two(first, second)
    assert found == of_two(second, first)
    if found.kappa is None:
        assert len({*first, *second}) == 1
    else:
        assert -1 <= found.kappa <= 1
        assert (found.kappa == 1) == (first == second)
    both = of_many(said)
    assert both.seen == found.seen
    assert both.expected >= found.expected - Fraction(1, 2)


@given(st.integers(1, 60), st.data())
def test_shares_against_scipy(n: int, drawn: st.DataObject) -> None:
    hits = drawn.draw(st.integers(0, n))
    low, high = Share(hits, n).interval(Fraction(95, 100))
    oracle = stats.binomtest(hits, n).proportion_ci(0.95, "exact")
    assert (low, high) == (pytest.approx(oracle.low, abs=1e-9), pytest.approx(oracle.high, abs=1e-9))


def test_against_what_is_known() -> None:
    """Four things twice: one bad let through once, one good turned away once."""
    found = against_known(["yy", "ny", "nn", "yn"], "yynn", good="y")
    assert (found.right, found.missed, found.alarmed) == (Share(2, 4), Share(1, 4), Share(1, 4))
    assert found.kappa.kappa == Fraction(1, 2)
    assert against_known(["yy"], "y", good="y").missed is None


def test_uneven_judging_is_an_error() -> None:
    for said in (["yn", "y"], ["y", "n"]):
        with pytest.raises(ValueError, match="equally"):
            of_many(said)
