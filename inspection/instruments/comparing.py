"""Comparing with gauge blocks: over which stack an instrument is set for a row, and how far it then has to move.

The blocks carry the size; the instrument that is set on them reads a difference only, within its own range. Lengths are
picometres.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic
from inspection.instruments.blocks import Stack, has_wear, stack_for
from inspection.instruments.blocks_grades import stack_lines
from inspection.instruments.record import Instrument
from inspection.measuring.uncertainty import Line
from inspection.measuring.uncertainty_parts import amount
from inspection.reasons import Part, Reason, Refused


class Compared(Struct, frozen=True):
    """A row over its ``stack``: the ``lines`` of the stack's size, the ``travel`` from the zero on the stack to the
    farther limit, and the ``span`` between the outermost of stack and limits, which an instrument's range must hold."""

    stack: Stack
    lines: tuple[Line, ...]
    travel: int
    span: int


def compared(row: Characteristic, blocks: Instrument) -> Compared:
    """The row over the stack that one set of blocks has for its likely size.

    Raises Refused for a row that states no size, for a set that builds nothing or has no sizes to build with, and where
    the grade of a block is not known.
    """
    size = row.requirement.likely
    if size is None or size <= 0:
        raise Refused(Reason("reach.stack_size.not", {"number": row.number}))
    stack = nearest_stack(blocks, size)
    if stack is None:
        raise Refused(Reason("reach.stack.not", {"blocks": blocks.tag, "size": amount(size, row.requirement.unit)}))
    lines = stack_lines(stack, (blocks,))
    if lines is None:
        raise Refused(Reason("reach.grade.not", {"blocks": blocks.tag}))
    low, high = ends_of(row) or (size, size)
    travel, span = moved(low, high, stack.size)
    return Compared(stack, lines, travel, span)


def moved(low: int, high: int, stack: int) -> tuple[int, int]:
    """Travel and span, as ``Compared`` has them, of sizes from ``low`` to ``high`` over a ``stack``.

    >>> moved(98, 102, 99), moved(98, 102, 110)
    ((3, 4), (12, 12))
    """
    return max(abs(high - stack), abs(low - stack)), max(high, stack) - min(low, stack)


def ends_of(row: Characteristic) -> tuple[int, int] | None:
    """The smallest and largest size that a good part of the row has: its limits, on an open side as far as its band
    goes; the likely size where it has no limit, None where it has no size."""
    need = row.requirement
    lower, upper, band = need.lower, need.upper, need.band or 0
    if lower is not None and upper is not None:
        return lower, upper
    if lower is not None:
        return lower, lower + band
    if upper is not None:
        return upper - band, upper
    return None if need.likely is None else (need.likely, need.likely)


@lru_cache(maxsize=4096)
def nearest_stack(blocks: Instrument, size: int) -> Stack | None:
    """The stack of a set for ``size``, closed by wear blocks where it has a pair; where it does not build that, the
    nearest that it builds, the shorter of two. None where it builds nothing. Raises Refused as ``stack_for`` does."""
    found = stack_for((blocks,), size, wear=has_wear((blocks,)))
    near = [stack for stack in (found.stack, found.below, found.above) if stack is not None]
    return min(near, key=lambda stack: abs(stack.size - size), default=None)


def shows(read: Instrument, blocks: Instrument) -> bool:
    """Whether an instrument reads in the unit that blocks are marked in, so that stack and difference add up."""
    return blocks.unit in (read.unit, read.other_unit)


def travel_of(read: Instrument) -> int:
    """How far an instrument moves: the width of its range."""
    return read.high - read.low


def compared_checks(row: Characteristic, read: Instrument, blocks: Instrument) -> Iterator[tuple[str, bool, Reason]]:
    """Every condition of a comparison: its name, whether it holds, and what was asked, needed and got."""
    units: dict[str, Part] = {"tag": read.tag, "blocks": blocks.tag, "unit": read.unit, "marked": blocks.unit}
    matched = shows(read, blocks)
    yield "blocks_unit", matched, Reason(f"reach.blocks_unit{'' if matched else '.not'}", units)
    try:
        found = compared(row, blocks)
    except Refused as refused:
        yield from (("stack", False, reason) for reason in refused.reasons)
        return
    yield "stack", True, _built(row, found.stack, read, blocks)
    holds = found.span <= travel_of(read)
    parts: dict[str, Part] = {
        "tag": read.tag,
        "size": amount(found.stack.size, blocks.unit),
        "needed": amount(found.span, row.requirement.unit),
        "got": amount(travel_of(read), read.unit),
    }
    yield "travel", holds, Reason(f"reach.travel{'' if holds else '.not'}", parts)


def _built(row: Characteristic, stack: Stack, read: Instrument, blocks: Instrument) -> Reason:
    size = row.requirement.likely or 0
    parts: dict[str, Part] = {
        "tag": read.tag,
        "blocks": blocks.tag,
        "size": amount(size, row.requirement.unit),
        "n": len(stack.blocks),
    }
    if stack.size == size:
        return Reason("reach.stack", parts)
    return Reason("reach.stack_near", {**parts, "got": amount(stack.size, blocks.unit)})
