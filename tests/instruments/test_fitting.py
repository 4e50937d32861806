"""What fits a feature that is merely named agrees with the choice for a row of a plan."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from inspection.drawing.characteristic import FeatureKind
from inspection.instruments.fitting import feature_asked, fitting
from inspection.instruments.method import Fitness
from inspection.instruments.rules import Rules
from inspection.instruments.starter import starter_crib
from inspection.quantity.units import PICOMETRES_PER_INCH as INCH
from inspection.reasons import Refused
from inspection.words.say import say

CRIB = {one.tag: replace(one, identity=one.tag, issue=1) for one in starter_crib("2027-06-30")}
DAY = "2026-11-25"


@pytest.mark.parametrize(
    "text", [".5000 ±.0005 bore", "bore .5000 ±.0005", "⌀.5000 ±.0005 hole", "Bores .5000 ±.0005", "ID .5000 ±.0005"]
)
def test_the_kind_stands_before_or_behind_the_callout(text: str) -> None:
    asked = feature_asked(text)
    assert asked.kind is FeatureKind.BORE
    assert (asked.requirement.lower, asked.requirement.upper) == (INCH * 4995 // 10000, INCH * 5005 // 10000)


def test_a_unit_holds_where_none_is_written() -> None:
    assert feature_asked("12 ±0.1 length", "mm").requirement.upper == 12_100_000_000


def test_what_fits_is_what_a_row_of_a_plan_would_be_offered() -> None:
    """A tenths micrometer is fit for ±.0005, a caliper is not (common practice)."""
    found = fitting(".7500 ±.0005 outside diameter", CRIB, Rules(), DAY).found
    assert found["M-01"] is Fitness.FIT
    assert found["C-05"] is Fitness.MARGINAL
    assert "M-02" not in found
    wide = fitting(".7500 ±.005 outside diameter", CRIB, Rules(), DAY).found
    assert wide["C-05"] is Fitness.FIT


def test_what_is_overdue_or_missing_fits_nothing() -> None:
    crib = {**CRIB, "M-01": replace(CRIB["M-01"], due="2020-01-01")}
    assert "M-01" not in fitting(".7500 ±.0005 outside diameter", crib, Rules(), DAY).found


@pytest.mark.parametrize(("text", "code"), [(".5000 ±.0005", "crib.fits.no_kind"), ("bore", "crib.fits.no_kind")])
def test_without_a_kind_or_a_callout_nothing_is_guessed(text: str, code: str) -> None:
    with pytest.raises(Refused) as refused:
        feature_asked(text)
    assert refused.value.reasons[0].code == code
    assert "bore" in say(refused.value.reasons[0])


def test_a_callout_that_cannot_be_read_says_why() -> None:
    with pytest.raises(Refused) as refused:
        feature_asked(".5000 ±.00x5 bore")
    assert not say(refused.value.reasons[0]).startswith("[")
