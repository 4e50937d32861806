"""The stacks of one set of blocks for many sizes at once; the same as ``comparing.nearest_stack`` size by size.

Blocks are put in from the thickest to the thinnest. The first block by which a number of blocks reaches a sum is then
the thinnest of the stack that ``blocks_search.steadiest`` names, for whatever reached the sum before was thicker; what
is left of the sum was reached by thicker blocks in the same way. So one table, by number of blocks and sum, of the
block that reached it first holds every stack.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache
from itertools import accumulate
from math import gcd
from operator import or_
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from inspection.instruments.blocks import MOST_BLOCKS, Pool, pools_of, too_fine
from inspection.instruments.blocks_grades import FILM, grade_limit, stack_lines
from inspection.instruments.comparing import nearest_stack
from inspection.instruments.pins import present
from inspection.instruments.record import Instrument
from inspection.quantity.units import PICOMETRES_PER_MILLIMETRE

Mask = NDArray[np.bool_]
Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

#: A table may have so many entries; sizes that ask for a larger one are looked for one by one.
MOST_ENTRIES = 2**26

#: Tables are as long as is asked, in these steps (pm): sheets of like parts share one.
_LENGTH = 25 * PICOMETRES_PER_MILLIMETRE


class Stacks(NamedTuple):
    """The stack for each size: its own ``size`` (−1: none), the ``square`` of its standard uncertainty (pm²), and
    whether that is ``known``, the grade of every block being."""

    size: Counts
    square: Floats
    known: Mask


def stacks_at(blocks: Instrument, sizes: Counts, within: int) -> Stacks:
    """The stacks of a set for ``sizes``, as ``nearest_stack`` has them; one that is farther than ``within`` from its
    size may be another, or none."""
    distinct, place = np.unique(sizes, return_inverse=True)
    found = Stacks(np.full(len(distinct), -1), np.zeros(len(distinct)), np.zeros(len(distinct), dtype=bool))
    asked = distinct > 0
    if not present(blocks) or too_fine(blocks):
        asked[:] = False
    for at, these in _shared(blocks, distinct, asked, within):
        for column, values in zip(found, these, strict=True):
            column[at] = values
        asked[at] = False
    for i in np.flatnonzero(asked).tolist():
        for column, value in zip(found, _alone(blocks, int(distinct[i])), strict=True):
            column[i] = value
    return Stacks(found.size[place], found.square[place], found.known[place])


def _alone(blocks: Instrument, size: int) -> tuple[int, float, bool]:
    """The stack for one size."""
    stack = nearest_stack(blocks, size)
    lines = stack_lines(stack, (blocks,)) if stack is not None else None
    return stack.size if stack else -1, float(sum(line.variance for line in lines or ())), lines is not None


def _shared(blocks: Instrument, sizes: Counts, asked: Mask, within: int) -> Iterator[tuple[Counts, Stacks]]:
    """The sizes that one table answers, with their stacks: those that leave room between the ends of the one pool."""
    pools = pools_of(blocks)
    if len(pools) != 1:
        return
    (pool,) = pools
    at = np.flatnonzero(asked & (sizes > pool.at_ends))
    room, step = MOST_BLOCKS - len(pool.ends), gcd(*pool.sizes)
    if not len(at):
        return
    top = -(-(int(sizes[at[-1]]) + within) // _LENGTH) * _LENGTH // step
    if room * top <= MOST_ENTRIES:
        table = _table(tuple(sorted((size // step for size in pool.sizes), reverse=True)), room, top)
        yield at, _built(blocks, pool, table, step, sizes[at])


class _Table(NamedTuple):
    """Blocks in steps, thickest first and a 0 before all; by number of blocks and sum (in steps) the place in ``units``
    of the block that reached it first; and all sums that are reached."""

    units: Counts
    first: NDArray[np.unsignedinteger[Any]]
    sums: Counts


@lru_cache(maxsize=8)
def _table(units: tuple[int, ...], room: int, top: int) -> _Table:
    """For up to ``room`` blocks, and no more of them than any sum up to ``top`` needs."""
    reached, new_sums = _reached(units, room, top)
    together = tuple(accumulate(reached, or_))
    needed = together.index(together[-1])
    first = np.zeros((needed + 1, top + 1), dtype=np.min_scalar_type(len(units)))
    for i, k, new in new_sums:
        if k <= needed:
            first[k, _places(new)] = i
    return _Table(np.array((0, *units), dtype=np.int64), first, np.flatnonzero(first.any(axis=0)))


def _reached(units: tuple[int, ...], room: int, top: int) -> tuple[list[int], list[tuple[int, int, int]]]:
    """By number of blocks the sums that are reached, as the bits of one integer; and which of them each block, counted
    from 1, reached first."""
    reached, new_sums = [1] + [0] * room, []
    all_sums = (1 << (top + 1)) - 1
    for i, unit in enumerate(units, start=1):
        for k in range(room, 0, -1):
            new = reached[k - 1] << unit & all_sums & ~reached[k]
            if new:
                reached[k] |= new
                new_sums.append((i, k, new))
    return reached, new_sums


def _places(bits: int) -> Counts:
    """Which bits of a number are set."""
    low = ((bits & -bits).bit_length() - 1) // 8 * 8
    held = bits >> low
    raw = np.frombuffer(held.to_bytes(-(-held.bit_length() // 8), "little"), dtype=np.uint8)
    return low + np.flatnonzero(np.unpackbits(raw, bitorder="little"))


def _built(blocks: Instrument, pool: Pool, table: _Table, step: int, sizes: Counts) -> Stacks:
    """The stacks for sizes that leave room between the ends."""
    limits = _limits(blocks, (int(unit) * step for unit in table.units[1:]))
    ends = _limits(blocks, (block.size for block in pool.ends))[1:]
    reached = np.append(0, table.sums) if pool.ends else table.sums  # a pair of wear blocks is a stack by itself
    sums = _nearest(reached, step, sizes - pool.at_ends)
    there = sums >= 0
    left, count = np.where(there, sums, 0), _fewest(table, np.where(there, sums, 0))
    square, known = np.full(len(sizes), int((ends**2).sum())), np.full(len(sizes), bool((ends > 0).all()))
    taken = count.copy()
    for _ in range(len(table.first) - 1):
        block = table.first[taken, left]  # 0 where nothing is left
        square += limits[block] ** 2
        known &= (limits[block] > 0) | (taken == 0)
        left, taken = left - table.units[block], np.maximum(taken - 1, 0)
    joints = np.maximum(count + len(pool.ends) - 1, 0)
    size = np.where(there, sums * step + pool.at_ends, -1)
    return Stacks(size, (square + joints * FILM**2) / 3, known & there)


def _limits(blocks: Instrument, sizes: Iterable[int]) -> Counts:
    """How far blocks of these sizes may be off by their grade (pm), 0 where it is not known; one 0 before all."""
    found = (grade_limit(blocks.gauge_class, size, blocks.unit) for size in sizes)
    return np.array((0, *(limit or 0 for limit in found)), dtype=np.int64)


def _fewest(table: _Table, sums: Counts) -> Counts:
    """The fewest blocks that make each sum."""
    return np.asarray((table.first[:, sums] != 0).argmax(axis=0), dtype=np.int64)


def _nearest(sums: Counts, step: int, sizes: Counts) -> Counts:
    """The sum nearest to each size (pm), in steps, the smaller of two; −1 where there is none."""
    if not len(sums):
        return np.full(len(sizes), -1)
    over = np.searchsorted(sums * step, sizes, "left")
    above, below = sums[np.minimum(over, len(sums) - 1)], sums[np.maximum(over - 1, 0)]
    nearer: Mask = np.abs(below * step - sizes) <= np.abs(above * step - sizes)
    return np.where(nearer & (above * step != sizes), below, above)
