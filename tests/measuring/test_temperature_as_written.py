"""Temperatures as typed: Celsius exactly, Fahrenheit to the nearest thousandth of a degree Celsius, nothing guessed.

0 °C is 32 °F and 100 °C is 212 °F (definition of the degree Fahrenheit)."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.instruments.spelling import Piece
from inspection.measuring.temperature_as_written import on_scale, read_temperature
from inspection.measuring.temperature_log import celsius
from inspection.reasons import Refused


@pytest.mark.parametrize(
    ("text", "thousandths"),
    [
        ("20", 20_000),
        ("23,4", 23_400),
        (" 23.4 °C ", 23_400),
        ("+20.5C", 20_500),
        ("−5", -5_000),
        ("32F", 0),
        ("212 °F", 100_000),
        ("-40f", -40_000),
        ("68 ℉", 20_000),
        ("23.125", 23_125),
    ],
)
def test_a_temperature_is_read(text: str, thousandths: int) -> None:
    assert read_temperature(Piece(text.strip())) == thousandths


@pytest.mark.parametrize(
    ("written", "celsius", "fahrenheit"),
    [
        ("68 °F", "20", "68"),  # the reference temperature of lengths (ISO 1:2016) is 20 °C, in inch shops 68 °F
        ("20.0 °C", "20.0", "68.0"),
        ("-40 F", "-40", "-40"),
        ("70°F", "21.1", "70"),  # 21.111… °C
        ("69.8 deg F", "21.0", "69.8"),
        ("21 ±1 °C", "21 ±1", "69.8 ±1.8"),  # a degree Celsius is 1.8 degrees Fahrenheit
        ("68 - 72 °F", "20.0 … 22.2", "68 … 72"),
        ("20,5 °C", "20.5", "68.9"),
        ("20", None, None),  # on which scale?
        ("about 70 °F", None, None),
        ("19 °C to 70 °F", None, None),
    ],
)
def test_a_temperature_is_brought_to_the_scale_that_a_form_asks_for(written, celsius, fahrenheit) -> None:
    assert (on_scale(written, "C"), on_scale(written, "F")) == (celsius, fahrenheit)


@given(st.integers(-700, 700))
def test_celsius_comes_back_from_fahrenheit(tenths: int) -> None:
    there = on_scale(f"{tenths / 10:.1f} °C", "F")
    assert there is not None and Fraction(there) == Fraction(tenths, 10) * Fraction(9, 5) + 32
    back = on_scale(f"{there} °F", "C")
    assert back is not None and Fraction(back) == Fraction(tenths, 10)


@given(st.integers(-70_000, 70_000))
def test_celsius_is_exact(thousandths: int) -> None:
    assert read_temperature(Piece(celsius(thousandths).text)) == thousandths


@given(st.integers(-1_000, 2_000))
def test_fahrenheit_is_nearest(tenths: int) -> None:
    text = f"{'-' if tenths < 0 else ''}{abs(tenths) // 10}.{abs(tenths) % 10}F"
    exact = (Fraction(tenths, 10) - 32) * Fraction(5, 9) * 1_000
    assert abs(read_temperature(Piece(text)) - exact) <= Fraction(1, 2)


@pytest.mark.parametrize(
    ("text", "code", "at"),
    [
        ("", "temperature.written", 0),
        ("warm", "temperature.written", 0),
        ("-", "temperature.written", 1),
        ("23.4 K", "temperature.written", 5),
        ("23.4 °C warm", "temperature.written", 5),
        ("23.4.5", "temperature.written", 4),
        ("23.4001", "temperature.written_fine", 0),
    ],
)
def test_anything_else_is_refused_at_its_character(text: str, code: str, at: int) -> None:
    with pytest.raises(Refused) as caught:
        read_temperature(Piece(text))
    assert [(each.code, each.parts["at"]) for each in caught.value.reasons] == [(code, at)]
