"""Callouts of error-type quantities: geometric tolerances in a frame or in words, and surface roughness.

Both have a natural zero: the stated limit is the whole band. Material modifiers are read and no bonus is added.
"""

from __future__ import annotations

import re
from functools import cache

from inspection.drawing.amounts import Amounts, Written, decimals_of
from inspection.drawing.band import Band, band_of_error, band_of_limits
from inspection.drawing.requirement import Form, Requirement
from inspection.drawing.spelling import Line
from inspection.quantity.units import Kind
from inspection.reasons import Reason
from inspection.standards.geometry import characteristic_names

_BAR = re.compile(r"\|")
_ZONE = re.compile(r"(?:S?⌀|dia\b\.?)", re.IGNORECASE)
_MAXIMUM = re.compile(r"MAX(?:IMUM)?\b\.?", re.IGNORECASE)
_MODIFIER = re.compile(r"[ⓂⓁⓈⓅⒻⓉⓊ]|MMC\b|LMC\b|RFS\b", re.IGNORECASE)
_AT_MATERIAL = ("Ⓜ", "Ⓛ", "MMC", "LMC")
_DATUM = re.compile(r"-?(?:TO +|WRT +)?[A-HJ-NPR-Z]{1,2}\d?(?:-[A-HJ-NPR-Z])?-?(?![A-Za-z0-9])")
_SEPARATOR = re.compile(r"[|,/]|TO\b", re.IGNORECASE)
_ROUGHNESS_SIGN = re.compile(r"√|∇|(?P<parameter>R(?:a|z|q|t|p|v|max|3z|sm))(?![a-z])|AA\b|RMS\b", re.IGNORECASE)
_BETWEEN = re.compile(r"-|/|…|TO\b", re.IGNORECASE)
_MICRO = {"in": "µin", "mm": "µm"}


@cache
def _names() -> re.Pattern[str]:
    """All symbols and words of geometric characteristics; a word ends where letters end."""
    spellings = [
        re.escape(name) + (r"\b\.?(?: +(?:tol(?:erance)?|within)\b)?" if name[-1].isalpha() else "")
        for name in characteristic_names()
    ]
    return re.compile("|".join(spellings), re.IGNORECASE)


def read_frame(line: Line, unit: str) -> Requirement:
    """A geometric tolerance: ``⌖ ⌀.010 Ⓜ A B``, ``|⟂|.001|A|``, ``FLATNESS .002``, ``.003 TIR``.

    Raises Refused ``frame.zero_at_material`` for a tolerance of zero at maximum or least material, whose band is the
    feature's size tolerance that a callout alone does not tell.
    """
    amounts = Amounts(line, Kind.LENGTH, unit)
    line.take(_BAR)
    line.take(_names())
    line.take(_BAR)
    diameter = line.take(_ZONE) is not None
    number = amounts.take()
    material = _modifiers(line)
    line.take(_MAXIMUM)
    line.take(_names())
    shifted = _datums(line)
    if not line.ended:
        raise line.refused("callout.rest")
    if number.count == 0:
        raise line.refused("frame.zero_at_material" if material else "callout.zero", number.at)
    notes = [Reason("frame.no_bonus")] if material else []
    notes += [Reason("frame.no_shift")] if shifted else []
    band = band_of_error(number.count, Kind.LENGTH, unit)
    return _error(line, unit, number, band, diameter=diameter, notes=tuple(notes))


def _modifiers(line: Line) -> bool:
    """Read the modifiers that stand here; whether one of them states maximum or least material."""
    found = False
    while modifier := line.take(_MODIFIER):
        found = found or modifier[0].upper() in _AT_MATERIAL
    return found


def _datums(line: Line) -> bool:
    """Read the datum references; whether one of them is at maximum or least material."""
    shifted = False
    while line.take(_SEPARATOR) or line.sees(_DATUM):
        if line.take(_DATUM):
            shifted = _modifiers(line) or shifted
    return shifted


def _error(
    line: Line, unit: str, number: Written, band: Band, *, diameter: bool = False, notes: tuple[Reason, ...] = ()
) -> Requirement:
    return Requirement(
        line.written,
        Form.MAXIMUM,
        unit=unit,
        decimals=decimals_of(unit, number.count, written=(number,)),
        upper=number.count,
        band=band.width,
        natural_zero=True,
        diameter=diameter,
        explained=(*band.explained, *notes),
    )


def read_roughness(line: Line, unit: str) -> Requirement:
    """Roughness: ``Ra 63 µin``, ``63``, ``Ra 1.6``, ``Ra 0.8 MAX``, or two limits ``Ra 16-32``.

    A bare number is in micro-inches on an inch row and in micrometres on a metric one.
    """
    micro = _MICRO.get(unit, unit)
    amounts = Amounts(line, Kind.LENGTH, micro, fractions=False)
    line.take(_ROUGHNESS_SIGN)
    first = amounts.take()
    first_end = line.at
    if line.take(_BETWEEN):
        second = amounts.take()
        if second.explicit and not first.explicit:
            first = amounts.retake(first, first_end, second.unit)
        return _roughness_between(line, first, second)
    line.take(_ROUGHNESS_SIGN)
    line.take(_MAXIMUM)
    _end_of_roughness(line)
    if first.count == 0:
        raise line.refused("callout.zero", first.at)
    return _error(line, first.unit, first, band_of_error(first.count, Kind.LENGTH, first.unit))


def _end_of_roughness(line: Line) -> None:
    line.take(_ROUGHNESS_SIGN)
    if not line.ended:
        raise line.refused("callout.rest")


def _roughness_between(line: Line, first: Written, second: Written) -> Requirement:
    _end_of_roughness(line)
    if first.count >= second.count:
        raise line.refused("callout.limits_equal" if first.count == second.count else "callout.limits_order", second.at)
    unit = second.unit
    return Requirement(
        line.written,
        Form.LIMITS,
        unit=unit,
        decimals=decimals_of(unit, first.count, second.count, written=(first, second)),
        lower=first.count,
        upper=second.count,
        band=band_of_limits(first.count, second.count).width,
    )
