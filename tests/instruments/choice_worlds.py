"""Anything that can be met by who chooses an instrument: rows and cribs at random, from a seed."""

from __future__ import annotations

import random
from collections.abc import Mapping
from fractions import Fraction

from msgspec.structs import replace

from inspection.drawing.characteristic import Access, Characteristic, FeatureKind
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.choice import Choice, choose
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

Built = dict[int, tuple[int, tuple[int, ...]]]
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
        spread(Seen.STUDY) if rng.random() < 0.3 else None,
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
