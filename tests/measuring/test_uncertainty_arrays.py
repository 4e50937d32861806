"""The arrays say what the scalar budgets say, pair by pair, refusals included; and how long a whole choice takes."""

from __future__ import annotations

import random
import time
from fractions import Fraction
from math import sqrt

import numpy as np
import pytest

from inspection.instruments.record import Direction, Use
from inspection.measuring.bias import Handling, Jaws, bore_read, jaws_in_bore
from inspection.measuring.certificates import Certificate, Point
from inspection.measuring.spread import Seen, Spread, taken_as_known
from inspection.measuring.thermal import Measured, Temperatures
from inspection.measuring.uncertainty_arrays import doubts, jaws_left
from inspection.measuring.uncertainty_parts import Touch, gauge_class
from inspection.measuring.uncertainty_sources import Held, Source, budget_of
from inspection.reasons import Refused

MM, IN, DEGREE = 10**9, 25_400_000_000, 3_600_000_000
UM = 10**6


def certificate(chance: random.Random, bad: bool = False) -> Certificate:
    sizes = sorted(chance.sample(range(0, 300 * MM, MM), chance.randint(1, 6)))
    points = tuple(
        Point(size, chance.randint(-20, 20) * UM, 0 if bad else chance.randint(1, 8) * UM, chance.choice((2000, 1960)))
        for size in sizes
    )
    return Certificate("1", "2026-03-02", points)


def spread(chance: random.Random) -> Spread:
    deviation = chance.choice((0, 1, chance.randint(1, 10 * UM)))
    if chance.random() < 0.5:
        return taken_as_known(deviation)
    return Spread(Fraction(deviation**2, chance.randint(1, 7)), chance.randint(1, 40), chance.choice(list(Seen)))


def held(chance: random.Random) -> Held:
    def some(most: int) -> int:
        return chance.choice((0, 0, chance.randint(1, most)))

    return Held(
        some(2 * DEGREE),
        chance.choice(list(Touch)),
        False,
        6 * MM,
        some(DEGREE),
        30 * MM,
        some(DEGREE),
        MM,
        some(DEGREE),
    )


def source(chance: random.Random) -> Source:
    steps = tuple((size * MM, chance.randint(0, 30) * UM) for size in sorted(chance.sample(range(1, 300), 3)))
    with_certificate = chance.random() < 0.4
    return Source(
        "x",
        chance.choice(list(Use)),
        steps=steps if chance.random() < 0.85 else (),
        travel=chance.choice((None, None, None, 5 * MM)),
        certificate=certificate(chance, chance.random() < 0.1) if with_certificate else None,
        before=certificate(chance) if with_certificate and chance.random() < 0.5 else None,
        resolution=chance.choice((0, 10 * UM, UM)),
        spread=spread(chance),
        zero=chance.choice((None, spread(chance))),
        settings=chance.randint(1, 5),
        fixed=chance.choice(((), (gauge_class(2 * UM, chance.choice((None, *Direction)), "x", "in", 3),))),
        jaws=chance.choice((None, None, Jaws(chance.randint(0, 500 * UM), chance.randint(0, 80 * UM)), Jaws(None))),
        held=held(chance),
    )


def temperatures(chance: random.Random) -> Temperatures | None:
    if chance.random() < 0.2:
        return None
    measured = Measured(chance.randint(-10_000, 10_000), chance.randint(-10_000, 10_000), chance.randint(0, 1_000))
    return Temperatures(
        chance.randint(1_000, 110_000),
        spread=chance.randint(0, 2_000),
        room=chance.randint(0, 5_000),
        measured=chance.choice((None, measured)),
    )


def sizes_of(chance: random.Random, count: int) -> list[int]:
    return [chance.choice((chance.randint(1, 320 * MM), chance.randint(0, 300) * MM)) for _ in range(count)]


@pytest.mark.parametrize("seed", range(12))
def test_arrays_and_scalars_agree(seed: int) -> None:
    chance = random.Random(seed)
    sizes, repeats = sizes_of(chance, 60), [chance.choice((1, 1, 3, 5)) for _ in range(60)]
    methods = [[source(chance) for _ in range(chance.randint(1, 3))] for _ in range(25)]
    known = [temperatures(chance) for _ in methods]
    found = doubts(np.array(sizes), np.array(repeats), methods, known)
    met = 0
    for i, (size, m) in enumerate(zip(sizes, repeats, strict=True)):
        for j, sources in enumerate(methods):
            try:
                budget = budget_of(sources, size, m, known[j])
            except Refused:
                assert found.refused[i, j]
                assert found.variance[i, j] == 0
                continue
            met += 1
            assert not found.refused[i, j]
            assert found.variance[i, j] == pytest.approx(float(budget.variance), rel=1e-12)
            assert found.factor[i, j] == float(budget.factor())
            assert found.uncorrected[i, j] == pytest.approx(float(budget.uncorrected), rel=1e-12, abs=1e-9)
            u = float(budget.factor()) * sqrt(budget.variance) + float(budget.uncorrected)
            assert found.expanded[i, j] == pytest.approx(u, rel=1e-12)
    assert met > 200


def test_corrected_temperatures_leave_nothing() -> None:
    warm = Temperatures(23_600, measured=Measured(5_000, 5_000), corrected=True)
    plain = Source("x", Use.OUTSIDE, steps=((IN, UM),))
    found = doubts(np.array([IN]), np.array([1]), [[plain]], [warm])
    assert found.uncorrected[0, 0] == 0


def test_degrees_of_freedom_that_are_whole_are_not_cut_below() -> None:
    """One scatter alone: ν_eff is its ν exactly, which float64 may put a hair under."""
    alone = [[Source("x", Use.OUTSIDE, spread=Spread(Fraction(n, 7), n, Seen.STUDY))] for n in range(1, 200)]
    found = doubts(np.array([IN]), np.array([1]), alone, [None] * len(alone))
    for n in range(1, 200):
        assert found.factor[0, n - 1] == float(budget_of(alone[n - 1], IN).factor())


def test_what_is_wrong_with_a_method_itself_is_refused() -> None:
    bad = Source("x", Use.OUTSIDE, resolution=-1)
    with pytest.raises(Refused):
        doubts(np.array([IN]), np.array([1]), [[bad]], [None])


@pytest.mark.parametrize("across", [300 * UM, 0, 5 * MM, None])
def test_usual_jaws_are_left_or_refused_as_one_by_one(across: int | None) -> None:
    chance = random.Random(across)
    sizes = [chance.randint(1, 30 * MM) for _ in range(300)]
    bands = [chance.choice((-1, chance.randint(1, MM // 2))) for _ in range(300)]
    jaws = Jaws(across)
    small, refused, _ = jaws_left(np.array(sizes), np.array(bands), jaws)
    for i, (size, band) in enumerate(zip(sizes, bands, strict=True)):
        try:
            read = bore_read(size, jaws, "C-1", "mm")
        except Refused:
            assert refused[i]
            continue
        found = jaws_in_bore(read, jaws, band if band >= 0 else None, "C-1", "mm", measured=False)
        assert refused[i] == (found.handling is Handling.REFUSED)
        assert small[i] == pytest.approx(float(found.amount), rel=1e-9, abs=1e-9)


def test_no_rows_and_no_methods() -> None:
    none = np.array([], dtype=np.int64)
    assert doubts(none, none, [], []).variance.shape == (0, 0)
    assert doubts(np.array([IN]), np.array([1]), [], []).expanded.shape == (1, 0)


@pytest.mark.measured
def test_five_thousand_rows_by_three_hundred_methods_in_a_second() -> None:
    chance = random.Random(5)
    sizes = np.array(sizes_of(chance, 5_000))
    repeats = np.array([chance.choice((1, 1, 1, 3)) for _ in range(5_000)])
    methods = [[source(chance) for _ in range(chance.randint(1, 2))] for _ in range(300)]
    known = [temperatures(chance) for _ in methods]
    taken = []
    for _ in range(3):
        began = time.perf_counter()
        found = doubts(sizes, repeats, methods, known)
        taken.append(time.perf_counter() - began)
        assert found.variance.shape == (5_000, 300)
    assert min(taken) < 1.0, taken
