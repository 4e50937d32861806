"""The band T that a requirement leaves, and bands and limits that follow from it.

Expected values are worked by hand from the formulas named beside them.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.drawing.band import (
    band_at_zero_tolerance,
    band_of_error,
    band_of_limits,
    band_of_none,
    band_of_single_limit,
)
from inspection.drawing.characteristic import FeatureKind
from inspection.drawing.coating import Limits, Surface, before_coating, treatments_named
from inspection.drawing.derived import Derivation, band_for, reading_band
from inspection.drawing.general import Dimension, general_note, general_tolerance
from inspection.drawing.plan import TitleBlock
from inspection.quantity.speaker import rounded_inward
from inspection.quantity.units import PICOMETRES_PER_INCH as INCH
from inspection.quantity.units import Kind
from inspection.reasons import Refused
from inspection.words.say import say

THOU = INCH // 1000
BLOCK = TitleBlock(inch={3: 5 * THOU})
SIZE = Dimension(FeatureKind.LENGTH, INCH // 2, 3, "in")


def code_of(refused: pytest.ExceptionInfo[Refused]) -> str:
    (reason,) = refused.value.reasons
    assert say(reason)
    return reason.code


def test_two_limits_leave_their_difference() -> None:
    assert band_of_limits(495 * THOU, 505 * THOU).width == 10 * THOU
    with pytest.raises(ValueError, match="lower"):
        band_of_limits(THOU, THOU)


def test_an_error_leaves_its_whole_limit() -> None:
    band = band_of_error(10 * THOU, Kind.LENGTH, "in")
    assert (band.width, band.natural_zero) == (10 * THOU, True)
    with pytest.raises(ValueError, match="above zero"):
        band_of_error(0, Kind.LENGTH, "in")


def test_zero_at_maximum_material_leaves_the_size_tolerance() -> None:
    band = band_at_zero_tolerance(495 * THOU, 505 * THOU, "in")
    assert (band.width, band.natural_zero) == (10 * THOU, True)
    with pytest.raises(ValueError, match="size tolerance"):
        band_at_zero_tolerance(THOU, THOU, "in")


def test_one_limit_leaves_the_full_width_of_the_general_tolerance() -> None:
    """±.005 is a band of .010."""
    assert band_of_single_limit(SIZE, BLOCK).width == 10 * THOU
    assert band_of_single_limit(SIZE, BLOCK).natural_zero is False
    assert band_of_single_limit(SIZE, TitleBlock(), 3 * THOU).width == 3 * THOU
    with pytest.raises(Refused) as refused:
        band_of_single_limit(SIZE, TitleBlock())
    assert code_of(refused) == "band.ask"


@pytest.mark.parametrize("code", ["band.basic", "band.reference", "band.stock"])
def test_no_general_tolerance_reaches_basic_reference_and_stock(code: str) -> None:
    assert band_of_none(code).width is None and say(band_of_none(code).explained[0])


def test_a_general_tolerance_is_never_assumed() -> None:
    with pytest.raises(Refused) as refused:
        general_tolerance(Dimension(FeatureKind.LENGTH, INCH, 2, "in"), BLOCK)
    assert code_of(refused) == "general.decimals"


def test_iso_2768_is_no_table_for_inch_rows() -> None:
    with pytest.raises(Refused) as refused:
        general_tolerance(SIZE, TitleBlock(general="m"))
    assert code_of(refused) == "general.missing"


def test_the_second_letter_opens_a_note() -> None:
    assert general_note(TitleBlock(general="mK")) == "ISO 2768-2 K"
    assert general_note(TitleBlock(general="m")) is None
    assert general_note(TitleBlock()) is None


# --- derived requirements


@pytest.mark.parametrize(
    ("derivation", "share"),
    [
        (Derivation.DIAMETRAL_POSITION, 5),  # T/2 per coordinate
        (Derivation.EDGE_MEAN, 20),  # 2T
        (Derivation.RADIUS_FROM_DIAMETER, 20),
        (Derivation.PLATING_PER_SIDE, 20),
    ],
)
def test_each_reading_of_a_derived_result_has_its_own_band(derivation: Derivation, share: int) -> None:
    assert band_for(10 * THOU, derivation) == share * THOU


def test_a_sign_of_the_derivative_changes_nothing() -> None:
    assert reading_band(10, Fraction(-1, 3)) == reading_band(10, Fraction(1, 3)) == 30
    with pytest.raises(ValueError, match="no band"):
        reading_band(10, Fraction(0))


@given(st.integers(1, INCH), st.integers(1, 50), st.integers(1, 50))
def test_readings_at_the_edge_of_their_bands_keep_the_result_in_its_own(band: int, over: int, under: int) -> None:
    sensitivity = Fraction(over, under)
    assert band - sensitivity < reading_band(band, sensitivity) * sensitivity <= band


# --- before coating


@pytest.mark.parametrize(
    ("surface", "before"),
    [
        (Surface.OUTSIDE, (495 - 2 * 1, 505 - 2 * 2)),  # [L-2t1, U-2t2]
        (Surface.BORE, (495 + 2 * 2, 505 + 2 * 1)),  # [L+2t2, U+2t1]
        (Surface.EXTERNAL_THREAD, (495 - 4 * 1, 505 - 4 * 2)),  # [L-4t1, U-4t2]
    ],
)
def test_limits_before_coating(surface: Surface, before: tuple[int, int]) -> None:
    found = before_coating(Limits(495 * THOU, 505 * THOU), THOU, 2 * THOU, surface)
    assert (found.lower // THOU, found.upper // THOU) == before


def test_a_coating_that_takes_the_whole_band_is_told() -> None:
    with pytest.raises(Refused) as refused:
        before_coating(Limits(500 * THOU, 501 * THOU), 0, THOU, Surface.OUTSIDE)
    assert code_of(refused) == "coating.empty"
    assert "0.002 in of a band of 0.001 in" in say(refused.value.reasons[0])
    with pytest.raises(Refused) as refused:
        before_coating(Limits(500 * THOU, 501 * THOU), 2 * THOU, THOU, Surface.OUTSIDE)
    assert code_of(refused) == "coating.thickness"


@given(st.integers(0, 50), st.integers(0, 50), st.integers(0, 200), st.sampled_from(list(Surface)))
def test_every_size_before_and_every_thickness_ends_inside_the_limits(
    thin: int, more: int, width: int, surface: Surface
) -> None:
    growth = {Surface.OUTSIDE: 2, Surface.BORE: -2, Surface.EXTERNAL_THREAD: 4}[surface]
    try:
        before = before_coating(Limits(1000, 1000 + width), thin, thin + more, surface)
    except Refused:
        assert abs(growth) * more > width
        return
    for size, thickness in product((before.lower, before.upper), (thin, thin + more)):
        assert 1000 <= size + growth * thickness <= 1000 + width


@pytest.mark.parametrize(
    ("note", "named"),
    [
        ("ANODIZE PER SPEC, TYPE II", {"coating"}),
        ("DIMENSIONS APPLY AFTER PLATING", {"coating"}),
        ("HARDEN AND TEMPER TO 58 HRC", {"heat treatment"}),
        ("HEAT TREAT, THEN CHROME PLATE .0005: PLATED SIZES SHOWN", {"heat treatment", "coating"}),
        ("MEASURE AT A TEMPERATURE OF 20 °C ON A SURFACE PLATE", set()),
    ],
)
def test_notes_that_name_a_treatment(note: str, named: set[str]) -> None:
    assert treatments_named(["DEBURR", note]) == named


def test_limits_in_the_other_unit_are_rounded_inward() -> None:
    """.249 to .251 in is 6.33 to 6.37 mm."""
    assert rounded_inward(249 * THOU, 251 * THOU, "mm", 2) == ("6.33", "6.37")
