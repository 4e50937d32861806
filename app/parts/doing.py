"""What is being done just now: its words, how far it is, and a way to stop it."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QPushButton, QWidget

from app.background.worker import Job
from app.window.theme import Theme
from inspection.words.say import word


class Doing(QWidget):
    """Hidden while nothing is done."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._job: Job | None = None
        self._words = QLabel(self)
        self._bar = QProgressBar(self)
        self._bar.setTextVisible(False)
        self._stop = QPushButton(f"{word('doing.stop')}  Esc", self)
        self._stop.setAccessibleName(word("doing.stop"))
        self._stop.clicked.connect(self.stop)
        self._layout = QHBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.addWidget(self._words)
        self._layout.addWidget(self._bar, 1)
        self._layout.addWidget(self._stop)
        self.take_theme(theme)
        self.hide()

    def begin(self, words: str, job: Job) -> None:
        """Show that ``job`` is under way."""
        self._job = job
        self._words.setText(words)
        self._bar.setAccessibleName(words)
        self._bar.setRange(0, 0)
        self.show()

    def moved(self, done: int, total: int) -> None:
        """Show how far it is."""
        self._bar.setRange(0, total)
        self._bar.setValue(done)

    def done(self) -> None:
        """Nothing is under way any more."""
        self._job = None
        self.hide()

    def stop(self) -> bool:
        """Ask the work to stop; whether there was any."""
        if self._job is None:
            return False
        self._job.stop()
        self.done()
        return True

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._layout.setSpacing(theme.px(12))
