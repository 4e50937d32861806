"""Drift over certificates and the advice on the interval: the line against scipy, steps by a hand-worked example."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy import stats

from inspection.instruments.record import CertifiedPoint, Instrument, InstrumentKind, Permissible, Use
from inspection.studies.drift import (
    LEAST_ON_LINE,
    Found,
    Line,
    PointInTime,
    advice,
    interval_now,
    points_in_time,
)

UM = 1_000_000


def point(errors: list[float], years: list[int], limit: float = 6, expanded: float = 0.001) -> PointInTime:
    """Errors in µm, one a year."""
    found = tuple(
        Found(f"{year}-03-01", f"K-{year}", round(error * UM), round(expanded * UM))
        for error, year in zip(errors, years, strict=True)
    )
    return PointInTime(Use.OUTSIDE, 25_000 * UM, round(limit * UM), found)


PAIRS = st.tuples(st.integers(0, 5_000), st.integers(-9_000, 9_000))


@settings(max_examples=30, deadline=None)
@given(st.lists(PAIRS, min_size=4, max_size=12, unique_by=lambda pair: pair[0]))
def test_the_line_is_that_of_scipy(pairs: list[tuple[int, int]]) -> None:
    """Slope, its standard error and its test against scipy.stats.linregress; the band against the textbook formula with
    scipy's quantile of Student's t."""
    assume(len({error for _, error in pairs}) > 2)
    days = [date(2010, 1, 1).toordinal() + day for day, _ in pairs]
    found = tuple(
        Found(date.fromordinal(day).isoformat(), "K", error, 0) for day, (_, error) in zip(days, pairs, strict=True)
    )
    line = PointInTime(Use.OUTSIDE, 1, 1, found).line
    assert line is not None
    errors = [error for _, error in pairs]
    oracle = stats.linregress(days, errors)
    n = len(days)
    assert float(line.slope) == pytest.approx(oracle.slope, rel=1e-6, abs=1e-9)
    assert float(line.scatter / line.squares) ** 0.5 == pytest.approx(oracle.stderr, rel=1e-6, abs=1e-9)
    if abs(oracle.pvalue - 0.05) > 1e-3 and line.scatter:
        assert line.is_told is bool(oracle.pvalue < 0.05)
    ahead = max(days) + 400
    spread = np.sum((np.array(days) - np.mean(days)) ** 2)
    s = float(line.scatter) ** 0.5
    band = stats.t.ppf(0.975, n - 2) * s * (1 / n + (ahead - np.mean(days)) ** 2 / spread) ** 0.5
    assert line.band(ahead) == pytest.approx(band, rel=1e-4, abs=1e-9)
    assert float(line.at(ahead)) == pytest.approx(oracle.intercept + oracle.slope * ahead, rel=1e-6, abs=1e-3)


def test_a_hand_worked_example() -> None:
    """Hand-worked: 0, 1, 2, 3 µm in four years is 1 µm a year; ±E = 6 µm is met three years (36 months) after the last
    but for a band of next to nothing. The last error takes half of E: by steps 12 months become 15, the shorter."""
    four = point([0, 1, 2, 3], [2023, 2024, 2025, 2026])
    line = four.line
    assert isinstance(line, Line) and line.is_told
    assert float(line.slope * 365) == pytest.approx(1 * UM, rel=2e-3)
    found = advice([four], 12)
    assert found.months == 15
    codes = [reason.code for reason in found.said]
    assert codes == ["drift.steps.longer", "drift.line.meets"]
    assert found.said[0].parts["share"].text == "50"
    assert found.said[1].parts["months"] == pytest.approx(36, abs=1)
    assert advice([four], 48).months == found.said[1].parts["months"], "the line is the shorter"


def test_by_steps_and_by_how_few() -> None:
    """80 % of the permissible error is the example of ILAC-G24 / OIML D 10 (from memory); the factors are common
    practice. An instrument found outside is told of with one certificate."""
    for last, now, months in ((4.8, 12, 15), (4.9, 12, 12), (6.0, 12, 12), (6.1, 12, 6), (6.1, 1, 1), (0, 60, 60)):
        found = advice([point([0, 0, last], [2024, 2025, 2026])], now)
        assert found.months == months, last
        assert found.said[-1].code == "drift.line.too_few" and found.said[-1].parts["least"] == LEAST_ON_LINE
    assert advice([point([5, 5], [2025, 2026])], 12).said[0].code == "drift.too_few"
    assert advice([point([7], [2026])], 12).months == 6
    assert advice([], 12).said[0].code == "drift.no_certificate"
    assert advice([replace(point([1], [2026]), limit=None)], 12).said[0].code == "drift.no_limit"
    steep = advice([point([0, 2, 4, 6.5], [2023, 2024, 2025, 2026])], 12)
    assert steep.months == 1 and steep.said[-1].code == "drift.line.now"
    flat = advice([point([1, -1, 1, -1], [2023, 2024, 2025, 2026], expanded=1)], 0)
    assert [reason.code for reason in flat.said][-1] == "drift.line.chance"


def test_points_come_from_the_issues_of_a_record() -> None:
    """A certificate entered twice counts once, by its newest issue; other points and earlier tables stay apart."""
    limits = (Permissible(Use.OUTSIDE, 100 * UM, 6),)
    one = Instrument("i", 1, "M-1", InstrumentKind.OUTSIDE_MICROMETER, "", permissible=limits)
    issues = {}
    for issue, (day, error) in enumerate(
        (("2024-03-01", 1), ("2025-03-01", 9), ("2025-03-01", 2), ("2026-03-01", 3)), 1
    ):
        points = (CertifiedPoint(Use.OUTSIDE, 25 * UM, error, 1), CertifiedPoint(Use.OUTSIDE, 50 * UM, 0, 1))
        issues["i", issue] = replace(
            one, issue=issue, certified=day, certificate=f"K-{day}", points=points, due="2027-03-01"
        )
    issues["other", 1] = replace(issues["i", 1], identity="other")
    found = points_in_time(issues, issues["i", 4])
    assert [(each.size // UM, [one.error for one in each.found], each.limit) for each in found] == [
        (25, [1, 2, 3], 6),
        (50, [0, 0, 0], 6),
    ]
    assert found[0].share == Fraction(1, 2)
    assert interval_now(issues["i", 4]) == 12
    assert interval_now(replace(issues["i", 4], every_months=24)) == 24
