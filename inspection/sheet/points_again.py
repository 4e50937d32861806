"""Points of rows that the lead read again: how far the two readings are apart, against their uncertainties.

The comparison is E_n (``inspection.studies.agreement``): |x₁ − x₂| against √(U₁² + U₂²), each reading single, known
errors taken off, with U by its own budget.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from math import isqrt
from typing import Any, NamedTuple

from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic
from inspection.measuring.judge import made_of
from inspection.measuring.reading import Observed, Reading, Role
from inspection.measuring.temperature_log import log_at
from inspection.measuring.uncertainty_stated import about
from inspection.quantity.speaker import placed
from inspection.quantity.units import UNITS
from inspection.reasons import Amount, Figure
from inspection.sheet.helping import reckoned_for
from inspection.sheet.moved_in import is_inside
from inspection.sheet.points_look import At, Look
from inspection.sheet.points_table import Point
from inspection.sheet.state import Sheet
from inspection.studies.agreement import e_n_square

Again = Mapping[str, Reading]
"""What was read again, by the identity of the reading that it is compared with."""


def again_of(sheet: Sheet) -> dict[str, Reading]:
    """What was read again in the present round, by the counting reading of its slot; the last one of each."""
    found: dict[str, Reading] = {}
    for reading in (each.reading for each in sheet.read_again if each.round == sheet.round):
        for was in sheet.counting(reading.characteristic, reading.piece):
            if was.slot == reading.slot and not was.indication:
                found[was.identity] = reading
    return found


def of_again(look: Look, again: Again) -> Iterator[Point]:
    """A point for each reading that was read again, whether the two agree or not."""
    for name, second in again.items():
        at = look.by_reading.get(name)
        if at is None:
            continue
        first = look.sheet.readings[name]
        if first.count is not None and second.count is not None:
            yield _numbers(look, at, first, second)
        elif first.observed is not None and second.observed is not None:
            yield _seen(look, at, first, first.observed, second.observed)


def _seen(look: Look, at: At, reading: Reading, first: Observed, second: Observed) -> Point:
    """What was seen, not measured: the same or not."""
    code, said = ("again", "again_seen") if first is second else ("again_outside", "again_seen_differs")
    return look.point(
        code,
        [at.cell],
        [reading.identity],
        said=said,
        about=reading.identity,
        first=f"observed.{first.name.lower()}",
        second=f"observed.{second.name.lower()}",
    )


class SingleResult(NamedTuple):
    """A reading with its known errors taken off, and its U (counts)."""

    value: int
    expanded: int


def _numbers(look: Look, at: At, first: Reading, second: Reading) -> Point:
    one, two = single_result(look, at.row, first), single_result(look, at.row, second)
    code, said, told = _compared(first, second, at.row, one, two)
    if first.slot.role is Role.VALUE:
        before = is_inside(look.sheet, replace(first, count=one.value) if one else first)
        if before is not is_inside(look.sheet, replace(second, count=two.value) if two else second):
            code, said = "again_outside", "again_inside" if before is False else "again_outside"
    told |= {"first": _amount(first), "second": _amount(second)}
    return look.point(code, [at.cell], [first.identity], said=said, about=first.identity, **told)


def _compared(
    first: Reading, second: Reading, row: Characteristic, one: SingleResult | None, two: SingleResult | None
) -> tuple[str, str, dict[str, Any]]:
    """The code of the comparison, its sentence and what it is told by; pins are the same size or not, and of what has
    no budget no more is known than the difference."""
    if first.slot.role is not Role.VALUE:
        same = first.count == second.count
        return ("again", "again_pins", {}) if same else ("again_differs", "again_pins_differ", {})
    if one is None or two is None:
        return "again", "again_unknown", {}
    square = e_n_square(one.value, two.value, one.expanded, two.expanded)
    off = about(Fraction(one.value - two.value) ** 2, row.requirement.unit)
    e_n = Figure(placed(isqrt(square.numerator * 10_000 // square.denominator), 2))
    code = "again_differs" if square > 1 else "again"
    return code, code, {"off": off, "e_n": e_n}


def single_result(look: Look, row: Characteristic, reading: Reading) -> SingleResult | None:
    """A single reading as its budget has it; None where nothing is read off a scale, or too little is known. What the
    lead read inherits the temperatures of the sheet as any reading does."""
    if len(look.parts(reading)) < len(reading.method.parts):
        return None
    sheet, single = look.sheet, replace(row, repeats=1)
    log = log_at(sheet.temperatures, reading.taken, sheet.rules.temperature_minutes) if not reading.log else None
    reading = replace(reading, log=log.identity) if log else reading
    found = reckoned_for(look.shop, sheet, single, reading)
    made = made_of(row.requirement, [reading], {reading.identity: found}) if found else None
    if found is None or made is None:
        return None
    return SingleResult(made.result.corrected, found.budget(1).expanded(UNITS[found.unit].count))


def _amount(reading: Reading) -> Amount:
    return Amount(reading.count or 0, reading.kind, reading.unit, reading.decimals)
