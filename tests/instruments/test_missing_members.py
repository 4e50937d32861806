"""A member of a set that is missing is not there: not for the choice, the reasons or the slip question."""

from __future__ import annotations

import random

import pytest
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.assess import assess
from inspection.instruments.choice import FITNESS, choose
from inspection.instruments.method import Fitness, InstrumentIssue, Method
from inspection.instruments.pins import gauges_of, pair_for
from inspection.instruments.record import Direction, Instrument, InstrumentKind, Member, Use
from inspection.instruments.rules import Rules
from inspection.instruments.starter import starter_crib
from inspection.measuring.slips import question
from inspection.reasons import Amount
from inspection.words.say import say

THOU = 25_400_000
DAY = "2026-11-25"
METHOD = Method(Use.INSIDE, (InstrumentIssue("p", 1),))


def pins(*missing: int, first: int = 120, last: int = 140, direction: Direction = Direction.MINUS) -> Instrument:
    """A set in steps of a thou, class tolerance a tenth."""
    return Instrument(
        "p",
        1,
        "P-1",
        InstrumentKind.GAUGE_PINS,
        "pins",
        low=first * THOU,
        high=last * THOU,
        members=tuple(Member(n * THOU) for n in range(first, last + 1)),
        class_tolerance=THOU // 10,
        direction=direction,
        missing=tuple(n * THOU for n in missing),
    )


def bore(lower: int, upper: int) -> Characteristic:
    """A bore between two limits in thou."""
    low, high = lower * THOU, upper * THOU
    need = Requirement("⌀.128", Form.LIMITS, nominal=low, lower=low, upper=high, band=high - low)
    return Characteristic("c", "1", FeatureKind.BORE, need)


def assessed(held: Instrument, row: Characteristic):
    return assess(row, METHOD, {("p", 1): held}, Rules(), DAY)


def sizes(held: Instrument, row: Characteristic) -> tuple[int, int] | None:
    pair = pair_for(gauges_of(held), row.requirement.lower, row.requirement.upper)
    return pair and (pair.go.size // THOU, pair.no_go.size // THOU)


def test_the_nearest_pin_that_is_there_takes_the_place_of_a_missing_one() -> None:
    row = bore(125, 131)
    assert sizes(pins(), row) == (126, 131)
    assert sizes(pins(126), row) == (127, 131)
    assert sizes(pins(126, 127, 131), row) == (128, 130)
    plus = pins(125, direction=Direction.PLUS)
    assert sizes(plus, row) == (126, 130)


def test_with_no_pair_left_the_set_is_unsuitable_and_the_missing_pin_is_named() -> None:
    row = bore(125, 127)
    assert assessed(pins(), row).fitness is Fitness.FIT
    lost = assessed(pins(126), row)
    assert lost.fitness is Fitness.UNSUITABLE
    assert not lost.choosable
    said = [say(reason) for reason in lost.against]
    assert any("0.126 in" in one and "missing" in one for one in said), said


def test_a_pin_that_stands_in_is_told_with_the_one_it_stands_for() -> None:
    told = assessed(pins(126), bore(125, 131))
    assert told.fitness is Fitness.FIT
    assert not told.against
    said = [say(check.reason) for check in told.checks if check.name == "members"]
    assert len(said) == 1
    assert "0.126 in" in said[0]
    assert "0.127 in" in said[0]
    assert not [check for check in assessed(pins(139), bore(125, 131)).checks if check.name == "members"]


def test_arrays_and_single_pairs_agree_whatever_is_missing() -> None:
    rng = random.Random(11)
    seen = set()
    for _ in range(150):
        held = pins(*rng.sample(range(120, 141), rng.randrange(0, 18)), direction=rng.choice(list(Direction)))
        lower = rng.randrange(118, 138)
        rows = [bore(lower, lower + rng.randrange(1, 8)) for _ in range(8)]
        choice = choose(rows, {"p": held}, Rules(), DAY)
        found = [FITNESS[k] for k in choice.fitness[:, 0]]
        assert found == [assessed(held, row).fitness for row in rows]
        for row, fitness in zip(rows, found, strict=True):
            there = [n for n in range(120, 141) if n * THOU not in held.missing]
            down, up = (0, THOU // 10) if held.direction is Direction.PLUS else (THOU // 10, 0)
            go = [n for n in there if n * THOU - down >= row.requirement.lower]
            stop = [n for n in there if n * THOU + up <= row.requirement.upper]
            assert (fitness is not Fitness.UNSUITABLE) is bool(go and stop and min(go) < max(stop))
            seen.add(fitness)
    assert {Fitness.UNSUITABLE, Fitness.FIT} <= seen


def test_a_thread_gauge_that_lost_an_end_is_not_chosen() -> None:
    held = next(item for item in starter_crib() if item.kind is InstrumentKind.THREAD_PLUG)
    ends = (Member(1, "GO"), Member(2, "NOT GO"))
    whole = replace(held, identity="p", issue=1, members=ends)
    row = Characteristic("c", "1", FeatureKind.THREAD, Requirement(held.thread, Form.THREAD))
    method = Method(Use.THREAD, (InstrumentIssue("p", 1),))
    for item, fitness in ((whole, Fitness.FIT), (replace(whole, missing=(2,)), Fitness.UNSUITABLE)):
        assert assess(row, method, {("p", 1): item}, Rules(), DAY).fitness is fitness
        assert FITNESS[choose([row], {"p": item}, Rules(), DAY).fitness[0, 0]] is fitness
    lost = assess(row, method, {("p", 1): replace(whole, missing=(2,))}, Rules(), DAY)
    assert "NOT GO" in " ".join(say(reason) for reason in lost.against)


@pytest.mark.parametrize("number", [126, 127])
def test_a_reading_of_a_pin_that_is_missing_is_asked_about(number: int) -> None:
    asked = question(number * THOU, bore(125, 131), pins(126))
    assert (asked is not None) is (number == 126)
    if asked is not None:
        assert asked.parts["size"] == Amount(126 * THOU, asked.parts["size"].kind, "in")
        assert "pins" in say(asked)


def test_a_leaf_that_is_missing_is_asked_about() -> None:
    leaves = next(item for item in starter_crib() if item.kind is InstrumentKind.RADIUS_GAUGE and item.unit == "in")
    size = leaves.members[3].size
    need = Requirement("R", Form.PLUS_MINUS, nominal=size, lower=size - THOU, upper=size + THOU, band=2 * THOU)
    row = Characteristic("c", "1", FeatureKind.RADIUS, need)
    assert question(size, row, leaves) is None
    assert question(size, row, replace(leaves, missing=(size,))) is not None
