"""Marks differ by shape alone, balloons keep their numbers, frames their cells, the ribbon its order."""

from __future__ import annotations

from itertools import combinations

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QImage, QPainter

from app.parts.balloon import balloon_width
from app.parts.bars import Bar, RatioBars
from app.parts.callout import cells
from app.parts.marks import Mark, paint_mark
from app.parts.ribbon import Ribbon, RibbonMark
from app.window.theme import load


def shape(mark: Mark) -> list[bool]:
    """A mark as ink or not, without its colour."""
    image = QImage(40, 40, QImage.Format.Format_RGB32)
    image.fill(QColor("white"))
    painter = QPainter(image)
    paint_mark(painter, QPointF(20, 20), 24, mark, load("light"))
    painter.end()
    return [image.pixelColor(x, y).lightness() < 200 for x in range(40) for y in range(40)]


def test_marks_differ_in_shape_without_their_colours(qapp):
    shapes = {mark: shape(mark) for mark in Mark}
    for one, other in combinations(Mark, 2):
        differ = sum(a != b for a, b in zip(shapes[one], shapes[other], strict=True))
        assert differ > 20, (one, other)


def test_a_long_number_widens_its_balloon(qapp):
    theme = load("light")
    assert balloon_width(28, "9", theme) == 28
    assert balloon_width(28, "101.12", theme) > 40


@pytest.mark.parametrize(
    ("written", "parted"),
    [
        ("⌖|⌀.010Ⓜ|A|B", ("⌖", "⌀.010Ⓜ", "A", "B")),
        ("⌖ ⌀.010 Ⓜ A B", ("⌖", "⌀.010Ⓜ", "A", "B")),
        ("⏥ .002", ("⏥", ".002")),
        ("⌀.7500 +.0000/-.0005", ("⌀.7500 +.0000/-.0005",)),
        ("", ("",)),
    ],
)
def test_a_feature_control_frame_falls_into_its_cells(written, parted):
    assert cells(written) == parted


def marks(count: int) -> tuple[RibbonMark, ...]:
    return tuple(RibbonMark(str(number), Mark.OPEN, number // 10) for number in range(count))


@pytest.mark.parametrize("count", [1, 34, 5000])
def test_the_ribbon_keeps_the_order_and_its_width(qtbot, count):
    ribbon = Ribbon(load("light"))
    qtbot.addWidget(ribbon)
    ribbon.resize(800, 24)
    ribbon.set_marks(marks(count), 0)
    places = ribbon.places()
    assert places == sorted(places)
    assert places[-1] <= 800
    ribbon.grab()


def test_there_is_a_gap_between_stops(qtbot):
    ribbon = Ribbon(load("light"))
    qtbot.addWidget(ribbon)
    ribbon.resize(800, 24)
    ribbon.set_marks(marks(20))
    places = ribbon.places()
    assert places[10] - places[9] > places[9] - places[8]


def test_a_mark_that_is_pointed_at_is_chosen(qtbot):
    ribbon = Ribbon(load("light"))
    qtbot.addWidget(ribbon)
    ribbon.resize(800, 24)
    ribbon.set_marks(marks(20))
    with qtbot.waitSignal(ribbon.chosen) as chosen:
        qtbot.mousePress(ribbon, Qt.MouseButton.LeftButton, pos=QPointF(ribbon.places()[7], 12).toPoint())
    assert chosen.args == [7]


def test_ratio_bars_are_read_out(qtbot):
    bars = RatioBars(load("dark"))
    qtbot.addWidget(bars)
    bars.set_bars((Bar("resolution", 5, 10, "5 : 1", "needs 10", False),))
    bars.resize(400, 26)
    bars.grab()
    assert bars.accessibleDescription() == "resolution 5 : 1, needs 10"


def test_painting_leaves_the_shared_fonts_as_they_were(qapp):
    theme = load("light")
    before = {bold: theme.font(bold=bold).pixelSize() for bold in (False, True)}
    for mark in Mark:
        shape(mark)
    balloon_width(60, "9", theme)
    assert {bold: theme.font(bold=bold).pixelSize() for bold in (False, True)} == before
