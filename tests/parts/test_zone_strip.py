"""The zone strip is to scale; what lies out of it is clipped to its side, never dropped."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter

from app.parts.marks import Mark
from app.parts.zone import MARGIN, Ends, Zone, ends, guarded, paint_zone, place
from app.window.theme import NAMES, Theme, load

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


def painted(zone: Zone, theme: Theme | None = None, *, large: bool = False) -> QImage:
    theme = theme or load("light")
    wide, high = theme.px(200), theme.px(40)
    image = QImage(wide, high, QImage.Format.Format_RGB32)
    image.fill(theme.color("card"))
    painter = QPainter(image)
    paint_zone(painter, QRectF(0, 0, wide, high), zone, theme, large=large)
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


# --- guard bands ----------------------------------------------------------------------------------------------------


def spans(zone: Zone) -> list[tuple[float, float]]:
    """The guard bands on a strip 100 wide, each from its limit to its inner end, to a thousandth."""
    between = ends(zone)
    assert between is not None
    return [(round(limit, 3), round(inner, 3)) for limit, inner in guarded(zone, between, 0, 100)]


def test_guard_bands_lie_inside_both_limits_to_scale():
    """Of a band of 76 % of the strip, a tenth is 7.6 %."""
    assert spans(Zone(7490, 7500, guard=1)) == [(12, 19.6), (88, 80.4)]


def test_without_a_rule_that_asks_for_it_there_is_no_guard_band():
    assert spans(Zone(7490, 7500)) == []


def test_an_open_side_and_a_natural_zero_are_not_guarded():
    assert spans(Zone(upper=500, band=100, guard=10)) == [(88, 80.4)]
    assert spans(Zone(lower=500, band=100, guard=10)) == [(12, 19.6)]
    assert spans(Zone(0, 50, zero=True, guard=5)) == [(88, 80.4)]


@given(st.integers(1, 10**9))
def test_guard_bands_never_pass_each_other(guard):
    """Where they would, no result shows conformity, and each ends in the middle."""
    (_, left), (_, right) = spans(Zone(0, 1_000, guard=guard))
    assert left <= right + 0.1


def contrast(one: QColor, other: QColor) -> float:
    """WCAG 2.1, 1.4.11: marks 3 : 1."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(color: QColor) -> float:
    parts = (part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in color.getRgbF()[:3])
    return sum(part * share for part, share in zip(parts, (0.2126, 0.7152, 0.0722), strict=True))


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("scale", [100, 250])
@pytest.mark.parametrize("large", [False, True])
def test_the_hatching_is_seen_on_the_band_in_both_themes_and_at_every_scale(qapp, name, scale, large):
    """Every row of pixels of a guard band holds one that stands out from the band by 3 : 1, and one that is band."""
    theme = load(name, scale)
    image = painted(Zone(7490, 7500, guard=2), theme, large=large)
    band, inset = theme.color("band"), theme.px(12 if large else 6)
    left = round(inset + (image.width() - 2 * inset) * MARGIN) + theme.px(2)
    right = round(inset + (image.width() - 2 * inset) * (MARGIN + 0.15)) - theme.px(2)
    high = image.height()
    for y in range(round(high * 0.2), round(high * 0.8)):
        seen = [contrast(image.pixelColor(x, y), band) for x in range(left, right)]
        assert max(seen) >= 3, (y, max(seen))
        assert min(seen) < 1.5, (y, min(seen))


def test_a_corrected_result_stands_beside_the_hollow_one_that_was_read(qapp):
    plain = painted(Zone(0, 1000, results=(700,), mark=Mark.CONFORMING))
    moved = painted(Zone(0, 1000, results=(700,), raw=(300,), mark=Mark.CONFORMING))
    middle = 20
    at = round(6 + 188 * (MARGIN + 0.3 * (1 - 2 * MARGIN)))
    assert plain.pixelColor(at, middle) == load("light").color("band")
    assert moved.pixelColor(at, middle) == load("light").color("card")  # hollow
    outline = [moved.pixelColor(at + dx, middle) for dx in range(-7, 8)]
    assert any(contrast(color, load("light").color("band")) >= 3 for color in outline)
    same = painted(Zone(0, 1000, results=(700,), raw=(700,), mark=Mark.CONFORMING))
    assert same == plain
