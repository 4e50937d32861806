"""The zone strip is to scale; what lies out of it is clipped to its side, never dropped."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter

from app.parts.marks import Mark
from app.parts.zone import MARGIN, Ends, Zone, ends, paint_zone, place
from app.window.theme import load

COUNTS = st.integers(-(2**53), 2**53)


def test_two_limits_are_the_ends():
    assert ends(Zone(lower=7495, upper=7500)) == Ends(7495, 7500, True, True)


def test_a_single_limit_leaves_the_other_side_open():
    assert ends(Zone(upper=500, band=100)) == Ends(400, 500, False, True)
    assert ends(Zone(lower=500, band=100)) == Ends(500, 600, True, False)


def test_without_a_limit_or_a_width_there_is_no_zone():
    assert ends(Zone(nominal=500)) is None
    assert ends(Zone(lower=5, upper=5)) is None


def test_limits_lie_a_margin_from_the_edges():
    between = Ends(7495, 7500, True, True)
    assert place(7495, 1, between, 0, 100) == (MARGIN * 100, 0)
    assert place(7500, 1, between, 0, 100) == ((1 - MARGIN) * 100, 0)


def test_a_mean_is_placed_by_its_sum():
    between = Ends(100, 110, True, True)
    assert place(3 * 105, 3, between, 0, 100) == place(105, 1, between, 0, 100)


@given(COUNTS, COUNTS, COUNTS)
def test_anything_stays_on_the_strip_and_on_its_side(low, high, value):
    if low >= high:
        return
    x, side = place(value, 1, Ends(low, high, True, True), 10, 80)
    assert 10 <= x <= 90
    assert side == 0 or (side < 0) == (value < low)


def painted(zone: Zone) -> QImage:
    image = QImage(200, 40, QImage.Format.Format_RGB32)
    theme = load("light")
    image.fill(theme.color("card"))
    painter = QPainter(image)
    paint_zone(painter, QRectF(0, 0, 200, 40), zone, theme)
    painter.end()
    return image


def reddish(image: QImage, left: int, right: int) -> int:
    colors = [image.pixelColor(x, y) for x in range(left, right) for y in range(image.height())]
    return sum(color.red() > 150 and color.green() < 110 and color.blue() < 60 for color in colors)


def test_a_result_far_over_is_an_arrow_at_the_right_edge(qapp):
    over = painted(Zone(7495, 7500, results=(9999,), mark=Mark.OUT))
    assert reddish(over, 180, 200) > 10
    assert reddish(over, 0, 180) == 0
    under = painted(Zone(7495, 7500, results=(0,), mark=Mark.OUT))
    assert reddish(under, 0, 20) > 10
    assert reddish(under, 20, 200) == 0


def test_an_open_row_has_no_result(qapp):
    empty, full = painted(Zone(7495, 7500)), painted(Zone(7495, 7500, results=(7497,), mark=Mark.CONFORMING))
    assert empty != full
    assert painted(Zone(nominal=5)) == painted(Zone())
