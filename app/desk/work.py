"""The work of the Desk, each run on the book's thread with what the room hands it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from app.desk.finding import Found, found_of
from app.desk.sent_lines import SentLine, sent_line
from app.jobs.document import document_of
from app.jobs.sending import FORMS, Made, make, send_all
from app.parts.lacking import Lack, lacks_of

if TYPE_CHECKING:
    from app.background.worker import Progress
    from app.jobs.hand import Foreseen
    from inspection.sheet.state import Sheet, Shop
    from storage.book.door import Book
    from storage.seals.check import Verified

#: As many recent sheets as are looked through for what is typed.
MOST_FOUND = 500


class AtHand(NamedTuple):
    """A sheet as it stands, the shop it belongs to, what was sent of it, and what it lacks."""

    sheet: Sheet
    shop: Shop
    sent: tuple[SentLine, ...]
    lacks: tuple[Lack, ...]


class Done(NamedTuple):
    """Files that were written: their places and digests by form."""

    places: dict[str, Path]
    digests: dict[str, str]


class Checked(NamedTuple):
    """What the check of a file came to."""

    file: Path
    verified: Verified


class Look(NamedTuple):
    """Look at a sheet."""

    sheet: str

    def run(self, book: Book) -> AtHand:
        """Raises Refused if there is no such sheet."""
        from storage.book.queries.linked_sheets import completions
        from storage.book.queries.sent_of_sheet import sent_of_sheet

        sheet, shop = book.sheet(self.sheet), book.shop()
        sent = book.ask(sent_of_sheet, self.sheet)
        lines = tuple(sent_line(each, shop) for each in sent)
        return AtHand(sheet, shop, lines, lacks_of(sheet, shop, book.ask(completions, self.sheet)))


def recent(book: Book) -> tuple[Found, ...]:
    """The newest sheets."""
    from storage.book.queries.found_sheets import Wanted, found_sheets

    return tuple(map(found_of, book.ask(found_sheets, Wanted(), limit=MOST_FOUND)))


class Older(NamedTuple):
    """Look through the whole book for sheets that hold every word typed."""

    typed: str

    def run(self, book: Book) -> tuple[str, tuple[Found, ...]]:
        """What was typed, and the newest sheets that hold it."""
        from storage.book.queries.found_sheets import Wanted, found_sheets

        found = book.ask(found_sheets, Wanted(text=self.typed))
        return self.typed, tuple(map(found_of, found))


class Making(NamedTuple):
    """Make a file in memory, as it would go out."""

    sheet: str
    form: str
    paper: str

    def run(self, book: Book, progress: Progress) -> Made:
        """Raises Refused for what the form cannot hold."""
        return make(book, book.sheet(self.sheet), book.shop(), self.form, paper=self.paper, progress=progress)


class Sending(NamedTuple):
    """Write the files of a sheet and keep their digests; ``made`` are those made before."""

    sheet: str
    places: dict[str, Path]
    paper: str
    person: str
    foreseen: Foreseen
    made: dict[str, Made]

    def run(self, book: Book, progress: Progress) -> Done:
        """Raises Refused or BookFailure."""
        from app.jobs.hand import Hand

        hand = Hand(book, self.foreseen, self.person)
        digests = send_all(hand, self.sheet, self.places, paper=self.paper, progress=progress, made=self.made)
        return Done(self.places, digests)


class Checking(NamedTuple):
    """Check whether a file is what was sent from this book."""

    file: Path

    def run(self, book: Book, progress: Progress) -> Checked:
        """Raises BookFailure if the file cannot be read."""
        from storage.book.verify import verify_file

        return Checked(self.file, verify_file(self.file, book.path, progress))


def forms_of(sheet: Sheet) -> tuple[str, ...]:
    """The forms that a sheet can go out in now: a data file holds seals, so one that never was sealed has none, and a
    signed PDF goes out where one was signed."""
    lacking = {"data": not sheet.seals, "signed-pdf": document_of(sheet) is None}
    return tuple(form for form in FORMS if not lacking.get(form))
