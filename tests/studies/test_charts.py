"""The chart of individual values: NIST/SEMATECH 6.3.2.2, numpy on random data, and values on a limit."""

from __future__ import annotations

import csv
from collections.abc import Callable
from fractions import Fraction
from math import asin, pi, sqrt

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.standards.ranges import most_tabled, range_constants
from inspection.standards.tables import rows
from inspection.studies.charts import RUN, individuals

Stated = Callable[[str, str], str]
SIZE = 12_700_000_000
EXACT = 1e-12


def test_range_constants_against_the_printed_table(stated: Stated) -> None:
    """The usual factors for n = 2 … 10 as printed (from memory), ours rounded to as many decimals."""
    for n in range(2, 11):
        ours = range_constants(n)
        assert ours is not None
        for name, value in (("d2", ours.d2), ("d3", ours.d3), ("D3", ours.lower), ("D4", ours.upper)):
            printed = stated(f"n = {n}", name)
            assert abs(float(value) - float(printed)) < 0.001, (n, name)
    assert range_constants(1) is range_constants(most_tabled() + 1) is None


def test_range_constants_in_closed_form() -> None:
    """R̄ of 2 … 5 normal values and the deviations of 2 and 3, by integration on paper (H. Ruben, Biometrika 41, 1954,
    from memory)."""
    found = {n: range_constants(n) for n in range(2, 6)}
    closed = {
        2: 2 / sqrt(pi),
        3: 3 / sqrt(pi),
        4: 6 / sqrt(pi) * (0.5 + asin(1 / 3) / pi),
        5: 10 / sqrt(pi) * (0.25 + 1.5 * asin(1 / 3) / pi),
    }
    for n, d2 in closed.items():
        ours = found[n]
        assert ours is not None
        assert float(ours.d2) == pytest.approx(d2, rel=EXACT)
    two, three = found[2], found[3]
    assert two is not None and three is not None
    assert float(two.d3) == pytest.approx(sqrt(2 - 4 / pi), rel=EXACT)
    assert float(three.d3) == pytest.approx(sqrt(2 + 3 * sqrt(3) / pi - 9 / pi), rel=EXACT)


def test_every_constant_says_where_it_is_from() -> None:
    held = rows("range_constants")
    assert [int(row["n"]) for row in held] == list(range(2, 26))
    assert all(row["source"] and row["edition"] and row["how_obtained"] for row in held)


def test_flow_rates(data: Callable[[str, int], dict[tuple[str, str], int]], stated: Stated) -> None:
    """NIST/SEMATECH 6.3.2.2. The handbook reckons with 1.128 for d₂; we with all its digits."""
    chart = individuals(list(data("NIST 6.3.2.2 flowrate", 1).values()))
    assert chart is not None
    item = "NIST 6.3.2.2 flowrate"
    mean, mean_range = float(chart.mean) / 10, float(chart.range_mean) / 10
    assert round(mean, 2) == float(stated(item, "x-bar"))
    assert round(mean_range, 4) == float(stated(item, "MR-bar"))
    assert round(mean + 3 * mean_range / 1.128, 4) == float(stated(item, "UCL"))
    assert round(mean - 3 * mean_range / 1.128, 4) == float(stated(item, "LCL"))
    assert round(float(chart.upper) / 10, 4) == float(stated(item, "UCL with d2 = 1.128379"))
    assert float(chart.range_upper) / 10 == pytest.approx(float(stated(item, "MR chart UCL")), abs=0.001)
    assert chart.is_steady


@given(st.lists(st.integers(-(10**7), 10**7).map(lambda off: SIZE + off), min_size=2, max_size=60))
def test_limits_against_numpy(values: list[int]) -> None:
    chart = individuals(values)
    assert chart is not None
    off = numpy.array([value - SIZE for value in values], dtype=float)
    ranges = numpy.abs(numpy.diff(off))
    sigma = ranges.mean() * sqrt(pi) / 2
    room = max(1.0, 3 * sigma)
    assert abs(float(chart.upper - SIZE) - (off.mean() + 3 * sigma)) <= EXACT * room + 1e-9 * EXACT * SIZE + 1e-8
    assert float(chart.sigma) == pytest.approx(sigma, rel=EXACT)
    assert float(chart.range_upper) == pytest.approx(
        (1 + 3 * sqrt(2 - 4 / pi) * sqrt(pi) / 2) * ranges.mean(), rel=EXACT
    )
    low, high = off.mean() - 3 * sigma, off.mean() + 3 * sigma
    clear = [place for place, each in enumerate(off) if min(abs(each - low), abs(each - high)) > 1e-3]
    assert [place for place in clear if place in chart.beyond] == [
        place for place in clear if not low <= off[place] <= high
    ]


def test_a_value_on_the_limit_is_inside() -> None:
    """Limits are exact fractions, so that equality is decided and not rounded."""
    chart = individuals([0] * 5 + [100])
    assert chart is not None
    assert chart.beyond == (() if chart.upper >= 100 else (5,))
    assert chart.leaps == (5,)
    flat = individuals([7] * 30)
    assert flat is not None
    assert (flat.lower, flat.upper, flat.beyond, flat.runs) == (Fraction(7), Fraction(7), (), ())


def test_runs_of_eight_on_one_side_and_not_of_seven() -> None:
    wobble, up, down = [-1, 1] * 10, [8, 9] * (RUN // 2), [-8, -9] * (RUN // 2)
    chart = individuals([*wobble, *down, *up, *wobble])
    assert chart is not None
    assert chart.mean == 0
    first = len(wobble)
    assert chart.runs == ((first, first + RUN - 1), (first + RUN, first + 2 * RUN - 1))
    seven = individuals([*[5, 6, 5, 6, 5, 6, 5], *[-5, -6, -5, -6, -5, -6, -5]])
    assert seven is not None
    assert seven.runs == ()
    assert not chart.is_steady


def test_one_value_has_no_chart() -> None:
    assert individuals([]) is individuals([5]) is None


def test_reference_files_name_their_sources(request: pytest.FixtureRequest) -> None:
    for name in ("studies_stats.csv", "studies_data.csv"):
        with (request.path.parents[1] / "reference" / name).open(encoding="utf-8", newline="") as file:
            assert all(row["source"] and row["provenance"] for row in csv.DictReader(file))
