"""The exact table of units, against the pint package as an oracle (its registry computing in fractions)."""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest

from inspection.quantity.units import UNITS, Kind

NAMES = {
    "in": "inch",
    "thou": "thou",
    "µin": "microinch",
    "ft": "foot",
    "µm": "micrometer",
    "mm": "millimeter",
    "cm": "centimeter",
    "m": "meter",
    "°": "degree",
    "'": "arcminute",
    '"': "arcsecond",
}


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:  # type: ignore[type-arg]
    return pint.UnitRegistry(non_int_type=Fraction)


@pytest.mark.parametrize("symbol", [symbol for symbol in UNITS if UNITS[symbol].kind is Kind.LENGTH])
def test_a_unit_of_length_is_what_pint_says(symbol: str, registry: pint.UnitRegistry) -> None:  # type: ignore[type-arg]
    if symbol == "tenth":
        metres = Fraction(1, 10_000) * registry.Quantity(Fraction(1), "inch").to("meter").magnitude
    else:
        metres = registry.Quantity(Fraction(1), NAMES[symbol]).to("meter").magnitude
    assert metres * 10**12 == UNITS[symbol].count


@pytest.mark.parametrize("symbol", [symbol for symbol in UNITS if UNITS[symbol].kind is Kind.ANGLE])
def test_a_unit_of_angle_is_what_pint_says(symbol: str, registry: pint.UnitRegistry) -> None:  # type: ignore[type-arg]
    """Against the degree: pint keeps the radian's pi as a decimal, in which no ratio of angles has a part."""
    ratio = registry.Quantity(Fraction(1), NAMES[symbol]).to_root_units().magnitude
    degree = registry.Quantity(Fraction(1), "degree").to_root_units().magnitude
    assert ratio / degree * 3_600_000_000 == UNITS[symbol].count
