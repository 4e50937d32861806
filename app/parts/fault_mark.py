"""What is wrong with a text, below its field: a mark under the very character, and the sentence."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QLabel, QLineEdit, QVBoxLayout, QWidget

from app.window.theme import TEXT, Theme


class PointedLine(QLineEdit):
    """A line of text that knows where each of its characters stands."""

    def x_of(self, at: int) -> float:
        """The middle of a character, from the left of the field."""
        metrics = QFontMetricsF(self.font())
        text = self.text()
        begin = self.cursorRect().center().x() - metrics.horizontalAdvance(text[: self.cursorPosition()])
        wide = metrics.horizontalAdvance(text[at : at + 1] or " ")
        return min(max(begin + metrics.horizontalAdvance(text[:at]) + wide / 2, 0.0), float(self.width()))


class _Mark(QWidget):
    """A small triangle at a place across."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme, self._x = theme, 0.0
        self.setFixedHeight(theme.px(11))

    def point_at(self, x: float) -> None:
        self._x = x
        self.update()

    def take_theme(self, theme: Theme) -> None:
        self._theme = theme
        self.setFixedHeight(theme.px(11))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, px = QPainter(self), self._theme.px
        painter.setPen(self._theme.color("out"))
        painter.setFont(self._theme.font(TEXT, bold=True))
        box = QRectF(self._x - px(10), -px(4), px(20), px(18))
        painter.drawText(box, int(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop), "▲")


class FaultMark(QWidget):
    """Hidden while there is nothing wrong."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._mark, self._said = _Mark(theme, self), QLabel(self)
        self._said.setProperty("look", "problem")
        self._said.setTextFormat(Qt.TextFormat.PlainText)
        self._said.setWordWrap(True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self._mark)
        layout.addWidget(self._said)
        self.hide()

    def show_fault(self, said: str, x: float | None) -> None:
        """Show a sentence, and a mark at ``x`` from the left if it is about one character; nothing for no sentence."""
        self._said.setText(said)
        self._mark.setVisible(x is not None)
        if x is not None:
            self._mark.point_at(x)
        self.setVisible(bool(said))

    def said(self) -> str:
        """The sentence, "" if nothing is wrong."""
        return self._said.text() if not self.isHidden() else ""

    def points_at(self) -> float | None:
        """Where the mark stands, None if it points nowhere."""
        return self._mark._x if not self._mark.isHidden() else None

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._mark.take_theme(theme)
