"""The arrays, the one-pair path and a slow oracle that shares no code with either, on seeded random pairs."""

from __future__ import annotations

import random
import time
from collections import Counter
from fractions import Fraction

import pytest
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.assess import assess
from inspection.instruments.choice import FITNESS, choose
from inspection.instruments.method import Fitness
from inspection.instruments.record import (
    CertifiedPoint,
    Contacts,
    Instrument,
    InstrumentKind,
    Permissible,
    Use,
)
from inspection.instruments.rules import Rules
from inspection.measuring.bias import Checked
from inspection.measuring.known import Evidence, Known
from inspection.measuring.spread import Seen, Spread
from inspection.measuring.thermal import Measured
from tests.instruments.choice_oracle import oracle
from tests.instruments.choice_worlds import DAY, World, random_row

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
    "people": ({}, Evidence(people=SCATTER), Rules(), None, FeatureKind.LENGTH),
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
