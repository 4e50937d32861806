"""How much a reading says where it agrees with another: by the step of its instrument and what scatters there."""

from __future__ import annotations

from typing import NamedTuple

from inspection.instruments.method import Method
from inspection.measuring.slips import step_shown
from inspection.quantity.units import INCH_UNITS
from inspection.sheet.points_look import Look, Number
from inspection.studies.chance import ALIKE, APART, scatter_square, surprise


class Says(NamedTuple):
    """Thousandths of a bit that an agreement carries: with a reading of the same place (``still``), of the same feature
    of another piece or place (``alike``), and of another feature (``apart``)."""

    still: int = 0
    alike: int = 0
    apart: int = 0


_Scale = tuple[str, bool]
"""A scale that is read: an instrument, in inches or not."""


class Chances:
    """What agreements of a sheet's numbers say, kept by method, band and unit."""

    def __init__(self, look: Look) -> None:
        self._look = look
        self._known: dict[tuple[Method, int | None, bool], Says] = {}
        self._doubled = _read_to_every_other_mark(look)

    def of(self, number: Number) -> Says:
        """What it says where this number agrees with another one."""
        reading, requirement = number.reading, number.at.row.requirement
        key = (reading.method, requirement.band, reading.unit in INCH_UNITS)
        if key not in self._known:
            self._known[key] = self._says(number)
        return self._known[key]

    def _says(self, number: Number) -> Says:
        parts, requirement = self._look.parts(number.reading), number.at.row.requirement
        if len(parts) < len(number.reading.method.parts) or parts[0].quantity is not requirement.kind:
            return Says()
        step, _ = step_shown(parts[0], number.reading.unit)
        if _scale(number) in self._doubled:
            step *= 2
        kind, band = requirement.kind, requirement.band
        return Says(*(surprise(step, scatter_square(parts, band, most)) for most in (0, ALIKE[kind], APART[kind])))


def off_nominal(number: Number) -> int | None:
    """How far a number lies from its row's nominal (counts); None where the row has none."""
    nominal = number.at.row.requirement.nominal
    return None if nominal is None else number.value - nominal


def _scale(number: Number) -> _Scale:
    return number.reading.method.parts[0].identity, number.reading.unit in INCH_UNITS


def _read_to_every_other_mark(look: Look) -> frozenset[_Scale]:
    """The scales that nobody read to their single marks: a caliper of .0005 in is often read to the thousandth. Numbers
    that are nominal show nothing of it, so a scale is one of these only if some number read from it is not."""
    other: dict[_Scale, bool] = {}
    for number in look.numbers:
        read = look.read_with(number.reading)
        step = step_shown(read, number.reading.unit)[0] if read is not None else 0
        if step and off_nominal(number):
            other[_scale(number)] = other.get(_scale(number), True) and number.value % (2 * step) == 0
    return frozenset(scale for scale, every in other.items() if every)
