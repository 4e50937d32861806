"""Verdicts of functional tests are exact: on the limit is inside, whatever unit the result was typed in."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from inspection.measuring.verdict import Verdict
from inspection.quantity.other import other_units
from inspection.sheet import acts
from inspection.sheet.evidence import Evidence, EvidenceKind
from inspection.sheet.measured import limit_texts, measurement, result_text, verdict
from inspection.sheet.missing_rows import _coarse

#: One pound-force in newtons and one inch-pound in newton metres, exactly (NIST SP 811, 2008 edition, appendix B.8).
LBF, IN_LBF = Fraction("4.4482216152605"), Fraction("0.1129848290276167")


def judged(required: str, written: str) -> Verdict:
    return verdict(Evidence("", EvidenceKind.TEST, "test", measurement=measurement(required, written)))


@pytest.mark.parametrize(
    ("required", "written", "expected"),
    [
        ("≥ 45 HRC", "45", Verdict.CONFORMING),
        ("≥ 45 HRC", "44.999", Verdict.NOT_CONFORMING),
        ("28 … 32 HRC", "32.000", Verdict.CONFORMING),
        ("28 … 32 HRC", "32.001", Verdict.NOT_CONFORMING),
        ("MAX 5 mbar", "500 Pa", Verdict.CONFORMING),
        ("MAX 5 mbar", "500.1 Pa", Verdict.NOT_CONFORMING),
        ("68 … 72 °F", "20 °C", Verdict.CONFORMING),
        ("≥ 68 °F", "19.99999 °C", Verdict.NOT_CONFORMING),
        ("≤ 1e-6 mbar·l/s", "1.0e-7 Pa·m³/s", Verdict.CONFORMING),
        ("≥ 1 lb", "16 oz", Verdict.CONFORMING),
        ("60 psi MIN", "413.685 kPa", Verdict.NOT_CONFORMING),  # 60 psi is 413.6854… kPa
        ("60 psi MIN", "413.686 kPa", Verdict.CONFORMING),
        ("≥ 45 HRC", "", Verdict.OPEN),
    ],
)
def test_on_the_limit_is_inside(required: str, written: str, expected: Verdict) -> None:
    assert judged(required, written) is expected


@given(st.integers(1, 9_999), st.integers(0, 999_999), st.sampled_from(["≥", "≤"]))
def test_a_result_in_another_system_is_judged_by_its_exact_value(limit: int, milli: int, side: str) -> None:
    found = judged(
        f"{side} {limit} in·lbf", f"{Fraction(milli, 1000).numerator / Fraction(milli, 1000).denominator:.3f} N·m"
    )
    value, bound = Fraction(milli, 1000), limit * IN_LBF
    inside = value >= bound if side == "≥" else value <= bound
    assert found is (Verdict.CONFORMING if inside else Verdict.NOT_CONFORMING)


@given(st.integers(1, 99_999), st.integers(0, 9_999))
def test_pounds_and_newtons_meet_exactly(limit: int, lbf: int) -> None:
    found = judged(f"≥ {limit} N", f"{lbf} lbf")
    assert found is (Verdict.CONFORMING if lbf * LBF >= limit else Verdict.NOT_CONFORMING)


@given(st.sampled_from(sorted(other_units())), st.integers(1, 9_000), st.integers(0, 9_000))
def test_within_one_unit_numbers_decide(symbol: str, limit: int, result: int) -> None:
    scale = 1000  # so that leak rates have room
    required, written = f"MAX {limit / scale:.3f} {symbol}", f"{result / scale:.3f}"
    measured = measurement(required, written)
    assert judged(required, written) is (Verdict.CONFORMING if result <= limit else Verdict.NOT_CONFORMING)
    assert result_text(measured) == f"{written} {symbol}"
    assert limit_texts(measured)[1] == f"{limit / scale:.3f} {symbol}"


@pytest.mark.parametrize("field", ["lower", "upper", "count", "decimals", "unit", "kind"])
def test_nobody_hands_in_other_counts_than_are_written(life: Any, field: str) -> None:
    honest = measurement("28 … 32 HRC", "30")
    value = getattr(honest, field)
    forged = replace(honest, **{field: value + 1 if isinstance(value, int) else "psi"})
    act = acts.EnterEvidence(sheet=life.sheet_id, evidence=Evidence("", EvidenceKind.TEST, "x", measurement=forged))
    assert life.codes(act) == ["evidence.measured_otherwise"]
    life.do(replace(act, evidence=replace(act.evidence, measurement=honest)))


def test_a_requirement_that_cannot_be_read_is_refused_by_the_rules_too(life: Any) -> None:
    forged = replace(measurement("≥ 45 HRC"), required="hard enough")
    act = acts.EnterEvidence(sheet=life.sheet_id, evidence=Evidence("", EvidenceKind.TEST, "x", measurement=forged))
    assert life.codes(act) == ["quantity.no_number"]


@pytest.mark.parametrize(
    ("text", "coarse"),
    [
        (".5", True),
        (".50", True),
        (".500", False),
        (".5000", False),
        ("12.7 mm", False),  # .1 mm is .004 in: less than a whole place coarser
        ("13 mm", True),
        ("500 thou", False),
        ("1/2", False),  # a mark of a rule has no decimals
    ],
)
def test_few_decimals_are_seen_in_either_system(life: Any, text: str, coarse: bool) -> None:
    reading = life.take("1", text)
    assert _coarse(life.row("1").requirement, reading) is coarse
