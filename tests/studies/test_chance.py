"""How improbable agreement is: against the normal distribution by another library, and against readings made by chance.

How little a process is taken to scatter is common practice; that p bounds the chance of agreement is mathematics.
"""

from __future__ import annotations

from fractions import Fraction
from math import log2
from random import Random

import pytest
from scipy.stats import norm

from inspection.instruments.record import Instrument, InstrumentKind
from inspection.quantity.units import UNITS, Kind
from inspection.studies.agreement import e_n_square
from inspection.studies.chance import ALIKE, CAPABLE, ONE_IN, choosing, needed, scatter_square, surprise

INCH = UNITS["in"].count
TENTH = INCH // 10_000
CALIPER = Instrument("c", 1, "C-05", InstrumentKind.DIGITAL_CALIPER, "", resolution=5 * TENTH, repeatability=3 * TENTH)
RULE = Instrument("r", 1, "R-02", InstrumentKind.RULE, "", resolution=INCH // 64)


@pytest.mark.parametrize(("step", "sigma"), [(5.0, 3.0), (1.0, 0.3), (1.0, 1.0), (1.0, 6.0), (10.0, 1.0)])
def test_the_most_probable_mark_is_the_middle_one(step: float, sigma: float) -> None:
    r, s = round(step * TENTH), round(sigma * TENTH)
    p = norm.cdf(r / 2 / s) - norm.cdf(-r / 2 / s)
    assert surprise(r, s * s) == int(-1000 * log2(p))


def test_a_step_that_hides_all_scatter_says_nothing() -> None:
    assert surprise(INCH // 64, TENTH**2) == 0
    assert surprise(0, TENTH**2) == surprise(TENTH, 0) == 0


@pytest.mark.parametrize("sigma", [0.2, 0.61, 1.0, 2.5])
def test_two_readings_agree_no_more_often_than_that(sigma: float) -> None:
    """Values about any centre, rounded to whole steps; four standard deviations of the count are allowed for."""
    chance, n, step = Random(7), 20_000, 1_000_000
    bound = 2 ** (-surprise(step, round((sigma * step) ** 2)) / 1000)
    for centre in (0.0, 0.25, 0.5):
        equal = sum(round(chance.gauss(centre, sigma)) == round(chance.gauss(centre, sigma)) for _ in range(n))
        assert equal / n <= bound + 4 * (bound * (1 - min(bound, 1)) / n) ** 0.5


def test_scatter_is_the_hand_and_the_least_that_a_process_does() -> None:
    hand, most = CALIPER.repeatability, ALIKE[Kind.LENGTH]
    assert scatter_square((CALIPER,), None, most) == hand**2
    assert scatter_square((CALIPER,), 24 * TENTH // 10, most) == hand**2 + (TENTH // 10) ** 2
    assert scatter_square((CALIPER,), INCH, most) == hand**2 + most**2
    assert scatter_square((CALIPER, CALIPER), None, most) == 2 * hand**2
    assert scatter_square((RULE,), None, most) == 0
    assert CAPABLE == 24, "C_p = T / 6 s = 4"


def test_the_usual_scatter_of_its_kind_stands_in_for_what_a_record_leaves_out() -> None:
    unsaid = Instrument("c", 1, "C-05", InstrumentKind.DIGITAL_CALIPER, "", resolution=5 * TENTH)
    assert scatter_square((unsaid,), None, 0) == (3 * TENTH) ** 2


@pytest.mark.parametrize("tried", [0, 1, 50, 5_000])
def test_what_is_needed_grows_with_the_occasions(tried: int) -> None:
    allowed = Fraction(1, ONE_IN * max(1, tried))
    assert 2 ** -(needed(tried) / 1000) <= allowed
    assert 2 ** -((needed(tried) - 1) / 1000) > allowed


def test_choosing_is_paid_for_in_full() -> None:
    assert choosing(0, 30) == 0
    assert choosing(2, 20) / 1000 >= log2(190)


def test_e_n_is_the_difference_over_both_uncertainties() -> None:
    """3-4-5 by hand; ISO 13528, from memory."""
    assert e_n_square(105, 100, 3, 4) == 1
    assert e_n_square(106, 100, 3, 4) > 1 > e_n_square(96, 100, 3, 4)
    with pytest.raises(ZeroDivisionError):
        e_n_square(1, 2, 0, 0)
