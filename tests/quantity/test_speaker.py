"""The speaker: exact decimals, rounding only by name, and a value as a machinist says it."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.quantity.reader import read
from inspection.quantity.speaker import (
    NotExact,
    as_64ths,
    as_inch,
    as_micron,
    as_mm,
    fewest_decimals,
    nearest,
    plain,
    rounded_away,
    rounded_inward,
    shown,
    spoken,
    with_64ths,
)
from inspection.quantity.units import UNITS, Kind

INCH = 25_400_000_000
MM = 1_000_000_000

units = st.sampled_from(sorted(UNITS))
counts = st.integers(-(10**13), 10**13)


def inches(text: str) -> int:
    return read(text, unit="in", signed=True).count


@given(counts, units, st.one_of(st.none(), st.integers(0, 9)), st.booleans())
def test_what_is_shown_reads_back_as_the_same_count(
    count: int, unit: str, decimals: int | None, leading_zero: bool
) -> None:
    kind = UNITS[unit].kind
    text = shown(count, kind, unit, decimals, leading_zero=leading_zero)
    if text.startswith("≈"):
        assert fewest_decimals(count, unit) is None
    else:
        assert read(text, unit=unit, kind=kind, signed=True).count == count


@given(counts, units, st.integers(0, 9), st.integers(1, 9))
def test_a_plain_number_is_exact_and_keeps_its_decimals(count: int, unit: str, decimals: int, of: int) -> None:
    value = Fraction(count, UNITS[unit].count * of)
    fewest = fewest_decimals(count, unit, of)
    if fewest is None:
        with pytest.raises(NotExact):
            plain(count, unit, decimals, of)
        return
    text = plain(count, unit, decimals, of)
    assert Fraction(text) == value
    assert len(text.partition(".")[2]) == max(decimals, fewest)
    assert fewest == 0 or (value * 10 ** (fewest - 1)).denominator != 1


def test_decimals_as_drawn_are_kept() -> None:
    assert plain(inches(".5"), "in", 4) == "0.5000"
    assert shown(inches(".5"), Kind.LENGTH, "in", 4) == "0.5000 in"
    assert shown(inches("-.5"), Kind.LENGTH, "in", 4, leading_zero=False) == "-.5000 in"
    assert shown(inches("10.5"), Kind.LENGTH, "in", leading_zero=False) == "10.5 in"
    assert shown(inches("5 tenths"), Kind.LENGTH, "tenth") == "5 tenths"
    assert shown(inches("1 tenths"), Kind.LENGTH, "tenth") == "1 tenth"


def test_a_unit_of_another_kind_is_a_fault_of_the_caller() -> None:
    for speak in (shown, spoken):
        with pytest.raises(ValueError, match="not a unit of angle"):
            speak(1, Kind.ANGLE, "mm")


@pytest.mark.parametrize(
    ("text", "inch", "mm", "micron", "line"),
    [
        ("1.1575", "1.1575 in", "29.4005 mm", "29400.5 µm", "1 5/32 in + 0.00125 in"),
        ("1/2", "0.5 in", "12.7 mm", "12700 µm", "1/2 in"),
        ("1.999", "1.999 in", "50.7746 mm", "50774.6 µm", "2 in − 0.001 in"),
        ("12.71 mm", "≈ 0.500394 in", "12.71 mm", "12710 µm", "1/2 in + ≈ 0.000394 in"),
    ],
)
def test_a_value_in_each_way(text: str, inch: str, mm: str, micron: str, line: str) -> None:
    count = inches(text)
    assert (as_inch(count), as_mm(count), as_micron(count), with_64ths(count)) == (inch, mm, micron, line)


@given(counts)
def test_the_nearest_64th_and_its_remainder_make_the_count(count: int) -> None:
    text, rest = as_64ths(count)
    back = 0 if text == "0" else inches(text)
    assert back + rest == count
    assert 2 * abs(rest) <= INCH // 64


@given(counts, units, st.integers(0, 9), st.integers(1, 9))
def test_the_nearest_is_what_python_rounds_a_fraction_to(count: int, unit: str, decimals: int, of: int) -> None:
    assert Fraction(nearest(count, unit, decimals, of)) == round(Fraction(count, UNITS[unit].count * of), decimals)


# --- rounding by name -----------------------------------------------------------------------------------------


@given(
    st.integers(1, 10**11),
    st.integers(0, 10**9),
    st.integers(-(2 * 10**9), 2 * 10**9),
    st.integers(1, 5),
    st.sampled_from(["in", "mm", "µm"]),
    st.integers(0, 6),
)
def test_rounding_outward_is_never_kind(lower: int, band: int, offset: int, of: int, unit: str, decimals: int) -> None:
    upper, total = lower + band, (lower + band // 2) * of + offset
    text = rounded_away(total, unit, decimals, lower=lower, upper=upper, of=of)
    given_out, true = Fraction(text) * UNITS[unit].count, Fraction(total, of)
    middle = Fraction(lower + upper, 2)
    tiny = Fraction(1, 10)  # of one step: a value on a limit that the unit cannot hold, at thirteen decimals
    assert abs(given_out - middle) >= abs(true - middle) - tiny
    assert (lower <= true <= upper) == (lower - tiny <= given_out <= upper + tiny)
    assert len(text.partition(".")[2]) >= decimals


@pytest.mark.parametrize(
    ("value", "lower", "upper", "text"),
    [
        ("0.50001", "0.499", "0.501", "0.5001"),
        ("0.49999", "0.499", "0.501", "0.4999"),
        ("0.50001", None, "0.501", "0.5001"),
        ("0.50009", "0.499", None, "0.5000"),
        ("-0.00001", None, None, "-0.0001"),
        # the limit lies between two steps of the grid: further decimals, rather than over the limit
        ("0.50004", "0.499", "0.50005", "0.50004"),
        ("0.50006", "0.499", "0.50005", "0.5001"),
    ],
)
def test_a_result_is_rounded_outward(value: str, lower: str | None, upper: str | None, text: str) -> None:
    low, high = (None if limit is None else inches(limit) for limit in (lower, upper))
    assert rounded_away(inches(value), "in", 4, lower=low, upper=high) == text


@given(st.integers(0, 10**11), st.integers(0, 10**9), st.sampled_from(["in", "mm"]), st.integers(0, 6))
def test_limits_rounded_inward_let_nothing_in(lower: int, band: int, unit: str, decimals: int) -> None:
    low, high = rounded_inward(lower, lower + band, unit, decimals)
    assert low is not None
    assert high is not None
    tiny = Fraction(1, 10)  # of one step, for equal limits that the unit cannot hold
    assert lower - tiny <= Fraction(low) * UNITS[unit].count
    assert Fraction(high) * UNITS[unit].count <= lower + band + tiny
    assert Fraction(low) <= Fraction(high) or band == 0


def test_an_open_side_stays_open() -> None:
    assert rounded_inward(None, inches("0.251"), "mm", 2) == (None, "6.37")
    assert rounded_inward(inches("0.249"), None, "mm", 2) == ("6.33", None)


# --- said aloud -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [
        ("1.1575", "in", "1 inch 157 thou and 5 tenths"),
        ("28 µm", "µm", "28 microns"),
        ("1 µm", "µm", "1 micron"),
        ("1.6 µm", "µm", "1 point 6 microns"),
        ("12.7 mm", "mm", "12 point 7 millimetres"),
        ("12.05 mm", "mm", "12 point 0 5 millimetres"),
        ("0.028 mm", "mm", "28 microns"),
        ("0", "mm", "0 millimetres"),
        ("0.5", "in", "500 thou"),
        ("0.0005", "in", "5 tenths"),
        ("2.0005", "in", "2 inches and 5 tenths"),
        ("0", "in", "0 inches"),
        ("0.00005", "in", "half a tenth"),
        ("1.15755", "in", "1 inch 157 thou and 5 and a half tenths"),
        ("0.00122", "in", "1 thou 2 tenths and 20 millionths"),
        ("-3 thou", "thou", "minus 3 thou"),
        ("12.71 mm", "in", "about 500 thou and 4 tenths"),
        ("-0.4 µm", "in", "about minus 16 millionths"),
        ("63 µin", "µin", "63 micro-inches"),
    ],
)
def test_a_length_is_said_as_a_machinist_says_it(text: str, unit: str, said: str) -> None:
    assert spoken(inches(text), Kind.LENGTH, unit) == said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("45°30'", "45 degrees 30 minutes"),
        ("1°1'1\"", "1 degree 1 minute 1 second"),
        ("0°0'15.5\"", "15 point 5 seconds"),
        ("0", "0 degrees"),
    ],
)
def test_an_angle_is_said_in_degrees_and_minutes(text: str, said: str) -> None:
    assert spoken(read(text, unit="°", kind=Kind.ANGLE).count, Kind.ANGLE, "°") == said
