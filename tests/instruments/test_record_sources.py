"""What a record says for a budget, by records told here and values worked out by hand."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from inspection.instruments.materials import STEEL
from inspection.instruments.record import CertifiedPoint, Contacts, Holding, Instrument, InstrumentKind, Use
from inspection.instruments.record_sources import (
    certificate_of,
    certificates_of,
    held_of,
    jaws_of,
    own_expansion,
)
from inspection.measuring.bias import Jaws
from inspection.measuring.certificates import Certificate, Point, certified_error
from inspection.measuring.uncertainty_parts import Touch
from inspection.measuring.uncertainty_sources import Held, held_lines
from inspection.quantity.units import UNITS

IN, MM, DEGREE = UNITS["in"].count, UNITS["mm"].count, UNITS["°"].count
TENTH = IN // 10_000
POINTS = (
    CertifiedPoint(Use.OUTSIDE, 0, 0, TENTH // 2),
    CertifiedPoint(Use.OUTSIDE, IN, TENTH, TENTH // 2, 2_130),
    CertifiedPoint(Use.DEPTH, IN, -TENTH, TENTH),
)
FIRST = Instrument(
    "m",
    1,
    "M-1",
    InstrumentKind.OUTSIDE_MICROMETER,
    "micrometer",
    certificate="17",
    certified="2025-03-02",
    points=POINTS,
)


def issues(*held: Instrument) -> dict[tuple[str, int], Instrument]:
    return {(one.identity, one.issue): one for one in held}


def test_the_certificate_of_a_use() -> None:
    assert certificate_of(FIRST, Use.OUTSIDE) == Certificate(
        "17", "2025-03-02", (Point(0, 0, TENTH // 2), Point(IN, TENTH, TENTH // 2, 2_130))
    )
    assert certificate_of(FIRST, Use.DEPTH) == Certificate("17", "2025-03-02", (Point(IN, -TENTH, TENTH),))
    assert certificate_of(FIRST, Use.INSIDE) is None
    assert certificate_of(replace(FIRST, points=()), Use.OUTSIDE) is None


def test_the_one_before_is_of_the_newest_earlier_issue_with_another_number_and_points_for_the_use() -> None:
    moved = tuple(replace(point, error=point.error + TENTH) for point in POINTS)
    second = replace(FIRST, issue=2, holder="Bo")  # the same certificate, lent out
    third = replace(FIRST, issue=3, certificate="18", certified="2026-03-01", points=moved)
    none = replace(FIRST, issue=4, certificate="19", certified="2026-06-01", points=())
    fifth = replace(FIRST, issue=5, certificate="20", certified="2027-03-01", points=POINTS[:2])
    other = replace(third, identity="another")
    shop = issues(FIRST, second, third, none, fifth, other)
    assert certificates_of(shop, FIRST, Use.OUTSIDE) == (certificate_of(FIRST, Use.OUTSIDE), None)
    assert certificates_of(shop, second, Use.OUTSIDE)[1] is None
    assert certificates_of(shop, third, Use.OUTSIDE)[1] == certificate_of(FIRST, Use.OUTSIDE)
    assert certificates_of(shop, fifth, Use.OUTSIDE)[1] == certificate_of(third, Use.OUTSIDE)
    assert certificates_of(shop, fifth, Use.DEPTH) == (None, None)
    assert certificates_of(shop, none, Use.OUTSIDE) == (None, None)
    assert certificates_of(issues(FIRST, fifth), fifth, Use.OUTSIDE)[1] == certificate_of(FIRST, Use.OUTSIDE)


def test_two_certificates_give_the_drift_between_them() -> None:
    """U of .00005 and a tenth that it moved, in place of E: .00015 in."""
    second = replace(FIRST, issue=2, certificate="18", points=(CertifiedPoint(Use.OUTSIDE, IN, 2 * TENTH, TENTH // 2),))
    now, before = certificates_of(issues(FIRST, second), second, Use.OUTSIDE)
    assert now is not None
    assert certified_error(IN, 0, "M-1", now, before) == TENTH * 3 // 2


def test_jaws_are_the_measured_ones_or_else_usual_for_the_kind() -> None:
    caliper = replace(FIRST, kind=InstrumentKind.DIAL_CALIPER)
    assert jaws_of(caliper) == (Jaws(MM * 4 // 10, MM // 10), False)  # usual flats .3 to .5 mm, common practice
    measured = replace(caliper, contacts=Contacts(jaws=MM // 2, jaws_within=MM // 50))
    assert jaws_of(measured) == (Jaws(MM // 2, MM // 50), True)
    assert jaws_of(FIRST) == (None, False)


HOLDING = Holding(DEGREE, 6 * MM, DEGREE // 2, 40 * MM, DEGREE // 50, MM, 10 * DEGREE)


@pytest.mark.parametrize("use", [Use.OUTSIDE, Use.STEP, Use.HEIGHT])
def test_how_it_is_held(use: Use) -> None:
    held = held_of(replace(FIRST, holding=HOLDING), use)
    assert held == Held(
        DEGREE, Touch.LONG, False, 6 * MM, DEGREE // 2, 40 * MM, DEGREE // 50, scale_height=MM, eye_off=10 * DEGREE
    )
    names = [line.name for line in held_lines(held, IN, "M-1", "in")]
    assert names == ["tilt", "askew", "jaw play", "parallax"]


def test_a_bore_and_a_depth_are_held_otherwise() -> None:
    stated = replace(FIRST, holding=HOLDING)
    assert held_of(stated, Use.INSIDE).touch is Touch.BORE
    depth = held_of(stated, Use.DEPTH)
    assert (depth.touch, depth.jaw_rock, depth.tilt) == (Touch.LONG, 0, DEGREE)


def test_nothing_is_held_along_an_angle_a_thread_or_by_eye() -> None:
    stated = replace(FIRST, holding=HOLDING)
    for use in set(Use) - {Use.OUTSIDE, Use.INSIDE, Use.DEPTH, Use.STEP, Use.HEIGHT}:
        assert held_of(stated, use) == Held()
    assert held_of(FIRST, Use.OUTSIDE) == Held()


def test_an_instrument_is_of_steel_unless_its_record_says_otherwise() -> None:
    assert own_expansion(FIRST) == STEEL
    assert own_expansion(replace(FIRST, expansion=8_000)) == 8_000
