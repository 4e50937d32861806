"""The search for block stacks: which sums a set can build, with how few of its blocks, and the steadiest way to do it.

A set falls into a few coarse blocks, all multiples of one large step, and fine ones within a narrow span. Of each half
the sums of exactly k blocks are one integer used as a set of bits, so that the answer is exact and takes a few
milliseconds, whatever is missing from the set.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import accumulate
from math import gcd
from operator import or_

from msgspec import Struct

#: So many bits are kept for a set at most (16 MB). Every usual set needs under a tenth of it.
MOST_BITS = 2**27


class TooFine(ValueError):
    """The sizes have no common step worth the name, so that their sums cannot be kept."""


class Half(Struct, frozen=True):
    """Blocks that are multiples of ``step`` (pm): their sizes in steps, thinnest first, and the sums they reach.

    Bit s of ``sums[i][k]`` says that exactly k of the blocks from the i-th on make s steps.
    """

    step: int
    sizes: tuple[int, ...]
    sums: tuple[tuple[int, ...], ...]


class Sums(Struct, frozen=True):
    """Everything that up to ``most`` of a set's blocks can make; ``coarse.step`` is a multiple of ``fine.step``."""

    most: int
    fine: Half
    coarse: Half


def _half(sizes: Sequence[int], step: int, most: int) -> Half:
    units = tuple(sorted(size // step for size in sizes))
    sums: list[tuple[int, ...]] = [(1, *(0 for _ in range(most)))]
    for unit in reversed(units):
        after = sums[-1]
        sums.append((1, *(after[k] | after[k - 1] << unit for k in range(1, most + 1))))
    return Half(step, units, tuple(reversed(sums)))


def _weight(sizes: Sequence[int], step: int, most: int) -> int:
    """How many bits the sums of these blocks take."""
    return len(sizes) * most * (sum(sorted(sizes)[-most:]) // step)


def _steps(sizes: Sequence[int]) -> tuple[int, ...]:
    """Common steps of the largest one, two, three … blocks: where a set may be parted; the last is that of all."""
    found = accumulate(sorted(sizes, reverse=True), gcd)
    return tuple(dict.fromkeys(found))


@lru_cache(maxsize=16)
def sums_of(sizes: tuple[int, ...], most: int) -> Sums:
    """All that up to ``most`` of these blocks (pm, each used once) can make. Raises TooFine.

    ``sizes`` may not be empty, and each is over 0.
    """
    steps = _steps(sizes)
    finest = steps[-1]

    def weight(step: int) -> int:
        fine, coarse = _parted(sizes, step)
        return _weight(fine, finest, most) + _weight(coarse, step, most)

    step = min(steps, key=weight)
    if weight(step) > MOST_BITS:
        raise TooFine(f"a step of {finest} pm")
    fine, coarse = _parted(sizes, step)
    return Sums(most, _half(fine, finest, most), _half(coarse, step, most))


def _parted(sizes: Sequence[int], step: int) -> tuple[list[int], list[int]]:
    return [size for size in sizes if size % step], [size for size in sizes if size % step == 0]


# --- whether a size can be built --------------------------------------------------------------------------------


def _reaches(sums: Sums, i: int, j: int, size: int, blocks: int) -> bool:
    """Whether exactly ``blocks`` of the fine blocks from i and the coarse ones from j make ``size``."""
    fine, coarse = sums.fine, sums.coarse
    if size < 0 or size % fine.step:
        return False
    jump = coarse.step // fine.step
    target = size // fine.step
    for k in range(blocks + 1):
        low, high = fine.sums[i][k], coarse.sums[j][blocks - k]
        if not low or not high:
            continue
        for part in range(target % jump, min(target + 1, low.bit_length()), jump):
            if low >> part & 1 and high >> ((target - part) // jump) & 1:
                return True
    return False


def fewest(sums: Sums, size: int) -> int | None:
    """The fewest blocks that make ``size`` pm exactly; None if not even ``sums.most`` do."""
    return next((k for k in range(sums.most + 1) if _reaches(sums, 0, 0, size, k)), None)


def steadiest(sums: Sums, size: int, blocks: int) -> tuple[int, ...]:
    """The stack of exactly ``blocks`` blocks making ``size``, thinnest first, whose thinnest block is as thick as can
    be, then its second thinnest, and so on: thin blocks bend. There must be one (see ``fewest``)."""
    taken: list[int] = []
    i = j = 0
    while blocks:
        fine = sums.fine.sizes[i] * sums.fine.step if i < len(sums.fine.sizes) else None
        coarse = sums.coarse.sizes[j] * sums.coarse.step if j < len(sums.coarse.sizes) else None
        is_fine = fine is not None and (coarse is None or fine < coarse)
        block = fine if is_fine else coarse
        assert block is not None, "no stack of so many blocks makes this size"
        i, j = (i + 1, j) if is_fine else (i, j + 1)
        if not _reaches(sums, i, j, size, blocks):
            taken.append(block)
            size, blocks = size - block, blocks - 1
    return tuple(taken)


# --- the nearest that can be built ------------------------------------------------------------------------------


def _bits(number: int) -> Iterator[int]:
    while number:
        low = number & -number
        yield low.bit_length() - 1
        number ^= low


def _pairings(sums: Sums) -> Iterator[tuple[int, int]]:
    """Each sum of coarse blocks (pm) with the set of all fine sums that may be put to it."""
    up_to = tuple(accumulate(sums.fine.sums[0], or_))
    seen = 0
    for k in range(sums.most + 1):
        new = sums.coarse.sums[0][k] & ~seen
        seen |= new
        yield from ((bit * sums.coarse.step, up_to[sums.most - k]) for bit in _bits(new))


def nearest_below(sums: Sums, size: int) -> int | None:
    """The largest sum under or at ``size`` pm that at least one and at most ``sums.most`` blocks make."""
    step = sums.fine.step
    best = 0
    for coarse, fine in _pairings(sums):
        if coarse <= size:
            under = fine & ((1 << ((size - coarse) // step + 1)) - 1)
            best = max(best, coarse + (under.bit_length() - 1) * step)
    return best or None


def nearest_above(sums: Sums, size: int) -> int | None:
    """The smallest sum over or at ``size`` pm (which is over 0) that at most ``sums.most`` blocks make."""
    step = sums.fine.step
    best: int | None = None
    for coarse, fine in _pairings(sums):
        needed = max(0, -((coarse - size) // step))
        over = fine >> needed
        if over:
            found = coarse + (needed + (over & -over).bit_length() - 1) * step
            best = found if best is None else min(best, found)
    return best
