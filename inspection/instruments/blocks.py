"""Gauge blocks: the stack for a size out of the shop's own sets, and the block to check an instrument on.

Lengths are picometres and exact. A set holds one of each of its members, less the missing ones. Members labelled
"wear" are the pair of hard blocks that protect both ends of a stack: they are used there and nowhere else.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence

from msgspec import Struct

from inspection.instruments.blocks_search import TooFine, fewest, nearest_above, nearest_below, steadiest, sums_of
from inspection.instruments.pins import present
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.quantity.speaker import written_out
from inspection.quantity.units import PICOMETRES_PER_INCH, Kind
from inspection.reasons import Amount, Reason, Refused

#: More blocks are not wrung into one stack: each joint adds its own film and doubt (common practice).
MOST_BLOCKS = 8

#: A block this near a size is near enough to check an instrument on: one turn of an inch thimble (common practice).
NEAR = PICOMETRES_PER_INCH // 40

WEAR = "wear"


class Block(Struct, frozen=True):
    """One block: its marked size (pm), the set it is from (an instrument's identity), and its label there."""

    size: int
    instrument: str
    label: str = ""


class Stack(Struct, frozen=True):
    """Blocks in the order they are wrung: thickest first, wear blocks at both ends; ``size`` is their exact sum in
    pm."""

    size: int
    blocks: tuple[Block, ...]


class Stacking(Struct, frozen=True):
    """What a size came to: the stack for it, or where none builds it the nearest ``below`` and ``above`` (None: there
    is none on that side)."""

    wanted: int
    stack: Stack | None = None
    below: Stack | None = None
    above: Stack | None = None

    @property
    def short(self) -> int | None:
        """What is left over: how much the stack below lacks (pm); 0 where the size is built."""
        held = self.stack or self.below
        return self.wanted - held.size if held else None

    @property
    def over(self) -> int | None:
        """By how much the stack above is too long (pm); 0 where the size is built."""
        held = self.stack or self.above
        return held.size - self.wanted if held else None


class Pool(Struct, frozen=True):
    """Blocks that may be wrung together, and the pair at the ends if there is one."""

    blocks: tuple[Block, ...]
    ends: tuple[Block, ...] = ()

    @property
    def at_ends(self) -> int:
        """What the pair at the ends takes (pm)."""
        return sum(block.size for block in self.ends)

    @property
    def sizes(self) -> tuple[int, ...]:
        """The sizes of the blocks between (pm)."""
        return tuple(block.size for block in self.blocks)


def pools_of(blocks: Instrument) -> tuple[Pool, ...]:
    """What the stacks of one set are built from, closed by wear blocks where it has a pair: one pool for each pair."""
    inner = _inner((blocks,))
    return tuple(Pool(inner, ends) for ends in _ends((blocks,), has_wear((blocks,)))) if inner else ()


# --- stacks -----------------------------------------------------------------------------------------------------


def stack_for(
    sets: Sequence[Instrument], size: int, *, wear: bool = False, together: bool = False, most: int = MOST_BLOCKS
) -> Stacking:
    """The stack of fewest blocks for ``size`` pm, and among those the one whose thinnest blocks are thickest.

    A stack is built from one of the ``sets``; from all of them only if ``together`` says so. With ``wear`` a pair of
    wear blocks of any of the sets closes both ends, counted in ``most``. Where nothing builds the size, the nearest
    that can be built below and above are told. Raises Refused for a size not over zero, no sets, an instrument that is
    no set of blocks, sets of several units together, and wear blocks that no set has.
    """
    _sized(size, sets)
    held = _usable(sets)
    if together and len({each.unit for each in held}) > 1:
        raise Refused(Reason("blocks.units", {"tags": _tags(held)}))
    groups = [held] if together else [(each,) for each in held]
    _parted(groups)
    pools = [Pool(blocks, ends) for ends in _ends(held, wear) for group in groups if (blocks := _inner(group))]
    found = [stack for pool in pools if (stack := _build(pool, size, most)) is not None]
    if found:
        return Stacking(size, min(found, key=_worth))
    below = [near for pool in pools if (near := _nearest(pool, size, most, nearest_below)) is not None]
    above = [near for pool in pools if (near := _nearest(pool, size, most, nearest_above)) is not None]
    return Stacking(
        size,
        below=min(below, key=lambda stack: (-stack.size, _worth(stack)), default=None),
        above=min(above, key=lambda stack: (stack.size, _worth(stack)), default=None),
    )


def _worth(stack: Stack) -> tuple[int, tuple[int, ...]]:
    """Fewest first, then the thickest thin blocks."""
    return len(stack.blocks), tuple(-size for size in sorted(block.size for block in stack.blocks))


def _build(pool: Pool, size: int, most: int) -> Stack | None:
    inside, room = size - pool.at_ends, most - len(pool.ends)
    if inside == 0 and pool.ends:
        return _wrung((), pool)
    if inside <= 0 or room < 1:
        return None
    sums = sums_of(pool.sizes, room)
    count = fewest(sums, inside)
    return None if count is None else _wrung(steadiest(sums, inside, count), pool)


def _nearest(pool: Pool, size: int, most: int, search: Callable[..., int | None]) -> Stack | None:
    inside, room = size - pool.at_ends, most - len(pool.ends)
    ends_alone = pool.at_ends if pool.ends else None
    if inside <= 0 or room < 1:
        is_side = ends_alone is not None and (ends_alone > size) == (search is nearest_above)
        return _wrung((), pool) if is_side else None
    found = search(sums_of(pool.sizes, room), inside)
    if found is None:  # nothing fits between the ends
        return _wrung((), pool) if ends_alone is not None and search is nearest_below else None
    return _build(pool, found + pool.at_ends, most)


def _wrung(sizes: Iterable[int], pool: Pool) -> Stack:
    """A stack of these sizes, each block of the pool used once."""
    waiting = Counter(sizes)
    chosen: list[Block] = []
    for block in pool.blocks:
        if waiting[block.size] > 0:
            waiting[block.size] -= 1
            chosen.append(block)
    chosen.sort(key=lambda block: -block.size)
    blocks = (*pool.ends[:1], *chosen, *pool.ends[1:])
    return Stack(sum(block.size for block in blocks), blocks)


def stack_of(sets: Sequence[Instrument], sizes: Sequence[int], wanted: int | None = None) -> Stack:
    """The stack that a person says was wrung: these ``sizes`` (pm) in this order, each a block of the sets.

    Raises Refused with every fault: no blocks, a size not over zero, a block that no set has, is missing or is used
    twice; with ``wanted`` a block larger than it, and a sum that is not it.
    """
    held = _usable(sets)
    unit = held[0].unit
    if not sizes:
        raise Refused(Reason("blocks.none_used"))
    faults = [fault for size in dict.fromkeys(sizes) for fault in _faults(held, size, sizes.count(size), wanted)]
    if not faults and wanted is not None and sum(sizes) != wanted:
        parts = {"sum": _amount(sum(sizes), unit), "size": _amount(wanted, unit)}
        faults.append(Reason("blocks.sum", dict(parts)))
    if faults:
        raise Refused(*faults)
    there = [block for each in held for block in _there(each)]
    return Stack(sum(sizes), tuple(_drawn(there, size) for size in sizes))


def _drawn(there: list[Block], size: int) -> Block:
    return there.pop(next(i for i, block in enumerate(there) if block.size == size))


def _faults(sets: Sequence[Instrument], size: int, times: int, wanted: int | None) -> Iterable[Reason]:
    block = _amount(size, sets[0].unit)
    there = sum(member.size == size for each in sets for member in present(each))
    if size <= 0:
        yield Reason("blocks.size", {"size": block})
    elif not there:
        lost = next((each.tag for each in sets if size in each.missing), None)
        yield (
            Reason("blocks.not_there", {"size": block, "tags": _tags(sets)})
            if lost is None
            else Reason("blocks.missing", {"size": block, "tag": lost})
        )
    elif times > there:
        yield Reason("blocks.twice", {"size": block, "n": there})
    elif wanted is not None and size > wanted:
        yield Reason("blocks.larger", {"block": block, "size": _amount(wanted, sets[0].unit)})


# --- the sets ---------------------------------------------------------------------------------------------------


def _sized(size: int, sets: Sequence[Instrument]) -> None:
    if size <= 0:
        raise Refused(Reason("blocks.size", {"size": _amount(size, sets[0].unit if sets else "mm")}))


def _usable(sets: Sequence[Instrument]) -> tuple[Instrument, ...]:
    if not sets:
        raise Refused(Reason("blocks.no_sets"))
    wrong = [each for each in sets if each.kind is not InstrumentKind.GAUGE_BLOCKS]
    if wrong:
        raise Refused(*(Reason("blocks.not_blocks", {"tag": each.tag, "name": each.name}) for each in wrong))
    if not any(present(each) for each in sets):
        raise Refused(Reason("blocks.empty", {"tags": _tags(sets)}))
    return tuple(sets)


def _parted(groups: Iterable[Sequence[Instrument]], most: int = MOST_BLOCKS) -> None:
    """Look that the sums of every group can be kept; they are kept for what follows."""
    for group in groups:
        if too_fine(*group, most=most):
            raise Refused(Reason("blocks.too_fine", {"tag": _tags(group)}))


def too_fine(*sets: Instrument, most: int = MOST_BLOCKS) -> bool:
    """Whether the sizes of sets have no common step to build with: one of them is mistyped, most likely."""
    sizes = tuple(block.size for block in _inner(sets))
    try:
        if sizes:
            sums_of(sizes, most)
    except TooFine:
        return True
    return False


def _there(each: Instrument) -> tuple[Block, ...]:
    return tuple(Block(member.size, each.identity, member.label) for member in present(each) if member.size > 0)


def _is_wear(block: Block) -> bool:
    return block.label.casefold().startswith(WEAR)


def _inner(sets: Iterable[Instrument]) -> tuple[Block, ...]:
    return tuple(block for each in sets for block in _there(each) if not _is_wear(block))


def _ends(sets: Sequence[Instrument], wear: bool) -> list[tuple[Block, ...]]:
    """The pairs that may close a stack; one empty pair where none is asked for."""
    if not wear:
        return [()]
    pairs = _pairs(sets)
    if not pairs:
        raise Refused(Reason("blocks.no_wear", {"tags": _tags(sets)}))
    return pairs


def _pairs(sets: Iterable[Instrument]) -> list[tuple[Block, ...]]:
    hard: dict[int, list[Block]] = {}
    for each in sets:
        for block in filter(_is_wear, _there(each)):
            hard.setdefault(block.size, []).append(block)
    return [tuple(blocks[:2]) for blocks in hard.values() if len(blocks) > 1]


def is_wear_alone(instrument: Instrument) -> bool:
    """Whether a box holds wear blocks and nothing to put between them."""
    return bool(_there(instrument)) and not _inner((instrument,))


def has_wear(sets: Iterable[Instrument]) -> bool:
    """Whether sets hold a pair of wear blocks of one size between them."""
    return bool(_pairs(sets))


def block_sets(crib: Iterable[Instrument], unit: str = "") -> tuple[Instrument, ...]:
    """The sets of blocks in a crib, those of ``unit`` first and otherwise in the crib's order."""
    found = [each for each in crib if each.kind is InstrumentKind.GAUGE_BLOCKS]
    return tuple(sorted(found, key=lambda each: bool(unit) and each.unit != unit))


# --- the block to check an instrument on ------------------------------------------------------------------------


def block_near(sets: Sequence[Instrument], size: int, instrument: Instrument) -> Stack | None:
    """One block, or a stack of two, to check ``instrument`` on near ``size`` pm; None if none is within its range.

    One block within a thimble's turn of the size is enough; else the nearest of one or two. Sets in the instrument's
    unit come first, another unit only where those have nothing in range. Raises Refused as ``stack_for`` does.
    """
    _sized(size, sets)
    low, high = instrument.low, instrument.high
    target = min(max(size, low), high) if high else size
    held = _usable(sets)
    _parted(((each,) for each in held), most=2)
    for same in (True, False):
        there = [each for each in held if (each.unit == instrument.unit) is same]
        found = [near for each in there for near in _near(each, target) if low <= near.size <= (high or near.size)]
        if found:
            return min(found, key=lambda stack: _nearness(stack, target))
    return None


def _nearness(stack: Stack, target: int) -> tuple[bool, int, int, tuple[int, ...]]:
    away = abs(stack.size - target)
    near_enough = len(stack.blocks) == 1 and away <= NEAR
    return (not near_enough, away, *_worth(stack))


def _near(each: Instrument, target: int) -> Iterable[Stack]:
    pool = Pool(_inner((each,)))
    if not pool.blocks:
        return
    for search in (nearest_below, nearest_above):
        for most in (1, 2):
            if (stack := _nearest(pool, target, most, search)) is not None:
                yield stack


# --- said -------------------------------------------------------------------------------------------------------


def stacking_reasons(found: Stacking, unit: str) -> tuple[Reason, ...]:
    """What a size came to, sizes in ``unit``: the blocks to take, or what is nearest and left over."""
    wanted = _amount(found.wanted, unit)
    if found.stack is not None:
        return (Reason("blocks.stack", {"size": wanted, **_told(found.stack, unit)}),)
    said = [Reason("blocks.not_built", {"size": wanted})]
    for code, stack, left in (("blocks.below", found.below, found.short), ("blocks.above", found.above, found.over)):
        if stack is not None:
            near = {"got": _amount(stack.size, unit), "left": _amount(left or 0, unit)}
            said.append(Reason(code, {**near, **_told(stack, unit)}))
    return tuple(said)


def _told(stack: Stack, unit: str) -> dict[str, str | int]:
    return {"n": len(stack.blocks), "blocks": blocks_text(stack, unit)}


def blocks_text(stack: Stack, unit: str, tags: Mapping[str, str] | None = None) -> str:
    """The blocks of a stack as they are wrung, sizes in ``unit``, each with its label; with ``tags`` (by identity),
    those of several sets with the set they lie in: ``0.05 (wear) + 1 + 0.05 (wear)``."""
    several = len({block.instrument for block in stack.blocks}) > 1
    return " + ".join(_block_text(block, unit, tags if several else None) for block in stack.blocks)


def _block_text(block: Block, unit: str, tags: Mapping[str, str] | None) -> str:
    where = tags.get(block.instrument, "") if tags else ""
    label = ", ".join(filter(None, (where, block.label)))
    return f"{written_out(block.size, unit)} ({label})" if label else written_out(block.size, unit)


def _amount(count: int, unit: str) -> Amount:
    return Amount(count, Kind.LENGTH, unit)


def _tags(sets: Iterable[Instrument]) -> str:
    return ", ".join(each.tag for each in sets)
