"""What the dialogs of gauge studies ask of the book, beside the window's thread."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from app.jobs.studying import page_of, would_change
from inspection.reasons import Reason
from inspection.sheet import acts
from inspection.sheet.study_page import StudyPage
from inspection.studies.conducted import Conducted
from storage.book.clock import wall_clock
from storage.book.queries.gauge_studies import ListedStudy, gauge_studies

if TYPE_CHECKING:
    from storage.book.door import Book


class Listed(NamedTuple):
    """A study as listed, with how many readings it still asks of the person at the bench."""

    study: ListedStudy
    left: int


class ListThem(NamedTuple):
    """List the studies for a person."""

    person: str

    def run(self, book: Book) -> tuple[Listed, ...]:
        """The newest first."""
        return tuple(Listed(one, self._left(book, one)) for one in book.ask(gauge_studies))

    def _left(self, book: Book, one: ListedStudy) -> int:
        if one.given_up or one.read == one.runs:
            return 0
        held = book.study(one.study)
        return sum(run not in held.standing for run in held.runs_of(self.person)) or int(
            held.waiting(self.person) is not None
        )


class Looked(NamedTuple):
    """A study with its result in words."""

    held: Conducted
    page: StudyPage


class Look(NamedTuple):
    """Read a study and reckon what it comes to."""

    study: str

    def run(self, book: Book) -> Looked:
        """The study as it stands. Raises Refused for an unknown one."""
        held = book.study(self.study)
        return Looked(held, page_of(book.shop(), held))


class WouldChange(NamedTuple):
    """What an act makes of the suggestions of a sheet."""

    act: acts.TakeStudyIntoUse | acts.WithdrawStudy
    study: str
    sheet: str
    person: str

    def run(self, book: Book) -> tuple[Reason, ...] | None:
        """Row by row; None where no sheet is at hand. Raises Refused where the act would be."""
        if not self.sheet:
            return None
        held, sheet = book.study(self.study), book.sheet(self.sheet)
        return would_change(book.shop(), held, sheet, self.act, self.person, wall_clock())


class Write(NamedTuple):
    """Write the readings as a table, or the result as pages."""

    looked: Looked
    path: Path
    paper: str
    pages: bool

    def run(self, book: Book) -> str:
        """The file's name. Raises Refused or BookFailure."""
        from storage.dispatch.study_files import write_study_csv, write_study_pdf

        if self.pages:
            write_study_pdf(self.looked.page, self.path, paper=self.paper)
        else:
            write_study_csv(book.shop(), self.looked.held, self.path)
        return self.path.name
