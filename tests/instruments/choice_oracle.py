"""A slow oracle of the choice, in fractions, which shares no code with either path of the program."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from math import sqrt

from msgspec.structs import replace
from scipy.stats import t as student

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.requirement import Form
from inspection.instruments.record import (
    Direction,
    Instrument,
    InstrumentKind,
    Standing,
    Use,
)
from inspection.measuring.known import Evidence
from inspection.measuring.spread import Spread
from tests.instruments.choice_worlds import (
    ALPHA,
    CHECKED_IN,
    DAY,
    GRADES,
    IN,
    KINDS,
    MICROINCH,
    MM,
    USUAL,
    Built,
    World,
)

# --- the oracle -------------------------------------------------------------------------------------------------


def oracle(world: World, row: Characteristic, use: Use, parts: tuple[Instrument, ...]) -> str:
    """Fitness by the definitions, with fractions, one pair at a time."""
    read, touching = parts[0], parts[1] if len(parts) == 2 else parts[0]
    if any(p.standing is not Standing.IN_SERVICE or (p.due and p.due < DAY) for p in parts):
        return "unsuitable"
    named = ("bore", "slot") if len(parts) == 2 else KINDS[read.kind].get(use, ())
    need = row.requirement
    if row.kind.value not in named or not _clears(row, use, touching):
        return "unsuitable"
    judged = need.form is not Form.REFERENCE
    if read.kind is InstrumentKind.GAUGE_PINS:
        return _by_pins(row, read, judged)
    assert need.upper is not None
    least = need.upper if need.lower is None else need.lower
    if use is not Use.HEIGHT and any(least < p.low or need.upper > p.high for p in parts):
        return "unsuitable"
    found = _Sum(world, row, use, parts)
    if found.refused:
        return "unsuitable"
    if not judged:
        return "fit"
    if need.band is None:
        return "marginal"
    fine = need.band >= 10 * read.resolution and need.band >= 8 * found.limit
    return "fit" if fine and need.band >= 6 * found.expanded else "marginal"


class _Sum:
    """A budget added up from the design's table, with what stands for E and whether anything refuses the method."""

    def __init__(self, world: World, row: Characteristic, use: Use, parts: tuple[Instrument, ...]) -> None:
        self.world, self.row, self.read = world, row, parts[0]
        self.use = Use.OUTSIDE if len(parts) == 2 else use
        assert row.requirement.upper is not None
        self.size = row.requirement.upper
        self.variance = self.fourth = self.left = self.limit = Fraction(0)
        self.refused = False
        self.evidence = world.known.evidence.get(self.read.identity, Evidence())
        self.expands = self.read
        if use is Use.HEIGHT:
            self._compare(*parts)
            return
        self.limit, certified = self._errs(self.read, self.use)
        averaged = 1 if self.refused else self._check(certified)
        self._scatter(self.read, row.repeats)
        zero = self.evidence.zeros or Spread(Fraction(self.read.zero**2))
        self._larger(zero, averaged, self.read.resolution)
        self._people()
        self._held(self.read, self.use)
        if len(parts) == 2:
            self._errs(parts[1], Use.INSIDE)
            self._scatter(parts[1], row.repeats)
            self._held(parts[1], Use.INSIDE)
        elif use is Use.INSIDE and row.kind is FeatureKind.BORE and self.read.kind is InstrumentKind.DIGITAL_CALIPER:
            self._jaws()
        self._temperature()

    def _compare(self, indicator: Instrument, plate: Instrument, blocks: Instrument) -> None:
        """The indicator moves from the stack, wherever on its scale; plate and temperature go with the whole size."""
        self._errs(plate, Use.HEIGHT)
        self._scatter(plate, self.row.repeats)
        self.expands = blocks
        self._temperature()
        stack, limits = _stack(self.world, blocks, self.row.requirement.nominal or 0)
        if not stack or None in limits:
            self.refused = True
            return
        self._add(Fraction(sum(limit**2 for limit in limits if limit), 3))
        self._add(Fraction((len(limits) - 1) * MICROINCH**2, 3))
        need, low = self.row.requirement, self.row.requirement.lower
        low = self.size - (need.band or 0) if low is None else low
        self.size, span = max(abs(self.size - stack), abs(low - stack)), max(self.size, stack) - min(low, stack)
        self.refused |= span > indicator.high - indicator.low
        self.limit, _ = self._errs(replace(indicator, points=()), Use.HEIGHT)
        self._scatter(indicator, self.row.repeats)
        zero = self.evidence.zeros or Spread(Fraction(indicator.zero**2))
        self._larger(zero, 1, indicator.resolution)
        self._people()
        self._held(indicator, Use.HEIGHT)

    @property
    def expanded(self) -> float:
        k = 2.0
        if self.fourth:
            freedom = self.variance**2 / self.fourth
            k = round(float(student.ppf((1 + 0.9545) / 2, freedom.numerator // freedom.denominator)), 3)
        return k * sqrt(self.variance) + float(self.left)

    def _add(self, variance: Fraction | float, freedom: int | None = None) -> None:
        self.variance += Fraction(variance)
        if freedom:
            self.fourth += Fraction(variance) ** 2 / freedom

    def _errs(self, item: Instrument, use: Use) -> tuple[Fraction, bool]:
        """E, or the certificate with its drift: the limit of the accuracy ratio, and whether it is certified."""
        table = sorted((p.up_to, p.error) for p in item.permissible if p.use is use)
        error = next((e for up_to, e in table if self.size <= up_to), None)
        now = _curve(item, use)
        earlier = [self.world.issues.get((item.identity, n)) for n in range(item.issue - 1, 0, -1)]
        before = next((_curve(old, use) for old in earlier if old is not None and _curve(old, use)), {})
        says = bool(now) and min(now) <= self.size <= max(now)
        if (now and not table and not says) or (error is None and (table or not says)):
            self.refused = True
            return Fraction(0), False
        if not says:
            assert error is not None
            self._add(Fraction(error**2, 3))
            return Fraction(error), False
        at, between, square = _read_off(now, self.size)
        drift = Fraction(error or 0)
        if before and min(before) <= self.size <= max(before):
            drift = abs(at - _read_off(before, self.size)[0])
        elif not drift:
            self.refused = True
        self._add(square + drift**2 / 3 + between**2 / 3)
        return Fraction(2 * sqrt(square)) + drift, True

    def _scatter(self, item: Instrument, repeats: int) -> None:
        seen = self.world.known.evidence.get(item.identity, Evidence())
        s = item.repeatability or next((s for step, s in USUAL[item.kind] if item.resolution <= step), 0)
        default = Spread(Fraction(s * s))
        spread = seen.study or (seen.block if seen.block and seen.block.square > s * s else default)
        self._larger(spread, repeats, item.resolution)

    def _people(self) -> None:
        """What differs between people, however often one of them reads."""
        if self.evidence.people is not None:
            self._add(self.evidence.people.square, self.evidence.people.freedom)

    def _larger(self, spread: Spread, n: int, step: int) -> None:
        if spread.square / n >= Fraction(step**2, 12):
            self._add(spread.square / n, spread.freedom)
        else:
            self._add(Fraction(step**2, 12))

    def _held(self, item: Instrument, use: Use) -> None:
        radian = 3.141592653589793 / (180 * 3_600_000_000)
        self._add((self.size * (item.holding.tilt * radian) ** 2) ** 2 / 20)
        self._add((item.holding.contact_width * item.holding.contact_askew * radian) ** 2 / 3)

    def _check(self, certified: bool) -> int:
        """What the last check showed; how many zero settings are averaged and taken off."""
        held, band = self.evidence, self.row.requirement.band
        if self.row.requirement.form is Form.REFERENCE:
            band = None
        if CHECKED_IN[self.read.kind] is not self.use:
            return 1
        block = held.checked if held.checked and abs(self.size - held.checked.size) <= 25 * MM else None
        if block is not None:
            error, at, of = Fraction(block.total, block.of) - block.size, block.size, block.of
            square = block.spread.square / of + block.square
        elif held.zero_of:
            error, at, of = Fraction(held.zero_total, held.zero_of), self.read.low, held.zero_of
            zero = held.zeros or Spread(Fraction(self.read.zero**2))
            square = max(zero.square / of, Fraction(self.read.resolution**2, 12))
        else:
            return 1
        table = sorted((p.up_to, p.error) for p in self.read.permissible if p.use is self.use)
        permissible = next((e for up_to, e in table if at <= up_to), self.read.resolution)
        if abs(error) > permissible and (abs(error) - permissible) ** 2 > 4 * square:
            self.refused = True
        rest, within = error, Fraction(permissible)
        if certified:
            off, within = self._certified_at(at, table)
            rest -= off
        if band is not None and 10 * abs(rest) <= band:
            if abs(rest) > within:
                self.left += abs(rest)
            return of if not rest and block is None else 1
        if block is not None:
            self._add(block.spread.square / of, block.spread.freedom)
            self._add(block.square)
            return 1
        return of

    def _certified_at(self, size: int, table: list[tuple[int, int]]) -> tuple[Fraction, Fraction]:
        now = _curve(self.read, self.use)
        at = min(max(size, min(now)), max(now))
        earlier = self.world.issues.get((self.read.identity, self.read.issue - 1))
        before = _curve(earlier, self.use) if earlier else {}
        off = _read_off(now, at)[0]
        if before and min(before) <= at <= max(before):
            return off, abs(off - _read_off(before, at)[0])
        return off, Fraction(next((e for up_to, e in table if at <= up_to), self.read.resolution))

    def _jaws(self) -> None:
        """w²/2D at most a tenth of T, where nobody measured w; else its doubt."""
        across, within = self.read.contacts.jaws, self.read.contacts.jaws_within
        if across is not None:
            if across >= self.size:
                self.refused = True
            else:
                self._add((Fraction(across, self.size) * within) ** 2 / 3)
            return
        across = 4 * MM // 10
        need = self.row.requirement
        if across >= self.size:
            self.refused = True
            return
        if need.form is not Form.REFERENCE:
            self.refused |= need.band is None or Fraction(across**2, 2 * self.size) > Fraction(need.band, 10)
        self.left += self.size - Fraction(sqrt(self.size**2 - across**2))

    def _temperature(self) -> None:
        rules, log = self.world.rules, self.world.known.measured
        part, own = Fraction(ALPHA[self.world.material], 10**9), Fraction(self.expands.expansion or 11_500, 10**9)
        self._add((self.size * part * Fraction(rules.temperature_spread, 1000)) ** 2 / 3)
        if log is None:
            self._add((self.size * (part - own) * Fraction(rules.temperature_room, 1000)) ** 2 / 3)
            return
        self._add((self.size * (part - own) * Fraction(log.thermometer, 1000)) ** 2 / 3)
        for theta in (log.part, log.instrument):
            self._add((self.size * Fraction(theta, 1000) / 10**6) ** 2 / 3)
        if not rules.temperature_corrected:
            self.left += abs(self.size * (own * log.instrument - part * log.part) / 1000)


Curve = dict[int, tuple[int, Fraction]]


def _curve(item: Instrument, use: Use) -> Curve:
    """Error and (U/k)² by size."""
    return {p.size: (p.error, Fraction(p.expanded * 1000, p.factor) ** 2) for p in item.points if p.use is use}


def _read_off(curve: Curve, size: int) -> tuple[Fraction, Fraction, Fraction]:
    """The error at a size, half the step between the points beside it, and (U/k)²."""
    if size in curve:
        return Fraction(curve[size][0]), Fraction(0), curve[size][1]
    low, high = max(s for s in curve if s < size), min(s for s in curve if s > size)
    (a, one), (b, two) = curve[low], curve[high]
    return a + Fraction((b - a) * (size - low), high - low), Fraction(abs(b - a), 2), max(one, two)


def _stack(world: World, blocks: Instrument, size: int) -> tuple[int, list[int | None]]:
    """The stack nearest to a size, the shorter of two, by trying every handful of blocks; and each block's limit."""
    if blocks.identity not in world.built:
        world.built[blocks.identity] = _every_stack(blocks)
    found = world.built[blocks.identity]
    if not found:
        return 0, []
    near = min(found, key=lambda total: (abs(total - size), total))
    bounds = [n * IN // 10 for n in (4, 10, 20, 30, 40)]
    table = GRADES.get(blocks.gauge_class)
    return near, [
        next(limit * MICROINCH for bound, limit in zip(bounds, table, strict=True) if each <= bound) if table else None
        for each in found[near][1]
    ]


def _every_stack(blocks: Instrument) -> Built:
    """By sum the fewest blocks that make it, of as many those with the thickest thin ones."""
    there = [m for m in blocks.members if m.size not in blocks.missing]
    sizes = [m.size for m in there if not m.label]
    wear = sorted({m.size for m in there if m.label})
    found: Built = {}
    for ends in [(end, end) for end in wear] or [()]:
        for n in range(0 if ends else 1, 9 - len(ends)):
            for some in combinations(sizes, n):
                made = tuple(sorted((*ends, *some)))
                best = found.get(sum(made))
                if best is None or (-len(made), made) > (-best[0], best[1]):
                    found[sum(made)] = len(made), made
    return found


def _clears(row: Characteristic, use: Use, touching: Instrument) -> bool:
    need, reach, contacts = row.requirement, row.access, touching.contacts
    least = need.upper if need.lower is None else need.lower
    smallest = contacts.smallest_bore
    if smallest is None and touching.kind is InstrumentKind.DIGITAL_CALIPER:
        smallest = 4 * MM  # usual for crossed jaws: resources/tables/inside_jaws.csv
    pairs = [(reach.reach, contacts.reach), (reach.corner_radius, contacts.relief), (contacts.width, reach.wall)]
    if use is Use.INSIDE:
        pairs += [(smallest, least), (contacts.width, reach.bore_length)]
    return all(a is None or b is None or a <= b for a, b in pairs) and not (reach.soft and contacts.hard)


def _by_pins(row: Characteristic, held: Instrument, judged: bool) -> str:
    need, t = row.requirement, held.class_tolerance
    plus = held.direction is Direction.PLUS
    sizes = [m.size for m in held.members]
    goes = [n for n in sizes if need.lower is None or n - (0 if plus else t) >= need.lower]
    stops = [n for n in sizes if need.upper is not None and n + (t if plus else 0) <= need.upper]
    if not goes or not stops or (need.lower is not None and min(goes) >= max(stops)):
        return "unsuitable"
    if not judged:
        return "fit"
    if need.band is None:
        return "marginal"
    return "fit" if need.band >= 20 * t else "marginal" if need.band >= 10 * t else "unsuitable"
