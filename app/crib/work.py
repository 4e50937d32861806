"""The crib's longer work, each a value that is run on the book's thread."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from inspection.words.say import word

if TYPE_CHECKING:
    from app.background.worker import Progress
    from app.jobs.crib import Looked
    from inspection.attached import Attached
    from inspection.instruments.fitting import Fitting
    from storage.book.door import Book
    from storage.book.queries.instrument_history import IssueEntered
    from storage.book.queries.touched_sheets import Touched

#: Sheets that are listed at once of those an instrument touches.
MOST_TOUCHED = 200
#: Issues that are read of an instrument's history.
MOST_ISSUES = 60


class History(NamedTuple):
    """Who entered the issues of an instrument, and when."""

    instrument: str

    def run(self, book: Book) -> tuple[str, list[IssueEntered]]:
        """The instrument asked about and its issues, newest first."""
        from storage.book.queries.instrument_history import instrument_history

        return self.instrument, book.ask(instrument_history, self.instrument, limit=MOST_ISSUES)


class Touches(NamedTuple):
    """The sheets that an instrument's readings touch."""

    instrument: str

    def run(self, book: Book) -> tuple[str, Touched]:
        """The instrument asked about and its sheets, the one it was used on last first."""
        from storage.book.queries.touched_sheets import touched_sheets

        return self.instrument, book.ask(touched_sheets, self.instrument, limit=MOST_TOUCHED)


class Fits(NamedTuple):
    """What in the crib fits a feature that was typed into the search."""

    text: str
    unit: str

    def run(self, book: Book) -> tuple[str, Fitting]:
        """The text asked about and what fits it. Raises Refused where the feature cannot be read."""
        from inspection.instruments.fitting import fitting
        from storage.book.clock import wall_clock

        shop = book.shop()
        return self.text, fitting(self.text, shop.crib, shop.rules, wall_clock().day, self.unit)


class Reading(NamedTuple):
    """Read a file that is to be attached."""

    file: Path

    def run(self, _book: Book, _progress: Progress) -> tuple[Attached, bytes]:
        """How the record names the file, and its bytes. Raises Refused or BookFailure."""
        from storage.book.attached import read_attached

        return read_attached(self.file)


class SavingOut(NamedTuple):
    """Write an attached file out again."""

    file: Attached
    to: Path

    def run(self, book: Book, _progress: Progress) -> str:
        """Raises Refused or BookFailure; what stood at the place is untouched then."""
        from storage.book.attached import content_of
        from storage.files import write_file

        write_file(self.to, book.ask(content_of, self.file.digest))
        return word("crib.save_out.done", file=self.to.name)


class Looking(NamedTuple):
    """Look at a crib file before it is taken in."""

    file: Path

    def run(self, book: Book, _progress: Progress) -> Looked:
        """Raises Refused (every fault of the file) or BookFailure; nothing is taken."""
        from app.jobs.crib import look_at_crib_file

        return look_at_crib_file(book, self.file)


class Exporting(NamedTuple):
    """Write the crib to a file."""

    file: Path

    def run(self, book: Book, _progress: Progress) -> str:
        """Raises Refused or BookFailure; what stood at the place is untouched then."""
        from app.jobs.crib import write_crib_file

        return word("crib.export.done", file=self.file.name, n=write_crib_file(book, self.file))
