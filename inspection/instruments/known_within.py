"""What a shop states of an instrument beside its range, each in one cell: its inside jaws, how it is held and read, its
expansion, and the ± of a thermometer."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from math import ceil

from inspection.instruments.record import InstrumentKind
from inspection.instruments.spelling import PLUS_MINUS, Piece, amount_text, read_amount, read_decimal
from inspection.quantity.units import MICRO_ARCSECONDS_PER_DEGREE, PICOMETRES_PER_MILLIMETRE, UNITS
from inspection.standards.usual_figures import instrument_expansions, usual_jaws

#: Flats and gap of crossed jaws usually measure .3 to .5 mm; ten times that is something else (common practice).
WIDEST_JAWS = 5 * PICOMETRES_PER_MILLIMETRE
#: Beyond these half-widths nobody measures: so far out of square is seen, and no eye looks along a scale.
LARGEST_TILT = 10 * MICRO_ARCSECONDS_PER_DEGREE
LARGEST_SIGHT = 89 * MICRO_ARCSECONDS_PER_DEGREE
#: In 1e-9 per kelvin; no plastic reaches it.
LARGEST_EXPANSION = 300_000
#: In thousandths of a kelvin; what is not known better is no thermometer.
LARGEST_KELVIN = 20_000

_ACROSS = re.compile(r"\s*(?:\b(?:at|on|over|across|from|off)\b|@)\s*", re.IGNORECASE)
#: Units of expansion and of a temperature's ±, without blanks and capitals, by how many of the first one each is.
_KELVIN, _FAHRENHEIT = Fraction(1), Fraction(5, 9)
_EXPANSIONS = {
    **dict.fromkeys(("", "ppm/k", "ppm/°c", "ppm/c", "μm/m/k", "μm/m/°c", "um/m/k", "um/m/c"), 1 / _KELVIN),
    **dict.fromkeys(("ppm/°f", "ppm/f", "μin/in/°f", "μin/in/f", "uin/in/°f", "uin/in/f"), 1 / _FAHRENHEIT),
}
_TEMPERATURES = {
    **dict.fromkeys(("", "k", "°c", "c", "℃"), _KELVIN),
    **dict.fromkeys(("°f", "f", "℉"), _FAHRENHEIT),
}


# --- inside jaws ----------------------------------------------------------------------------------------------


def read_jaws(piece: Piece, unit: str, kind: InstrumentKind | None, smallest_bore: int | None) -> tuple[int, int]:
    """w of inside jaws and the half-width it is known within (pm), as ``.012 ±.002``.

    Raises Refused without the ± or for one of 0, for a kind that has no such jaws, for a half-width as large as w, and
    for jaws that enter no bore: wider than the smallest one of the record, or than any.
    """
    if kind is not None and usual_jaws(kind.value) is None:
        raise piece.refused("crib.cell.no_jaws", kind=kind.value)
    sign = PLUS_MINUS.search(piece.text)
    if sign is None:
        raise piece.refused("crib.cell.jaws_within")
    first, last = piece.cut(0, sign.start()), piece.cut(sign.end())
    across = read_amount(first, unit)
    within = read_amount(last, across.unit).count
    widest = min(WIDEST_JAWS, smallest_bore or WIDEST_JAWS)
    if not across.count or across.count >= widest:
        raise first.refused("crib.cell.jaws_wide", widest=amount_text(widest, unit))
    if not within:
        raise last.refused("crib.cell.jaws_within")
    if within >= across.count:
        raise last.refused("crib.cell.jaws_doubt", w=amount_text(across.count, unit))
    return across.count, within


def jaws_text(across: int | None, within: int, unit: str) -> str:
    """Inside jaws as ``read_jaws`` takes them; empty where nobody measured them."""
    return "" if across is None else f"{amount_text(across, unit)} ±{amount_text(within, unit)}"


# --- held and read --------------------------------------------------------------------------------------------


def read_angle(piece: Piece, most: int = LARGEST_TILT) -> int:
    """The half-width of an angle (µas), as ``1°`` or ``±30'``. Raises Refused beyond ``most``."""
    sign = PLUS_MINUS.match(piece.text)
    number = piece.cut(sign.end()) if sign is not None else piece
    found = read_amount(number, "°").count
    if found > most:
        raise number.refused("crib.cell.angle_large", most=amount_text(most, "°"))
    return found


def read_angle_at(piece: Piece, unit: str, most: int = LARGEST_TILT) -> tuple[int, int]:
    """The half-width of an angle (µas) and the length (pm) it works at, as ``30' at .25 in``.

    Raises Refused without the length or for one that is not over 0.
    """
    at = _ACROSS.search(piece.text)
    if at is None:
        raise piece.refused("crib.cell.angle_alone")
    angle, length = read_angle(piece.cut(0, at.start()), most), piece.cut(at.end())
    found = read_amount(length, unit).count
    if not found:
        raise length.refused("crib.cell.angle_alone")
    return angle, found


def angle_text(angle: int) -> str:
    """An angle as ``read_angle`` takes it, in the largest unit that it is one of; empty for none.

    >>> angle_text(1_800_000_000), angle_text(5_400_000_000)
    ("30'", '1.5°')
    """
    unit = next((unit for unit in ("°", "'") if angle >= UNITS[unit].count), '"')
    return amount_text(angle, unit) if angle else ""


def angle_at_text(angle: int, length: int, unit: str) -> str:
    """An angle and where it works as ``read_angle_at`` takes it, empty for neither."""
    return f"{angle_text(angle) or '0°'} at {amount_text(length, unit)}" if angle or length else ""


# --- expansion and temperature --------------------------------------------------------------------------------


def read_expansion(piece: Piece) -> int:
    """An expansion in 1e-9 per kelvin, as ``8 ppm/K``, ``4.4 ppm/°F`` or the name of what instruments are made of.

    Raises Refused for an unknown word or unit, for 0, and for more than anything expands by.
    """
    known = instrument_expansions()
    named = known.get(piece.text.casefold())
    if named is not None:
        return named
    found = _thousandths(piece, _EXPANSIONS) if re.match(r"[.,]?\d", piece.text) else None
    if found is None:
        raise piece.refused("crib.cell.expansion", known=", ".join(known))
    if not 0 < found <= LARGEST_EXPANSION:
        raise piece.refused("crib.cell.expansion_large", most=LARGEST_EXPANSION // 1_000)
    return found


def read_kelvin(piece: Piece) -> int:
    """The half-width of a thermometer's readings in thousandths of a kelvin, as ``±0.5 °C`` or ``±1 °F``.

    Raises Refused for another unit, for 0, and for more than a thermometer may be off by.
    """
    sign = PLUS_MINUS.match(piece.text)
    number = piece.cut(sign.end()) if sign is not None else piece
    found = _thousandths(number, _TEMPERATURES)
    if found is None:
        raise number.refused("crib.cell.kelvin")
    if not 0 < found <= LARGEST_KELVIN:
        raise number.refused("crib.cell.kelvin_large", most=LARGEST_KELVIN // 1_000)
    return found


def _thousandths(piece: Piece, units: Mapping[str, Fraction]) -> int | None:
    """A decimal number with one of these units behind it, in thousandths, rounded up; None for another unit."""
    number, behind = read_decimal(piece)
    per = units.get("".join(behind.text.split()).casefold())
    return None if per is None else ceil(number * per * 1_000)


def expansion_text(expansion: int) -> str:
    """An expansion as ``read_expansion`` takes it, empty for steel's."""
    return f"{_decimal(expansion)} ppm/K" if expansion else ""


def kelvin_text(kelvin: int) -> str:
    """The ± of a thermometer as ``read_kelvin`` takes it, empty for none."""
    return f"±{_decimal(kelvin)} °C" if kelvin else ""


def _decimal(thousandths: int) -> str:
    whole, rest = divmod(thousandths, 1_000)
    return f"{whole}.{rest:03d}".rstrip("0") if rest else str(whole)
