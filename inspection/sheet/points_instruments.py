"""Points of the instruments: chosen by hand, an indication only, and readings that their marks do not show."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.instruments.reach import reach_checks
from inspection.instruments.ways import way_of
from inspection.measuring.reading import Reading
from inspection.measuring.slips import off_marks
from inspection.reasons import Amount, Reason
from inspection.sheet.points_look import At, Look, same_method
from inspection.sheet.points_table import Point
from inspection.sheet.reading_life import set_on_of

_Group = list[tuple[At, Reading]]


def of_instruments(look: Look) -> Iterator[Point]:
    """Points of the instruments, those with the same instrument and cause together."""
    yield from _by_hand(look)
    yield from _indications(look)
    yield from _off_grid(look)


def _cells(group: _Group) -> tuple[list[tuple[str, str]], list[str]]:
    """The cells of a group, and its readings."""
    return [at.cell for at, _ in group], [reading.identity for _, reading in group]


# --- chosen by hand -------------------------------------------------------------------------------------------------


def _by_hand(look: Look) -> Iterator[Point]:
    """Readings with an instrument that a person chose for the row, or took for that reading, each with the reason."""
    groups: dict[tuple[str, str], _Group] = {}
    for at, reading in look.counting:
        if reason := _chosen(look, reading):
            groups.setdefault((look.tags(reading), reason), []).append((at, reading))
    for (tag, reason), group in groups.items():
        yield look.point("by_hand", *_cells(group), about=f"{tag} {reason}", tag=tag, reason=reason)


def _chosen(look: Look, reading: Reading) -> str:
    """Why another instrument than the route's was taken; empty where the route's was. A reading's own reason is that of
    its instrument only where it was not read with the row's."""
    assignment = look.sheet.assignments.get(reading.characteristic)
    assessment = assignment.assessment if assignment else None
    if assignment is not None and assessment is not None and same_method(assessment.method, reading.method):
        return assignment.chosen_by_hand
    return reading.reason


# --- an indication only ---------------------------------------------------------------------------------------------


def _indications(look: Look) -> Iterator[Point]:
    groups: dict[tuple[str, ...], _Group] = {}
    whys: dict[tuple[str, ...], tuple[Reason, ...]] = {}
    for at, reading in look.counting:
        if reading.indication:
            why = _barred(look, at, reading)
            key = (look.tags(reading), *(each.code for each in why))
            groups.setdefault(key, []).append((at, reading))
            whys.setdefault(key, why)
    for key, group in groups.items():
        yield look.point("indication", *_cells(group), about=" ".join(key), why=whys[key], tag=key[0])


def _barred(look: Look, at: At, reading: Reading) -> tuple[Reason, ...]:
    """What bars the instruments from the row on the day of the reading, as far as reach and their records say."""
    parts = look.parts(reading)
    if len(parts) < len(reading.method.parts):
        return ()
    way = way_of(reading.method, look.shop.issues)
    return tuple(each.reason for each in reach_checks(at.row, way, parts, reading.day) if not each.holds)


# --- off the marks --------------------------------------------------------------------------------------------------


def _off_grid(look: Look) -> Iterator[Point]:
    """Numbers that the instrument has no mark or leaf for, and members missing from their set, as its record said when
    it was read."""
    groups: dict[tuple[str, str], _Group] = {}
    steps: dict[tuple[str, str], Amount] = {}
    for at, reading in look.counting:
        off = _off(look, at, reading)
        if off is None:
            continue
        step = off.parts.get("step")
        key = (look.tags(reading), off.code if isinstance(step, Amount) else "")
        groups.setdefault(key, []).append((at, reading))
        if isinstance(step, Amount):
            steps.setdefault(key, step)
    for key, group in groups.items():
        if key in steps:
            yield look.point("off_grid", *_cells(group), about=" ".join(key), tag=key[0], step=steps[key])
        else:
            yield look.point("off_grid", *_cells(group), about=key[0], said="off_set", tag=key[0])


def _off(look: Look, at: At, reading: Reading) -> Reason | None:
    if reading.count is None or reading.indication:
        return None
    blocks = set_on_of(look.shop, reading)
    return off_marks(reading.count, at.row.requirement.kind, look.read_with(reading), reading.unit, over=blocks)
