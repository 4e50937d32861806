"""Numbers for a customer: exact in the other system, rounded only outward and only where that is asked for."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from inspection.drawing.requirement import Form, Requirement
from inspection.layout.measures import Wish, between, limits_wanted, nominal_wanted, result_wanted
from inspection.quantity.units import PICOMETRES_PER_INCH as INCH
from inspection.quantity.units import PICOMETRES_PER_MILLIMETRE as MM


def inch(low, high, decimals=4):
    ends = (int(Fraction(low) * INCH), int(Fraction(high) * INCH))
    return Requirement("", Form.LIMITS, unit="in", decimals=decimals, lower=ends[0], upper=ends[1])


def metric(low, high, decimals=2):
    ends = (int(Fraction(low) * MM), int(Fraction(high) * MM))
    return Requirement("", Form.LIMITS, unit="mm", decimals=decimals, lower=ends[0], upper=ends[1])


def test_inches_are_exact_in_millimetres():
    """1 in is 25.4 mm exactly (yard and pound agreement of 1959), so .249 … .251 in is 6.3246 … 6.3754 mm."""
    assert limits_wanted(inch(".249", ".251", 3), Wish("mm")) == ("6.3246", "6.3754")
    assert result_wanted("0.2501", inch(".249", ".251", 3), Wish("mm")) == "6.35254"


def test_what_no_decimals_hold_is_rounded_and_lets_nothing_in():
    row = metric("6.33", "6.37")
    low, high = limits_wanted(row, Wish("in"))
    assert Fraction(low) * Fraction("25.4") >= Fraction("6.33")
    assert Fraction(high) * Fraction("25.4") <= Fraction("6.37")
    assert Fraction(result_wanted("6.36", row, Wish("in"))) * Fraction("25.4") >= Fraction("6.36")


@pytest.mark.parametrize(
    ("low", "nominal", "high", "told"),
    [
        ("22", "22", "22.033", ("0.86615", "0.86615", "0.86744")),  # 22/25.4 = .866141…, 22.033/25.4 = .867440…
        ("19.948", "20", "20", ("0.78536", "0.78740", "0.78740")),  # .785354…, .787401…
        ("9.9", "10", "10.1", ("0.38977", "0.39370", "0.39763")),  # .389763…, .393700…, .397637…
    ],
)
def test_a_nominal_that_no_decimals_hold_has_no_more_than_its_limits(low, nominal, high, told):
    row = replace(metric(low, high, 3), nominal=int(Fraction(nominal) * MM))
    asked = Wish("in")
    assert (limits_wanted(row, asked)[0], nominal_wanted(row, asked), limits_wanted(row, asked)[1]) == told


@pytest.mark.parametrize(
    ("wish", "told"),
    [(Wish(decimals=3), "0.25047"), (Wish(decimals=3, outward=True), "0.251"), (Wish(decimals=7), "0.2504700")],
)
def test_decimals_alone_round_nothing(wish, told):
    assert result_wanted("0.25047", inch(".248", ".252", 3), wish) == told


def test_rounding_never_carries_a_result_over_its_limit():
    assert result_wanted("0.25096", inch(".249", ".2510"), Wish(decimals=2, outward=True)) == "0.251"


@given(st.integers(-(10**6), 10**6), st.sampled_from(["", "in", "mm"]), st.sampled_from([None, 2, 4, 6]), st.booleans())
def test_a_result_stays_on_its_side(count, unit, decimals, outward):
    row = inch("-.5", ".5")
    number = f"{count / 10**6:.6f}"
    told = Fraction(result_wanted(number, row, Wish(unit, decimals, outward)))
    exact = Fraction(number) * (Fraction("25.4") if unit == "mm" else 1)
    half = Fraction(1, 2) * (Fraction("25.4") if unit == "mm" else 1)
    assert (abs(told) <= half) == (abs(exact) <= half)
    assert abs(told) >= abs(exact)  # outward from the middle, which is nothing here
    if not outward or decimals is None:
        assert told == exact


@given(st.decimals(-100, 100, places=5), st.decimals(-100, 100, places=3))
def test_a_difference_is_exact(one, other):
    told = between(f"{one:.5f}", f"{other:.3f}")
    assert Fraction(told) == Fraction(str(one)) - Fraction(str(other))
    assert len(told.partition(".")[2]) == 5
