"""A small plot: values in their order or against time, with levels across it. It knows nothing of what they are."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from enum import Enum
from itertools import pairwise
from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QBrush, QFontMetricsF, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.parts.marks import Mark, color_of, paint_mark
from app.parts.plot_scale import apart, steps_across
from app.window.theme import SMALL, Theme
from inspection.quantity.round_values import Grid, Span, grid_of, number_near, span_of
from inspection.quantity.speaker import plain, spoken
from inspection.quantity.units import UNITS, Kind
from inspection.words.say import word

#: So many points, the last ones, are told one by one to who does not see them.
MOST_TOLD = 40
_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


class Stroke(Enum):
    """How a level is drawn; each differs by its line, not by colour alone."""

    LIMIT = "limit"  # a full line
    CENTRE = "centre"  # dots
    SCATTER = "scatter"  # dashes


_STROKES = {
    Stroke.LIMIT: ("ink", Qt.PenStyle.SolidLine),
    Stroke.CENTRE: ("quiet", Qt.PenStyle.DotLine),
    Stroke.SCATTER: ("accent", Qt.PenStyle.DashLine),
}


class Point(NamedTuple):
    """One value: its place across (any whole number: an order, a day), its count, its mark, and what its place is
    called aloud ("3", "2026-03-01"; left out: the number itself). ``reach`` is the lowest and highest of what it is the
    middle of (a stroke up and down). Points of one ``series`` are joined: those of series 0 by a full line, of others
    by dashes; an open mark of theirs is drawn around what it meets, so that both show. Without a mark there is the line
    alone. ``said`` is what the count comes to aloud, where it is no quantity."""

    x: int
    y: int
    mark: Mark | None = Mark.CONFORMING
    place: str = ""
    reach: tuple[int, int] | None = None
    series: int = 0
    said: str = ""


class Level(NamedTuple):
    """A line across at ``y`` (counts), with its name; the number is written behind it. It goes from the place ``begin``
    to ``end`` (None: all the way); one that is over before the end has no label."""

    y: int
    label: str
    stroke: Stroke = Stroke.LIMIT
    begin: int | None = None
    end: int | None = None


class Hatch(NamedTuple):
    """A stretch between two counts from one place to another, told from the ground by its hatching: a guard band."""

    begin: int
    end: int
    low: int
    high: int


class Upright(NamedTuple):
    """Something that happened at a place across: a dotted line from top to bottom with its name above."""

    x: int
    label: str


class Plot(NamedTuple):
    """What is shown: points in their order, levels, both counts of ``kind`` told in ``unit``; and what happened between
    (``uprights``).

    ``begin`` and ``end`` are the places at least spanned across, so that a plot that grows keeps its scale; ``least``
    the counts at least spanned upwards. ``ticks`` are places with the words below them, else the whole numbers.
    ``across`` says what stands across. ``legend`` says what the marks that can occur mean here. ``names`` are those of
    the series in their order; each stands at the right, where its line ends. Where what goes up is no quantity, ``ups``
    are its names with their counts, in place of round values.
    """

    points: tuple[Point, ...] = ()
    levels: tuple[Level, ...] = ()
    kind: Kind = Kind.LENGTH
    unit: str = "in"
    begin: int | None = None
    end: int | None = None
    least: int = 0
    ticks: tuple[tuple[int, str], ...] = ()
    across: str = ""
    legend: tuple[tuple[Mark, str], ...] = ()
    uprights: tuple[Upright, ...] = ()
    hatches: tuple[Hatch, ...] = ()
    names: tuple[str, ...] = ()
    ups: tuple[tuple[int, str], ...] = ()

    @property
    def ends(self) -> tuple[tuple[int, str], ...]:
        """Where the line of each series that has a name ends (counts), with its name."""
        last = {point.series: point.y for point in self.points}
        return tuple((last[series], name) for series, name in enumerate(self.names) if name and series in last)

    @property
    def span(self) -> Span | None:
        """What the height spans; None for a plot without anything in it."""
        values = [point.y for point in self.points] + [level.y for level in self.levels]
        values += [end for point in self.points if point.reach for end in point.reach]
        values += [count for count, _ in self.ups]
        return span_of(values, max(self.least, UNITS[self.unit].count // 10_000))

    @property
    def reach(self) -> tuple[int, int]:
        """The first and last place across."""
        places = [point.x for point in self.points] + [upright.x for upright in self.uprights]
        places += [x for x in (self.begin, self.end) if x is not None]
        return min(places, default=0), max(places, default=1)


def told(plot: Plot) -> str:
    """The plot in words: what each point and level comes to, as it is said aloud."""
    named = dict(plot.legend)
    beyond = len(plot.points) - MOST_TOLD
    said = [word("plot.more", n=beyond)] if beyond > 0 else []
    for point in plot.points[-MOST_TOLD:]:
        place, value = point.place or str(point.x), point.said or spoken(point.y, plot.kind, plot.unit)
        name = named.get(point.mark, "") if point.mark is not None else ""
        said.append(word("plot.marked", place=place, value=value, mark=name) if name else f"{place}: {value}")
    said += [upright.label for upright in plot.uprights]
    said += [f"{level.label}: {spoken(level.y, plot.kind, plot.unit)}" for level in plot.levels if level.label]
    return "; ".join(said) or word("plot.nothing")


class Sides(NamedTuple):
    """The room at the left and right of a plot's field, in pixels; plots with the same stand in line."""

    left: float = 0.0
    right: float = 0.0


NO_SIDES = Sides()


class PlotView(QWidget):
    """Paints one plot over all of its room; its accessible name is its title with every number in words. ``pointed``
    carries the place across that the mouse is at; where ``place`` is is shown."""

    pointed = Signal(int)

    def __init__(self, title: str, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._title, self._theme, self._plot = title, theme, Plot()
        self.place: int | None = None
        self.sides = Sides()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMouseTracking(True)
        self.show_plot(self._plot)

    def show_plot(self, plot: Plot) -> None:
        """Show another plot."""
        self._plot = plot
        self.setAccessibleName(f"{self._title}: {told(plot)}")
        self.update()

    def point_at(self, place: int | None) -> None:
        """Show where this place is, None: nowhere."""
        if place != self.place:
            self.place = place
            self.update()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """The place nearest to the mouse."""
        span = self._plot.span
        if span is not None and self._plot.points:
            sheet = _laid_out(QRectF(self.rect()), self._plot, span, self._theme, self.sides)
            at = event.position().x()
            self.pointed.emit(min((point.x for point in self._plot.points), key=lambda x: abs(sheet.x(x) - at)))
        super().mouseMoveEvent(event)

    def shown(self) -> Plot:
        """What is shown now."""
        return self._plot

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(self._theme.px(480), self._theme.px(260))

    def minimumSizeHint(self) -> QSize:
        return QSize(self._theme.px(220), self._theme.px(120))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        paint_plot(painter, QRectF(self.rect()), self._plot, self._theme, self.place, self.sides)
        painter.end()


# --- painting -----------------------------------------------------------------------------------------------------


class _Sheet(NamedTuple):
    """Where things are painted: the field of the points within ``rect``, and how counts and places map onto it."""

    field: QRectF
    rect: QRectF
    span: Span
    grid: Grid
    reach: tuple[int, int]

    def y(self, count: int) -> float:
        return self.field.bottom() - self.span.share(count) * self.field.height()

    def x(self, place: int) -> float:
        first, last = self.reach
        share = (place - first) / (last - first) if last > first else 0.5
        return self.field.left() + (0.03 + 0.94 * share) * self.field.width()

    def across(self, begin: int | None, end: int | None) -> tuple[float, float]:
        """From half a step before one place to half a step behind another; all the way where there is none."""
        first, last = self.reach
        half = 0.47 * self.field.width() / max(1, last - first)
        left = self.field.left() if begin is None else max(self.field.left(), self.x(begin) - half)
        return left, self.field.right() if end is None else min(self.field.right(), self.x(end) + half)


def sides_of(plot: Plot, theme: Theme) -> Sides:
    """What the words at both sides of a plot need."""
    span = plot.span
    if span is None:
        return Sides()
    metrics, grid = QFontMetricsF(theme.font(SMALL)), grid_of(span, plot.unit)
    left = max(metrics.horizontalAdvance(text) for _, text in (*_ups(plot, grid), (0, plot.unit))) + theme.px(10)
    named = [level for level in plot.levels if level.label]
    labels = [level_text(level, plot, grid.decimals) for level in named] + [plot.across] * bool(plot.across)
    labels += [name for _, name in plot.ends]
    return Sides(left, max(map(metrics.horizontalAdvance, labels), default=0.0) + theme.px(18 if labels else 6))


def _ups(plot: Plot, grid: Grid) -> tuple[tuple[int, str], ...]:
    """What stands at the left: names where there are any, else round values."""
    return plot.ups or tuple((value, plain(value, plot.unit, grid.decimals)) for value in grid.values)


def in_line(plots: Sequence[Plot], theme: Theme) -> Sides:
    """The sides that let several plots stand in line."""
    found = [sides_of(plot, theme) for plot in plots]
    return Sides(max(one.left for one in found), max(one.right for one in found))


def paint_plot(
    painter: QPainter, rect: QRectF, plot: Plot, theme: Theme, cursor: int | None = None, sides: Sides = NO_SIDES
) -> None:
    """Paint a plot into ``rect``: round values at its left, levels with their labels at its right, points joined in
    their order, what the marks mean below, a line where the ``cursor`` is. Nothing is painted of a plot with nothing in
    it."""
    span = plot.span
    if span is None:
        return
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setFont(theme.font(SMALL))
    sheet = _laid_out(rect, plot, span, theme, sides)
    _paint_field(painter, sheet, plot, theme)
    _paint_levels(painter, sheet, plot, theme)
    _paint_uprights(painter, sheet, plot, theme)
    if cursor is not None:
        x = _crisp(sheet.x(cursor))
        painter.setPen(QPen(theme.color("accent"), theme.px(2)))
        painter.drawLine(QPointF(x, sheet.field.top()), QPointF(x, sheet.field.bottom()))
    _paint_points(painter, sheet, plot, theme)
    _paint_below(painter, sheet, plot, theme)
    painter.restore()


def level_text(level: Level, plot: Plot, decimals: int) -> str:
    """A level's label with its number."""
    return f"{level.label}  {number_near(level.y, plot.unit, decimals)}"


def _laid_out(rect: QRectF, plot: Plot, span: Span, theme: Theme, sides: Sides) -> _Sheet:
    """The field keeps what the words around it leave."""
    line, own = QFontMetricsF(theme.font(SMALL)).height(), sides_of(plot, theme)
    left, right = max(own.left, sides.left), max(own.right, sides.right)
    field = rect.adjusted(left, line + theme.px(4), -right, -(line + theme.px(6)) * (2 if plot.legend else 1))
    return _Sheet(field, rect, span, grid_of(span, plot.unit), plot.reach)


def _paint_field(painter: QPainter, sheet: _Sheet, plot: Plot, theme: Theme) -> None:
    """The ground between two limits, and round values with a hairline each; the unit stands above them."""
    field, line = sheet.field, QFontMetricsF(theme.font(SMALL)).height()
    for begin, end in dict.fromkeys((level.begin, level.end) for level in plot.levels):
        limits = sorted(
            sheet.y(level.y)
            for level in plot.levels
            if level.stroke is Stroke.LIMIT and (level.begin, level.end) == (begin, end)
        )
        if len(limits) == 2:
            left, right = sheet.across(begin, end)
            painter.fillRect(QRectF(left, limits[0], right - left, limits[1] - limits[0]), theme.color("band"))
    for hatch in plot.hatches:
        left, right = sheet.across(hatch.begin, hatch.end)
        box = QRectF(QPointF(left, sheet.y(hatch.high)), QPointF(right, sheet.y(hatch.low)))
        painter.fillRect(box, QBrush(theme.color("doubt"), Qt.BrushStyle.BDiagPattern))
    wide = field.left() - sheet.rect.left() - theme.px(6)
    written = field.bottom() + 2 * line  # where the last words stand; what meets them is not written
    for value, text in sorted(_ups(plot, sheet.grid)):
        y = _crisp(sheet.y(value))
        painter.setPen(QPen(theme.color("rule"), theme.px(1)))
        painter.drawLine(QPointF(field.left(), y), QPointF(field.right(), y))
        if y + line / 2 > written:
            continue
        painter.setPen(theme.color("quiet"))
        box = QRectF(sheet.rect.left(), y - line / 2, wide, line)
        painter.drawText(box, _RIGHT, text)
        written = y - line * 0.4
    if plot.ups:
        return
    painter.setPen(theme.color("quiet"))
    painter.drawText(QRectF(sheet.rect.left(), sheet.rect.top(), wide, line), _RIGHT, plot.unit)


def _paint_levels(painter: QPainter, sheet: _Sheet, plot: Plot, theme: Theme) -> None:
    named: list[tuple[int, str, str]] = [(count, name, "ink") for count, name in plot.ends]
    for level in plot.levels:
        color, style = _STROKES[level.stroke]
        y = _crisp(sheet.y(level.y))
        painter.setPen(QPen(theme.color(color), theme.px(1.4), style))
        left, right = sheet.across(level.begin, level.end)
        painter.drawLine(QPointF(left, y), QPointF(right, y))
        if level.label:
            named.append((level.y, level_text(level, plot, sheet.grid.decimals), color))
    _paint_labels(painter, sheet, sorted(named, key=lambda each: -each[0]), theme)


def _paint_labels(painter: QPainter, sheet: _Sheet, named: Sequence[tuple[int, str, str]], theme: Theme) -> None:
    """What stands at the right, highest first: each with a stroke to the count it belongs to, none over another."""
    field, line = sheet.field, QFontMetricsF(theme.font(SMALL)).height()
    begins = [_crisp(sheet.y(count)) for count, _, _ in named]
    label = field.right() + theme.px(14)
    places = apart([sheet.y(count) for count, _, _ in named], line, field.top(), field.bottom())
    for y, place, (_, text, color) in zip(begins, places, named, strict=True):
        painter.setPen(QPen(theme.color(color), theme.px(1)))
        painter.drawLine(QPointF(field.right(), y), QPointF(label - theme.px(3), place))
        box = QRectF(label, place - line / 2, sheet.rect.right() - label, line)
        painter.drawText(box, _LEFT, text)


def _crisp(y: float) -> float:
    """The middle of a row of pixels, where a thin line is sharp."""
    return int(y) + 0.5


def _paint_uprights(painter: QPainter, sheet: _Sheet, plot: Plot, theme: Theme) -> None:
    """A dotted line for each thing that happened, and as many of their names above the field as do not meet."""
    metrics, field = QFontMetricsF(theme.font(SMALL)), sheet.field
    painter.setPen(QPen(theme.color("doubt"), theme.px(1.4), Qt.PenStyle.DotLine))
    for upright in plot.uprights:
        x = _crisp(sheet.x(upright.x))
        painter.drawLine(QPointF(x, field.top()), QPointF(x, field.bottom()))
    painter.setPen(theme.color("doubt"))
    gap = theme.px(8)
    for begin, text in ticks_shown(sheet.x, plot.uprights, field.adjusted(gap, 0, 0, 0), metrics, gap):
        box = QRectF(begin, sheet.rect.top(), metrics.horizontalAdvance(text) + 1, metrics.height())
        painter.drawText(box, _LEFT, text)


def _paint_points(painter: QPainter, sheet: _Sheet, plot: Plot, theme: Theme) -> None:
    """Series by series, the first above the others."""
    for series in sorted({point.series for point in plot.points}, reverse=True):
        _paint_series(painter, sheet, [point for point in plot.points if point.series == series], theme)


def _paint_series(painter: QPainter, sheet: _Sheet, points: Sequence[Point], theme: Theme) -> None:
    first = points[0].series == 0
    spots = [QPointF(sheet.x(point.x), sheet.y(point.y)) for point in points]
    painter.setPen(QPen(theme.color("edge"), theme.px(1), Qt.PenStyle.SolidLine if first else Qt.PenStyle.DashLine))
    painter.drawPolyline(QPolygonF(spots))
    room = min((after.x() - before.x() for before, after in pairwise(spots)), default=theme.px(20))
    size = min(max(room * 0.8, theme.px(5)), theme.px(10))
    for spot, point in zip(spots, points, strict=True):
        if point.mark is None:
            continue
        if point.reach is not None:
            low, high = map(sheet.y, point.reach)
            painter.setPen(QPen(theme.color(color_of(point.mark)), theme.px(1)))
            painter.drawLine(QPointF(spot.x(), low), QPointF(spot.x(), high))
        around = not first and point.mark is Mark.OPEN
        paint_mark(painter, spot, size * (1.6 if around else 1), point.mark, theme)


def _paint_below(painter: QPainter, sheet: _Sheet, plot: Plot, theme: Theme) -> None:
    """Places across with what they are, and below them what the marks mean."""
    metrics, field = QFontMetricsF(theme.font(SMALL)), sheet.field
    line, top = metrics.height(), field.bottom() + theme.px(4)
    painter.setPen(theme.color("quiet"))
    for begin, text in ticks_shown(sheet.x, _ticks(sheet, plot, metrics), field, metrics, theme.px(8)):
        painter.drawText(QRectF(begin, top, metrics.horizontalAdvance(text) + 1, line), _LEFT, text)
    across = QRectF(field.right() + theme.px(14), top, sheet.rect.right() - field.right() - theme.px(14), line)
    painter.drawText(across, _LEFT, plot.across)
    x = field.left()
    for mark, name in plot.legend:
        paint_mark(painter, QPointF(x + theme.px(5), top + line * 1.5 + theme.px(4)), theme.px(9), mark, theme)
        painter.setPen(theme.color(color_of(mark)))
        wide = metrics.horizontalAdvance(name)
        painter.drawText(QRectF(x + theme.px(14), top + line + theme.px(4), wide + 1, line), _LEFT, name)
        x += wide + theme.px(34)


def ticks_shown(
    x_of: Callable[[int], float],
    ticks: Sequence[tuple[int, str]],
    field: QRectF,
    metrics: QFontMetricsF,
    gap: float,
) -> list[tuple[float, str]]:
    """Where the words of ticks begin: centred on their places, within the field, the first and the last before the
    others, none over another."""
    shown: list[tuple[float, str]] = []
    for place, text in [*ticks[:1], *ticks[:0:-1]]:
        wide = metrics.horizontalAdvance(text)
        begin = max(min(x_of(place) - wide / 2, field.right() - wide), field.left() - gap)
        over = (
            begin + wide + gap > left and begin < left + metrics.horizontalAdvance(other) + gap for left, other in shown
        )
        if not any(over):
            shown.append((begin, text))
    return shown


def _ticks(sheet: _Sheet, plot: Plot, metrics: QFontMetricsF) -> tuple[tuple[int, str], ...]:
    if plot.ticks:
        return plot.ticks
    first, last = sheet.reach
    room = int(sheet.field.width() / (2 * metrics.horizontalAdvance(f"{last} ")))
    return tuple((place, str(place)) for place in steps_across(first, last, room))
