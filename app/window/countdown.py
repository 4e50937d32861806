"""A sentence that counts down while one waits, anew each second, and says when the wait is over."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QLabel, QWidget

from app.window.words import word

#: How often it is looked how much is left, in milliseconds: often enough that no second is left out.
LOOK = 250


class Countdown(QLabel):
    """``told`` says what is left to wait, "" if nothing. Hidden while there was nothing to wait for; ``changed``
    follows every other sentence."""

    changed = Signal()

    def __init__(self, told: Callable[[], str], parent: QWidget) -> None:
        super().__init__(parent)
        self._told = told
        self.setProperty("look", "problem")
        self.setWordWrap(True)
        self._timer = QTimer(self, interval=LOOK)
        self._timer.timeout.connect(self.look)
        self.hide()
        self.look()

    def look(self) -> None:
        """Look how much is left; the end of a wait is said, and nothing is looked for then."""
        said = self._told()
        if said:
            self._timer.start()
        elif self._timer.isActive():
            self._timer.stop()
            said = word("wait.over")
        if said and said != self.text():
            self.setText(said)
            self.show()
            self.changed.emit()

    @property
    def waits(self) -> bool:
        """Whether the wait is under way."""
        return bool(self._told())
