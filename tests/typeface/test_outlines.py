"""Outlines of symbols: strokes keep their thickness, solids run clockwise, holes the other way."""

from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from storage.outlines import Contour, contours

places = st.integers(-500, 500)
radii = st.integers(60, 400)
pens = st.integers(4, 100)


def area(contour: Contour) -> float:
    following = contour[1:] + contour[:1]
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(contour, following, strict=True)) / 2


@given(places, places, radii, pens)
def test_a_ring_has_a_clockwise_outside_and_a_hole(x: int, y: int, radius: int, pen: int) -> None:
    outer, inner = contours("circle", (x, y, radius), pen)
    assert area(outer) < 0 < area(inner)
    for contour, reach in ((outer, radius + pen / 2), (inner, radius - pen / 2)):
        on_curve = [hypot(a - x, b - y) for a, b, on in contour if on]
        assert on_curve == pytest.approx([reach] * len(on_curve))


@given(places, places, places, places, pens)
def test_a_stroke_is_as_thick_as_the_pen(x1: int, y1: int, x2: int, y2: int, pen: int) -> None:
    if (x1, y1) == (x2, y2):
        return
    (stroke,) = contours("line", (x1, y1, x2, y2), pen)
    assert area(stroke) == pytest.approx(-pen * hypot(x2 - x1, y2 - y1))


def test_corners_are_mitred_and_very_sharp_ones_bevelled() -> None:
    (right_angle,) = contours("line", (0, 0, 100, 0, 100, 100), 10)
    assert (105.0, -5.0, True) in right_angle
    (hairpin,) = contours("line", (0, 0, 400, 0, 0, 20), 10)
    assert max(x for x, _, _ in hairpin) < 420
    assert len(hairpin) == 8


def test_a_closed_line_leaves_its_inside_open() -> None:
    outer, inner = contours("closed", (0, 0, 0, 100, 100, 100, 100, 0), 10)
    assert area(outer) == pytest.approx(-110 * 110)
    assert area(inner) == pytest.approx(90 * 90)


@pytest.mark.parametrize(
    ("kind", "numbers"),
    [
        ("disc", (0, 0, 50)),
        ("polygon", (0, 0, 10, 0, 10, 10)),
        ("sector", (0, 0, 50, 90, 270)),
        ("arc", (0, 0, 50, 0, 180)),
    ],
)
def test_solids_run_clockwise(kind: str, numbers: tuple[float, ...]) -> None:
    assert all(area(contour) < 0 for contour in contours(kind, numbers, 10))


def test_an_unknown_part_is_refused() -> None:
    with pytest.raises(KeyError):
        contours("spiral", (0, 0), 10)
