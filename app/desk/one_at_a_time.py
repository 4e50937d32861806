"""Long work of the Desk of which one thing is done at a time: begun with words, told when it ends, or stopped."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from app.background.worker import Failure, Job
from app.parts.doing import Doing
from app.window.house import House

if TYPE_CHECKING:
    from app.desk.work import AtHand


class OneAtATime(QObject):
    """Works on the sheet at hand. ``busy`` tells whether something is under way, ``ended`` that the sheet may have a
    file more, also where the person stopped it."""

    busy = Signal(bool)
    ended = Signal()

    def __init__(self, house: House, doing: Doing, parent: QWidget) -> None:
        super().__init__(parent)
        self._house, self._doing, self._room = house, doing, parent
        self._at_hand: AtHand | None = None
        self._job: Job | None = None
        doing.stopped.connect(self._stopped)

    def take(self, at_hand: AtHand) -> None:
        """The sheet at hand as it stands now."""
        self._at_hand = at_hand

    def _folder(self) -> str:
        """Where files went last, else where a person's documents are, or the person's own folder where nobody has made
        one for them."""
        if self._house.folder:
            return self._house.folder
        from platformdirs import user_documents_path

        documents = user_documents_path()
        return str(documents if documents.is_dir() else Path.home())

    def _begin(self, work: Callable[..., Any], done: Callable[[Any], None], words: str) -> None:
        if self._house.worker is None:
            return
        self._job = self._house.worker.long(work, done, self._failed, self._doing.moved)
        self._doing.begin(words, self._job)
        self.busy.emit(True)

    def _end(self) -> None:
        self._doing.done(self._job)
        self._job = None
        self.busy.emit(False)
        self.ended.emit()

    def _failed(self, failure: Failure) -> None:
        self._end()
        self._house.fail(failure)

    def _stopped(self, job: Job) -> None:
        if job is self._job:
            self._end()
