"""What is being done just now: its words, how far it is, and a way to stop it."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QPushButton, QWidget

from app.background.worker import Job
from app.parts.fitted import Fitted
from app.window.theme import Theme
from inspection.words.say import word


class Doing(QWidget):
    """Hidden while nothing is done. Work begun meanwhile waits its turn behind the one shown. ``stopped`` carries the
    job that the person stopped."""

    stopped = Signal(object)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._jobs: list[tuple[Job, str]] = []
        self._words = Fitted(parent=self)
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
        """``job`` is under way, or waits."""
        self._jobs.append((job, words))
        self._show_first()

    def _show_first(self) -> None:
        if self._jobs:
            _job, words = self._jobs[0]
            self._words.show_text(words)
            self._bar.setAccessibleName(words)
            self._bar.setRange(0, 0)
        self.setVisible(bool(self._jobs))

    def moved(self, done: int, total: int) -> None:
        """Show how far it is; before the first step is done only that something is under way."""
        self._bar.setRange(0, total if done else 0)
        self._bar.setValue(done)

    def done(self, job: Job | None) -> None:
        """``job`` is no longer under way."""
        self._jobs = [each for each in self._jobs if each[0] is not job]
        self._show_first()

    def over(self) -> None:
        """What is shown is no longer under way."""
        del self._jobs[:1]
        self._show_first()

    def stop(self) -> bool:
        """Ask the work shown to stop; whether there was any."""
        if not self._jobs:
            return False
        job, _words = self._jobs[0]
        job.stop()
        self.done(job)
        self.stopped.emit(job)
        return True

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._layout.setSpacing(theme.px(12))
