"""Points of temperature: outside what the shop reckons with, and not measured where it would matter.

It matters where the temperature lines of a verdict's budget, expanded with k = 2 as the whole budget is, come to over a
tenth of the band (the rule of ten, common practice).
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache
from typing import Any

from inspection.measuring.reading import Reading
from inspection.measuring.temperature_log import REFERENCE, TemperatureLog, celsius
from inspection.measuring.uncertainty_stated import StatedBudget
from inspection.quantity.units import UNITS, Kind
from inspection.sheet.points_look import At, Look
from inspection.sheet.points_table import Point

#: The lines of a budget that are temperature's, by name.
LINES = frozenset({"part against instrument", "room", "thermometer", "part expansion", "instrument expansion"})
#: Temperature's part of U may be a band over this.
MATTERS = 10


def of_temperature(look: Look) -> Iterator[Point]:
    """A point for each line of the log that is out of bounds and that a reading rests on; one for readings that no line
    was logged for, and one for those whose line had gone stale, where it matters."""
    resting: dict[str, list[Reading]] = {}
    for _, reading in look.counting:
        if reading.log and reading.count is not None and reading.kind is Kind.LENGTH:
            resting.setdefault(reading.log, []).append(reading)
    for log in look.sheet.temperatures:
        if log.identity in resting:
            yield from _out_of_bounds(look, log, resting[log.identity])
    yield from _unmeasured(look)


def _out_of_bounds(look: Look, log: TemperatureLog, readings: list[Reading]) -> Iterator[Point]:
    rules = look.sheet.rules
    room, apart = rules.temperature_room, abs(log.part - log.instrument)
    cells = [(reading.characteristic, reading.piece) for reading in readings]
    names = [reading.identity for reading in readings]
    told: dict[str, Any] = {"part": celsius(log.part), "instrument": celsius(log.instrument)}
    if room and max(abs(log.part - REFERENCE), abs(log.instrument - REFERENCE)) > room:
        yield look.point("temperature_out", cells, names, about=log.identity, room=celsius(room), **told)
    if apart > rules.temperature_spread:
        most = celsius(rules.temperature_spread)
        yield look.point("temperature_apart", cells, names, about=log.identity, most=most, **told)


# --- not measured where it matters ----------------------------------------------------------------------------------


def _unmeasured(look: Look) -> Iterator[Point]:
    groups: dict[str, list[tuple[At, Reading]]] = {}
    for at in look.at:
        if at.judgement.budget is not None and _matters(at, at.judgement.budget):
            for reading in at.readings:
                if not reading.log and reading.count is not None:
                    groups.setdefault(_why(look, reading), []).append((at, reading))
    minutes = look.sheet.rules.temperature_minutes
    for code, group in groups.items():
        cells, names = (at.cell for at, _ in group), (reading.identity for _, reading in group)
        yield look.point(code, cells, names, minutes=minutes)


def _why(look: Look, reading: Reading) -> str:
    before = any(log.at <= reading.taken for log in look.sheet.temperatures)
    return "temperature_stale" if before else "temperature_missing"


def _matters(at: At, budget: StatedBudget) -> bool:
    """Whether temperature's part of U, 2 u, is over a tenth of the band: 4 u² > (T / 10)²."""
    requirement = at.row.requirement
    band = requirement.band
    if band is None or requirement.kind is not Kind.LENGTH or MATTERS * budget.expanded <= band:
        return False
    return _over(tuple(line.contribution for line in budget.lines if line.name in LINES), budget.unit, band)


@lru_cache(maxsize=1_024)
def _over(contributions: tuple[str, ...], unit: str, band: int) -> bool:
    """Whether standard uncertainties as stated in a unit come to that much together."""
    square = sum((Fraction(contribution) ** 2 for contribution in contributions), Fraction(0))
    return 4 * square * UNITS[unit].count ** 2 > Fraction(band, MATTERS) ** 2
