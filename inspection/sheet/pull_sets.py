"""What is taken out of sets for a sheet: the stack of blocks for every check and every size, and the pins of a bore."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.numbers import natural_key
from inspection.drawing.requirement import Requirement
from inspection.instruments.blocks import NEAR, Stack, Stacking, block_near
from inspection.instruments.blocks_at_hand import block_to_check, sets_at_hand, stack_at_hand, told_unit
from inspection.instruments.comparing import nearest_stack
from inspection.instruments.pins import Gauge, Pair, gauges_of, pair_for
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.instruments.stepping import pins_to_take
from inspection.measuring.checks import Asked, checklist
from inspection.measuring.reading import Role
from inspection.measuring.slots import roles_of
from inspection.quantity.units import Kind
from inspection.reasons import Amount, Reason, Refused

#: An instrument's uses on the route: the stop at which it is in hand, and the row it is needed for.
Uses = Sequence[tuple[int, Characteristic]]


class Built(Struct, frozen=True):
    """A stack to take out of sets of blocks, told in ``unit``: what its size came to, the tags of the instruments that
    are checked on it, the numbers of the rows that are measured over it, and the stops it is needed at."""

    found: Stacking
    unit: str
    checks: tuple[str, ...] = ()
    rows: tuple[str, ...] = ()
    legs: tuple[int, ...] = ()

    @property
    def stacks(self) -> tuple[Stack, ...]:
        """The stack, or the nearest where none builds the size."""
        return tuple(filter(None, (self.found.stack, self.found.below, self.found.above)))


class Paired(Struct, frozen=True):
    """GO and NO-GO of a set of pins for the rows that share these limits."""

    pair: Pair
    rows: tuple[str, ...]


class Blocks(Struct, frozen=True):
    """What the checks and methods of a route take out of sets of blocks.

    ``built`` are the stacks, each once; ``near`` the size (pm) that each instrument, by identity, is checked at: that
    of its block, or that to look for one near; ``lacks`` what cannot be had.
    """

    built: tuple[Built, ...] = ()
    near: Mapping[str, int] = {}
    lacks: tuple[Reason, ...] = ()

    def of_set(self, identity: str) -> tuple[Built, ...]:
        """The stacks that are told with a set: those whose first block, or that of the nearest, is from it."""
        return tuple(each for each in self.built if _home(each) == identity)

    @property
    def sets(self) -> tuple[str, ...]:
        """The sets (identities) that blocks are taken from."""
        return tuple(dict.fromkeys(name for built in self.built for name in _sets_of(built)))

    def legs_of(self, identity: str) -> tuple[int, ...]:
        """The stops at which something of a set is needed."""
        return tuple(leg for built in self.built if identity in _sets_of(built) for leg in built.legs)


def _sets_of(built: Built) -> tuple[str, ...]:
    return tuple(dict.fromkeys(block.instrument for stack in built.stacks for block in stack.blocks))


def _home(built: Built) -> str:
    stack = built.stacks[0]
    return stack.blocks[len(stack.blocks) // 2].instrument


# --- blocks -----------------------------------------------------------------------------------------------------


def blocks_for(needed: Mapping[str, Uses], crib: Mapping[str, Instrument], day: str) -> Blocks:
    """The stacks that a route asks for, from the sets of a ``crib`` on ``day`` (ISO): near the size of the tightest row
    for every instrument that is checked on a block, and at the size of every row that is measured over blocks.

    A set that is fetched already serves the next check too, if what it offers is near enough.
    """
    asked = [(crib[name], uses) for name, uses in needed.items() if name in crib]
    checked = [(one, uses) for one, uses in asked if is_checked_on_block(one)]
    over = [(one, uses) for one, uses in asked if one.kind is InstrumentKind.GAUGE_BLOCKS]
    sets = sets_at_hand(crib.values(), day)
    near = {one.identity: size_of_tightest((row for _, row in uses), one) for one, uses in checked}
    if checked and not sets:
        tags = ", ".join(one.tag for one, _ in checked)
        return Blocks(near=near, lacks=(Reason("pull.no_blocks", {"tags": tags}),))
    taking = _Taking(sets, [one for one, _ in over], near)
    for one, uses in over:
        taking.measure_over(one, uses)
    for one, uses in checked:
        taking.check(one, tuple(sorted({leg for leg, _ in uses})))
    return taking.taken()


def is_checked_on_block(instrument: Instrument) -> bool:
    """Whether its check before use reads a gauge block."""
    return any(line.asked is Asked.BLOCK for line in checklist(instrument))


class _Taking:
    """Stacks as they are collected, one for each composition; ``fetched`` are the sets that are taken along, ``near``
    the sizes to check at."""

    def __init__(self, sets: Sequence[Instrument], fetched: Iterable[Instrument], near: Mapping[str, int]) -> None:
        self.sets, self.fetched, self.near = sets, list(fetched), dict(near)
        self.built: dict[tuple[int, tuple[Stack, ...]], Built] = {}
        self.lacks: list[Reason] = []

    def taken(self) -> Blocks:
        return Blocks(tuple(self.built.values()), self.near, tuple(self.lacks))

    def measure_over(self, held: Instrument, uses: Uses) -> None:
        """The stack of every row that is measured over blocks of this set: the one that the row is weighed with."""
        for leg, row in uses:
            size = row.requirement.likely
            if row.requirement.kind is not Kind.LENGTH or not size:
                continue
            try:
                found, sets = self._over(held, size)
            except Refused as refused:
                self.lacks += [each for each in refused.reasons if each not in self.lacks]
            else:
                self._keep(Built(found, told_unit(found, sets, held.unit), rows=(row.number,), legs=(leg,)))

    def _over(self, held: Instrument, size: int) -> tuple[Stacking, Sequence[Instrument]]:
        """The stack for a size or the nearest of this set, from which the rest is read; of others only where it builds
        nothing; with the sets that it is from."""
        near = nearest_stack(held, size)
        if near is None:
            sets = (held, *(each for each in self.sets if each.identity != held.identity and each.unit == held.unit))
            return stack_at_hand(sets, size, held.unit), sets
        side = "stack" if near.size == size else "below" if near.size < size else "above"
        return Stacking(size, **{side: near}), (held,)

    def check(self, instrument: Instrument, legs: tuple[int, ...]) -> None:
        """What this instrument is read on before use."""
        size = self.near[instrument.identity]
        if not size:
            return
        try:
            stack = self._near(size, instrument)
        except Refused as refused:
            self.lacks += [each for each in refused.reasons if each not in self.lacks]
            return
        if stack is None:
            self.lacks.append(_out_of_range(instrument, self.sets))
            return
        self.near[instrument.identity] = stack.size
        found = Stacking(stack.size, stack)
        self._keep(Built(found, told_unit(found, self.sets, instrument.unit), checks=(instrument.tag,), legs=legs))

    def _near(self, size: int, instrument: Instrument) -> Stack | None:
        """From a set that is fetched already where that is near enough, else from whichever is nearest."""
        mine = [each for each in self.fetched if each.unit == instrument.unit]
        if mine and (stack := block_near(mine, size, instrument)) is not None and abs(stack.size - size) <= NEAR:
            return stack
        return block_to_check(self.sets, size, instrument)

    def _keep(self, built: Built) -> None:
        if not built.stacks:
            size = Amount(built.found.wanted, Kind.LENGTH, built.unit)
            self.lacks.append(Reason("blocks.not_built", {"size": size}))
            return
        known = {each.identity for each in self.fetched}
        there = set(_sets_of(built)) - known
        self.fetched += [each for each in self.sets if each.identity in there]
        key = (built.found.wanted, built.stacks)
        held = self.built.get(key)
        self.built[key] = built if held is None else _joined(held, built)


def _joined(one: Built, other: Built) -> Built:
    checks = tuple(dict.fromkeys((*one.checks, *other.checks)))
    rows = tuple(sorted({*one.rows, *other.rows}, key=natural_key))
    return Built(one.found, one.unit, checks, rows, tuple(sorted({*one.legs, *other.legs})))


def _out_of_range(instrument: Instrument, sets: Iterable[Instrument]) -> Reason:
    ends = {"low": instrument.low, "high": instrument.high}
    amounts = {name: Amount(count, instrument.quantity, instrument.unit) for name, count in ends.items()}
    tags = ", ".join(each.tag for each in sets)
    return Reason("pull.no_block_in_range", {"tag": instrument.tag, "tags": tags, **amounts})


def size_of_tightest(rows: Iterable[Characteristic], instrument: Instrument) -> int:
    """The size (pm) to check an instrument at: that of the row with the narrowest band, or of any row with a size; the
    middle of its range where no row has one, 0 where it has no range either."""
    sized = [row.requirement for row in rows if row.requirement.kind is Kind.LENGTH and row.requirement.likely]
    tightest = min(sized, key=_width, default=None)
    found = tightest.likely if tightest is not None else None
    return found or (instrument.low + instrument.high) // 2


def _width(requirement: Requirement) -> tuple[bool, int]:
    lower, upper = requirement.lower, requirement.upper
    band = upper - lower if lower is not None and upper is not None else requirement.band
    return band is None, band or 0


# --- pins -------------------------------------------------------------------------------------------------------


class Pins(Struct, frozen=True):
    """What bores take out of a set of pins: the pairs, the members to take along (pm) as runs in the set's own order,
    and what the set no longer holds."""

    pairs: tuple[Paired, ...] = ()
    runs: tuple[tuple[int, ...], ...] = ()
    lacks: tuple[Reason, ...] = ()


def pins_for(instrument: Instrument, rows: Sequence[Characteristic]) -> Pins:
    """GO and NO-GO by class and direction for each bore, and the pins to take: all that it is stepped up through where
    a number is asked, else the pair. Missing pins are not taken. A row read blind is told no pair, which would be its
    limits."""
    if instrument.kind is not InstrumentKind.GAUGE_PINS:
        return Pins()
    gauges = gauges_of(instrument)
    limited = [row for row in rows if row.requirement.lower is not None or row.requirement.upper is not None]
    pairs: dict[Pair, list[str]] = {}
    taken: set[int] = set()
    lost: list[str] = []
    for row in limited:
        pair = pair_for(gauges, row.requirement.lower, row.requirement.upper)
        taken.update(gauge.size for gauge in _taken(instrument, row, pair))
        if pair is None:
            lost.append(row.number)
        elif not row.blind:
            pairs.setdefault(pair, []).append(row.number)
    told = tuple(Paired(pair, tuple(numbers)) for pair, numbers in pairs.items())
    return Pins(told, tuple(_runs(gauges, taken)), tuple(_no_pair(instrument, lost)))


def _taken(instrument: Instrument, row: Characteristic, pair: Pair | None) -> tuple[Gauge, ...]:
    if Role.ENTERS in roles_of(row, instrument) and gauges_of(instrument):
        return pins_to_take(instrument, row.requirement.lower, row.requirement.upper)
    return tuple(filter(None, (pair.go, pair.no_go))) if pair is not None else ()


def _runs(gauges: Sequence[Gauge], taken: set[int]) -> Iterator[tuple[int, ...]]:
    """The sizes taken, cut where the set holds one between that is not."""
    run: list[int] = []
    for gauge in gauges:
        if gauge.size in taken:
            run.append(gauge.size)
        elif run:
            yield tuple(run)
            run = []
    if run:
        yield tuple(run)


def _no_pair(instrument: Instrument, numbers: Sequence[str]) -> Iterator[Reason]:
    if numbers:
        yield Reason("pull.no_pair", {"tag": instrument.tag, "rows": ", ".join(numbers), "n": len(numbers)})
