"""The list of a check: one line a row with its sketch, what it asks, what was answered, and its mark."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from app.checking.told import Shown
from app.parts.marks import Mark, paint_mark
from app.parts.sketch import Sketch
from app.window.theme import ROW, Theme
from inspection.words.say import word

#: The width of a sketch in the list, and the height of a row.
SKETCH, HIGH = 48, 34


def lines_high(lines: int) -> int:
    """The height in logical pixels that so many lines need."""
    return lines * HIGH


class Row(QWidget):
    """One line of the list; ``pointed_at`` carries its code."""

    pointed_at = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme, self.line, self._current = theme, Shown(), False
        self.sketch = Sketch(theme, SKETCH, self)
        self.sketch.setGeometry(theme.px(36), theme.px(1), theme.px(SKETCH), theme.px(HIGH - 2))
        self.setFixedHeight(theme.px(HIGH))

    def show_line(self, line: Shown, kind: str, *, current: bool) -> None:
        """Show a line, and whether it is the one at hand."""
        self.line, self._current = line, current
        self.sketch.show_line(line.code, kind, line.asked)
        marked = word(f"bench.mark.{line.mark.value}") if line.mark is Mark.OPEN else ""
        self.setAccessibleName(word("checking.line", asked=line.asked, answer=line.answer or marked).strip())
        self.setToolTip(line.answer)
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.pointed_at.emit(self.line.code)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, theme, px = QPainter(self), self._theme, self._theme.px
        painter.fillRect(self.rect(), theme.color("row" if self._current else "paper"))
        painter.setPen(theme.color("rule"))
        painter.drawLine(self.rect().bottomLeft(), self.rect().bottomRight())
        if self.line.mark is not None:
            paint_mark(painter, QPointF(px(18), self.height() / 2), px(13), self.line.mark, theme)
        left = px(36 + SKETCH + 16)
        middle = left + (self.width() - left) * 0.52
        self._paint_text(painter, QRectF(left, 0, middle - left - px(12), self.height()), self.line.asked)
        self._paint_text(painter, QRectF(middle, 0, self.width() - middle, self.height()), self.line.answer, bold=True)

    def _paint_text(self, painter: QPainter, box: QRectF, text: str, *, bold: bool = False) -> None:
        font = self._theme.font(ROW, bold=bold)
        painter.setFont(font)
        painter.setPen(self._theme.color("ink"))
        shown = QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideRight, box.width())
        painter.drawText(box, Qt.AlignmentFlag.AlignVCenter, shown)


class Lines(QWidget):
    """All rows, as many as the check has."""

    pointed_at = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.rows: list[Row] = []
        self.setAccessibleName(word("checking.lines"))
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.setSpacing(0)

    def show_lines(self, lines: tuple[Shown, ...], kind: str, at: str) -> None:
        """Show the list with the line ``at`` hand."""
        while len(self.rows) < len(lines):
            row = Row(self._theme, self)
            row.pointed_at.connect(self.pointed_at)
            self.rows.append(row)
            self._layout.addWidget(row)
        for row in self.rows[len(lines) :]:
            row.hide()
        for row, line in zip(self.rows, lines, strict=False):
            row.show_line(line, kind, current=line.code == at)
            row.show()
