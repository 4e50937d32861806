"""The blocks that a shop has at hand: which sets may be used on a day, and what they build together."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from inspection.instruments.blocks import (
    Stack,
    Stacking,
    block_near,
    block_sets,
    has_wear,
    is_wear_alone,
    stack_for,
    too_fine,
)
from inspection.instruments.pins import present
from inspection.instruments.reach import usable
from inspection.instruments.record import Instrument


def sets_at_hand(crib: Iterable[Instrument], day: str, unit: str = "") -> tuple[Instrument, ...]:
    """The sets of a crib to build from on ``day`` (ISO), those of ``unit`` first.

    Sets that nobody may use for acceptance are passed over as long as there is another, and so is one that holds no
    block, or a mistyped one that nothing can be built with.
    """
    held = [each for each in block_sets(crib, unit) if present(each)]
    for asked in (lambda each: usable(each, day) and not too_fine(each), lambda each: not too_fine(each)):
        if found := tuple(filter(asked, held)):
            return found
    return tuple(held)


def stack_at_hand(sets: Sequence[Instrument], size: int, unit: str, *, wear: bool | None = None) -> Stacking:
    """The stack for ``size`` pm from sets of ``unit``: from one of them, from several, and only then from another
    unit's. Where none builds it, the nearest is that of the unit asked for, if there are sets of it. ``wear`` None
    closes both ends with wear blocks where a pair is there; else as ``stack_for``, which also says what is refused."""
    nearest: Stacking | None = None
    for group, together in _groups(sets, unit, wear):
        found = stack_for(group, size, wear=has_wear(group) if wear is None else wear, together=together)
        if found.stack is not None:
            return found
        if nearest is None or (together and group[0].unit == unit):
            nearest = found
    return nearest or stack_for(sets, size, wear=bool(wear))


def _groups(sets: Sequence[Instrument], unit: str, wear: bool | None) -> Iterator[tuple[list[Instrument], bool]]:
    """Sets that may be built from, in the order they are tried, and whether several of them together."""
    for other in dict.fromkeys((unit, *(each.unit for each in sets))):
        group = [each for each in sets if each.unit == other]
        if not group or (wear and not has_wear(group)):
            continue
        yield group, False
        if len(group) > 1:
            yield group, True


def with_wear_boxes(held: Instrument, crib: Iterable[Instrument]) -> tuple[Instrument, ...]:
    """A set of blocks with the boxes of its unit that hold nothing but wear blocks, which may close its stacks."""
    boxes = (each for each in block_sets(crib) if each.unit == held.unit and each.identity != held.identity)
    return (held, *(box for box in boxes if is_wear_alone(box)))


def block_to_check(sets: Sequence[Instrument], size: int, instrument: Instrument) -> Stack | None:
    """What to read an instrument on near ``size`` pm: one block or a stack of two as ``block_near`` has it; where its
    range begins beyond these, the stack nearest to the size within it; None if there is none."""
    near = block_near(sets, size, instrument)
    if near is not None:
        return near
    low, high = instrument.low, instrument.high
    target = min(max(size, low), high) if high else size
    found = stack_at_hand(sets, target, instrument.unit, wear=False)
    within = [each for each in (found.stack, found.below, found.above) if each and low <= each.size]
    within = [each for each in within if not high or each.size <= high]
    return min(within, key=lambda stack: abs(stack.size - target), default=None)


def told_unit(found: Stacking, sets: Iterable[Instrument], unit: str) -> str:
    """The unit to tell a stack in: its blocks', or ``unit`` where there is none."""
    stack = found.stack or found.below or found.above
    return unit_of(stack, sets) if stack is not None else unit


def unit_of(stack: Stack, sets: Iterable[Instrument]) -> str:
    """The unit that a stack's blocks are marked in: that of the set which the middle one is from."""
    units = {each.identity: each.unit for each in sets}
    return units[stack.blocks[len(stack.blocks) // 2].instrument]
