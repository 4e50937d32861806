"""The files of the sheet at hand as they would go out now, each made when it is first looked at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.background.worker import Failure, Job
from app.desk.grid import Grid, read_grids
from app.desk.work import Making
from app.parts.doing import Doing
from app.window.house import House
from inspection.words.say import word

if TYPE_CHECKING:
    from app.background.worker import Progress
    from app.jobs.sending import Made
    from inspection.sheet.state import Sheet, Shop
    from storage.book.door import Book


class Previews(QObject):
    """Makes one file at a time. ``ready`` carries its form once it can be shown, ``failed`` the form and a sentence."""

    ready = Signal(str)
    failed = Signal(str, str)

    def __init__(self, house: House, doing: Doing, parent: QObject) -> None:
        super().__init__(parent)
        self._house, self._doing = house, doing
        self._sheet = self._paper = self._form = ""
        self._job: Job | None = None
        self.made: dict[str, Made] = {}
        self.grids: tuple[Grid, ...] = ()
        doing.stopped.connect(self._stopped)

    def take(self, sheet: Sheet, shop: Shop, paper: str) -> None:
        """The sheet at hand as it stands now: what is no longer true of it is dropped."""
        if (sheet.identity, paper) != (self._sheet, self._paper):
            self.forget()
        self._sheet, self._paper = sheet.identity, paper
        for form in [form for form, made in self.made.items() if not made.still_true(sheet, shop)]:
            self.drop(form)

    def forget(self) -> None:
        """There is nothing to show any more."""
        self._stop()
        self.made.clear()
        self.grids = ()

    def drop(self, form: str) -> None:
        """Make a file anew when it is next wanted."""
        self.made.pop(form, None)
        if form == "xlsx":
            self.grids = ()

    def want(self, form: str) -> None:
        """Have a file made, unless it is ready or under way."""
        if self._ready(form):
            self.ready.emit(form)
            return
        if self._form == form or self._house.worker is None or not self._sheet:
            return
        self._stop()
        self._form = form
        made = self.made.get(form)
        if made is not None:
            self._read_grids(made)
            return
        self._begin(Making(self._sheet, form, self._paper).run, self._made, word(f"desk.making.{form}"))

    def under_way(self) -> bool:
        """Whether a file is being made."""
        return self._job is not None

    def _ready(self, form: str) -> bool:
        return form in self.made and (form != "xlsx" or bool(self.grids))

    def _begin(self, task: object, done: object, words: str) -> None:
        assert self._house.worker is not None
        self._job = self._house.worker.long(task, done, self._failed, self._doing.moved)  # type: ignore[arg-type]
        self._doing.begin(words, self._job)

    def _made(self, made: Made) -> None:
        if made.sheet.identity != self._sheet or made.paper != self._paper or made.form != self._form:
            return
        self.made[made.form] = made
        if made.form == "xlsx":
            self._read_grids(made)
        else:
            self._finish(made.form)

    def _read_grids(self, made: Made) -> None:
        self._doing.done(self._job)

        def read(_book: Book, progress: Progress) -> tuple[Made, tuple[Grid, ...]]:
            return made, read_grids(made.content, progress)

        self._begin(read, self._grids_read, word("desk.making.cells"))

    def _grids_read(self, found: tuple[Made, tuple[Grid, ...]]) -> None:
        made, grids = found
        if self.made.get("xlsx") is made:
            self.grids = grids
            self._finish("xlsx")

    def _finish(self, form: str) -> None:
        self._end()
        self.ready.emit(form)

    def _failed(self, failure: Failure) -> None:
        form = self._form
        self._end()
        self.failed.emit(form, self._house.sentence(failure))

    def _stop(self) -> None:
        if self._job is not None:
            self._job.stop()
            self._end()

    def _end(self) -> None:
        self._doing.done(self._job)
        self._job, self._form = None, ""

    def _stopped(self, job: Job) -> None:
        """The person stopped what was under way."""
        if job is self._job:
            form = self._form
            self._job, self._form = None, ""
            self.failed.emit(form, word("desk.stopped"))
