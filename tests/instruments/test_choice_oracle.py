"""The arrays, the one-pair path and a slow oracle that shares no code with either, on seeded random pairs."""

from __future__ import annotations

import random
import time
from collections import Counter
from collections.abc import Mapping
from fractions import Fraction
from itertools import combinations
from math import sqrt

import pytest
from msgspec.structs import replace
from scipy.stats import t as student

from inspection.drawing.characteristic import Access, Characteristic, FeatureKind
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.assess import assess
from inspection.instruments.choice import FITNESS, Choice, choose
from inspection.instruments.method import Fitness
from inspection.instruments.record import (
    CertifiedPoint,
    Contacts,
    Direction,
    Holding,
    Instrument,
    InstrumentKind,
    Member,
    Permissible,
    Standing,
    Use,
)
from inspection.instruments.rules import Rules
from inspection.measuring.bias import Checked
from inspection.measuring.known import Evidence, Known
from inspection.measuring.spread import Seen, Spread
from inspection.measuring.thermal import Measured

DAY = "2026-11-25"
IN, THOU = 25_400_000_000, 25_400_000
TENTH = THOU // 10
MM = 10**9
KINDS = {
    InstrumentKind.DIGITAL_CALIPER: {
        Use.OUTSIDE: ("outside diameter", "length", "width", "edge distance"),
        Use.INSIDE: ("bore", "slot", "centre distance"),
        Use.DEPTH: ("depth", "step"),
        Use.STEP: ("step", "chamfer"),
    },
    InstrumentKind.OUTSIDE_MICROMETER: {Use.OUTSIDE: ("outside diameter", "length", "width")},
    InstrumentKind.DEPTH_MICROMETER: {Use.DEPTH: ("depth", "step")},
    InstrumentKind.THREE_POINT_BORE_GAUGE: {Use.INSIDE: ("bore",)},
    InstrumentKind.SMALL_HOLE_GAUGE: {},
    InstrumentKind.GAUGE_PINS: {Use.INSIDE: ("bore",)},
    InstrumentKind.INDICATOR: {Use.HEIGHT: ("outside diameter", "length", "width", "step")},
}
FEATURES = [FeatureKind(name) for name in sorted({n for uses in KINDS.values() for ns in uses.values() for n in ns})]
CHECKED_IN = {
    InstrumentKind.DIGITAL_CALIPER: Use.OUTSIDE,
    InstrumentKind.OUTSIDE_MICROMETER: Use.OUTSIDE,
    InstrumentKind.DEPTH_MICROMETER: Use.DEPTH,
    InstrumentKind.THREE_POINT_BORE_GAUGE: Use.INSIDE,
}
#: s where the record states none, by kind and the step that is not passed: resources/tables/on_part_spreads.csv.
USUAL = {
    InstrumentKind.DIGITAL_CALIPER: [(MM // 100, 8 * MM // 1000), (5 * TENTH, 3 * TENTH)],
    InstrumentKind.OUTSIDE_MICROMETER: [
        (MM // 1000, 8 * MM // 10_000),
        (TENTH, 3 * TENTH // 10),
        (MM // 100, 5 * MM // 1000),
        (THOU, 2 * TENTH),
    ],
    InstrumentKind.DEPTH_MICROMETER: [(TENTH, TENTH), (MM // 100, 3 * MM // 1000), (THOU, 2 * TENTH)],
    InstrumentKind.THREE_POINT_BORE_GAUGE: [(MM // 1000, MM // 1000), (TENTH, 4 * TENTH // 10)],
    InstrumentKind.SMALL_HOLE_GAUGE: [(0, 2 * TENTH)],
    InstrumentKind.INDICATOR: [(TENTH, 4 * TENTH // 10), (5 * TENTH, TENTH)],
    InstrumentKind.SURFACE_PLATE: [],
}
#: Limit deviations of inch blocks, up to 0.4, 1, 2, 3 and 4 in (µin): resources/tables/block_grades.csv.
GRADES = {"0": (5, 6, 8, 10, 12), "AS-2": (18, 24, 32, 40, 48)}
MICROINCH = THOU // 1000
ALPHA = {"": 11_500, "6061": 23_600, "titanium": 8_600}

Issues = Mapping[tuple[str, int], Instrument]


# --- anything that can be met ----------------------------------------------------------------------------------


def _maybe(rng: random.Random, value: int) -> int | None:
    return value if rng.random() < 0.3 else None


def random_row(rng: random.Random, i: int) -> Characteristic:
    nominal = rng.randint(60, 4000) * THOU
    half = rng.choice([2, 5, 10, 20, 30, 50, 80, 100]) * TENTH
    single = rng.random() < 0.1
    requirement = Requirement(
        "as drawn",
        rng.choice([Form.PLUS_MINUS, Form.PLUS_MINUS, Form.PLUS_MINUS, Form.REFERENCE]),
        nominal=nominal,
        lower=None if single else nominal - half,
        upper=nominal + half,
        band=None if rng.random() < 0.03 else 2 * half,
    )
    access = Access(
        _maybe(rng, rng.randint(1, 3000) * THOU),
        _maybe(rng, rng.randint(1, 60) * THOU),
        _maybe(rng, rng.randint(20, 400) * THOU),
        _maybe(rng, rng.randint(20, 400) * THOU),
        rng.random() < 0.05,
    )
    repeats = rng.choice([1, 1, 1, 3, 5])
    return Characteristic(f"c{i}", str(i + 1), rng.choice(FEATURES), requirement, access=access, repeats=repeats)


def random_blocks(rng: random.Random, i: int) -> Instrument:
    """A dozen blocks, some lost, here and there with a pair of wear blocks or without a grade that is known."""
    sizes = rng.sample([*range(1000, 1500), *range(2000, 41_000, 500)], 12)
    wear = [Member(size * TENTH, "wear") for size in (500, 500, *rng.choice(((), (1000, 1000))))]
    return Instrument(
        f"b{i}",
        1,
        f"B-{i}",
        InstrumentKind.GAUGE_BLOCKS,
        "random",
        members=(*(Member(size * TENTH) for size in sizes), *(wear if rng.random() < 0.4 else ())),
        missing=tuple(size * TENTH for size in rng.sample(sizes, rng.choice([0, 0, 3]))),
        gauge_class=rng.choice(["0", "AS-2", "AS-2", "0", "X"]),
        expansion=rng.choice([0, 4_500]),
        due=rng.choice(["2027-01-01", "2027-01-01", "2026-03-01"]),
    )


def random_plate(rng: random.Random, i: int) -> Instrument:
    steps = tuple(Permissible(Use.HEIGHT, 6000 * THOU, rng.randint(1, 4) * TENTH // 2) for _ in range(1))
    points = random_points(rng, [Use.HEIGHT]) if rng.random() < 0.3 else ()
    kind = InstrumentKind.SURFACE_PLATE
    return Instrument(f"s{i}", 2, f"S-{i}", kind, "random", permissible=steps, points=points, certificate="second")


def random_indicator(rng: random.Random, item: Instrument) -> Instrument:
    """The same record as an indicator's: a range of its own, with errors by how far it moves."""
    steps = tuple(Permissible(Use.HEIGHT, up_to * THOU, rng.randint(1, 6) * TENTH) for up_to in (5, 40, 1000))
    high = rng.choice([30, 200, 1000]) * THOU
    return replace(item, low=0, high=high, permissible=steps if rng.random() < 0.95 else steps[:1])


def random_instrument(rng: random.Random, i: int) -> Instrument:
    kind = rng.choice(sorted(KINDS))
    low = 0 if rng.random() < 0.5 else rng.randint(0, 2000) * THOU
    uses = [*KINDS[kind]] if rng.random() < 0.9 else []
    if kind is InstrumentKind.SMALL_HOLE_GAUGE:
        uses = [Use.INSIDE]
    steps = [Permissible(use, (k + 1) * 2000 * THOU, rng.randint(1, 15) * TENTH) for use in uses for k in range(3)]
    first = rng.randint(60, 800)
    pins = kind is InstrumentKind.GAUGE_PINS
    return Instrument(
        f"i{i}",
        rng.randint(2, 3),
        f"T-{i}",
        kind,
        "random",
        low=low,
        high=low + rng.choice([1000, 6000]) * THOU,
        resolution=0 if kind is InstrumentKind.SMALL_HOLE_GAUGE else rng.choice([TENTH, 5 * TENTH, THOU]),
        permissible=tuple(steps if rng.random() < 0.95 else steps[:1]),
        contacts=Contacts(
            smallest_bore=_maybe(rng, rng.randint(50, 500) * THOU),
            reach=_maybe(rng, rng.randint(500, 4000) * THOU),
            relief=_maybe(rng, rng.randint(5, 60) * THOU),
            width=_maybe(rng, rng.randint(20, 300) * THOU),
            hard=rng.random() < 0.8,
            jaws=_maybe(rng, rng.randint(8, 80) * THOU) if kind is InstrumentKind.DIGITAL_CALIPER else None,
            jaws_within=rng.randint(0, 30) * TENTH,
        ),
        repeatability=rng.choice([0, TENTH // 3, 3 * TENTH]),
        zero=rng.choice([0, TENTH // 3]),
        members=tuple(Member((first * 10 + k * 5) * TENTH) for k in range(400)) if pins else (),
        class_tolerance=rng.choice([2, 4, 10, 20]) * TENTH // 10 if pins else 0,
        direction=rng.choice([Direction.PLUS, Direction.MINUS]) if pins else None,
        read_over=(InstrumentKind.OUTSIDE_MICROMETER,) if kind is InstrumentKind.SMALL_HOLE_GAUGE else (),
        due=rng.choice(["", "2027-01-01", DAY] * 4 + ["2026-03-01"]),
        standing=rng.choice([Standing.IN_SERVICE] * 15 + [Standing.OUT_OF_SERVICE]),
        certificate="second",
        points=random_points(rng, uses) if rng.random() < 0.4 else (),
        holding=Holding(
            tilt=rng.choice([0, 0, 3_600_000_000 // 2]),
            contact_width=3 * MM,
            contact_askew=rng.choice([0, 900_000_000]),
        ),
        expansion=rng.choice([0, 0, 8_000]),
    )


def random_points(rng: random.Random, uses: list[Use]) -> tuple[CertifiedPoint, ...]:
    sizes = rng.sample(range(0, 5000, 50), rng.choice([1, 2, 5]))
    return tuple(
        CertifiedPoint(
            use, size * THOU, rng.randint(-5, 5) * TENTH, rng.randint(1, 6) * TENTH // 4, rng.choice([2000, 1960])
        )
        for use in uses
        for size in sizes
    )


def random_evidence(rng: random.Random, instrument: Instrument) -> Evidence:
    def spread(seen: Seen) -> Spread | None:
        s = rng.randint(1, 40) * TENTH // 10
        return Spread(Fraction(s * s, rng.randint(1, 5)), rng.randint(1, 20), seen) if rng.random() < 0.6 else None

    block = spread(Seen.BLOCK)
    size, of = rng.randint(100, 3000) * THOU, rng.randint(2, 5)
    off = rng.randint(-8, 8) * of * TENTH // 2
    checked = Checked(
        size * of + off, of, size, Fraction(rng.randint(0, 3) * TENTH**2, 100), block or Spread(Fraction(TENTH**2, 9))
    )
    zeroed = rng.random() < 0.6
    return Evidence(
        block,
        spread(Seen.ZERO),
        spread(Seen.STUDY) if rng.random() < 0.4 else None,
        checked if rng.random() < 0.6 else None,
        rng.randint(-6, 6) * TENTH if zeroed else 0,
        rng.randint(1, 4) if zeroed else 0,
    )


class World:
    """A crib with its earlier issues, the shop's rules, what is known, and the part's material."""

    def __init__(self, seed: int, instruments: int) -> None:
        rng = random.Random(seed)
        held = [random_instrument(rng, i) for i in range(instruments)]
        held = [random_indicator(rng, x) if x.kind is InstrumentKind.INDICATOR else x for x in held]
        held += [random_plate(rng, i) for i in range(2)] + [random_blocks(rng, i) for i in range(4)]
        self.built: dict[str, Built] = {}
        self.crib = {item.identity: item for item in held}
        self.issues = {(item.identity, item.issue): item for item in held}
        for item in held:
            if item.points and rng.random() < 0.6:
                points = tuple(replace(point, error=point.error + rng.randint(-3, 3) * TENTH) for point in item.points)
                before = replace(item, issue=item.issue - 1, certificate="first", points=points[rng.randint(0, 1) :])
                self.issues[item.identity, before.issue] = before
        self.material = rng.choice(list(ALPHA))
        theta = rng.randint(-6_000, 6_000)
        measured = Measured(theta, theta + rng.randint(-800, 800), rng.choice([200, 1_000]))
        self.known = Known(
            {item.identity: random_evidence(rng, item) for item in held if rng.random() < 0.5},
            measured if rng.random() < 0.5 else None,
        )
        self.rules = Rules(temperature_room=rng.choice([0, 4_000]), temperature_corrected=rng.random() < 0.5)

    def choice(self, rows: list[Characteristic]) -> Choice:
        return choose(rows, self.crib, self.rules, DAY, self.material, self.known, self.issues)


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


Built = dict[int, tuple[int, tuple[int, ...]]]


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


# --- what is held against it --------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(10))
def test_a_thousand_pairs_in_every_world(seed: int) -> None:
    rng = random.Random(seed)
    world = World(seed, 60)
    choice = world.choice([random_row(rng, i) for i in range(250)])
    seen: Counter[str] = Counter()
    suited = [(int(i), int(j)) for i, j in zip(*choice.fitness.nonzero(), strict=True)]
    answered = [
        (i, j) for i, row in enumerate(choice.rows) for j, offer in enumerate(choice.offers) if offer.way.answers(row)
    ]
    for i, j in rng.sample(suited, 500) + rng.sample(answered, 500):
        offer = choice.offers[j]
        want = oracle(world, choice.rows[i], offer.method.use, offer.parts)
        seen[want] += 1
        found = choice.assess(i, j)
        assert (FITNESS[choice.fitness[i, j]].value, found.fitness.value) == (want, want), (seed, i, j, found.against)
    assert min(seen[name] for name in ("fit", "marginal", "unsuitable")) > 50


@pytest.mark.parametrize("seed", range(20, 24))
def test_comparisons_over_blocks_in_every_world(seed: int) -> None:
    rng = random.Random(seed)
    world = World(seed, 60)
    choice = world.choice([random_row(rng, i) for i in range(250)])
    over = [j for j, offer in enumerate(choice.offers) if offer.way.set_on is not None]
    answered = [(i, j) for i, row in enumerate(choice.rows) for j in over if choice.offers[j].way.answers(row)]
    suited = [(i, j) for i, j in answered if choice.fitness[i, j]]
    seen: Counter[str] = Counter()
    for i, j in rng.sample(suited, 150) + rng.sample(answered, 150):
        offer = choice.offers[j]
        want = oracle(world, choice.rows[i], offer.method.use, offer.parts)
        seen[want] += 1
        found = choice.assess(i, j)
        assert (FITNESS[choice.fitness[i, j]].value, found.fitness.value) == (want, want), (seed, i, j, found.against)
    assert min(seen[name] for name in ("fit", "marginal", "unsuitable")) > 20


def _micrometer(**more: object) -> Instrument:
    held = Instrument(
        "m",
        2,
        "M-1",
        InstrumentKind.OUTSIDE_MICROMETER,
        "micrometer",
        high=10**12,
        resolution=6,
        repeatability=4,
        permissible=(Permissible(Use.OUTSIDE, 10**12, 9),),
        certificate="second",
    )
    return replace(held, **more)


def _row(nominal: int, band: int, kind: FeatureKind = FeatureKind.LENGTH, repeats: int = 1) -> Characteristic:
    requirement = Requirement("x", Form.PLUS_MINUS, nominal=nominal, lower=nominal, upper=nominal, band=band)
    return Characteristic(f"{nominal}.{band}", "1", kind, requirement, repeats=repeats)


def test_thresholds_of_every_ratio_agree_on_both_paths() -> None:
    """Bands one step about each threshold, where float64 alone could not decide."""
    rows = [
        _row(nominal, band)
        for nominal in (0, 10**6, 10**11)
        for band in [*range(55, 130), *range(7_967_000, 7_968_000, 7)]
    ]
    rows += [replace(row, requirement=replace(row.requirement, band=2 * 10**15 + k)) for k, row in enumerate(rows[:5])]
    choice = choose(rows, {"m": _micrometer()}, Rules(), DAY)
    assert [FITNESS[k] for k in choice.fitness[:, 0]] == [choice.assess(i, 0).fitness for i in range(len(rows))]


CURVE = (CertifiedPoint(Use.OUTSIDE, 0, 2, 7), CertifiedPoint(Use.OUTSIDE, 10**11, 11, 8, 1_960))
JAWS = {"kind": InstrumentKind.DIGITAL_CALIPER, "permissible": (Permissible(Use.INSIDE, 10**12, 9),)}
SCATTER = Spread(Fraction(31), 3, Seen.STUDY)
EDGES: dict[str, tuple[dict[str, object], Evidence, Rules, Measured | None, FeatureKind]] = {
    "certificate": ({"points": CURVE}, Evidence(), Rules(), None, FeatureKind.LENGTH),
    "accuracy": ({"points": CURVE}, Evidence(), Rules(accuracy_needed=4_000), None, FeatureKind.LENGTH),
    "few readings": ({}, Evidence(study=SCATTER), Rules(), None, FeatureKind.LENGTH),
    "block": (
        {},
        Evidence(block=SCATTER, checked=Checked(3 * 10**6 + 7, 3, 10**6, Fraction(5), SCATTER)),
        Rules(),
        None,
        FeatureKind.LENGTH,
    ),
    "zero": ({}, Evidence(zeros=SCATTER, zero_total=7, zero_of=3), Rules(), None, FeatureKind.LENGTH),
    "jaws": (
        {**JAWS, "contacts": Contacts(jaws=3 * 10**5, jaws_within=40)},
        Evidence(),
        Rules(),
        None,
        FeatureKind.BORE,
    ),
    "usual jaws": ({**JAWS, "repeatability": 10**7}, Evidence(), Rules(), None, FeatureKind.BORE),
    "warm": (
        {"points": CURVE},
        Evidence(study=SCATTER),
        Rules(temperature_corrected=False),
        Measured(4_000, 3_700),
        FeatureKind.LENGTH,
    ),
    "room": ({}, Evidence(), Rules(temperature_room=3_000), None, FeatureKind.LENGTH),
}


@pytest.mark.parametrize("name", EDGES)
def test_the_band_at_which_a_method_becomes_fit_is_the_same_on_both_paths(name: str) -> None:
    """For sizes and repeats: the first band at which the one-pair path turns, then every band about it on both."""
    more, evidence, rules, measured, kind = EDGES[name]
    item = _micrometer(**more)
    before = replace(
        item,
        issue=1,
        certificate="first",
        points=tuple(replace(p, error=p.error - 3 - p.size // 10**10) for p in item.points),
    )
    issues = {("m", 1): before, ("m", 2): item}
    known = Known({"m": evidence}, measured)

    offers = choose([], {"m": item}, rules, DAY).offers
    j = next(j for j, offer in enumerate(offers) if offer.way.answers(_row(1, 1, kind)))

    def fitness(row: Characteristic) -> Fitness:
        return assess(row, offers[j].method, issues, rules, DAY, "6061", known).fitness

    turned = 0
    for size, repeats in ((10**6, 4), (10**6 + 1, 1), (40 * 10**9, 1), (10**11, 4)):
        for wanted in ({Fitness.FIT}, {Fitness.FIT, Fitness.MARGINAL}):
            low, high = 0, 10**13
            while high - low > 1:
                middle = (low + high) // 2
                low, high = (low, middle) if fitness(_row(size, middle, kind, repeats)) in wanted else (middle, high)
            turned += high < 10**13
            rows = [_row(size, band, kind, repeats) for band in range(max(high - 20, 0), high + 20)]
            found = choose(rows, {"m": item}, rules, DAY, "6061", known, issues)
            one_by_one = [fitness(row) for row in rows]
            assert [FITNESS[k] for k in found.fitness[:, j]] == one_by_one, (size, repeats, high)
            assert len(set(one_by_one)) == 2 or high in (1, 10**13)
    assert turned >= 4


def test_ties_that_float64_misses() -> None:
    """U = 2√(51² + 68²) + 221/3 counts, and a band of 6 U exactly: float64 makes it 2.9999999999999994 : 1."""
    exact = {"permissible": (Permissible(Use.OUTSIDE, 10**12, 0),), "resolution": 0, "repeatability": 51}
    known = Known({"m": Evidence(zeros=Spread(Fraction(68**2)), zero_total=221, zero_of=3)})
    rules = Rules(resolution_needed=0, accuracy_needed=0)
    choice = choose([_row(0, 1_462), _row(0, 1_461)], {"m": _micrometer(**exact)}, rules, DAY, known=known)
    assert [FITNESS[k] for k in choice.fitness[:, 0]] == [Fitness.FIT, Fitness.MARGINAL]
    assert [choice.assess(i, 0).fitness for i in range(2)] == [Fitness.FIT, Fitness.MARGINAL]
    assert choice.score[0, 0] < 1


def test_with_none_fit_the_best_marginal_is_by_uncertainty() -> None:
    rng = random.Random(5)
    choice = World(5, 60).choice([random_row(rng, i) for i in range(300)])
    for i in range(len(choice.rows)):
        fitness = [FITNESS[k].value for k in choice.fitness[i]]
        best = int(choice.best[i])
        if "fit" in fitness:
            assert fitness[best] == "fit"
        elif "marginal" in fitness:
            top = max(choice.score[i, j] for j, name in enumerate(fitness) if name == "marginal")
            assert fitness[best] == "marginal" and choice.score[i, best] == top
        else:
            assert best == -1


@pytest.mark.measured
def test_five_thousand_rows_by_three_hundred_instruments_in_a_second() -> None:
    """With certificates, recorded checks and studies for half of them, and temperatures logged."""
    rng = random.Random(7)
    world = World(7, 300)
    world.known = replace(world.known, measured=Measured(3_000, 2_800))
    rows = [random_row(rng, i) for i in range(5000)]
    took = []
    for _ in range(3):
        began = time.perf_counter()
        world.choice(rows)
        took.append(time.perf_counter() - began)
    assert min(took) < 1.0, took
