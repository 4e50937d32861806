"""Known errors against tables of geometry and expansion (tests/reference; each row names its source), and bad input."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from fractions import Fraction
from math import sqrt
from pathlib import Path

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.instruments.record import Use
from inspection.measuring.bias import (
    Checked,
    Correction,
    Handling,
    Jaws,
    block_check,
    bore_read,
    certificate,
    chord_at,
    corrected,
    diameter_of_chord,
    height_of_chord,
    jaws_in_bore,
    jaws_line,
    jaws_may_stay,
    temperature,
    tilt,
    zero_offset,
)
from inspection.measuring.bias_stated import StatedResult, stated_result
from inspection.measuring.certificates import Certificate, Point
from inspection.measuring.spread import Seen, Spread
from inspection.measuring.thermal import Measured, Temperatures, correction
from inspection.measuring.uncertainty_sources import Source, budget_of
from inspection.quantity.units import UNITS
from inspection.reasons import Reason, Refused
from inspection.sheet.canonical.canonical import dumps
from inspection.words.say import known, say

REFERENCE = Path(__file__).parents[1] / "reference"
MM, DEGREE, UM = 10**9, 3_600_000_000, 10**6


def rows(topic: str, quantity: str) -> list[dict[str, str]]:
    with (REFERENCE / "bias_geometry.csv").open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if (row["topic"], row["quantity"]) == (topic, quantity)]


def numbers(text: str) -> list[Fraction]:
    return [Fraction(found) for found in re.findall(r"\d+(?:\.\d+)?", text)]


def ids(row: dict[str, str]) -> str:
    return row["case"]


def code(call: Callable[[], object]) -> str:
    with pytest.raises(Refused) as refused:
        call()
    assert "[" not in say(refused.value.reasons[0])
    return refused.value.reasons[0].code


# --- inside jaws -------------------------------------------------------------------------------------------------

JAWS = rows("small bore with flat inside jaws", "reading")


@pytest.mark.parametrize("row", JAWS, ids=ids)
def test_what_flat_jaws_read(row: dict[str, str]) -> None:
    diameter, across = (int(number * UNITS[row["unit"]].count) for number in numbers(row["inputs"]))
    read = bore_read(diameter, Jaws(across), "C-1", row["unit"])
    assert f"{float(read / UNITS[row['unit']].count):.6f}" == row["value"]


@pytest.mark.parametrize("row", rows("small bore with flat inside jaws", "error (reads small)"), ids=ids)
def test_the_error_of_flat_jaws(row: dict[str, str]) -> None:
    diameter, across = numbers(row["case"])
    whole = UNITS[row["unit"]].count
    read = bore_read(int(diameter * whole), Jaws(int(across * whole)), "C-1", row["unit"])
    found = jaws_in_bore(read, Jaws(int(across * whole)), None, "C-1", row["unit"])
    assert float(found.amount / whole) == pytest.approx(-float(row["value"]), abs=6e-7)


def test_jaws_of_the_rule() -> None:
    """D 4 mm: w .3 reads .011 mm small, w .5 reads .031 mm small; the design's own figures."""
    for across, error in ((300 * UM, 11), (500 * UM, 31)):
        read = bore_read(4 * MM, Jaws(across), "C-1", "mm")
        assert round(float(4 * MM - read) / UM) == error


@given(st.integers(10**8, 10**11), st.integers(1, 10**8))
def test_there_and_back(diameter: int, across: int) -> None:
    if across >= diameter:
        return
    read = bore_read(diameter, Jaws(across), "C-1", "mm")
    found = jaws_in_bore(read, Jaws(across), None, "C-1", "mm")
    assert abs(read + found.amount - diameter) < Fraction(1, 10**6)


def test_what_is_known_of_the_jaws_goes_into_the_budget() -> None:
    found = jaws_in_bore(3 * MM, Jaws(400 * UM, 50 * UM), None, "C-1", "mm")
    (line,) = found.lines
    diameter = sqrt(3**2 + 0.4**2)
    assert sqrt(line.variance) / UM == pytest.approx(0.4 / diameter * 50 / sqrt(3))
    assert line.variance == pytest.approx(
        jaws_line(Fraction(diameter) * MM, Jaws(400 * UM, 50 * UM), "C-1", "mm").variance
    )


@pytest.mark.parametrize(("band", "handling"), [(112_500_001, Handling.LEFT), (112_400_000, Handling.REFUSED)])
def test_a_usual_width_may_stay_if_it_is_small(band: int, handling: Handling) -> None:
    """w²/2D against T/10 with w .3 mm on D 4 mm: 11.25 µm, so T of 112.5 µm is the least."""
    read = bore_read(4 * MM, Jaws(300 * UM), "C-1", "mm")
    assert jaws_in_bore(read, Jaws(300 * UM), band, "C-1", "mm", measured=False).handling is handling


def test_exactly_a_tenth_of_the_band_may_stay() -> None:
    """w 2, D 10: w²/2D is .2, a tenth of 2."""
    assert jaws_may_stay(100, 2, 2)
    assert not jaws_may_stay(99, 2, 2)


def test_exactly_a_tenth_may_stay_at_a_row_s_own_size() -> None:
    """w .4 on D 100 mm: w²/2D is .8 µm, a tenth of 8 µm; what R loses in being cut to a fraction does not count."""
    jaws = Jaws(400 * UM)
    read = bore_read(100 * MM, jaws, "C-1", "mm")
    for band, handling in ((8 * UM, Handling.LEFT), (8 * UM - 1, Handling.REFUSED)):
        found = jaws_in_bore(read, jaws, band, "C-1", "mm", measured=False, diameter=100 * MM)
        assert found.handling is handling
        assert found.amount == 100 * MM - read


def test_no_band_leaves_nothing_uncorrected() -> None:
    found = jaws_in_bore(4 * MM, Jaws(300 * UM), None, "C-1", "mm", measured=False)
    assert found.handling is Handling.REFUSED


# --- chords ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", rows("diameter from chord and height", "diameter"), ids=ids)
def test_diameter_of_a_chord(row: dict[str, str]) -> None:
    whole = UNITS[row["unit"]].count
    chord, height = (int(number * whole) for number in numbers(row["case"]))
    found = diameter_of_chord(chord, height, row["unit"])
    assert f"{float(found / whole):.6f}" == row["value"]
    assert height_of_chord(round(found), chord, row["unit"]) == pytest.approx(height, abs=1)


@pytest.mark.parametrize("row", rows("chord from diameter and height", "chord"), ids=ids)
def test_chord_of_a_diameter(row: dict[str, str]) -> None:
    whole = UNITS[row["unit"]].count
    diameter, height = (int(number * whole) for number in numbers(row["case"]))
    assert f"{float(chord_at(diameter, height, row['unit']) / whole):.6f}" == row["value"]


# --- temperature -------------------------------------------------------------------------------------------------


def expansion_rows() -> list[dict[str, str]]:
    with (REFERENCE / "materials.csv").open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row["kind"] == "worked"]


ALPHA = {"aluminium 6061": 23_600, "steel": 11_500, "aluminium 7075": 23_400, "acetal": 106_500}
DIFFERENTIAL = [row for row in expansion_rows() if row["source"] == "differential expansion"]


@pytest.mark.parametrize("row", DIFFERENTIAL, ids=lambda row: f"{row['material']} by {row['quantity'].split()[2]}")
def test_a_part_and_a_scale_at_one_temperature(row: dict[str, str]) -> None:
    """First order; the rows are exact quotients, which differ by (α θ)² L, under a hundredth of the correction."""
    celsius, size = (int(number) for number in re.findall(r"(\d+) degC, reading (\d+) mm", row["quantity"])[0])
    scale = 8_000 if "glass" in row["quantity"] else 11_500
    theta = (celsius - 20) * 1_000
    warm = Temperatures(
        part_expansion=ALPHA[row["material"]], instrument_expansion=scale, measured=Measured(theta, theta)
    )
    exact = Fraction(row["value"]) - size
    assert float(correction(size * MM, warm)) / MM == pytest.approx(float(exact), rel=0.01, abs=1e-6)


@pytest.mark.parametrize(
    "row",
    [row for row in expansion_rows() if row["source"] == "a L dT" and "100 mm" in row["quantity"]],
    ids=lambda row: row["material"],
)
def test_growth_of_100_mm_by_5_degrees(row: dict[str, str]) -> None:
    held = {**ALPHA, "stainless 304": 17_200, "titanium Ti-6Al-4V": 8_600, "36 % nickel iron (Invar)": 1_600}
    warm = Temperatures(part_expansion=held[row["material"]], measured=Measured(5_000, 0))
    assert f"{-float(correction(100 * MM, warm)) / UM:.2f}" == row["value"]


def test_temperature_is_corrected_left_or_refused() -> None:
    warm = Temperatures(part_expansion=23_600, measured=Measured(5_000, 5_000))
    made = Temperatures(part_expansion=23_600, measured=Measured(5_000, 5_000), corrected=True)
    found = [
        temperature(100 * MM, made, "mm"),
        temperature(100 * MM, warm, "mm"),
        temperature(100 * MM, warm, "mm", may_be_left=False),
    ]
    assert [each.handling for each in found if each] == [Handling.CORRECTED, Handling.LEFT, Handling.REFUSED]
    assert {each.amount for each in found if each} == {-6_050_000}
    assert temperature(100 * MM, Temperatures(), "mm") is None
    assert temperature(100 * MM, Temperatures(measured=Measured(5_000, 5_000)), "mm") is None  # steel by steel
    assert [say(each.reason).split(" ")[0] for each in found if each] == ["-0.00605"] * 3


# --- cosine, certificate, block ------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", rows("cosine error", "projected shortfall"), ids=ids)
def test_the_mean_of_a_tilt_is_a_third_of_its_end(row: dict[str, str]) -> None:
    """L(1 − cos θ) at the end of the range; Lθ²/2 of the rule is within a thousandth of it up to 5°."""
    whole = UNITS[row["unit"]].count
    size, degrees = numbers(row["case"])
    found = tilt(int(size * whole), int(degrees * DEGREE), "C-1", row["unit"])
    assert -3 * float(found.amount / whole) == pytest.approx(float(row["value"]), rel=1e-3, abs=6e-7)


def test_a_certificate_is_taken_off() -> None:
    held = Certificate("22", "2026-03-02", (Point(0, 0, 2 * UM), Point(50 * MM, 4 * UM, 2 * UM)))
    found = certificate(25 * MM, held, "M-1", "mm")
    assert (found.amount, found.handling) == (-2 * UM, Handling.CORRECTED)
    assert say(found.reason) == "-0.00200 mm added: the error of M-1 by certificate 22"


BLOCK = Checked(3 * (25 * MM + 5 * UM), 3, 25 * MM, Fraction(UM * UM, 16), Spread(Fraction(UM * UM), 2, Seen.BLOCK))


@pytest.mark.parametrize(
    ("permissible", "band", "handling"),
    [
        (10 * UM, 50 * UM, Handling.LEFT),
        (10 * UM, 49 * UM, Handling.CORRECTED),
        (10 * UM, None, Handling.CORRECTED),
        (4 * UM, 500 * UM, Handling.LEFT),  # beyond E, but not by more than it is known
        (3 * UM, 500 * UM, Handling.REFUSED),
    ],
)
def test_a_block_before_use(permissible: int, band: int | None, handling: Handling) -> None:
    found = block_check(BLOCK, permissible, band, "M-1", "mm")
    assert (found.handling, found.amount) == (handling, -5 * UM)
    assert "0.00500 mm" in say(found.reason)


@pytest.mark.parametrize(("permissible", "covered"), [(5 * UM, True), (5 * UM - 1, False)])
def test_an_error_that_is_left_is_counted_once(permissible: int, covered: bool) -> None:
    """Within ±E the budget's own line holds it; what lies beyond, though no further than it is known, none does."""
    found = block_check(BLOCK, permissible, 500 * UM, "M-1", "mm")
    assert (found.handling, found.covered, found.left) == (Handling.LEFT, covered, 0 if covered else 5 * UM)
    assert corrected(1, [found]).uncorrected == found.left
    micrometer = Source("M-1", Use.OUTSIDE, "mm", ((50 * MM, permissible),), resolution=UM)
    assert budget_of([micrometer], 25 * MM, corrections=[found]).uncorrected == found.left
    assert ("greater" in say(found.reason)) is not covered


def test_a_certificate_has_taken_its_part_off_before_the_block_is_asked() -> None:
    """The block shows + 5 µm and the certificate says + 4: one is left, or taken off, not five again."""
    certified = Fraction(4 * UM)
    for within, band, handling, covered in (
        (Fraction(2 * UM), 10 * UM, Handling.LEFT, True),
        (Fraction(UM, 2), 10 * UM, Handling.LEFT, False),
        (Fraction(2 * UM), 10 * UM - 1, Handling.CORRECTED, False),
    ):
        found = block_check(BLOCK, 10 * UM, band, "M-1", "mm", certified=certified, within=within)
        assert (found.handling, found.covered, found.amount) == (handling, covered, -UM)
    assert block_check(BLOCK, 3 * UM, 10 * UM, "M-1", "mm", certified=certified).handling is Handling.REFUSED


@pytest.mark.parametrize(
    ("permissible", "band", "handling", "left"),
    [
        (4 * UM, 30 * UM, Handling.LEFT, 0),
        (4 * UM, 30 * UM - 1, Handling.CORRECTED, 0),
        (4 * UM, None, Handling.CORRECTED, 0),
        (2 * UM, 30 * UM, Handling.LEFT, 3 * UM),  # beyond E, but not by more than it is known
        (UM, 30 * UM, Handling.REFUSED, 0),
    ],
)
def test_a_zero_before_use(permissible: int, band: int | None, handling: Handling, left: int) -> None:
    """Three closings read 9 µm small together: the mean of 3 is known to a standard uncertainty of .5 µm."""
    found = zero_offset(-9 * UM, 3, permissible, band, "M-1", "mm", square=Fraction(UM * UM, 4))
    assert found is not None
    assert (found.handling, found.amount, found.left) == (handling, 3 * UM, left)
    assert "0.00300 mm" in say(found.reason)


def test_a_row_that_is_not_judged_bars_no_jaws() -> None:
    found = jaws_in_bore(4 * MM, Jaws(300 * UM), None, "C-1", "mm", measured=False, judged=False)
    assert (found.handling, found.left) == (Handling.LEFT, found.amount)
    assert "greater" in say(found.reason)


def test_refused_jaws_are_named_with_the_bore() -> None:
    found = jaws_in_bore(4 * MM, Jaws(300 * UM), UM, "C-1", "mm", measured=False)
    assert say(found.reason) == (
        "the jaws of C-1, 0.3 mm across flats and gap as is usual, stand on a chord and read about 0.0112 mm small in "
        "a bore of 4.01 mm, more than a tenth of the band allows: measure flats and gap closed and enter them, so that "
        "it can be corrected, or take another instrument"
    )


def test_the_lines_of_a_check() -> None:
    found = block_check(BLOCK, 10 * UM, None, "M-1", "mm")
    mean, block = found.lines
    assert (mean.variance, mean.freedom) == (Fraction(UM * UM, 3), 2)
    assert (block.variance, block.freedom) == (Fraction(UM * UM, 16), None)


# --- raw and corrected -------------------------------------------------------------------------------------------


def made(amount: Fraction, handling: Handling = Handling.CORRECTED) -> Correction:
    return Correction("temperature", handling, amount, Reason(""))


def test_raw_and_corrected_are_both_kept() -> None:
    found = corrected(30_000, [made(Fraction(-20)), made(Fraction(7), Handling.LEFT)], of=3)
    assert (found.raw, found.corrected, found.of) == (30_000, 29_940, 3)
    assert (found.uncorrected, found.refusals, found.rounded_away) == (7, (), False)
    assert len(found.corrections) == 2


def test_a_refused_instrument_says_why() -> None:
    found = corrected(1, [Correction("jaws", Handling.REFUSED, Fraction(3), Reason("doubt.jaws.refused"))])
    assert (found.corrected, [reason.code for reason in found.refusals]) == (1, ["doubt.jaws.refused"])


@given(
    st.integers(-(10**6), 10**6),
    st.fractions(-100, 100, max_denominator=997),
    st.integers(1, 5),
    st.integers(-(10**6), 10**6),
    st.integers(0, 50),
)
def test_rounding_never_carries_a_result_over_a_limit(
    raw: int, amount: Fraction, of: int, lower: int, band: int
) -> None:
    upper = lower + band
    found = corrected(raw, [made(amount)], of, lower, upper)
    exact = raw + of * amount
    assert abs(found.corrected - exact) <= of
    if exact < of * lower:
        assert found.corrected < of * lower
    if exact > of * upper:
        assert found.corrected > of * upper
    if not found.rounded_away:
        assert abs(found.corrected - exact) <= Fraction(of, 2)


def test_a_correction_a_hair_over_a_limit_stays_over() -> None:
    """As far as √(U² + 1) lies over U at one metre: 5e-13 pm."""
    limit = 10**12
    found = corrected(0, [made(Fraction(limit) + Fraction(1, 2 * limit))], 1, None, limit)
    assert (found.corrected, found.rounded_away) == (limit + 1, True)


def test_a_diameter_a_hair_over_its_limit_stays_over() -> None:
    """R² + w² is a hair over the square of the limit of one metre: (10¹² − 1)² + 1 414 214²."""
    limit, across = 10**12, 1_414_214
    over = (limit - 1) ** 2 + across**2 - limit**2
    assert 0 < over < limit  # under half a picometre over, so the nearest count is the limit itself
    for read, width in ((limit - 1, across), (limit, 1)):
        jaws = jaws_in_bore(read, Jaws(width), None, "C-1", "mm")
        found = corrected(read, [jaws], 1, None, limit)
        assert (found.corrected, found.rounded_away) == (limit + 1, True)


# --- bad input ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "expected"),
    [
        (lambda: height_of_chord(10 * MM, 11 * MM, "mm"), "doubt.chord_too_long"),
        (lambda: height_of_chord(10 * MM, -MM, "mm"), "doubt.chord_too_long"),
        (lambda: chord_at(10 * MM, 10 * MM, "mm"), "doubt.chord_beyond"),
        (lambda: chord_at(10 * MM, -MM, "mm"), "doubt.chord_beyond"),
        (lambda: diameter_of_chord(MM, 0, "mm"), "doubt.chord_nothing"),
        (lambda: diameter_of_chord(-MM, MM, "mm"), "doubt.chord_nothing"),
        (lambda: bore_read(2 * MM, Jaws(2 * MM), "C-1", "mm"), "doubt.jaws_too_wide"),
        (lambda: jaws_line(2 * MM, Jaws(3 * MM), "C-1", "mm"), "doubt.jaws_too_wide"),
        (lambda: bore_read(0, Jaws(MM), "C-1", "mm"), "doubt.size_nothing"),
        (lambda: jaws_in_bore(-MM, Jaws(MM), None, "C-1", "mm"), "doubt.size_nothing"),
        (lambda: jaws_in_bore(MM, Jaws(None), None, "C-1", "mm"), "doubt.jaws_unknown"),
        (lambda: jaws_in_bore(MM, Jaws(-1), None, "C-1", "mm"), "doubt.width_negative"),
        (lambda: jaws_in_bore(MM, Jaws(1, -1), None, "C-1", "mm"), "doubt.width_negative"),
        (lambda: tilt(MM, -1, "C-1", "mm"), "doubt.width_negative"),
        (lambda: temperature(MM, Temperatures(spread=-1), "mm"), "doubt.width_negative"),
        (lambda: corrected(1, [], 0), "doubt.repeats_none"),
        (
            lambda: block_check(Checked(1, 0, MM, Fraction(1), Spread(Fraction(1))), 1, 1, "M", "mm"),
            "doubt.repeats_none",
        ),
    ],
)
def test_what_makes_no_sense_is_refused(call: Callable[[], object], expected: str) -> None:
    assert code(call) == expected


def test_a_machinist_understands() -> None:
    with pytest.raises(Refused) as refused:
        height_of_chord(254 * 10**8, 50 * 10**9, "in")
    assert say(refused.value.reasons[0]) == (
        "A chord of ≈ 1.968504 in does not fit into a circle of 1 in: no chord is larger than the diameter. "
        "Look at which of the two was measured."
    )
    with pytest.raises(Refused) as refused:
        jaws_in_bore(MM, Jaws(-1), None, "C-1", "mm")
    assert say(refused.value.reasons[0]) == (
        "flats of the jaws: a span is entered below zero. It says how far a thing may be off to either side, so write "
        "it without a minus sign."
    )


# --- as it leaves ------------------------------------------------------------------------------------------------


def test_a_result_can_be_sealed_and_read_back() -> None:
    """Raw and corrected, and every known error with its words, with no fraction left."""
    warm = Temperatures(part_expansion=23_600, measured=Measured(5_000, 5_000), corrected=True)
    held = [
        jaws_in_bore(4 * MM, Jaws(300 * UM), 10**9, "C-1", "mm", measured=False),
        temperature(4 * MM, warm, "mm"),
        zero_offset(-9 * UM, 3, 5 * UM, None, "C-1", "mm"),
    ]
    result = corrected(4 * MM, [each for each in held if each is not None])
    told = stated_result(result)
    assert msgspec.json.decode(dumps(told), type=StatedResult) == told
    assert (told.raw, told.corrected) == (4 * MM, 4 * MM - 242_000 + 3 * UM)
    assert [(each.name, each.handling) for each in told.corrections] == [
        ("jaws", "left uncorrected"),
        ("temperature", "corrected"),
        ("zero", "corrected"),
    ]
    for each in told.corrections:
        assert "[" not in say(each.reason)
        assert known(f"doubt.handling.{each.handling}") and known(f"doubt.part.{each.name}")


def test_a_zero_that_is_right_needs_no_correction() -> None:
    assert zero_offset(3 - 3, 2, 5, None, "M-1", "mm") is None
    assert code(lambda: zero_offset(1, 0, 5, None, "M-1", "mm")) == "doubt.repeats_none"
