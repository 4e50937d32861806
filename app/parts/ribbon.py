"""The ribbon: one mark a feature in route order, a gap between stops, the current one ringed."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from itertools import pairwise
from typing import NamedTuple

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QHelpEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from app.parts.marks import Mark, paint_mark
from app.window.theme import Theme

#: When marks must share a place, the one that asks for most attention is shown.
_URGENCY = (
    Mark.NOT_JUDGED,
    Mark.CONFORMING,
    Mark.MARGINAL,
    Mark.OPEN,
    Mark.WRITING,
    Mark.DOUBT_INSIDE,
    Mark.DOUBT_OUTSIDE,
    Mark.QUESTION,
    Mark.OUT,
)


class RibbonMark(NamedTuple):
    """One feature on the ribbon: its balloon number, its mark, and the stop of the route that it belongs to."""

    number: str
    mark: Mark
    stop: int = 0


class _Spot:
    """One or several marks that share a place: their first and last index, and the mark that is shown."""

    def __init__(self, x: float, first: int, last: int, shown: Mark) -> None:
        self.x, self.first, self.last, self.shown = x, first, last, shown


def _x_of(spot: _Spot) -> float:
    return spot.x


class Ribbon(QWidget):
    """The whole route at a glance. ``chosen`` carries the index of the mark that was pointed at."""

    chosen = Signal(int)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._marks: list[RibbonMark] = []
        self._current = -1
        self._spots: list[_Spot] = []
        self._spot_of: list[int] = []
        self._x: list[float] = []
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_marks(self, marks: tuple[RibbonMark, ...], current: int = -1) -> None:
        """Show these marks, ``current`` ringed (−1: none)."""
        self._marks = list(marks)
        self._current = current
        self._place()

    def set_mark(self, index: int, mark: Mark) -> None:
        """Change one mark; only its spot is painted anew."""
        self._marks[index] = self._marks[index]._replace(mark=mark)
        if index < len(self._spot_of):
            spot = self._spots[self._spot_of[index]]
            spot.shown = self._most_urgent(spot.first, spot.last)
            self._update_at(spot.x)

    def set_current(self, current: int) -> None:
        """Ring another mark."""
        for index in {self._current, current}:
            if 0 <= index < len(self._spot_of):
                self._update_at(self._ring_x(index))
        self._current = current
        if 0 <= current < len(self._spot_of):
            self._update_at(self._ring_x(current))

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.updateGeometry()
        self._place()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._place()

    def sizeHint(self) -> QSize:
        return QSize(self._theme.px(600), self._theme.px(24))

    def minimumSizeHint(self) -> QSize:
        return QSize(self._theme.px(120), self._theme.px(24))

    def places(self) -> list[float]:
        """The x of each mark's centre in pixels. Marks keep 22 logical pixels while there is room, then close up."""
        gaps = [0]
        for before, after in zip(self._marks, self._marks[1:], strict=False):
            gaps.append(gaps[-1] + (before.stop != after.stop))
        radius = self._theme.px(10)
        steps = len(self._marks) - 1 + gaps[-1] * 0.5
        step = min(float(self._theme.px(22)), (self.width() - 2 * radius) / steps) if steps > 0 else 0.0
        return [radius + (index + gaps[index] * 0.5) * step for index in range(len(self._marks))]

    def _place(self) -> None:
        """Lay the marks out: those that would overlap share a spot, where the most urgent one is shown. A sheet may
        have thousands, and an entry changes one."""
        apart = self._theme.px(7)
        self._spots, self._spot_of = [], []
        self._x = self.places()
        for index, x in enumerate(self._x):
            if self._spots and x - self._spots[-1].x < apart:
                self._spots[-1].last = index
            else:
                self._spots.append(_Spot(x, index, index, self._marks[index].mark))
            self._spot_of.append(len(self._spots) - 1)
        for spot in self._spots:
            spot.shown = self._most_urgent(spot.first, spot.last)
        self.update()

    def _most_urgent(self, first: int, last: int) -> Mark:
        return max((self._marks[index].mark for index in range(first, last + 1)), key=_URGENCY.index)

    def _ring_x(self, index: int) -> float:
        return self._spots[self._spot_of[index]].x if len(self._spots) < len(self._marks) else self._x[index]

    def _update_at(self, x: float) -> None:
        reach = self._theme.px(12)
        self.update(round(x) - reach, 0, 2 * reach, self.height())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle, reach = self.height() / 2, self._theme.px(12)
        left, right = float(event.rect().left() - reach), float(event.rect().right() + reach)
        first = bisect_left(self._spots, left, key=_x_of)
        after = bisect_right(self._spots, right, key=_x_of)
        self._paint_gaps(painter, self._spots[max(first - 1, 0) : after + 1])
        for spot in self._spots[first:after]:
            paint_mark(painter, QPointF(spot.x, middle), self._theme.px(10), spot.shown, self._theme)
        if 0 <= self._current < len(self._spot_of):
            painter.setPen(QPen(self._theme.color("accent"), self._theme.px(1.6)))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            radius = self._theme.px(9)
            painter.drawEllipse(QPointF(self._ring_x(self._current), middle), radius, radius)

    def _paint_gaps(self, painter: QPainter, spots: list[_Spot]) -> None:
        """A line between stops, where the marks stand far enough apart to tell."""
        painter.setPen(QPen(self._theme.color("rule"), self._theme.px(1)))
        for before, spot in pairwise(spots):
            alone = before.last + 1 == spot.first and spot.x - before.x > self._theme.px(8)
            if alone and self._marks[spot.first].stop != self._marks[before.last].stop:
                x = (spot.x + before.x) / 2
                painter.drawLine(QPointF(x, self._theme.px(4)), QPointF(x, self.height() - self._theme.px(4)))

    def _index_at(self, x: float) -> int:
        nearest = min(self._spots, key=lambda spot: abs(spot.x - x), default=None)
        if nearest is None or abs(nearest.x - x) > self._theme.px(12):
            return -1
        here = range(nearest.first, nearest.last + 1)
        return next(index for index in here if self._marks[index].mark is nearest.shown)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        index = self._index_at(event.position().x())
        if index >= 0:
            self.chosen.emit(index)

    def event(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent):
            index = self._index_at(event.pos().x())
            text = self._marks[index].number if index >= 0 else ""
            QToolTip.showText(event.globalPos(), text, self, QRectF(self.rect()).toRect())
            return True
        return super().event(event)
