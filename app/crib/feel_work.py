"""What the book's thread does for a person's own trials, each a value; the book itself is not touched."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from inspection.measuring.checks import Configuration
from inspection.measuring.checks_standards import Standard, sets_of, suggested
from inspection.measuring.quantiles import warm
from inspection.studies.feel import Trial
from storage.feel import KeptFeel, feel_place, forget_feel, keep_trial, kept_feel, want_feel

if TYPE_CHECKING:
    from inspection.instruments.record import Instrument
    from storage.book.door import Book


class Begun(NamedTuple):
    """What a person's trials with an instrument begin from: the book's place, where they are kept, those there are, and
    a block that the shop has near the middle of its range (None: none)."""

    book: Path
    file: Path
    kept: KeptFeel
    block: Standard | None


class Beginning(NamedTuple):
    """Look for the trials of a person before the dialog opens."""

    person: str
    instrument: Instrument
    day: str

    def run(self, book: Book) -> Begun:
        """Raises BookFailure."""
        one = self.instrument
        sets = sets_of(book.shop().crib, one.unit, self.day)
        near = suggested(one, Configuration(one.unit), None, sets)
        return Begun(book.path, feel_place(book.path, self.person), kept_feel(book.path, self.person), near)


def make_ready(_book: Book) -> None:
    """Load what figures are reckoned with, before the second reading asks for it."""
    warm()


class Wanting(NamedTuple):
    """The person wants trials to be kept."""

    person: str

    def run(self, book: Book) -> None:
        """Raises BookFailure."""
        want_feel(book.path, self.person)


class Keeping(NamedTuple):
    """Keep a trial as it stands."""

    person: str
    trial: Trial

    def run(self, book: Book) -> Trial:
        """The trial that is on disk now. Raises Refused or BookFailure; what was kept before is untouched then."""
        self.keep_at(book.path)
        return self.trial

    def keep_at(self, book: Path) -> None:
        """The same by the book's place, when its thread has ended."""
        keep_trial(book, self.person, self.trial)


class Forgetting(NamedTuple):
    """Delete all that is kept of a person."""

    person: str

    def run(self, book: Book) -> bool:
        """Whether there was anything. Raises BookFailure."""
        return forget_feel(book.path, self.person)
