"""Each part of a budget: its formula against the definition it comes from, and what it refuses."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from math import pi, radians, sqrt, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.instruments.record import Direction, Use
from inspection.measuring.certificates import (
    Certificate,
    Point,
    certificate_lines,
    certified_error,
    drift_at,
    known_at,
)
from inspection.measuring.spread import Seen, Spread, taken_as_known
from inspection.measuring.thermal import Measured, Temperatures, temperature_lines
from inspection.measuring.uncertainty import Line
from inspection.measuring.uncertainty_parts import (
    RADIAN,
    Touch,
    askew,
    certified_size,
    gauge_class,
    jaw_play,
    parallax,
    permissible,
    reading,
    tilt,
    transfer,
    zero,
)
from inspection.measuring.uncertainty_sources import Held, Source, budget_of
from inspection.reasons import Refused

MM, IN, DEGREE = 10**9, 25_400_000_000, 3_600_000_000
TENTH = IN // 10_000


def u(line: Line) -> float:
    return sqrt(line.variance)


def code(call: Callable[[], object]) -> str:
    with pytest.raises(Refused) as refused:
        call()
    return refused.value.reasons[0].code


def test_resolution_as_printed() -> None:
    """r/√12 of the usual steps; figures of tests/reference/uncertainty.csv, topic resolution."""
    nothing = Spread(Fraction(0))
    for step, unit, printed in (
        (10_000_000, MM, "0.002886751"),
        (TENTH, IN, "0.000028868"),
        (IN // 64, IN, "0.004510549"),
    ):
        assert f"{u(reading(nothing, step, 1, 'x', 'mm')) / unit:.9f}" == printed


def test_the_step_bounds_a_mean_and_its_degrees_of_freedom_go() -> None:
    spread = Spread(Fraction(TENTH**2), 4, Seen.BLOCK)
    one, twelve, thirteen = (reading(spread, TENTH, m, "M-1", "in") for m in (1, 12, 13))
    assert (one.freedom, one.divisor, one.variance) == (4, 1, TENTH**2)
    assert (twelve.freedom, twelve.variance) == (4, Fraction(TENTH**2, 12))  # on the edge the scatter still counts
    assert (thirteen.freedom, thirteen.variance) == (None, Fraction(TENTH**2, 12))
    assert twelve.divisor == 12 == thirteen.divisor


def test_zeros_averaged() -> None:
    spread = Spread(Fraction(900), 9, Seen.ZERO)
    assert zero(spread, 10, 9, "M-1", "in").variance == 100
    assert zero(spread, 100, 9, "M-1", "in").variance == Fraction(10_000, 12)


@pytest.mark.parametrize(("corrected", "about"), [(True, 1 / 6), (False, 0)])
def test_tilt_is_the_deviation_of_the_cosine_error_of_a_rectangular_angle(corrected: bool, about: float) -> None:
    size, angle = 100 * MM, 2 * DEGREE
    theta = radians(2)
    angles = (np.arange(200_000) + 0.5) / 200_000 * theta
    long = size * angles**2 / 2
    deviation = sqrt(float(np.mean((long - about * size * theta**2) ** 2)))
    assert u(tilt(size, angle, Touch.LONG, "C-1", "mm", corrected=corrected)) == pytest.approx(deviation, rel=1e-8)


def test_tilt_in_a_bore_has_no_sign_and_cannot_be_taken_off() -> None:
    bore, long = (tilt(10 * MM, DEGREE, touch, "C-1", "mm") for touch in (Touch.BORE, Touch.LONG))
    assert bore.variance == long.variance
    assert bore.what.code == "doubt.line.tilt_bore"
    assert code(lambda: tilt(10 * MM, DEGREE, Touch.BORE, "C-1", "mm", corrected=True)) == "doubt.tilt_in_bore"


def test_radians() -> None:
    assert float(RADIAN * 180 * DEGREE) == pi


@given(st.integers(1, 10**11), st.integers(1, 89 * DEGREE))
def test_first_order_angles(arm: int, angle: int) -> None:
    theta = radians(angle / DEGREE)
    assert u(askew(arm, angle, "C-1", "mm")) == pytest.approx(arm * theta / sqrt(3), rel=1e-12)
    assert u(jaw_play(arm, angle, "C-1", "mm")) == pytest.approx(arm * theta / sqrt(3), rel=1e-12)
    assert u(parallax(arm, angle, "R-1", "mm")) == pytest.approx(arm * tan(theta) / sqrt(3), abs=0.6, rel=1e-9)


def test_gauge_classes_and_stacks() -> None:
    assert u(gauge_class(200, Direction.MINUS, "P-1", "in")) == pytest.approx(200 / sqrt(12))
    assert gauge_class(60, None, "B-1", "mm", times=3).variance == 3 * 60**2 / Fraction(3)
    assert certified_size(60, 2_000, "W-1", "mm", sensitivity=3).variance == 90**2


def test_a_transfer_gauge_over_a_micrometer() -> None:
    """Both instruments' lines, the micrometer's with its zero, the gauge's with its feel only."""
    micrometer = Source(
        "M-1",
        Use.OUTSIDE,
        "in",
        ((IN, TENTH),),
        resolution=TENTH,
        spread=taken_as_known(TENTH // 3),
        zero=Spread(Fraction(0)),
    )
    gauge = Source("G-1", Use.INSIDE, "in", spread=Spread(Fraction(16 * TENTH**2, 25), 9, Seen.STUDY))
    found = budget_of([micrometer, gauge], IN // 4, 4)
    assert [line.name for line in found.lines] == ["permissible", "reading", "zero", "transfer"]
    square = TENTH**2
    expected = Fraction(square, 3) + Fraction(square, 12) * 2 + Fraction(16 * square, 100)
    assert found.variance == expected
    assert found.freedom == int(expected**2 / (Fraction(16 * square, 100) ** 2 / 9))


def test_an_indicator_over_a_stack_of_blocks() -> None:
    """Set to zero on three blocks of ± .00001 each, then read on the part, on a plate with its own error."""
    ten = IN // 100_000
    indicator = Source("I-1", Use.HEIGHT, "in", ((IN, TENTH),), IN // 100, resolution=TENTH, zero=Spread(Fraction(0)))
    blocks = Source("B-1", Use.HEIGHT, "in", fixed=(gauge_class(ten, None, "B-1", "in", 3),))
    plate = Source("S-1", Use.HEIGHT, "in", ((24 * IN, TENTH),))
    found = budget_of([indicator, blocks, plate], 2 * IN)
    assert [line.name for line in found.lines] == ["permissible", "reading", "zero", "gauge class", "permissible"]
    assert found.variance == 2 * Fraction(TENTH**2, 3) + 2 * Fraction(TENTH**2, 12) + 3 * Fraction(ten**2, 3)


def test_how_it_is_held() -> None:
    held = Held(
        tilt=DEGREE,
        contact_width=6 * MM,
        contact_askew=DEGREE // 2,
        jaw_distance=30 * MM,
        jaw_rock=DEGREE // 50,
        scale_height=MM,
        eye_off=10 * DEGREE,
    )
    source = Source("C-1", Use.OUTSIDE, "mm", ((150 * MM, 20_000_000),), resolution=10_000_000, held=held)
    names = [line.name for line in budget_of([source], 50 * MM).lines]
    assert names == ["permissible", "reading", "tilt", "askew", "jaw play", "parallax"]


# --- certificates ----------------------------------------------------------------------------------------------

NOW = Certificate("22", "2026-03-02", (Point(0, 0, 8), Point(100, 10, 8), Point(200, -10, 12, 3_000)))


def test_a_certificate_at_and_between_its_points() -> None:
    at, between = known_at(NOW, 200, "M-1"), known_at(NOW, 150, "M-1")
    assert (at.error, at.square, at.between) == (-10, 16, 0)
    assert (between.error, between.square, between.between) == (0, 16, 10)


def test_drift_is_seen_in_two_certificates_or_taken_as_the_permissible_error() -> None:
    before = Certificate("21", "2025-03-02", (Point(0, 0, 8), Point(100, 4, 8)))
    assert drift_at(50, 40, "M-1", NOW, before) == 3
    assert drift_at(150, 40, "M-1", NOW, before) == 40  # the one before says nothing there
    assert drift_at(50, 40, "M-1", NOW) == 40
    assert certified_error(50, 40, "M-1", NOW, before) == 8 + 3
    assert drift_at(25, 40, "M-1", NOW, before) == Fraction(3, 2)
    assert certified_error(25, 40, "M-1", NOW, before) == 8 + 2  # rounded up
    assert code(lambda: drift_at(50, 0, "M-1", NOW)) == "doubt.drift_unknown"


def test_the_lines_of_a_certificate() -> None:
    found = {line.name: line.variance for line in certificate_lines(150, 40, "M-1", "mm", NOW)}
    assert found == {"certificate": 16, "drift": Fraction(1600, 3), "interpolation": Fraction(100, 3)}
    assert {line.name for line in certificate_lines(100, 40, "M-1", "mm", NOW)} == {"certificate", "drift"}


@pytest.mark.parametrize("size", [-1, 201])
def test_nothing_is_said_beyond_the_points(size: int) -> None:
    assert code(lambda: known_at(NOW, size, "M-1")) == "doubt.certificate_beyond"


@pytest.mark.parametrize("point", [Point(0, 0, 0), Point(0, 0, -3), Point(0, 0, 3, 0)])
def test_a_point_that_cannot_be(point: Point) -> None:
    assert code(lambda: known_at(Certificate("1", "", (point,)), 0, "M-1")) == "doubt.certificate_numbers"


# --- temperature -----------------------------------------------------------------------------------------------


def test_only_a_room_band_is_known() -> None:
    known = Temperatures(part_expansion=23_600, room=5_000, spread=0)
    (line,) = temperature_lines(IN, known)
    assert line.name == "room"
    assert u(line) == pytest.approx(IN * 12.1e-6 * 5 / sqrt(3))


def test_measured_temperatures() -> None:
    known = Temperatures(part_expansion=23_600, measured=Measured(5_000, 4_000, 500), spread=200, corrected=True)
    found = {line.name: u(line) for line in temperature_lines(IN, known)}
    assert found == pytest.approx(
        {
            "part against instrument": IN * 23.6e-6 * 0.2 / sqrt(3),
            "thermometer": IN * 12.1e-6 * 0.5 / sqrt(3),
            "part expansion": IN * 5 * 1e-6 / sqrt(3),
            "instrument expansion": IN * 4 * 1e-6 / sqrt(3),
        }
    )


# --- what is refused ---------------------------------------------------------------------------------------------

NEGATIVE = {
    "error": lambda: permissible(-1, "x", Use.OUTSIDE, "in"),
    "step": lambda: reading(Spread(Fraction(0)), -1, 1, "x", "in"),
    "deviation": lambda: taken_as_known(-1),
    "class": lambda: gauge_class(-1, None, "x", "in"),
    "tilt": lambda: tilt(1, -1, Touch.LONG, "x", "in"),
    "jaw": lambda: jaw_play(-1, 1, "x", "in"),
    "contact": lambda: askew(1, -1, "x", "in"),
    "scale": lambda: parallax(-1, 1, "x", "in"),
    "room": lambda: temperature_lines(1, Temperatures(room=-1)),
    "thermometer": lambda: temperature_lines(1, Temperatures(measured=Measured(0, 0, -1))),
}


@pytest.mark.parametrize("call", NEGATIVE.values(), ids=NEGATIVE)
def test_negative_spans(call: Callable[[], object]) -> None:
    assert code(call) == "doubt.width_negative"


@pytest.mark.parametrize(
    ("call", "expected"),
    [
        (lambda: reading(Spread(Fraction(1)), 1, 0, "x", "in"), "doubt.repeats_none"),
        (lambda: transfer(Spread(Fraction(1)), 0, "x", "in"), "doubt.repeats_none"),
        (lambda: zero(Spread(Fraction(1)), 1, 0, "x", "in"), "doubt.repeats_none"),
        (lambda: gauge_class(1, None, "x", "in", times=0), "doubt.members_none"),
        (lambda: certified_size(-1, 2_000, "x", "in"), "doubt.certificate_numbers"),
        (lambda: parallax(1, 90 * DEGREE, "x", "in"), "doubt.parallax_angle"),
        (lambda: temperature_lines(1, Temperatures(corrected=True)), "doubt.temperature_not_measured"),
        (lambda: temperature_lines(1, Temperatures(measured=Measured(2_000_000, 0))), "doubt.temperature_absurd"),
        (lambda: budget_of([Source("x", Use.OUTSIDE, steps=((5, 1),))], 6), "doubt.no_error_stated"),
        (lambda: budget_of([Source("x", Use.OUTSIDE)], 6), "doubt.nothing_known"),
        (lambda: budget_of([], 6), "doubt.nothing_known"),
        (lambda: reading(Spread(Fraction(1), 0), 1, 1, "x", "in"), "doubt.no_freedom"),
    ],
)
def test_what_cannot_be_reckoned_with(call: Callable[[], object], expected: str) -> None:
    assert code(call) == expected
