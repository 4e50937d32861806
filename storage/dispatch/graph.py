"""A chart of a gauge study on paper: values over places across, joined line by line, with levels and their numbers."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from itertools import pairwise

from msgspec import Struct

from inspection.quantity.round_values import Span, grid_of, number_near, span_of
from inspection.quantity.speaker import plain
from inspection.quantity.units import UNITS
from inspection.studies.study_charts import Chart, ChartLine, ChartPoint, Shape
from inspection.words.say import word
from storage.dispatch.blocks import Cell, Drawn
from storage.dispatch.drawing import Brush, draw
from storage.dispatch.setting import Run, measure

#: Size of what is written in a chart; room at the left for numbers and at the right for names of levels.
SIZE, LEFT, RIGHT = 6.5, 46.0, 84.0
#: A chart spans one unit over so much at the least, so that values that never differ have their place.
LEAST = 10_000
#: How lines are told apart in grey: their dashes, and the shape of their points.
DASHES: tuple[tuple[float, ...], ...] = ((), (4, 2), (1.5, 1.5), (6, 2, 1.5, 2))


class Mark(Enum):
    """How a point is drawn, told apart by its shape."""

    DIAMOND, RING, BOX, CROSS, NOTHING = range(5)


#: What was said good is a ring, what was said bad a cross; the others take the marks of ``OWN`` in turn.
_MARKS = {Shape.GOOD: Mark.RING, Shape.BAD: Mark.CROSS, Shape.NONE: Mark.NOTHING}
OWN = (Mark.DIAMOND, Mark.RING, Mark.BOX, Mark.CROSS)


class Graph(Drawn, frozen=True):
    """One chart over the width of its cell, with round values of the unit beside it."""

    chart: Chart
    unit: str
    language: str


class _Field(Struct, frozen=True):
    left: float
    top: float
    width: float
    height: float
    first: int
    last: int
    span: Span

    def x(self, place: int) -> float:
        share = (place - self.first) / (self.last - self.first) if self.last > self.first else 0.5
        return self.left + (0.03 + 0.94 * share) * self.width

    def down(self, count: int) -> float:
        return self.top + (1 - self.span.share(count)) * self.height


@draw.register
def _(item: Graph, brush: Brush, cell: Cell, down: float) -> None:
    chart = item.chart
    brush.text(Run(word(f"gauge.chart.{chart.code}", item.language), 8, bold=True), cell.left, down + 9)
    field = _field(item, cell, down)
    grid = grid_of(field.span, item.unit)
    if not chart.ups:
        _right(brush, item.unit, field.left - 4, field.top - 4)
    for count, text in chart.ups or tuple((each, plain(each, item.unit, grid.decimals)) for each in grid.values):
        at = field.down(count)
        brush.line(field.left, at, field.left + field.width, at, "line")
        _right(brush, text, field.left - 4, at + 2)
    for code, count in chart.levels:
        at = field.down(count)
        brush.line(field.left, at, field.left + field.width, at, "blue", 0.9)
        told = f"{word(f'gauge.level.{code}', item.language)} {number_near(count, item.unit, grid.decimals)}"
        brush.text(Run(told, SIZE, colour="blue"), field.left + field.width + 4, at + 2)
    for x, name in chart.parted:
        at = max(field.left, field.x(x) - (field.x(x + 1) - field.x(x)) / 2)
        brush.line(at, field.top, at, field.top + field.height, "quiet", 0.4)
        brush.text(Run(name, SIZE, colour="quiet"), at + 3, field.top - 2)
    _lines(brush, chart, field)
    _ticks(brush, chart, field)


def _field(item: Graph, cell: Cell, down: float) -> _Field:
    points = [point for line in item.chart.lines for point in line.points]
    counts = [point.y for point in points] + [count for _, count in item.chart.levels]
    counts += [end for point in points if point.reach for end in point.reach]
    counts += [count for count, _ in item.chart.ups]
    span = span_of(counts, UNITS[item.unit].count // LEAST)
    assert span is not None, "a chart holds a point"
    places = [point.x for point in points]
    left = max([LEFT, *(measure(text, SIZE) + 6 for _, text in item.chart.ups)])
    size = cell.width - left - RIGHT, item.height - 46
    return _Field(cell.left + left, down + 22, *size, min(places), max(places), span)


def _lines(brush: Brush, chart: Chart, field: _Field) -> None:
    names: list[tuple[ChartLine, tuple[float, ...], Mark]] = []
    for place, line in enumerate(chart.lines):
        dash = () if chart.parted else DASHES[place % len(DASHES)]
        if line.joined:
            _joined(brush, line.points, field, dash)
        alone = 0 if chart.parted or line.joined else sum(not each.joined for each in chart.lines[:place])
        mark = _MARKS.get(line.shape, OWN[alone % len(OWN)])
        for point in line.points:
            _point(brush, point, mark, field)
        if line.name and not chart.parted:
            names.append((line, dash, mark))
    at = field.top + 4.0
    for line, dash, mark in names:
        x = field.left + field.width + 4
        if line.joined:
            _dashed(brush, dash, x, at, x + 22, at)
        else:
            _mark(brush, x + 11, at, mark)
        brush.text(Run(line.name, SIZE), x + 26, at + 2)
        at += 10


def _joined(brush: Brush, points: Sequence[ChartPoint], field: _Field, dash: tuple[float, ...]) -> None:
    for one, other in pairwise(points):
        _dashed(brush, dash, field.x(one.x), field.down(one.y), field.x(other.x), field.down(other.y))


def _dashed(brush: Brush, dash: tuple[float, ...], x1: float, down1: float, x2: float, down2: float) -> None:
    brush.canvas.setDash(list(dash))
    brush.line(x1, down1, x2, down2, "ink", 0.8)
    brush.canvas.setDash([])


def _point(brush: Brush, point: ChartPoint, mark: Mark, field: _Field) -> None:
    x = field.x(point.x)
    if point.reach is not None:
        brush.line(x, field.down(point.reach[0]), x, field.down(point.reach[1]), "quiet", 1.2)
    _mark(brush, x, field.down(point.y), mark)


def _mark(brush: Brush, x: float, down: float, mark: Mark) -> None:
    match mark:
        case Mark.DIAMOND:
            brush.diamond(x, down, 2.6, "ink")
        case Mark.RING:
            brush.ring(x - 2.6, down - 2.6, 5.2, 5.2, "ink")
        case Mark.BOX:
            brush.box(x - 2, down - 2, 4, 4, "quiet")
        case Mark.CROSS:
            brush.line(x - 2.6, down - 2.6, x + 2.6, down + 2.6, "ink", 1.2)
            brush.line(x - 2.6, down + 2.6, x + 2.6, down - 2.6, "ink", 1.2)


def _ticks(brush: Brush, chart: Chart, field: _Field) -> None:
    """Names below their places, as many as do not meet."""
    end = -1e9
    for place, text in chart.ticks:
        wide = measure(text, SIZE)
        begin = field.x(place) - wide / 2
        if begin > end + 2:
            brush.text(Run(text, SIZE, colour="quiet"), begin, field.top + field.height + 10)
            end = begin + wide


def _right(brush: Brush, text: str, x: float, down: float) -> None:
    brush.text(Run(text, SIZE, colour="quiet"), x - measure(text, SIZE), down)
