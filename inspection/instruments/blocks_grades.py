"""How far a gauge block may be from its marked size, by grade; and so a stack, and what its uncertainty is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import cache

from msgspec import Struct

from inspection.instruments.blocks import Block, Stack
from inspection.instruments.record import Instrument
from inspection.measuring.uncertainty import Budget, Line, bounded, combined
from inspection.measuring.uncertainty_parts import gauge_class
from inspection.quantity.units import UNITS, Kind
from inspection.reasons import Amount, Reason
from inspection.standards.tables import rows, steps

#: A film between two wrung faces is within this of nothing (pm): a microinch (common practice, from memory).
FILM = UNITS["µin"].count
#: The unit that a small deviation is told in, by the unit of the set.
FINE = {"in": "µin", "mm": "µm"}


class _Band(Struct, frozen=True):
    """Limit deviation ±``deviation`` (pm) at any point of blocks up to and including ``up_to`` pm."""

    up_to: int
    deviation: int


@cache
def _bands(grade: str, system: str) -> tuple[_Band, ...]:
    return tuple(
        _Band(
            steps(row["up_to"], row["unit"]),
            steps(row["deviation"], row["deviation_unit"]),
        )
        for row in rows("block_grades")
        if (row["grade"], row["system"]) == (grade, system)
    )


def grade_limit(grade: str, size: int, unit: str = "mm") -> int | None:
    """The half-width (pm) of ±deviation that a block of ``grade`` and ``size`` pm may have at any point.

    ``unit`` is the set's: an inch set goes by ASME B89.1.9 where that has the grade, others by ISO 3650 and DIN 861.
    None where no table has the grade or the size. The lowest band holds thinner blocks too.

    >>> grade_limit("1", 30_000_000_000)  # 30 mm: 0.4 µm
    400000
    """
    for system in ("in", "mm") if unit == "in" else ("mm",):
        bands = _bands(grade.strip().upper(), system)
        found = next((band for band in bands if 0 < size <= band.up_to), None)
        if found is not None:
            return found.deviation
    return None


def stack_limit(stack: Stack, sets: Sequence[Instrument]) -> int | None:
    """How far a stack may be from its size (pm) if every block errs to the same side by its grade's limit; None where
    the grade of a block is not known. Films between wrung faces come on top (see ``FILM``)."""
    limits = _limits(stack, sets)
    return None if limits is None else sum(limit for _, _, limit in limits)


def _limits(stack: Stack, sets: Sequence[Instrument]) -> list[tuple[Block, Instrument, int]] | None:
    """Each block with its set and its grade's limit."""
    by_identity = {each.identity: each for each in sets}
    found = []
    for block in stack.blocks:
        held = by_identity[block.instrument]
        limit = grade_limit(held.gauge_class, block.size, held.unit)
        if limit is None:
            return None
        found.append((block, held, limit))
    return found


def stack_budget(stack: Stack, sets: Sequence[Instrument]) -> Budget | None:
    """The budget of a stack's size at 20 °C: each block within its grade's limit, and a film at every joint; None where
    the grade of a block is not known. Blocks with certified sizes of their own are known better."""
    lines = stack_lines(stack, sets)
    return None if lines is None else combined(lines)


def stack_lines(stack: Stack, sets: Sequence[Instrument]) -> tuple[Line, ...] | None:
    """The lines of ``stack_budget``: blocks of one set with one limit together."""
    limits = _limits(stack, sets)
    if limits is None:
        return None
    alike = Counter((held.tag, held.unit, limit) for _, held, limit in limits)
    lines = tuple(gauge_class(limit, None, tag, unit, times) for (tag, unit, limit), times in alike.items())
    joints = len(stack.blocks) - 1
    return (*lines, _films(joints, limits[0][1].unit)) if joints else lines


def _films(joints: int, unit: str) -> Line:
    estimate = Reason("doubt.estimate.within", {"a": Amount(FILM, Kind.LENGTH, FINE.get(unit, unit))})
    one = bounded("film", Reason("doubt.line.film", {"n": joints}), estimate, FILM)
    return Line(one.name, one.what, estimate, one.distribution, one.divisor / joints, one.square * joints)


def stack_expanded(stack: Stack, sets: Sequence[Instrument]) -> Amount | None:
    """U of a stack at 95.45 %, two significant digits rounded up, in the small unit of its sets; None where the grade
    of a block is not known."""
    budget = stack_budget(stack, sets)
    if budget is None:
        return None
    unit = next(each.unit for each in sets if each.identity == stack.blocks[0].instrument)
    fine = FINE.get(unit, unit)
    return Amount(budget.expanded(UNITS[fine].count), Kind.LENGTH, fine)


def _knows(held: Instrument, stack: Stack) -> bool:
    """Whether the limit of every block of a stack that is from this set is known."""
    sizes = (block.size for block in stack.blocks if block.instrument == held.identity)
    return all(grade_limit(held.gauge_class, size, held.unit) is not None for size in sizes)


def doubt_reasons(stack: Stack, sets: Sequence[Instrument]) -> tuple[Reason, ...]:
    """What is said of how well a stack's size is known: its U by grade and joints, or that a grade is not known."""
    expanded, worst = stack_expanded(stack, sets), stack_limit(stack, sets)
    taken = {block.instrument for block in stack.blocks}
    used = [each for each in sets if each.identity in taken]
    if expanded is None or worst is None:
        unknown = (each.tag for each in used if not _knows(each, stack))
        return (Reason("blocks.no_grade", {"tags": ", ".join(unknown)}),)
    grades = ", ".join(dict.fromkeys(each.gauge_class for each in used))
    most = Amount(worst, Kind.LENGTH, expanded.unit)
    return (Reason("blocks.doubt", {"U": expanded, "worst": most, "grades": grades, "n": len(stack.blocks)}),)
