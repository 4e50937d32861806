"""Labels that never run out of their place."""

from __future__ import annotations

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from app.parts.wrapped import wrapped
from app.window.theme import ROW, SMALL, TEXT, Theme

#: Ends a line within one text for Qt's layout (U+2028).
_LINE_END = "\u2028"


class Fitted(QLabel):
    """One line that ends in "…" where there is no room for all of it; the whole stands in its tool tip."""

    def __init__(self, look: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setProperty("look", look)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)

    def show_text(self, text: str) -> None:
        """Show another text."""
        if text != self.text():
            self.setText(text)
            self.setToolTip(text)

    def minimumSizeHint(self) -> QSize:
        return QSize(self.fontMetrics().horizontalAdvance("…"), super().minimumSizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setFont(self.font())
        painter.setPen(self.palette().windowText().color())
        shown = self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideRight, self.width())
        painter.drawText(self.rect(), int(self.alignment()), shown)


class Sentence(QLabel):
    """A sentence over several lines in a colour of the theme: in the largest of ``sizes`` (the last is the smallest
    text) that its place allows, at the top of it or in its ``middle``, and the whole in its tool tip."""

    _WRAP = int(Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignTop)

    def __init__(
        self,
        theme: Theme,
        parent: QWidget | None = None,
        *,
        sizes: tuple[int, ...] = (ROW, TEXT, SMALL),
        bold: bool = False,
        middle: bool = False,
    ) -> None:
        super().__init__(parent)
        self._theme, self._color = theme, "quiet"
        self._sizes, self._bold, self._middle = sizes, bold, middle
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(True)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)

    def show_text(self, text: str, color: str) -> None:
        """Show another sentence in a colour of the palette, by its name."""
        if (text, color) != (self.text(), self._color):
            self._color = color
            self.setText(text)
            self.setToolTip(text)
            self.update()

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(self._theme.px(200), self._theme.px(40))

    def minimumSizeHint(self) -> QSize:
        return QSize(self._theme.px(40), self._theme.px(18))

    def heightForWidth(self, width: int) -> int:
        return -1

    def hasHeightForWidth(self) -> bool:
        return False

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self.text():
            return
        painter = QPainter(self)
        painter.setPen(self._theme.color(self._color))
        for size in self._sizes:
            painter.setFont(self._theme.font(size, bold=self._bold))
            needed = QFontMetrics(painter.font()).boundingRect(QRect(0, 0, self.width(), 9999), self._WRAP, self.text())
            if needed.height() <= self.height():
                down = (self.height() - needed.height()) // 2 if self._middle else 0
                painter.drawText(self.rect().adjusted(0, down, 0, 0), self._WRAP, self.text())
                return
        self._paint_whole_lines(painter)

    def _paint_whole_lines(self, painter: QPainter) -> None:
        """As many lines as there is room for even in the smallest size; the last ends in "…"."""
        high = painter.fontMetrics().lineSpacing()
        text = self.text().replace("\n", _LINE_END)
        lines = wrapped(text, painter.font(), self.width(), max(1, self.height() // high))
        for place, line in enumerate(lines):
            painter.drawText(QRect(0, place * high, self.width(), high), 0, line)
