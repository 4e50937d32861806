"""Decision rules against JCGM 106, ISO 14253-1 and ILAC-G8 (tests/reference/uncertainty.csv; most of its figures are
remembered from those documents, each recomputed there), and on the edges."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from fractions import Fraction
from math import sqrt
from pathlib import Path

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.measuring.guard import (
    Decision,
    DecisionRule,
    Finding,
    Limits,
    RuleKind,
    decide,
    guard_band,
    guard_factor,
    margin,
    probability_of,
)
from inspection.measuring.quantiles import Interval, below, quantile
from inspection.measuring.uncertainty import Budget, combined, deviating
from inspection.reasons import Reason, Refused
from inspection.sheet.canonical.canonical import dumps
from inspection.words.say import known, say

REFERENCE = Path(__file__).parents[1] / "reference" / "uncertainty.csv"
P95 = Fraction(95, 100)
SIMPLE, GUARDED, PROBABLE = (DecisionRule(kind) for kind in RuleKind)
BY_U = DecisionRule(RuleKind.GUARDED, by_expanded=True)
MM = 10**9


def rows(topic: str) -> list[dict[str, str]]:
    with REFERENCE.open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row["topic"] == topic]


def of_u(u: Fraction | int | str, freedom: int | None = None, left: int = 0) -> Budget:
    """A budget of one known deviation, in counts."""
    line = deviating("reading", Reason(""), Reason(""), Fraction(u) ** 2, freedom=freedom)
    return combined([line], Fraction(left))


# --- guard bands -------------------------------------------------------------------------------------------------


def test_the_factors_of_the_rule() -> None:
    """g/u at T/u 6, 5, 4.5, 4; none under 3.92."""
    assert [f"{guard_factor(ratio, P95):.3f}" for ratio in (6.0, 5.0, 4.5, 4.0)] == ["1.645", "1.649", "1.668", "1.796"]
    assert guard_factor(3.9199, P95) is None
    assert guard_factor(3.92, P95) == pytest.approx(1.96, abs=1e-2)  # the bands meet in the middle


@pytest.mark.parametrize("freedom", [None, 4, 29])
@pytest.mark.parametrize("ratio", [4.0, 4.5, 5.0, 6.0, 9.0, 40.0])
def test_a_result_on_the_guard_conforms_with_just_the_probability(ratio: float, freedom: int | None) -> None:
    factor = guard_factor(ratio, P95, freedom)
    if factor is None:
        assert ratio < 2 * quantile(Fraction(975, 1000), freedom)
        return
    assert Interval(-factor, ratio - factor).probability(freedom) == pytest.approx(0.95, abs=1e-12)
    assert quantile(P95, freedom) <= factor <= ratio / 2


def test_students_t_for_four_degrees_of_freedom() -> None:
    """t₀.₉₅(4) = 2.132 and t₀.₉₇₅(4) = 2.776 (table G.2, columns 90 % and 95 %): no g exists under T = 5.55 u."""
    assert guard_factor(None, P95, 4) == pytest.approx(2.132, abs=5e-4)
    assert guard_factor(5.55, P95, 4) is None
    assert guard_factor(5.56, P95, 4) == pytest.approx(2.78, abs=0.1)
    few, many = (guard_band(Limits(0, 10 * MM), of_u(MM, nu), GUARDED) for nu in (4, 29))
    assert few is not None and many is not None and few > many


def test_thirty_degrees_of_freedom_count_as_normal() -> None:
    limits = Limits(0, 10 * MM)
    twenty_nine, thirty, normal = (guard_band(limits, of_u(MM, nu), GUARDED) for nu in (29, 30, None))
    assert thirty == normal != twenty_nine


@pytest.mark.parametrize("row", rows("guard band"), ids=lambda row: row["item"])
def test_one_sided_factors(row: dict[str, str]) -> None:
    asked = Fraction(re.findall(r"[\d.]+", row["item"])[-1])
    factor = guard_factor(None, asked)
    assert factor is not None
    assert f"{factor / 2:.4f}" == row["value"]


def test_the_examples_of_iso_14253() -> None:
    """9.98 to 10.02 mm, u = .002: accepted from 9.9833 to 10.0167, and by g = U from 9.984 to 10.016."""
    printed = [row["value"] for row in rows("ISO 14253-1") if row["item"] == "example"]
    limits = Limits(9_980_000_000, 10_020_000_000, "mm")
    budget = of_u(2_000_000)
    for rule, told in zip((GUARDED, BY_U), printed, strict=True):
        guard = guard_band(limits, budget, rule)
        assert guard is not None and limits.lower is not None and limits.upper is not None
        low, high = told.split("..")
        places = len(low.partition(".")[2])
        assert f"{(limits.lower + guard) / MM:.{places}f}..{(limits.upper - guard) / MM:.{places}f}" == f"{low}..{high}"


def test_the_speed_limit() -> None:
    """JCGM 106, 8.3.3: 100 km/h, u 2 % of the speed, p 99.9 %: beyond 107 km/h the limit was exceeded."""
    factor = guard_factor(None, Fraction(999, 1000))
    assert factor is not None
    assert 106 < 100 / (1 - factor * 0.02) <= 107


def test_specific_risk() -> None:
    """ILAC-G8: half at the limit without a guard band, under 2.5 % with w = U, .13 % with 3u."""
    assert 1 - below(0.0) == 0.5
    assert f"{100 * (1 - below(2.0)):.1f} %" == "2.3 %"
    assert f"{100 * (1 - below(3.0)):.2f} %" == "0.13 %"


def test_what_is_left_uncorrected_widens_the_guard() -> None:
    limits = Limits(0, 100 * MM)
    plain, wide = (guard_band(limits, of_u(MM, left=left), GUARDED) for left in (0, 3 * MM))
    assert plain is not None and wide == plain + 3 * MM


# --- probability of conformity -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lower", "upper", "result", "u", "printed"),
    [
        ("490", None, "509.7", "8.6", "0.99"),  # bursting strength, 7.3.3 example 1
        (None, "-5.40", "-5.47", "0.05", "0.92"),  # breakdown voltage, 7.3.3 example 2
        ("12.5", "16.3", "13.6", "1.8", "0.66"),  # viscosity, 7.4
    ],
)
def test_the_examples_of_jcgm_106(lower: str | None, upper: str | None, result: str, u: str, printed: str) -> None:
    def count(text: str) -> int:
        return int(Fraction(text) * MM)

    limits = Limits(None if lower is None else count(lower), None if upper is None else count(upper))
    found = probability_of(count(result), 1, limits, of_u(count(u)))
    assert f"{found:.2f}" == printed
    assert printed in {row["value"] for row in rows("JCGM 106")}


@pytest.mark.parametrize("row", rows("conformance probability"), ids=lambda row: f"{row['item'][-9:]}{row['quantity']}")
def test_two_sided_probabilities(row: dict[str, str]) -> None:
    share = int(row["note"].removeprefix("u = T/"))
    at = Fraction(re.findall(r"y = ([\d.]+) T", row["quantity"])[0])
    band = 10**12
    found = probability_of(int(at * band), 1, Limits(0, band), of_u(Fraction(band, share)))
    assert found == pytest.approx(float(row["value"]), abs=6e-7)


@pytest.mark.parametrize("row", [r for r in rows("JCGM 106") if r["item"] == "Table 1 one-sided"])
def test_table_1_of_jcgm_106(row: dict[str, str]) -> None:
    asked = Fraction(row["quantity"].rsplit(" ", 1)[1])
    assert f"{quantile(asked):.2f}" == row["value"]


def test_probability_by_drawing() -> None:
    """Students with 4 degrees of freedom, a million draws, four deviations of the count."""
    draws = 1_000_000
    drawn = 6 + np.random.default_rng(14253).standard_t(4, draws)
    share = float(np.mean((drawn >= 5) & (drawn <= 9)))
    found = probability_of(6 * MM, 1, Limits(5 * MM, 9 * MM), of_u(MM, 4))
    assert abs(share - found) < 4 * sqrt(found * (1 - found) / draws)


def test_far_out_keeps_its_digits() -> None:
    assert 0 < probability_of(-30 * MM, 1, Limits(0, MM), of_u(MM)) < 1e-190
    assert probability_of(-30 * MM, 1, Limits(0, MM), of_u(MM)) == pytest.approx(4.906713927148187e-198, rel=1e-9)


# --- verdicts ----------------------------------------------------------------------------------------------------

LIMITS = Limits(0, 10_000_000)
BUDGET = of_u(1_000_000)
GUARD = guard_band(LIMITS, BUDGET, GUARDED)
assert GUARD is not None


@pytest.mark.parametrize(
    ("total", "finding"),
    [
        (GUARD, Finding.CONFORMING),
        (GUARD - 1, Finding.DOUBT_INSIDE),
        (0, Finding.DOUBT_INSIDE),
        (-1, Finding.DOUBT_OUTSIDE),
        (-GUARD, Finding.DOUBT_OUTSIDE),
        (-GUARD - 1, Finding.NOT_CONFORMING),
        (10_000_000 - GUARD, Finding.CONFORMING),
        (10_000_001 - GUARD, Finding.DOUBT_INSIDE),
        (10_000_000 + GUARD, Finding.DOUBT_OUTSIDE),
        (10_000_001 + GUARD, Finding.NOT_CONFORMING),
    ],
)
def test_guarded_on_the_edges(total: int, finding: Finding) -> None:
    found = decide(GUARDED, total, LIMITS, BUDGET)
    assert (found.finding, found.guard) == (finding, GUARD)
    assert bool(found.reasons) == (finding in (Finding.DOUBT_INSIDE, Finding.DOUBT_OUTSIDE))


def test_a_mean_is_held_as_its_sum() -> None:
    assert decide(GUARDED, 3 * GUARD, LIMITS, BUDGET, 3).finding is Finding.CONFORMING
    assert decide(GUARDED, 3 * GUARD - 1, LIMITS, BUDGET, 3).finding is Finding.DOUBT_INSIDE
    assert decide(SIMPLE, -1, LIMITS, BUDGET, 3).finding is Finding.NOT_CONFORMING
    assert decide(SIMPLE, 0, LIMITS, BUDGET, 3).finding is Finding.CONFORMING


@given(st.integers(-(10**8), 10**8), st.integers(-(10**8), 10**8), st.integers(0, 10**8))
def test_simple_acceptance_is_on_the_limit_inside(total: int, lower: int, band: int) -> None:
    found = decide(SIMPLE, total, Limits(lower, lower + band), BUDGET)
    assert (found.finding is Finding.CONFORMING) == (lower <= total <= lower + band)
    assert found == Decision(found.finding, SIMPLE)


@given(
    st.integers(-(10**7), 2 * 10**7),
    st.integers(10**3, 10**8),
    st.one_of(st.none(), st.integers(1, 40)),
    st.sampled_from((GUARDED, BY_U, PROBABLE)),
)
def test_no_rule_is_kinder_than_simple_acceptance(total: int, u: int, freedom: int | None, rule: DecisionRule) -> None:
    """Conforming and in doubt inside are inside; the others outside, but for a P that is tiny however it lies."""
    found = decide(rule, total, LIMITS, of_u(u, freedom))
    inside = margin(total, 1, LIMITS) >= 0
    if found.finding in (Finding.CONFORMING, Finding.DOUBT_INSIDE):
        assert inside
    if found.finding is Finding.DOUBT_OUTSIDE or (rule.kind is RuleKind.GUARDED and not inside):
        assert not inside
    for reason in found.reasons:
        assert "[" not in say(reason)


@given(st.integers(-(10**7), 2 * 10**7), st.integers(10**3, 3 * 10**6), st.one_of(st.none(), st.integers(1, 40)))
def test_guards_and_probabilities_agree_where_one_limit_is_asked(total: int, u: int, freedom: int | None) -> None:
    """By one limit P ≥ 95 % is the same as inside by g, but for the count that g is rounded by."""
    limits, budget = Limits(None, 10_000_000), of_u(u, freedom)
    guard = guard_band(limits, budget, GUARDED)
    assert guard is not None
    if abs(abs(margin(total, 1, limits)) - guard) > 2:
        assert decide(GUARDED, total, limits, budget).finding is decide(PROBABLE, total, limits, budget).finding


def test_probability_verdicts() -> None:
    """u = T/10: P at .5 T is nearly 1, at the limit a half."""
    found = [decide(PROBABLE, total, LIMITS, BUDGET) for total in (5_000_000, 1_000_000, -1_000_000, -2_000_000)]
    assert [each.finding for each in found] == [
        Finding.CONFORMING,
        Finding.DOUBT_INSIDE,
        Finding.DOUBT_OUTSIDE,
        Finding.NOT_CONFORMING,
    ]
    assert [each.probability for each in found] == ["0.9999", "0.8413", "0.1586", "0.0227"]
    assert say(found[1].reasons[0]) == "conforming with 84.13 %; 95 % is agreed"


def test_a_near_tie_goes_against_conformity() -> None:
    """One limit, exactly at the quantile: P is 95 % as near as float64 can tell, which is not enough."""
    at = round(quantile(P95) * 10**15)
    found = decide(PROBABLE, at, Limits(0, None), of_u(10**15))
    assert abs(probability_of(at, 1, Limits(0, None), of_u(10**15)) - 0.95) < 1e-9
    assert found.finding is Finding.DOUBT_INSIDE
    assert decide(PROBABLE, -at, Limits(0, None), of_u(10**15)).finding is Finding.NOT_CONFORMING


def test_what_is_left_uncorrected_lowers_the_probability() -> None:
    plain, left = (probability_of(8_000_000, 1, LIMITS, of_u(1_000_000, left=each)) for each in (0, 1_000_000))
    assert left == pytest.approx(below(1.0), abs=1e-9)
    assert plain == pytest.approx(below(2.0), abs=1e-9)


# --- a method that cannot show conformity ------------------------------------------------------------------------


@pytest.mark.parametrize("rule", [GUARDED, BY_U])
def test_a_method_that_cannot_show_conformity(rule: DecisionRule) -> None:
    limits = Limits(0, 3_900_000, "mm")
    found = decide(rule, 1_950_000, limits, of_u(1_000_000))
    assert (found.finding, found.guard) == (Finding.DOUBT_INSIDE, None)
    assert say(found.reasons[0]) == (
        "this method cannot show conformity: its uncertainty is too large for a band of 0.0039 mm"
    )
    assert decide(rule, -10_000_000, limits, of_u(1_000_000)).finding is Finding.NOT_CONFORMING
    assert decide(rule, -1, limits, of_u(1_000_000)).finding is Finding.DOUBT_OUTSIDE


def test_the_narrowest_band_that_can() -> None:
    """3.92 u: 3.919928 by the quantile; there the guard bands meet in the middle."""
    u = 10**9
    least = int(2 * quantile(Fraction(975, 1000)) * u)
    assert guard_band(Limits(0, least - 10), of_u(u), GUARDED) is None
    wide = guard_band(Limits(0, least + 10), of_u(u), GUARDED)
    assert wide is not None and wide <= (least + 10) // 2


# --- bad input ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: decide(SIMPLE, 1, Limits(None, None), BUDGET), "doubt.no_limits"),
        (lambda: decide(GUARDED, 1, Limits(None, None), BUDGET), "doubt.no_limits"),
        (lambda: margin(1, 1, Limits(None, None)), "doubt.no_limits"),
        (lambda: decide(SIMPLE, 1, Limits(2, 1), BUDGET), "doubt.limits_crossed"),
        (lambda: decide(SIMPLE, 1, LIMITS, BUDGET, 0), "doubt.repeats_none"),
        (lambda: decide(GUARDED, 1, LIMITS, Budget(())), "doubt.nothing_known"),
        (lambda: decide(PROBABLE, 1, LIMITS, Budget(())), "doubt.nothing_known"),
        (lambda: decide(DecisionRule(RuleKind.PROBABILITY, 5_000), 1, LIMITS, BUDGET), "doubt.probability"),
        (lambda: decide(DecisionRule(RuleKind.GUARDED, 10_000), 1, LIMITS, BUDGET), "doubt.probability"),
        (lambda: quantile(Fraction(1)), "doubt.probability"),
        (lambda: below(1.0, 0), "doubt.no_freedom"),
    ],
)
def test_what_cannot_be_decided(call: Callable[[], object], code: str) -> None:
    with pytest.raises(Refused) as refused:
        call()
    assert refused.value.reasons[0].code == code
    assert "[" not in say(refused.value.reasons[0])


def test_rules_and_findings_have_words() -> None:
    assert all(known(f"doubt.rule.{kind}") for kind in RuleKind)
    assert all(known(f"doubt.finding.{finding}") for finding in Finding)


@pytest.mark.parametrize("rule", [SIMPLE, GUARDED, BY_U, PROBABLE])
def test_a_decision_can_be_sealed_and_read_back(rule: DecisionRule) -> None:
    for total in (5_000_000, 1_000_000, -1_000_000, -9_000_000):
        found = decide(rule, total, LIMITS, BUDGET)
        assert msgspec.json.decode(dumps(found), type=Decision) == found


@given(st.integers(10, 10**6), st.one_of(st.none(), st.integers(2, 40)))
def test_a_guard_band_is_the_first_whole_count_that_conforms(u: int, freedom: int | None) -> None:
    limits, budget = Limits(0, None), of_u(u, freedom)
    guard = guard_band(limits, budget, GUARDED)
    assert guard is not None
    assert probability_of(guard, 1, limits, budget) >= 0.95 - 1e-12
    assert probability_of(guard - 1, 1, limits, budget) < 0.95
