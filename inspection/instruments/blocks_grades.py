"""How far a gauge block may be from its marked size, by grade; and so a stack."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from msgspec import Struct

from inspection.instruments.blocks import Stack
from inspection.instruments.record import Instrument
from inspection.standards.tables import rows, steps


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
    the grade of a block is not known. Films between wrung faces come on top (some hundredths of a micron a joint)."""
    by_identity = {each.identity: each for each in sets}
    total = 0
    for block in stack.blocks:
        held = by_identity[block.instrument]
        limit = grade_limit(held.gauge_class, block.size, held.unit)
        if limit is None:
            return None
        total += limit
    return total
