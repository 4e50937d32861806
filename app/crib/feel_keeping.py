"""Keeping a trial on disk while it grows, one writing after another, nothing of it lost."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.background.worker import Failure, failure_of
from app.crib.feel_work import Forgetting, Keeping
from app.window.house import House
from inspection.studies.feel import Trial


class Keeper(QObject):
    """``kept`` follows once nothing waits to be written; ``failed`` carries why the newest was not. What is not on disk
    stays here, the newest of each trial, and is tried again with the next."""

    kept = Signal()
    failed = Signal(object)

    def __init__(self, house: House, person: str, book: Path, parent: QObject) -> None:
        super().__init__(parent)
        self._house, self._person, self._book = house, person, book
        self._unkept: dict[str, Trial] = {}
        self._writing = False
        if house.worker is not None:
            house.worker.closed.connect(self._keep_at_end)

    def keep(self, trial: Trial) -> None:
        """Have a trial written as it stands."""
        self._unkept[trial.identity] = trial
        self._next()

    def again(self) -> None:
        """Try once more what is not written."""
        self._next()

    def is_quiet(self) -> bool:
        """Whether everything is on disk."""
        return not self._unkept

    def drop(self) -> None:
        """Give up what is not written."""
        self._unkept.clear()

    def forget(self, done: Callable[[object], None]) -> None:
        """Delete all that is kept of the person; ``done`` is told whether there was anything."""
        self._unkept.clear()
        if self._house.worker is not None:
            self._house.worker.read(Forgetting(self._person).run, done, self.failed.emit)

    def _next(self) -> None:
        if self._writing or not self._unkept or self._house.worker is None:
            return
        self._writing = True
        trial = next(iter(self._unkept.values()))
        self._house.worker.read(Keeping(self._person, trial).run, self._was_kept, self._was_not)

    def _was_kept(self, trial: Trial) -> None:
        self._writing = False
        if self._unkept.get(trial.identity) is trial:  # else it has grown meanwhile
            del self._unkept[trial.identity]
        if self._unkept:
            self._next()
        else:
            self.kept.emit()

    def _was_not(self, failure: Failure) -> None:
        self._writing = False
        self.failed.emit(failure)

    def _keep_at_end(self) -> None:
        """The book is closed and its thread has ended: what was not written yet is written now."""
        for trial in self._unkept.values():
            try:
                Keeping(self._person, trial).keep_at(self._book)
            except Exception as error:  # told like any failure of a job
                self._house.fail(failure_of(error))
        self._unkept.clear()
