"""A histogram: how often which value came, with levels upright and the curve of a normal distribution over it."""

from __future__ import annotations

from math import exp, pi, sqrt
from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.parts.plot import Level
from app.window.theme import SMALL, Theme
from inspection.quantity.round_values import Span, grid_of, number_near, span_of
from inspection.quantity.speaker import nearest, plain
from inspection.words.say import word

#: Points of the curve.
POINTS = 120


class Bars(NamedTuple):
    """Cells by their ``edges`` (counts times ``scale``, one more than there are cells) with how many values fell in
    each, levels at counts times ``scale``, told in ``unit``; ``curve`` is mean and standard deviation of the normal
    distribution that is drawn over them, None where there is none to draw."""

    edges: tuple[int, ...]
    counts: tuple[int, ...]
    levels: tuple[Level, ...]
    unit: str
    scale: int = 1
    curve: tuple[float, float] | None = None

    @property
    def span(self) -> Span:
        """What stands across, in counts times ``scale``."""
        found = span_of([*self.edges, *(level.y for level in self.levels)], 1)
        assert found is not None
        return found


def told(bars: Bars | None) -> str:
    """The histogram in words: each cell that holds a value with its ends and how many there are."""
    if bars is None:
        return word("plot.nothing")
    grid = grid_of(_in_counts(bars), bars.unit)
    said = []
    for low, high, n in zip(bars.edges, bars.edges[1:], bars.counts, strict=False):
        if n:
            ends = [nearest(end, bars.unit, grid.decimals + 2, bars.scale) for end in (low, high)]
            said.append(word("plot.cell", low=ends[0], high=ends[1], n=n))
    said += [f"{level.label}: {number_near(level.y // bars.scale, bars.unit, grid.decimals)}" for level in bars.levels]
    return "; ".join(said)


def _in_counts(bars: Bars) -> Span:
    low, high = bars.span
    return Span(low // bars.scale, max(high // bars.scale, low // bars.scale + 1))


class HistogramView(QWidget):
    """Paints one histogram over all of its room; its accessible name tells every cell."""

    def __init__(self, title: str, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._title, self._theme = title, theme
        self._bars: Bars | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.show_bars(None)

    def show_bars(self, bars: Bars | None) -> None:
        """Show another histogram, or none."""
        self._bars = bars
        self.setAccessibleName(f"{self._title}: {told(bars)}")
        self.update()

    def shown(self) -> Bars | None:
        """What is shown now."""
        return self._bars

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
        paint_bars(painter, QRectF(self.rect()), self._bars, self._theme)
        painter.end()


def paint_bars(painter: QPainter, rect: QRectF, bars: Bars | None, theme: Theme) -> None:
    """Paint a histogram into ``rect``: round values below, how many the highest cells hold at the left, levels upright
    with their labels above."""
    if bars is None:
        return
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setFont(theme.font(SMALL))
    metrics, px = QFontMetricsF(theme.font(SMALL)), theme.px
    most = max(bars.counts)
    left = metrics.horizontalAdvance(f"{most}") + px(10)
    field = rect.adjusted(left, 2 * metrics.height() + px(6), -px(10), -(metrics.height() + px(6)))
    span, high = bars.span, max(most, _highest(bars)) * 1.08

    def x(value: float) -> float:
        return field.left() + (value - span.low) / (span.high - span.low) * field.width()

    def y(n: float) -> float:
        return field.bottom() - n / high * field.height()

    _paint_scales(painter, rect, field, bars, theme)
    limits = sorted(x(level.y) for level in bars.levels)
    if len(limits) == 2:
        painter.fillRect(QRectF(limits[0], field.top(), limits[1] - limits[0], field.height()), theme.color("band"))
    painter.setPen(QPen(theme.color("card"), 1))
    painter.setBrush(theme.color("accent"))
    for low, above, n in zip(bars.edges, bars.edges[1:], bars.counts, strict=False):
        if n:
            painter.drawRect(QRectF(QPointF(x(low), y(n)), QPointF(x(above), field.bottom())))
    painter.setPen(QPen(theme.color("edge"), px(1)))
    painter.drawLine(field.bottomLeft(), field.bottomRight())
    painter.setPen(theme.color("quiet"))
    box = QRectF(rect.left(), y(most) - metrics.height() / 2, left - px(6), metrics.height())
    painter.drawText(box, int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter), f"{most}")
    if bars.curve is not None:
        places = [span.low + (span.high - span.low) * at / POINTS for at in range(POINTS + 1)]
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(theme.color("ink"), px(1.6)))
        painter.drawPolyline(QPolygonF([QPointF(x(place), y(_normal(bars, place))) for place in places]))
    _paint_levels(painter, rect, field, [(x(level.y), level) for level in bars.levels], bars, theme)
    painter.restore()


def _normal(bars: Bars, at: float) -> float:
    """How many values the normal distribution puts into a cell around here."""
    assert bars.curve is not None
    mean, s = bars.curve
    width = bars.edges[1] - bars.edges[0]
    return sum(bars.counts) * width / (s * sqrt(2 * pi)) * exp(-((at - mean) ** 2) / (2 * s * s))


def _highest(bars: Bars) -> float:
    return 0.0 if bars.curve is None else _normal(bars, bars.curve[0])


def _paint_scales(painter: QPainter, rect: QRectF, field: QRectF, bars: Bars, theme: Theme) -> None:
    """Round values below, as many as do not meet, with the unit at the right."""
    metrics, span = QFontMetricsF(theme.font(SMALL)), bars.span
    grid, gap, taken = grid_of(_in_counts(bars), bars.unit), theme.px(10), rect.left()
    unit = metrics.horizontalAdvance(bars.unit)
    painter.setPen(theme.color("quiet"))
    top = field.bottom() + theme.px(4)
    painter.drawText(QPointF(rect.right() - unit - theme.px(2), top + metrics.ascent()), bars.unit)
    for value in grid.values:
        at = field.left() + (value * bars.scale - span.low) / (span.high - span.low) * field.width()
        text = plain(value, bars.unit, grid.decimals)
        begin = at - metrics.horizontalAdvance(text) / 2
        end = begin + metrics.horizontalAdvance(text)
        if begin > taken and end < rect.right() - unit - gap:
            painter.drawText(QPointF(begin, top + metrics.ascent()), text)
            taken = end + gap


def _paint_levels(
    painter: QPainter, rect: QRectF, field: QRectF, levels: list[tuple[float, Level]], bars: Bars, theme: Theme
) -> None:
    """Lines upright, the first label in the upper line and the second in the lower one, so that none meets another."""
    metrics, decimals = QFontMetricsF(theme.font(SMALL)), grid_of(_in_counts(bars), bars.unit).decimals
    painter.setPen(QPen(theme.color("ink"), theme.px(1.4)))
    for line, (at, level) in enumerate(levels):
        text = f"{level.label}  {number_near(level.y // bars.scale, bars.unit, decimals)}"
        wide = metrics.horizontalAdvance(text)
        begin = min(max(at - wide / 2, rect.left()), rect.right() - wide)
        painter.drawLine(QPointF(int(at) + 0.5, field.top()), QPointF(int(at) + 0.5, field.bottom()))
        painter.drawText(QPointF(begin, rect.top() + metrics.ascent() + line * metrics.height()), text)
