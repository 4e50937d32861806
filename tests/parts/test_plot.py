"""The plot: to scale, nothing over another, nothing by colour alone, and every number in words."""

from __future__ import annotations

from itertools import pairwise

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QRectF
from PySide6.QtGui import QFontMetricsF, QImage, QPainter

from app.parts.marks import Mark
from app.parts.plot import Level, Plot, PlotView, Point, Stroke, Upright, level_text, paint_plot, ticks_shown, told
from app.parts.plot_scale import apart, steps_across
from app.window.theme import NAMES, SMALL, load
from inspection.quantity.round_values import ROUND_VALUES, Span, grid_of, number_near, span_of
from inspection.quantity.speaker import plain
from inspection.quantity.units import PICOMETRES_PER_INCH as INCH
from inspection.quantity.units import UNITS, Kind

TENTH = INCH // 10_000
SIZE = INCH // 2
COUNTS = st.integers(-(2**53), 2**53)
LENGTHS = [unit for unit in UNITS if UNITS[unit].kind is Kind.LENGTH]


# --- scale --------------------------------------------------------------------------------------------------------


@given(st.lists(COUNTS, min_size=1, max_size=9), st.integers(0, 10**12))
def test_every_value_has_its_place_in_order(values: list[int], least: int) -> None:
    span = span_of(values, least)
    assert span is not None
    assert span.high - span.low > least
    shares = [span.share(value) for value in sorted(values)]
    assert shares == sorted(shares)
    assert all(0 < share < 1 for share in shares)


def test_nothing_spans_nothing() -> None:
    assert span_of((), 5) is None


@given(COUNTS, st.integers(1_000, 2**53), st.sampled_from(sorted(UNITS)))
def test_round_values_lie_within_and_are_told_apart(low: int, wide: int, unit: str) -> None:
    span = Span(low, low + wide)
    grid = grid_of(span, unit)
    assert len(grid.values) <= ROUND_VALUES + 1
    assert all(span.low <= value <= span.high for value in grid.values)
    said = [plain(value, unit, grid.decimals) for value in grid.values]
    assert len(set(said)) == len(said)
    assert len({len(text.partition(".")[2]) for text in said}) <= 1


@pytest.mark.parametrize(
    ("low", "high", "unit", "said"),
    [
        (SIZE - 2 * TENTH, SIZE + 2 * TENTH, "in", ["0.4998", "0.4999", "0.5000", "0.5001", "0.5002"]),
        (0, INCH, "in", ["0.0", "0.2", "0.4", "0.6", "0.8", "1.0"]),
        (11_996_000_000, 12_004_000_000, "mm", ["11.996", "11.998", "12.000", "12.002", "12.004"]),
        (0, 400 * INCH, "in", ["0", "100", "200", "300", "400"]),
    ],
)
def test_round_values_are_those_one_would_write(low: int, high: int, unit: str, said: list[str]) -> None:
    grid = grid_of(Span(low, high), unit)
    assert [plain(value, unit, grid.decimals) for value in grid.values] == said


@given(st.lists(st.floats(0, 300), max_size=8).map(sorted), st.floats(1, 30))
def test_labels_are_moved_apart_and_stay_in_order(places: list[float], height: float) -> None:
    moved = apart(places, height, 0, 300)
    assert len(moved) == len(places)
    assert all(after - before >= height - 1e-6 for before, after in pairwise(moved))
    assert all(place <= 300 for place in moved)
    if height * len(places) <= 300:
        assert all(place >= -1e-6 for place in moved)


def test_labels_with_room_stay_where_they_are() -> None:
    assert apart([10, 50, 90], 12, 0, 100) == [10, 50, 90]
    assert apart([50, 52, 95, 99], 12, 0, 100) == [50, 62, 88, 100]


@given(st.integers(-50, 500), st.integers(0, 3_000), st.integers(0, 40))
def test_never_more_numbers_below_than_there_is_room_for(first: int, many: int, room: int) -> None:
    steps = steps_across(first, first + many, room)
    assert len(steps) <= max(room, 1) + 1
    assert all(first <= step <= first + many for step in steps)


def test_a_number_that_is_not_exact_is_marked_as_about() -> None:
    assert number_near(SIZE + TENTH, "in", 4) == "0.5001"
    assert number_near(SIZE + TENTH // 2, "in", 4) == "0.50005"
    assert number_near(SIZE + 12_345, "in", 4) == "≈ 0.50000"


# --- what is shown ------------------------------------------------------------------------------------------------


LEVELS = (
    Level(SIZE + TENTH, "+E"),
    Level(SIZE - TENTH, "−E"),
    Level(SIZE, "block", Stroke.CENTRE),
    Level(SIZE + 3 * TENTH, "mean + 2s", Stroke.SCATTER),
)
LEGEND = ((Mark.CONFORMING, "within"), (Mark.OUT, "beyond"))


def readings(*tenths: int) -> tuple[Point, ...]:
    return tuple(
        Point(at, SIZE + each * TENTH, Mark.OUT if abs(each) > 1 else Mark.CONFORMING)
        for at, each in enumerate(tenths, 1)
    )


def painted(plot: Plot, theme: str = "light", size: tuple[int, int] = (520, 240)) -> QImage:
    image = QImage(*size, QImage.Format.Format_RGB32)
    look = load(theme)
    image.fill(look.color("card"))
    painter = QPainter(image)
    paint_plot(painter, QRectF(0, 0, *size), plot, look)
    painter.end()
    return image


def near(image: QImage, color: str, theme: str) -> list[tuple[int, int]]:
    """Where a colour of the theme stands nearly pure, as (x, y)."""
    wanted = load(theme).color(color)
    pixels = numpy.frombuffer(image.constBits(), numpy.uint8).reshape(image.height(), image.width(), 4)
    off = abs(pixels[:, :, :3].astype(int) - [wanted.blue(), wanted.green(), wanted.red()]).sum(axis=2)
    return [(int(x), int(y)) for y, x in zip(*numpy.nonzero(off < 12), strict=True)]


@pytest.mark.parametrize("theme", NAMES)
def test_points_grow_from_left_to_right_and_a_bad_one_is_a_triangle(qapp, theme) -> None:
    plot = Plot(readings(0, 1), LEVELS, begin=1, end=10)
    one, two, three = (painted(plot._replace(points=readings(*tenths)), theme) for tenths in ((0,), (0, 1), (0, 1, 3)))
    assert not near(one, "out", theme)
    assert len(near(two, "good", theme)) > len(near(one, "good", theme)) > 10
    bad = near(three, "out", theme)
    assert len(bad) > 10
    rows = {y: sum(each[1] == y for each in bad) for _, y in bad}
    assert rows[max(rows)] > rows[min(rows)]  # wide at its foot, pointed above: no disc
    assert min(x for x, _ in bad) > max(x for x, _ in near(two, "good", theme))


def test_levels_differ_by_their_lines_and_limits_have_a_ground_between(qapp) -> None:
    def runs(stroke: Stroke) -> int:
        """How often the line begins or ends along the middle of the plot, where no hairline lies beneath it."""
        level = Plot((), (Level(SIZE + TENTH // 3, "", stroke),), begin=1, end=10)
        spots = {spot for color in ("ink", "quiet", "accent") for spot in near(painted(level), color, "light")}
        spots = {(x, y) for x, y in spots if 120 < x < 320}
        row = max((y for _, y in spots), key=lambda y: sum(each == y for _, each in spots))
        ink = [(x, row) in spots for x in range(121, 320)]
        return sum(before is not after for before, after in pairwise(ink))

    changes = {stroke: runs(stroke) for stroke in Stroke}
    assert changes[Stroke.LIMIT] == 0
    assert changes[Stroke.CENTRE] > changes[Stroke.SCATTER] > 4
    assert len(near(painted(Plot((), LEVELS[:2])), "band", "light")) > 1000
    assert len(near(painted(Plot((), LEVELS[2:])), "band", "light")) < 100  # edges of letters


def test_a_plot_that_grows_keeps_its_scale(qapp) -> None:
    """The first points stand where they stood: only something new is painted."""
    first = near(painted(Plot(readings(0), LEVELS, begin=1, end=10)), "good", "light")
    then = near(painted(Plot(readings(0, 1), LEVELS, begin=1, end=10)), "good", "light")
    assert set(first) <= set(then)


@pytest.mark.parametrize(
    "plot",
    [
        Plot(),
        Plot(readings(0)),
        Plot((), LEVELS),
        Plot((Point(5, 0), Point(5, 0))),
        Plot(readings(*range(200)), LEVELS),
        Plot((Point(1, 2**53), Point(2, -(2**53))), (), unit="mm"),
        Plot((Point(1, 3_600_000_000),), (), Kind.ANGLE, "°"),
    ],
)
def test_anything_is_painted(qapp, plot) -> None:
    assert (painted(plot) == painted(Plot())) is (plot == Plot())
    painted(plot, "dark", (40, 30))


def test_an_empty_plot_says_so(qtbot) -> None:
    view = PlotView("Readings", load("light"))
    qtbot.addWidget(view)
    assert view.accessibleName() == "Readings: nothing to show yet"


def test_every_number_stands_in_the_accessible_name_in_words(qtbot) -> None:
    view = PlotView("Readings", load("light"))
    qtbot.addWidget(view)
    view.show_plot(Plot(readings(0, 3), LEVELS[:1], legend=LEGEND))
    assert view.accessibleName() == (
        "Readings: 1: 500 thou, within; 2: 500 thou and 3 tenths, beyond; +E: 500 thou and 1 tenth"
    )
    view.show_plot(Plot((Point(20_000, SIZE, Mark.OUT, "2026-03-01"),), unit="mm"))
    assert view.accessibleName() == "Readings: 2026-03-01: 12 point 7 millimetres"


def test_of_many_points_the_last_are_told() -> None:
    said = told(Plot(readings(*([0] * 50))))
    assert said.startswith("10 points before these; 11: ")
    assert "50: 500 thou" in said


def test_a_level_is_written_with_its_number() -> None:
    assert level_text(Level(SIZE, "block"), Plot(), 4) == "block  0.5000"


def test_words_below_stand_on_no_other_and_the_ends_come_first(qapp) -> None:
    metrics, field = QFontMetricsF(load("light").font(SMALL)), QRectF(50, 0, 250, 100)
    days = [(day, f"2026-01-{day:02}") for day in (1, 3, 9, 10, 20, 31)]
    shown = ticks_shown(lambda day: 50 + day * 8, days, field, metrics, 8)
    assert {"2026-01-01", "2026-01-31"} <= {text for _, text in shown}
    boxes = sorted((begin, begin + metrics.horizontalAdvance(text)) for begin, text in shown)
    assert all(right < left for (_, right), (left, _) in pairwise(boxes))
    assert boxes[-1][1] <= 300 + 1e-6


# --- several series, what a point is the middle of, what happened between --------------------------------------------


def test_what_a_point_is_the_middle_of_has_its_place_too() -> None:
    plain = Plot((Point(1, SIZE), Point(2, SIZE)))
    reaching = plain._replace(points=(Point(1, SIZE, reach=(SIZE - 9 * TENTH, SIZE + TENTH)), Point(2, SIZE)))
    assert plain.span is not None and reaching.span is not None
    assert reaching.span.low < SIZE - 9 * TENTH < plain.span.low


def test_what_happened_is_spanned_and_told() -> None:
    plot = Plot((Point(3, SIZE), Point(5, SIZE)), uprights=(Upright(1, "dropped"),))
    assert plot.reach == (1, 5)
    assert "dropped" in told(plot).split("; ")


@pytest.mark.parametrize("theme", NAMES)
def test_each_series_is_joined_for_itself_and_each_other_thing_is_drawn(qapp, theme: str) -> None:
    """Where two series run far apart nothing joins the one to the other; a stroke and an upright leave their marks."""
    high = tuple(Point(at, SIZE + 8 * TENTH, Mark.CONFORMING) for at in (1, 9))
    low = tuple(Point(at, SIZE - 8 * TENTH, Mark.OPEN, series=1) for at in (1, 9))
    ends = (*high, *low)
    apart_ = painted(Plot(ends), theme)
    joined = painted(Plot(tuple(point._replace(series=0) for point in ends)), theme)
    middle = [(x, apart_.height() // 2) for x in range(apart_.width() // 4, 3 * apart_.width() // 4)]

    def inked(image: QImage) -> int:
        ground = image.pixelColor(2, image.height() - 3)
        return sum(image.pixelColor(x, y + off) != ground for x, y in middle for off in (-30, -15, 15, 30))

    assert inked(apart_) < inked(joined)
    bare = painted(Plot(ends), theme)
    for more in (
        Plot((high[0]._replace(reach=(SIZE + 4 * TENTH, SIZE + 8 * TENTH)), high[1], *low)),
        Plot(ends, uprights=(Upright(5, "dropped"),)),
    ):
        assert painted(more, theme) != bare
