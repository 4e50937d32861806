"""The work of the Ledger, each run on the book's thread with what the room hands it."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from app.ledger.line import COLUMNS, Line, line_of
from inspection.words.say import word
from storage.book.queries.found_sheets import Wanted, found_sheets
from storage.book.queries.linked_sheets import LinkedSheet
from storage.book.queries.part_in_time import RevisionCounts, part_in_time
from storage.book.queries.sent_of_sheet import SentOfSheet, sent_of_sheet
from storage.book.queries.sheet_journal import JournalLine, sheet_journal

if TYPE_CHECKING:
    from inspection.sheet.state import Sheet, Shop
    from storage.book.door import Book
    from storage.dispatch.listing import Listing

#: Sheets of a page of the list, and entries of a page of a journal.
PAGE, JOURNAL_PAGE = 60, 40


class Page(NamedTuple):
    """One page of what was looked for, after the sheet made at ``after``; ``more`` says that others follow."""

    wanted: Wanted
    after: int
    lines: tuple[Line, ...]
    more: bool


class Find(NamedTuple):
    """Look for sheets."""

    wanted: Wanted
    after: int = 0

    def run(self, book: Book) -> Page:
        """Raises BookFailure."""
        found = book.ask(found_sheets, self.wanted, limit=PAGE + 1, after=self.after)
        return Page(self.wanted, self.after, tuple(map(line_of, found[:PAGE])), len(found) > PAGE)


#: Sheets that go into one list: more than anybody reads, and few enough for a workbook.
MOST_LISTED = 5_000


class ListFound(NamedTuple):
    """List all sheets that are wanted under a title, with what is said of them."""

    wanted: Wanted
    title: str
    about: str

    def run(self, book: Book) -> Listing:
        """Raises BookFailure. Read page by page, so that an entry never waits long."""
        from storage.dispatch.listing import Listing

        lines: list[Line] = []
        while True:
            page = Find(self.wanted, lines[-1].sequence if lines else 0).run(book)
            lines += page.lines
            if not page.more or len(lines) >= MOST_LISTED:
                break
        heads = tuple(word(f"ledger.column.{name}") for name in COLUMNS)
        rows = tuple(tuple(getattr(line, name) for name in COLUMNS) for line in lines)
        return Listing(self.title, heads, rows, (self.about,), shop=book.shop().name)


class Looked(NamedTuple):
    """A sheet as it stands, its shop, what was sent of it, and the sheets that it is linked to."""

    sheet: Sheet
    shop: Shop
    sent: tuple[SentOfSheet, ...]
    linked: tuple[LinkedSheet, ...] = ()


class Look(NamedTuple):
    """Look at a sheet."""

    sheet: str

    def run(self, book: Book) -> Looked:
        """Raises Refused if there is no such sheet."""
        from app.jobs.reviewing import linked_to

        sheet = book.sheet(self.sheet)
        return Looked(sheet, book.shop(), tuple(book.ask(sent_of_sheet, self.sheet, limit=20)), linked_to(book, sheet))


class Told(NamedTuple):
    """A page of a sheet's journal, before the entry ``before``; ``more`` says that older ones follow."""

    sheet: str
    before: int
    lines: tuple[JournalLine, ...]
    more: bool


class Journal(NamedTuple):
    """Read a sheet's journal."""

    sheet: str
    before: int = 0

    def run(self, book: Book) -> Told:
        """Raises Refused if there is no such sheet."""
        sheet, shop = book.sheet(self.sheet), book.shop()
        lines = book.ask(sheet_journal, shop, sheet, limit=JOURNAL_PAGE + 1, before=self.before)
        return Told(self.sheet, self.before, tuple(lines[:JOURNAL_PAGE]), len(lines) > JOURNAL_PAGE)


class PartLooked(NamedTuple):
    """A part in time: the verdicts of its sheets, revision by revision."""

    part: str
    revisions: tuple[RevisionCounts, ...]


class PartInTime(NamedTuple):
    """Look at the sheets of a part."""

    part: str

    def run(self, book: Book) -> PartLooked:
        """Raises BookFailure."""
        return PartLooked(self.part, tuple(book.ask(part_in_time, self.part)))
