"""The hand that carries acts out: a book, a person, and entries whose identity and moment are known ahead."""

from __future__ import annotations

from collections import deque
from pathlib import Path
from types import TracebackType

from app.jobs.station_head import begun, watched
from inspection.reasons import Reason, Refused
from inspection.sheet.events import Entry
from inspection.sheet.state import Shop
from storage.book.clock import Clock, Identities, Moment
from storage.book.door import Book


class Foreseen:
    """Moments and identities of coming entries. One that was looked at ahead is the one the entry then gets, so that
    acts which name what an earlier one will make can be handed in together."""

    def __init__(self, clock: Clock, identities: Identities) -> None:
        self._clock, self._identities = clock, identities
        self._moments: deque[Moment] = deque()
        self._names: deque[str] = deque()

    def clock(self) -> Moment:
        """The moment of the next entry."""
        return self._moments.popleft() if self._moments else self._clock()

    def identity(self) -> str:
        """The identity of the next entry."""
        return self._names.popleft() if self._names else self._identities()

    def now(self) -> Moment:
        """The moment that it is, which no entry has to have."""
        return self._moments[0] if self._moments else self._clock()

    def apart(self) -> Foreseen:
        """Another one by the same clock: what it looks at ahead is not what these entries get."""
        return Foreseen(self._clock, self._identities)

    def moment_ahead(self) -> Moment:
        """The moment that the next entry will have."""
        if not self._moments:
            self._moments.append(self._clock())
        return self._moments[0]

    def identity_ahead(self, place: int) -> str:
        """The identity that the entry after ``place`` others will have."""
        while len(self._names) <= place:
            self._names.append(self._identities())
        return self._names[place]


class Hand:
    """An open book and the person whose acts are carried out; a context manager that closes the book."""

    def __init__(self, book: Book, foreseen: Foreseen, person: str = "") -> None:
        self.book = book
        self.foreseen = foreseen
        self.person = person

    @classmethod
    def new(cls, path: Path, clock: Clock, identities: Identities) -> Hand:
        """A new empty book; see ``Book.new``."""
        foreseen = Foreseen(clock, identities)
        book = Book.new(path, clock=foreseen.clock, identities=foreseen.identity)
        begun(book)
        return cls(book, foreseen)

    @classmethod
    def open(cls, path: Path, clock: Clock, identities: Identities, *, only_read: bool = False) -> Hand:
        """An existing book; see ``Book.open``. It is held against what this station saw of it."""
        foreseen = Foreseen(clock, identities)
        book = Book.open(path, clock=foreseen.clock, identities=foreseen.identity, only_read=only_read)
        try:
            book.notices = (*book.notices, *watched(book))
        except BaseException:
            book.close()
            raise
        return cls(book, foreseen)

    def __enter__(self) -> Hand:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.book.close()

    def be(self, name: str) -> None:
        """Act as the person of this name; without a name as the book's only one. Raises Refused."""
        self.person = person_named(self.book.shop(), name)

    def apart(self) -> Hand:
        """A hand of the same person on the same book, to look ahead with while nothing is done: the entries that this
        one makes later get their own moments."""
        return Hand(self.book, self.foreseen.apart(), self.person)

    def entry_ahead(self, place: int) -> Entry:
        """The entry that will be made after ``place`` others, as far as deciding its act ahead needs it."""
        moment = self.foreseen.moment_ahead()
        return Entry(
            identity=self.foreseen.identity_ahead(place), person=self.person, at=moment.at, day=moment.day, station=""
        )


def person_named(shop: Shop, name: str) -> str:
    """The identity of the person of this name (case does not matter), or of the only one if no name is given.

    Raises Refused, naming those there are.
    """
    wanted = name.strip().casefold()
    found = [person for person in shop.people.values() if not wanted or person.name.casefold() == wanted]
    if len(found) == 1:
        return found[0].identity
    names = ", ".join(sorted(person.name for person in shop.people.values()))
    if wanted:
        raise Refused(Reason("command.person_unknown", {"person": name, "people": names}))
    raise Refused(Reason("command.person_needed", {"people": names}))
