"""Opening or making a book on its thread; the book's libraries are imported here, after the first frame."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from app.jobs.hand import Foreseen
    from inspection.reasons import Reason
    from inspection.sheet.state import Sheet, Shop
    from storage.book.clock import Clock, Identities
    from storage.book.door import Book
    from storage.book.glance import Glance


class Seen(NamedTuple):
    """What a first look at a book showed, before it is open."""

    path: Path
    shop: Shop
    sheet: Sheet


class Greeting(NamedTuple):
    """What the window is told when a book is open: where it lies, its shop, what is to be said about the opening, the
    moments and identities of coming entries, which jobs look ahead at; and whether the sheet of the first look stands
    as it was seen."""

    path: Path
    shop: Shop
    notices: tuple[Reason, ...]
    foreseen: Foreseen
    as_seen: bool = False


class NewBook(NamedTuple):
    """What a new book needs: its file, the shop's name, the first person and their passphrase."""

    path: Path
    shop: str
    person: str
    passphrase: str


class Warm(NamedTuple):
    """What is done on the book's thread soon after the opening, when nothing waits for it any more; ``day`` is today
    (ISO)."""

    day: str

    def run(self, book: Book) -> tuple[Reason, ...]:
        """Load what verdicts are reckoned with, so that neither the first of them nor the window waits for it; what is
        to be said of the crib."""
        from app.jobs.falling_due import reminder
        from inspection.measuring import quantiles

        quantiles.warm()
        return reminder(book.shop(), self.day)


class Opening:
    """Opens the book at ``path``, or the shop's own where none is named; ``clock`` and ``identities`` make a run
    repeatable and are the computer's own by default."""

    def __init__(self, path: Path | None, clock: Clock | None = None, identities: Identities | None = None) -> None:
        self.path = path
        self._clock, self._identities = clock, identities
        self._foreseen: Foreseen | None = None
        self._seen: Glance | None = None

    def glance(self, sheet: str) -> Seen | None:
        """Look at the shop and the sheet of this identity, as far as that can be done before the book is open."""
        from storage.book.glance import glance
        from storage.book.header import default_place

        self.path = self.path or default_place()
        self._seen = glance(self.path, sheet)
        return Seen(self.path, self._seen.shop, self._seen.sheet) if self._seen is not None else None

    def open(self) -> Book:
        """Open the book. Raises BookFailure."""
        from storage.book.door import Book
        from storage.book.header import default_place

        self.path = self.path or default_place()
        foreseen = self._foresee()
        return Book.open(self.path, clock=foreseen.clock, identities=foreseen.identity, look=self._seen)

    def _foresee(self) -> Foreseen:
        from app.jobs.hand import Foreseen
        from storage.book.clock import new_identity, wall_clock

        self._foreseen = Foreseen(self._clock or wall_clock, self._identities or new_identity)
        return self._foreseen

    def greet(self, book: Book) -> Greeting:
        """What is told about a book that was opened; it is held against what this station saw of it."""
        from app.jobs.station_head import watched

        assert self._foreseen is not None
        said = watched(book)
        seen = self._seen
        as_seen = seen is not None and book.shop() is seen.shop and book.sheet(seen.sheet.identity) is seen.sheet
        return Greeting(book.path, book.shop(), (*book.notices, *said), self._foreseen, as_seen)


class Making(Opening):
    """Makes a new book, gives it its shop with the first person, and leaves it open."""

    def __init__(self, new: NewBook, clock: Clock | None = None, identities: Identities | None = None) -> None:
        super().__init__(new.path, clock, identities)
        self._new = new

    def glance(self, _sheet: str) -> None:
        """There is nothing to look at yet."""

    def open(self) -> Book:
        """Make the book. Raises BookFailure; an existing file is never touched."""
        from app.jobs.hand import Hand
        from app.jobs.opening_shop import open_shop
        from app.jobs.station_head import begun
        from storage.book.door import Book

        new, foreseen = self._new, self._foresee()
        book = Book.new(new.path, clock=foreseen.clock, identities=foreseen.identity)
        begun(book)
        open_shop(Hand(book, foreseen), shop=new.shop, person=new.person, passphrase=new.passphrase)
        return book
