"""Jaws, angles, expansions and the ± of a thermometer, each in its cell."""

from __future__ import annotations

import doctest
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.instruments import known_within
from inspection.instruments.known_within import (
    LARGEST_EXPANSION,
    LARGEST_KELVIN,
    LARGEST_SIGHT,
    LARGEST_TILT,
    WIDEST_JAWS,
    angle_at_text,
    angle_text,
    expansion_text,
    jaws_text,
    kelvin_text,
    read_angle,
    read_angle_at,
    read_expansion,
    read_jaws,
    read_kelvin,
)
from inspection.instruments.record import InstrumentKind
from inspection.instruments.spelling import Piece
from inspection.quantity.units import UNITS
from inspection.reasons import Refused
from inspection.standards.tables import rows
from inspection.words.say import say

IN, MM, DEGREE, MINUTE = (UNITS[unit].count for unit in ("in", "mm", "°", "'"))
CALIPER = InstrumentKind.DIGITAL_CALIPER


def refused(read: Callable[[Piece], object], text: str) -> tuple[str, object]:
    with pytest.raises(Refused) as found:
        read(Piece(text))
    (reason,) = found.value.reasons
    assert not say(type(reason)(reason.code, {"text": text, **reason.parts})).startswith("[")
    return reason.code, reason.parts["at"]


def test_examples() -> None:
    assert doctest.testmod(known_within).failed == 0


# --- inside jaws ----------------------------------------------------------------------------------------------------


def jaws(cell: Piece) -> tuple[int, int]:
    return read_jaws(cell, "in", CALIPER, 4 * MM)


def test_jaws_as_typed() -> None:
    assert jaws(Piece(".016 ±.002")) == (IN * 16 // 1000, IN * 2 // 1000)
    assert jaws(Piece("0.4 mm +/- 0.05")) == (MM * 4 // 10, MM // 20)  # in the unit before it


@pytest.mark.parametrize(
    ("text", "code", "at"),
    [
        (".016", "crib.cell.jaws_within", 0),
        (".016 ±0", "crib.cell.jaws_within", 6),
        ("0 ±.002", "crib.cell.jaws_wide", 0),
        ("4 mm ±.1", "crib.cell.jaws_wide", 0),
        (".016 ±.016", "crib.cell.jaws_doubt", 6),
        (".016 ±x", "reader.not_a_number", 6),
        ("-.016 ±.002", "reader.sign", 0),
    ],
)
def test_jaws_that_cannot_be(text: str, code: str, at: int) -> None:
    assert refused(jaws, text) == (code, at)


def test_jaws_wider_than_any_are_refused_where_no_smallest_bore_is_stated() -> None:
    def read(cell: Piece) -> tuple[int, int]:
        return read_jaws(cell, "mm", CALIPER, None)

    assert read(Piece("4.9 ±.1"))[0] < WIDEST_JAWS
    assert refused(read, "5 ±.1") == ("crib.cell.jaws_wide", 0)


def test_only_calipers_have_such_jaws() -> None:
    def read(cell: Piece) -> tuple[int, int]:
        return read_jaws(cell, "in", InstrumentKind.OUTSIDE_MICROMETER, None)

    assert refused(read, ".016 ±.002") == ("crib.cell.no_jaws", 0)


@given(st.integers(2, 4 * MM - 1), st.data(), st.sampled_from(["in", "mm"]))
def test_any_jaws_come_back(across: int, data: st.DataObject, unit: str) -> None:
    within = data.draw(st.integers(1, across - 1))
    assert read_jaws(Piece(jaws_text(across, within, unit)), unit, CALIPER, 4 * MM) == (across, within)


# --- held and read --------------------------------------------------------------------------------------------------


def test_angles_as_typed() -> None:
    assert read_angle(Piece("1°")) == read_angle(Piece("± 1")) == read_angle(Piece("60'")) == DEGREE
    assert read_angle_at(Piece("30' at .25 in"), "mm") == (30 * MINUTE, IN // 4)
    assert read_angle_at(Piece("0.5° over 6"), "mm") == read_angle_at(Piece("30'@6 mm"), "in") == (30 * MINUTE, 6 * MM)


@pytest.mark.parametrize(
    ("text", "code", "at"),
    [("-1°", "reader.sign", 0), ("10.1°", "crib.cell.angle_large", 0), ("±11", "crib.cell.angle_large", 1)],
)
def test_angles_that_cannot_be(text: str, code: str, at: int) -> None:
    assert refused(read_angle, text) == (code, at)


@pytest.mark.parametrize(
    ("text", "code", "at"),
    [
        ("30'", "crib.cell.angle_alone", 0),
        ("30' at 0", "crib.cell.angle_alone", 7),
        ("30' at", "reader.empty", 6),
        ("-30' at .25", "reader.sign", 0),
        ("30' at -.25", "reader.sign", 7),
        ("90° at .25", "crib.cell.angle_large", 0),
        ("in at .25", "reader.no_number", 0),
    ],
)
def test_half_of_an_angle_and_its_place(text: str, code: str, at: int) -> None:
    assert refused(lambda cell: read_angle_at(cell, "in"), text) == (code, at)


@given(st.integers(0, LARGEST_SIGHT), st.integers(1, 12 * IN), st.sampled_from(["in", "mm"]))
def test_any_angle_comes_back(angle: int, length: int, unit: str) -> None:
    text = angle_at_text(angle, length, unit)
    assert read_angle_at(Piece(text), unit, LARGEST_SIGHT) == (angle, length)
    if 0 < angle <= LARGEST_TILT:
        assert read_angle(Piece(angle_text(angle))) == angle


# --- expansion and temperature --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "expansion"),
    [("8 ppm/K", 8_000), ("8", 8_000), ("0,5ppm/°C", 500), ("6.4 µin/in/°F", 11_520), ("Glass", 8_000)],
)
def test_expansions_as_typed(text: str, expansion: int) -> None:
    assert read_expansion(Piece(text)) == expansion


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("cheese", "crib.cell.expansion"),
        ("-8", "crib.cell.expansion"),
        ("8 mm", "crib.cell.expansion"),
        ("0", "crib.cell.expansion_large"),
        ("301", "crib.cell.expansion_large"),
        ("9" * 500, "reader.too_long"),
    ],
)
def test_what_expands_by_nothing_we_know(text: str, code: str) -> None:
    assert refused(read_expansion, text) == (code, 0)


def test_a_degree_fahrenheit_is_five_ninths_of_a_kelvin_rounded_up() -> None:
    assert read_kelvin(Piece("±1 °F")) == 556
    assert read_kelvin(Piece("± 0.9°F")) == read_kelvin(Piece("0.5 K")) == read_kelvin(Piece("+/-0.5")) == 500


@pytest.mark.parametrize(
    ("text", "code", "at"),
    [("±0.5 mm", "crib.cell.kelvin", 1), ("±0", "crib.cell.kelvin_large", 1), ("20.1", "crib.cell.kelvin_large", 0)],
)
def test_what_no_thermometer_is_within(text: str, code: str, at: int) -> None:
    assert refused(read_kelvin, text) == (code, at)


@given(st.integers(1, LARGEST_EXPANSION), st.integers(1, LARGEST_KELVIN))
def test_any_expansion_and_kelvin_come_back(expansion: int, kelvin: int) -> None:
    assert read_expansion(Piece(expansion_text(expansion))) == expansion
    assert read_kelvin(Piece(kelvin_text(kelvin))) == kelvin


def test_the_table_of_expansions_names_its_sources() -> None:
    for row in rows("instrument_expansions"):
        assert row["source"] and row["edition"] and row["how_obtained"]
        assert read_expansion(Piece(row["words"].split(";")[0])) > 0
