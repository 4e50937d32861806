"""What a check came to, large: passed or failed, why, zero spread and block error; Enter records it."""

from __future__ import annotations

from PySide6.QtCore import QElapsedTimer, QPointF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.bench.entry import LOOKS_UP
from app.checking import told
from app.checking.entry import ENTER
from app.parts.fitted import Sentence
from app.parts.marks import Mark, paint_mark
from app.window.theme import HEAD, ROW, SMALL, TEXT, Theme


class Sign(QWidget):
    """The mark of the outcome."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme, self._mark = theme, Mark.OPEN

    def show_mark(self, mark: Mark) -> None:
        """Show another mark."""
        self._mark = mark
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        centre = QPointF(self.width() / 2, self.height() / 2)
        paint_mark(QPainter(self), centre, self.height() * 0.78, self._mark, self._theme)


class End(QWidget):
    """``recorded`` follows Enter, once the outcome stood long enough to be looked at; ``went_back`` Backspace or Up."""

    recorded = Signal()
    went_back = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._since = theme, QElapsedTimer()
        self._end = told.End(False, "", (), (), "")
        self._roomy = True
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.sign = Sign(theme, self)
        self.title = Sentence(theme, self, sizes=(40, 28, HEAD), bold=True, middle=True)
        self.lines = Sentence(theme, self, sizes=(HEAD, ROW, TEXT, SMALL))
        head = QHBoxLayout()
        head.setSpacing(theme.px(12))
        head.addWidget(self.sign)
        head.addWidget(self.title, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(theme.px(4))
        layout.addLayout(head)
        layout.addWidget(self.lines, 1)

    def show_end(self, end: told.End) -> None:
        """Show an outcome, and begin to wait for the eye."""
        self._end = end
        self.sign.show_mark(Mark.CONFORMING if end.passed else Mark.OUT)
        self.title.show_text(end.title, "good" if end.passed else "out")
        self._show_lines()
        self.setAccessibleName(end.title)
        self.setAccessibleDescription(" ".join((*end.against, *end.facts, end.follows)))
        self._since.start()

    def _show_lines(self) -> None:
        """Why and what follows; where there is room also what holds."""
        facts = self._end.facts if self._roomy else ()
        self.lines.show_text("\n".join((*self._end.against, *facts, self._end.follows)), "ink")

    def fold(self, high: float) -> None:
        """Leave out what there is no room for; logical pixels at 100 % of the whole panel."""
        self._roomy = high >= 340
        side = self._theme.px(56 if self._roomy else 30)
        self.sign.setFixedSize(side, side)
        self.title.setFixedHeight(side)
        self._show_lines()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in ENTER:
            if not event.isAutoRepeat() and self._since.elapsed() > LOOKS_UP:
                self.recorded.emit()
        elif event.key() in (Qt.Key.Key_Backspace, Qt.Key.Key_Up):
            self.went_back.emit()
        else:
            super().keyPressEvent(event)
