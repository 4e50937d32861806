"""The one entry of the check panel: that of the Bench, which also goes back, and tells a hand from a cable."""

from __future__ import annotations

from time import monotonic

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from app.bench.entry import TOGETHER, Entry
from app.checking.keys import BY_LETTER

ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class CheckEntry(Entry):
    """``went_back`` follows Backspace on the empty field. Enter held down counts once; ``by_hand`` tells whether the
    last Enter came alone: one close behind another key is the end of a line by cable and agrees to nothing."""

    went_back = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.letters = frozenset(BY_LETTER)
        self.by_hand = True
        self._pressed = 0

    def keyPressEvent(self, event: QKeyEvent) -> None:
        at = event.timestamp() or round(monotonic() * 1000)
        apart, self._pressed = at - self._pressed, at
        if event.key() in ENTER:
            self.by_hand = not 0 <= apart <= TOGETHER
            if event.isAutoRepeat():
                event.accept()
                return
        if event.key() == Qt.Key.Key_Backspace and not self.text():
            event.accept()
            if not event.isAutoRepeat():
                self.went_back.emit()
            return
        super().keyPressEvent(event)
