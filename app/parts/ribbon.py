"""The ribbon: one mark a feature in route order, a gap between stops, the current one ringed."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Signal
from PySide6.QtGui import QHelpEvent, QMouseEvent, QPainter, QPaintEvent, QPen
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
    Mark.QUESTION,
    Mark.OUT,
)


class RibbonMark(NamedTuple):
    """One feature on the ribbon: its balloon number, its mark, and the stop of the route that it belongs to."""

    number: str
    mark: Mark
    stop: int = 0


class Ribbon(QWidget):
    """The whole route at a glance. ``chosen`` carries the index of the mark that was pointed at."""

    chosen = Signal(int)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._marks: tuple[RibbonMark, ...] = ()
        self._current = -1
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_marks(self, marks: tuple[RibbonMark, ...], current: int = -1) -> None:
        """Show these marks, ``current`` ringed (−1: none)."""
        self._marks = marks
        self._current = current
        self.update()

    def set_mark(self, index: int, mark: Mark) -> None:
        """Change one mark."""
        changed = self._marks[index]._replace(mark=mark)
        self._marks = (*self._marks[:index], changed, *self._marks[index + 1 :])
        self.update()

    def set_current(self, current: int) -> None:
        """Ring another mark."""
        self._current = current
        self.update()

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.updateGeometry()
        self.update()

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

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle = self.height() / 2
        places = self.places()
        self._paint_gaps(painter, places)
        for x, index in self._thinned(places):
            paint_mark(painter, QPointF(x, middle), self._theme.px(10), self._marks[index].mark, self._theme)
        if 0 <= self._current < len(places):
            painter.setPen(QPen(self._theme.color("accent"), self._theme.px(1.6)))
            radius = self._theme.px(9)
            painter.drawEllipse(QPointF(places[self._current], middle), radius, radius)

    def _paint_gaps(self, painter: QPainter, places: list[float]) -> None:
        painter.setPen(QPen(self._theme.color("rule"), self._theme.px(1)))
        for index in range(1, len(places)):
            if self._marks[index].stop != self._marks[index - 1].stop and places[index] - places[index - 1] > 6:
                x = (places[index] + places[index - 1]) / 2
                painter.drawLine(QPointF(x, self._theme.px(4)), QPointF(x, self.height() - self._theme.px(4)))

    def _thinned(self, places: list[float]) -> list[tuple[float, int]]:
        """Marks that do not overlap: of those that share a place the most urgent one stays."""
        apart = self._theme.px(7)
        kept: list[tuple[float, int]] = []
        for index, x in enumerate(places):
            if kept and x - kept[-1][0] < apart:
                if self._urgency(index) > self._urgency(kept[-1][1]):
                    kept[-1] = (kept[-1][0], index)
            else:
                kept.append((x, index))
        return kept

    def _urgency(self, index: int) -> int:
        return _URGENCY.index(self._marks[index].mark)

    def _index_at(self, x: float) -> int:
        places = self.places()
        nearest = min(range(len(places)), key=lambda index: abs(places[index] - x), default=-1)
        return nearest if nearest >= 0 and abs(places[nearest] - x) <= self._theme.px(12) else -1

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
