"""Deviations from recorded readings, pooled, against certified and published values (tests/reference/spread_*.csv)."""

from __future__ import annotations

import csv
import statistics
from fractions import Fraction
from math import sqrt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.measuring.spread import Seen, Spread, pooled, pooled_spreads, spread_of, taken_as_known

REFERENCE = Path(__file__).parents[1] / "reference"


def rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def certified(item: str, quantity: str) -> float:
    return next(float(r["value"]) for r in rows("spread_stats.csv") if (r["item"], r["quantity"]) == (item, quantity))


@pytest.mark.parametrize(("name", "places"), [("Michelso", 6), ("Mavro", 5)])
def test_certified_deviations(name: str, places: int) -> None:
    """NIST StRD: fifteen certified digits, from data whose mean is thousands of deviations away."""
    values = [r["value"] for r in rows("spread_data.csv") if r["dataset"] == f"StRD {name}"]
    counts = [int(Fraction(value) * 10**places) for value in values]
    found = pooled([counts])
    assert found is not None
    assert found.freedom == len(values) - 1
    assert sqrt(found.square) / 10**places == pytest.approx(certified(name, "standard deviation (n-1)"), rel=5e-15 * 10)


def test_pooled_over_five_machines() -> None:
    """NIST/SEMATECH 3.2.3.1: what is left within the machines, over 20 degrees of freedom."""
    data = [r for r in rows("spread_data.csv") if r["dataset"] == "NIST 3.2.3.1 turned diameters"]
    machines: dict[str, list[int]] = {}
    for row in data:
        machines.setdefault(row["column"], []).append(int(Fraction(row["value"]) * 10**6))
    found = pooled(machines.values())
    assert found is not None
    assert found.freedom == 20
    assert float(found.square * 20) / 10**12 == pytest.approx(certified("NIST 3.2.3.1", "SS residual"), rel=1e-12)


@given(st.lists(st.lists(st.integers(-(10**6), 10**12), max_size=6), max_size=5))
def test_pooling_agrees_with_the_single_variances(groups: list[list[int]]) -> None:
    found = pooled(groups)
    each = [(statistics.variance([Fraction(x) for x in g]), len(g) - 1) for g in groups if len(g) > 1]
    freedom = sum(nu for _, nu in each)
    total = sum((square * nu for square, nu in each), Fraction(0))
    if not total:
        assert found is None
        return
    assert found == Spread(total / freedom, freedom, Seen.BLOCK)
    assert pooled_spreads(Spread(square, nu) for square, nu in each) == Spread(found.square, freedom, Seen.STUDY)


def test_readings_that_never_differ_are_no_evidence() -> None:
    assert pooled([[5, 5, 5], [7], []]) is None
    assert spread_of(taken_as_known(30), pooled([[5, 5, 5]])) == taken_as_known(30)


def test_which_deviation_counts() -> None:
    default, small, large = (
        taken_as_known(30),
        Spread(Fraction(25), 9, Seen.BLOCK),
        Spread(Fraction(1600), 9, Seen.BLOCK),
    )
    study = Spread(Fraction(100), 14, Seen.STUDY)
    assert spread_of(default, small) is default
    assert spread_of(default, large) is large
    assert spread_of(default, large, study) is study  # seen on parts: it stands by itself
    assert spread_of(default, large, Spread(Fraction(0), 9, Seen.STUDY)) is large
    assert pooled_spreads([default]) is None
