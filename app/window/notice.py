"""The calm strip at the foot of the window: one sentence, a mark if it is a failure, Esc puts it away."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QWidget

from app.parts.marks import Mark, paint_mark
from app.window.theme import Theme
from app.window.words import word


class MarkSign(QWidget):
    """One mark by itself."""

    def __init__(self, mark: Mark, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._mark, self._theme = mark, theme

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.setFixedSize(self.sizeHint())
        self.update()

    def sizeHint(self) -> QSize:
        side = self._theme.px(20)
        return QSize(side, side)

    def paintEvent(self, event: QPaintEvent) -> None:
        centre = QPointF(self.width() / 2, self.height() / 2)
        paint_mark(QPainter(self), centre, self._theme.px(12), self._mark, self._theme)


class Notice(QWidget):
    """Hidden until there is something to say."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.failure = False
        self.setObjectName("notice")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._sign = MarkSign(Mark.OUT, theme, self)
        self._text = QLabel(self)
        self._text.setWordWrap(True)
        self._text.setTextFormat(Qt.TextFormat.PlainText)
        self._away = QPushButton(f"{word('button.close')}  Esc", self)
        self._away.setAccessibleName(word("action.dismiss"))
        self._away.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self._away.clicked.connect(self.put_away)
        layout = self._layout = QHBoxLayout(self)
        layout.addWidget(self._sign)
        layout.addWidget(self._text, 1)
        layout.addWidget(self._away)
        self.take_theme(theme)
        self.hide()

    def tell(self, sentence: str, failure: bool) -> None:
        """Show a sentence."""
        self.failure = failure
        self._sign.setVisible(failure)
        self._text.setText(sentence)
        self.setAccessibleDescription(sentence)
        self.setVisible(bool(sentence))

    def sentence(self) -> str:
        """What stands there now, "" if it is hidden."""
        return self._text.text() if not self.isHidden() else ""

    def put_away(self) -> None:
        """Hide it."""
        self.hide()

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._layout.setContentsMargins(theme.px(24), theme.px(8), theme.px(16), theme.px(8))
        self._sign.take_theme(theme)
