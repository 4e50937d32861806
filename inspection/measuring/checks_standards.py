"""Which block, stack or setting standard a check is read on: suggested out of the shop's own sets, or as a person says.

Sizes are counts of the instrument's quantity (pm for lengths).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from inspection.instruments.blocks import Stack, block_near, block_sets, stack_of
from inspection.instruments.record import Instrument, Standing
from inspection.instruments.spelling import Piece, read_amount
from inspection.measuring.checks import Configuration, range_of
from inspection.quantity.speaker import written_out
from inspection.quantity.units import Kind
from inspection.reasons import Reason, Refused

_WORD = re.compile(r"\S+")


class Standard(Struct, frozen=True):
    """What is read in a check: its true ``size``, ``name`` as the shop calls it, and what stands against it.

    ``take`` says what to take out of which set, where it is of the shop's own ones; ``minds`` do not forbid its use.
    """

    size: int
    name: str = ""
    take: Reason | None = None
    minds: tuple[Reason, ...] = ()


class Sets(Struct, frozen=True):
    """The shop's sets of gauge blocks in service, and the day (ISO; empty: unknown) that their due dates are held
    against."""

    blocks: tuple[Instrument, ...] = ()
    day: str = ""

    def overdue(self, each: Instrument) -> bool:
        """Whether a set is past its due date."""
        return bool(self.day and each.due and each.due < self.day)


def sets_of(crib: Mapping[str, Instrument], unit: str, day: str = "") -> Sets:
    """The sets of blocks of a crib that are in service, those in ``unit`` first."""
    found = block_sets(crib.values(), unit)
    return Sets(tuple(each for each in found if each.standing is Standing.IN_SERVICE), day)


def suggested(instrument: Instrument, configuration: Configuration, size: int | None, sets: Sets) -> Standard | None:
    """The block, or stack of two, to read near ``size``; without a size, near the middle of the range.

    Sets past their due date are suggested only where no other has anything in range. None where no set has.
    """
    low, high = range_of(instrument, configuration)
    wanted = size or (low + high) // 2
    if instrument.quantity is not Kind.LENGTH or wanted <= 0:
        return None
    as_set = replace(instrument, unit=configuration.unit, low=low, high=high)
    good = tuple(each for each in sets.blocks if not sets.overdue(each))
    for among in filter(None, (good, sets.blocks)):
        if (stack := _near(among, wanted, as_set)) is not None:
            return _from_sets(stack, sets)
    return None


def _near(sets: Sequence[Instrument], size: int, instrument: Instrument) -> Stack | None:
    try:
        return block_near(sets, size, instrument)
    except Refused:
        return None  # sets that are empty or mistyped suggest nothing; the size can still be said


def _from_sets(stack: Stack, sets: Sets) -> Standard:
    by_identity = {each.identity: each for each in sets.blocks}
    used = [by_identity[name] for name in dict.fromkeys(block.instrument for block in stack.blocks)]
    tags, unit = ", ".join(each.tag for each in used), used[0].unit
    blocks = " + ".join(written_out(block.size, unit) for block in stack.blocks)
    take = Reason("check.take", {"blocks": blocks, "unit": unit, "tags": tags, "n": len(stack.blocks)})
    late = [Reason("pull.overdue", {"tag": each.tag, "due": each.due}) for each in used if sets.overdue(each)]
    return Standard(stack.size, f"{tags}: {blocks}" if len(stack.blocks) > 1 else tags, take, tuple(late))


# --- as a person says -------------------------------------------------------------------------------------------


def read_standard(
    text: str, instrument: Instrument, configuration: Configuration, sets: Sets, size: int | None = None
) -> Standard:
    """What a person says is read: a size, a stack as ``.4 + .1005``, either with a mark before it, or the mark of one
    of the shop's sets alone, out of which what is nearest to ``size`` is taken.

    Without a mark, or with that of a set, blocks must be in the shop's sets if it has any. Raises Refused: with ``at``
    for what is no number, and for a block that no set has.
    """
    whole = Piece(text).cut(0)
    own = next((each for each in sets.blocks if each.tag.casefold() == whole.text.casefold()), None)
    if own is not None:
        return _out_of(own, instrument, configuration, size, sets)
    name, sizes = _read_sizes(whole, configuration.unit)
    named = tuple(each for each in sets.blocks if each.tag.casefold() == name.casefold())
    if named or (not name and sets.blocks and instrument.quantity is Kind.LENGTH):
        return _of_blocks(sizes, named, sets)
    return Standard(sum(sizes), name)


def _out_of(
    own: Instrument, instrument: Instrument, configuration: Configuration, size: int | None, sets: Sets
) -> Standard:
    found = suggested(instrument, configuration, size, Sets((own,), sets.day))
    if found is None:
        raise Refused(Reason("check.refused.none_near", {"tag": own.tag, "instrument": instrument.tag}))
    return found


def _of_blocks(sizes: Sequence[int], named: tuple[Instrument, ...], sets: Sets) -> Standard:
    try:
        return _from_sets(stack_of(named or sets.blocks, sizes), sets)
    except Refused as refused:
        hint = () if named else (Reason("check.refused.not_own"),)
        raise Refused(*refused.reasons, *hint) from None


def _read_sizes(whole: Piece, unit: str) -> tuple[str, tuple[int, ...]]:
    """The mark before the sizes (empty: none) and the sizes. What can be read as a size is none of the mark."""
    begins = [word.start() for word in _WORD.finditer(whole.text.partition("+")[0])]
    start = next((at for at in begins if _reads(whole, at, unit)), None)
    if start is None:  # told at the size, which follows a mark
        start = begins[-1] if begins and whole.text[0].isalpha() else 0
    return whole.text[:start].strip(), tuple(read_amount(each, unit).count for each in _parts(whole, start))


def _reads(whole: Piece, start: int, unit: str) -> bool:
    try:
        read_amount(next(iter(_parts(whole, start))), unit)
    except Refused:
        return False
    return True


def _parts(whole: Piece, start: int) -> Iterator[Piece]:
    """The sizes of a stack, from a character on."""
    for part in whole.text[start:].split("+"):
        yield whole.cut(start, start + len(part))
        start += len(part) + 1
