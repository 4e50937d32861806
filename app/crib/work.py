"""The crib's longer work, each a value that is run on the book's thread."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from inspection.words.say import word

if TYPE_CHECKING:
    from app.background.worker import Progress
    from app.crib.behaving import Known
    from app.jobs.crib import Looked
    from inspection.attached import Attached
    from inspection.instruments.fitting import Fitting
    from inspection.measuring.proofs import CheckRecord
    from inspection.sheet.acts import RemoveForCause
    from inspection.sheet.reopening import ReopenedRow
    from storage.book.door import Book
    from storage.book.queries.instrument_history import IssueEntered
    from storage.book.queries.touched_sheets import Touched

#: Sheets that are listed at once of those an instrument touches.
MOST_TOUCHED = 200
#: Issues that are read of an instrument's history.
MOST_ISSUES = 60
#: Checks, mishaps and studies that are read of an instrument, the newest of them.
MOST_PROOFS = 60


class History(NamedTuple):
    """Who entered the issues of an instrument and when, and what is on record of how it behaves."""

    instrument: str

    def run(self, book: Book) -> tuple[list[IssueEntered], Known]:
        """Its issues, newest first; its records, and uses since its last check by others than who made it."""
        from app.crib.behaving import Known
        from app.crib.drifting import Drifting
        from inspection.measuring.proofs import checks_of
        from inspection.studies.drift import advice, interval_now, points_in_time, told
        from storage.book.counted_use import readings_since_certified
        from storage.book.queries.instrument_history import instrument_history
        from storage.book.queries.instrument_uses import uses_by_others
        from storage.book.queries.proofs_of import proofs_of

        issues = book.ask(instrument_history, self.instrument, limit=MOST_ISSUES)
        proofs = book.ask(proofs_of, self.instrument, limit=MOST_PROOFS)
        checks = checks_of(proofs, self.instrument)
        last = checks[-1] if checks else None
        uses = book.ask(uses_by_others, self.instrument, last.at, last.made.by) if last is not None else ()
        shop = book.shop()
        held = shop.crib.get(self.instrument)
        readings = book.ask(readings_since_certified, held) if held is not None and held.every_readings else None
        points = points_in_time(shop.issues, held) if held is not None else ()
        drift = Drifting(tuple(told(points)), advice(points, interval_now(held))) if held and points else None
        return issues, Known(self.instrument, proofs, uses, drift, readings)


class Touches(NamedTuple):
    """The sheets that an instrument's readings touch."""

    instrument: str

    def run(self, book: Book) -> tuple[str, Touched]:
        """The instrument asked about and its sheets, the one it was used on last first."""
        from storage.book.queries.touched_sheets import touched_sheets

        return self.instrument, book.ask(touched_sheets, self.instrument, limit=MOST_TOUCHED)


class WouldReopen(NamedTuple):
    """What taking an instrument out of service for cause would put in question, looked at before it is done."""

    act: RemoveForCause
    person: str

    def run(self, book: Book, progress: Progress) -> tuple[CheckRecord, tuple[ReopenedRow, ...]]:
        """The check that would be on record as failed, and the rows. Raises Refused as the act would."""
        from inspection.sheet.events import Entry
        from inspection.sheet.reopening import removal_ahead
        from storage.book.clock import new_identity, wall_clock
        from storage.book.queries.instrument_uses import sheets_read_with

        now = wall_clock()
        entry = Entry(identity=new_identity(), person=self.person, at=now.at, day=now.day)

        def read_with(instrument: str, since: int, until: int) -> tuple[str, ...]:
            return book.ask(sheets_read_with, instrument, since, until)

        ahead = removal_ahead(book.shop(), self.act, entry, read_with)
        rows: list[ReopenedRow] = []
        for place, sheet in enumerate(ahead.sheets):
            progress(place, len(ahead.sheets))
            rows += ahead.rows(book.sheet(sheet))
        return ahead.check, tuple(rows)


class Fits(NamedTuple):
    """What in the crib fits a feature that was typed into the search."""

    text: str
    unit: str

    def run(self, book: Book) -> tuple[str, Fitting]:
        """The text asked about and what fits it. Raises Refused where the feature cannot be read."""
        from inspection.instruments.fitting import fitting
        from inspection.sheet.proving import known_now
        from storage.book.clock import wall_clock

        shop, now = book.shop(), wall_clock()
        known = known_now(shop, now.at)
        return self.text, fitting(self.text, shop.crib, shop.rules, now.day, self.unit, known, shop.issues)


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


class Showing(NamedTuple):
    """Write an attached file where the computer's own viewer finds it."""

    file: Attached

    def run(self, book: Book, _progress: Progress) -> Path:
        """Where it lies: a copy in a folder of its own, for reading alone. Raises Refused or BookFailure."""
        from tempfile import mkdtemp

        from storage.book.attached import content_of
        from storage.files import write_file

        path = Path(mkdtemp(prefix="tenthwright-")) / Path(self.file.name).name
        write_file(path, book.ask(content_of, self.file.digest))
        path.chmod(0o400)
        return path


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
