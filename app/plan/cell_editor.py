"""The one cell that is typed into: a field over its cell, completed as one types, its fault under the character."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QFontMetricsF, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QLineEdit, QWidget

from app.plan.columns import completions
from app.plan.told import Marked
from app.window.theme import ROW, TEXT, Theme

#: Keys that end the typing, and where they go: rows down, columns to the right.
_ENDS = {
    Qt.Key.Key_Tab: (0, 1),
    Qt.Key.Key_Backtab: (0, -1),
    Qt.Key.Key_Return: (1, 0),
    Qt.Key.Key_Enter: (1, 0),
    Qt.Key.Key_Up: (-1, 0),
    Qt.Key.Key_Down: (1, 0),
}


class CellEditor(QLineEdit):
    """Hidden while nothing is typed. ``ended`` carries the rows and columns to go on by; ``filled`` asks to put the
    text into everything that is chosen; ``dropped`` follows Esc."""

    ended = Signal(int, int)
    filled = Signal()
    dropped = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("cell")
        self._words: tuple[str, ...] = ()
        self._found: tuple[str, ...] = ()
        self._place = 0
        self.textEdited.connect(self._complete)
        self.hide()

    def begin(self, text: str, words: tuple[str, ...], *, typed: bool) -> None:
        """Take a cell's text; ``typed`` is whether it was just typed, and so may be completed."""
        self._words, self._found = words, ()
        self.setText(text)
        self.show()
        self.setFocus()
        self.end(False)
        if typed:
            self._complete(text)

    def _complete(self, text: str) -> None:
        """Put the rest of the first word that begins so behind what was typed, chosen, so that typing goes on over
        it."""
        self._found, self._place = completions(text, self._words), 0
        if len(text) == self.cursorPosition():
            self._show_found(len(text))

    def _show_found(self, typed: int) -> None:
        if self._found and len(self._found[self._place]) > typed:
            word = self._found[self._place]
            self.setText(self.text()[:typed] + word[typed:])
            self.setSelection(len(word), typed - len(word))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Tab, Enter and the arrows end the typing; Esc drops it; Ctrl+Enter fills what is chosen."""
        key = Qt.Key(event.key())
        plain = not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier & ~Qt.KeyboardModifier.ShiftModifier
        if key == Qt.Key.Key_Escape:
            self.dropped.emit()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.filled.emit()
        elif plain and key in (Qt.Key.Key_Up, Qt.Key.Key_Down) and len(self._found) > 1:
            self._other_word(1 if key == Qt.Key.Key_Down else -1)
        elif plain and key in (Qt.Key.Key_Backspace, Qt.Key.Key_Delete) and self._found:
            self._found = ()
            super().keyPressEvent(event)
        elif plain and key in _ENDS:
            down, right = _ENDS[key]
            back = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self.ended.emit(-abs(down) if back else down, -abs(right) if back else right)
        else:
            super().keyPressEvent(event)

    def event(self, event) -> bool:  # type: ignore[no-untyped-def]
        """Tab belongs to the cell, not to the window."""
        if event.type() == event.Type.KeyPress and event.key() in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab):
            self.keyPressEvent(event)
            return True
        return super().event(event)

    def _other_word(self, by: int) -> None:
        typed = self.selectionStart() if self.hasSelectedText() else len(self.text())
        self._place = (self._place + by) % len(self._found)
        self.setText(self.text()[:typed])
        self._show_found(typed)
        self.textEdited.disconnect(self._complete)
        self.textEdited.emit(self.text())
        self.textEdited.connect(self._complete)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """What was typed is kept when the focus goes elsewhere in the window."""
        super().focusOutEvent(event)
        if self.isVisible() and event.reason() not in (
            Qt.FocusReason.ActiveWindowFocusReason,
            Qt.FocusReason.PopupFocusReason,
        ):
            self.ended.emit(0, 0)

    def x_of(self, at: int) -> float:
        """Where a character stands, from the left of the field."""
        metrics = QFontMetricsF(self.font())
        cursor = self.cursorRect().center().x()
        before = metrics.horizontalAdvance(self.text()[: self.cursorPosition()])
        return cursor - before + metrics.horizontalAdvance(self.text()[:at])


class UnderMark(QWidget):
    """A small card under the cell: what the text reads as, or the fault with its mark under the exact character."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme, self._over = theme, parent
        self._said, self._x = "", -1.0
        self._wrong = False
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.hide()

    def show_said(self, said: str, *, wrong: bool, x: float = -1.0) -> None:
        """Show a sentence; ``x`` is where the fault's mark points, from the left of the card."""
        self._said, self._wrong, self._x = said, wrong, x
        self.setVisible(bool(said))
        self.resize(self.sizeHint())
        self.update()

    def show_marked(self, marked: Marked, editor: CellEditor) -> None:
        """Show a fault under the field."""
        self.show_said(marked.said, wrong=True, x=editor.x_of(marked.at) if marked.at >= 0 else -1.0)

    @property
    def said(self) -> str:
        """What stands on the card."""
        return self._said if self.isVisible() else ""

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme

    def sizeHint(self) -> QSize:
        theme, most = self._theme, self._over.width() - self._theme.px(16)
        metrics = QFontMetricsF(theme.font(TEXT, bold=self._wrong))
        wide = min(metrics.horizontalAdvance(self._said) + theme.px(26), max(most, theme.px(120)))
        box = metrics.boundingRect(QRectF(0, 0, wide - theme.px(20), 9999), self._flags(), self._said)
        return QSize(round(wide), round(box.height()) + theme.px(18))

    @staticmethod
    def _flags() -> int:
        return int(Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignTop)

    def paintEvent(self, event: QPaintEvent) -> None:
        theme = self._theme
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        high = theme.px(6)
        body = QRectF(self.rect()).adjusted(0.5, high + 0.5, -0.5, -0.5)
        painter.setPen(QPen(theme.color("out" if self._wrong else "edge"), 1))
        painter.setBrush(theme.color("card"))
        painter.drawRoundedRect(body, theme.px(4), theme.px(4))
        if self._x >= 0:
            painter.setPen(theme.color("out"))
            painter.setFont(theme.font(ROW, bold=True))
            painter.drawText(QRectF(self._x - theme.px(10), -theme.px(4), theme.px(20), theme.px(16)), _TOP_MIDDLE, "▲")
        painter.setFont(theme.font(TEXT, bold=self._wrong))
        painter.setPen(theme.color("out" if self._wrong else "ink"))
        inner = body.adjusted(theme.px(10), theme.px(4), -theme.px(10), 0)
        painter.drawText(inner, self._flags(), self._said)


_TOP_MIDDLE = int(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop)
