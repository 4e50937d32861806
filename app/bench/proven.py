"""Whether the instruments in hand are proven: on which check before use a reading taken now would rest, or why on none.

Uses on other sheets and by others are the book's to know: they are asked for on its thread, and until the answer is
there only this sheet's uses count.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QObject, Signal

from app.bench.seen import Seen
from app.bench.times import told_at
from app.window.house import House
from inspection.instruments.record import Instrument
from inspection.measuring.checks_life import MICROSECONDS_PER_MINUTE, Used
from inspection.measuring.proofs import CheckRecord, checks_of
from inspection.reasons import Reason, Refused
from inspection.sheet.proving import asked_of, configuration_of, resting
from inspection.sheet.reading_life import newest
from inspection.words.say import say, word
from storage.book.clock import Moment

if TYPE_CHECKING:
    from storage.book.door import Book


class Proven(NamedTuple):
    """What is said of the instruments in hand, whether it is a lack, and the instrument to check first."""

    text: str = ""
    lacks: bool = False
    instrument: Instrument | None = None


class Use(NamedTuple):
    """What is asked of the book: uses of an instrument since a moment by others than a person."""

    instrument: str
    since: int
    person: str

    def run(self, book: Book) -> tuple[Use, tuple[Used, ...]]:
        """Raises BookFailure."""
        from storage.book.queries.instrument_uses import uses_by_others

        return self, book.ask(uses_by_others, *self)


class Proving(QObject):
    """``came`` follows an answer of the book that changes something."""

    came = Signal()

    def __init__(self, house: House, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._house = house
        self._uses: dict[Use, tuple[Used, ...]] = {}
        self._asked: set[Use] = set()

    def grow_old(self) -> None:
        """What was asked a while ago is asked again with the next look."""
        self._asked = set()

    def of(self, seen: Seen, row: str, now: Moment) -> Proven:
        """How the instruments of a row stand for the person at the bench."""
        held = [(each, self._rests(seen, each, now)) for each in instruments_of(seen, row)]
        lacking = next(((each, why) for each, why in held if isinstance(why, Reason)), None)
        if lacking is not None:
            return Proven(word("bench.proven.lacks", why=say(lacking[1])), True, lacking[0])
        checks = [(each, check) for each, check in held if isinstance(check, CheckRecord)]
        if not checks:
            return Proven(instrument=held[0][0] if held else None)
        first, check = min(checks, key=lambda each: each[1].at)
        until = check.at + seen.sheet.rules.check_minutes * MICROSECONDS_PER_MINUTE
        said = word("bench.proven.checked", at=told_at(check.at, now), until=told_at(until, now))
        return Proven(said if len(checks) == 1 else f"{first.tag} {said}", instrument=first)

    def _rests(self, seen: Seen, instrument: Instrument, now: Moment) -> CheckRecord | Reason | None:
        """What a reading taken now would rest on, as far as the book has told who else used it."""
        person = self._house.person
        self._ask(seen, instrument, person, now)
        as_set = configuration_of(seen.shop, instrument, person, now.at)
        return resting(seen.shop, seen.sheet, instrument, as_set, person, now.at, self._elsewhere)

    def _elsewhere(self, instrument: str, since: int, person: str) -> tuple[Used, ...]:
        return self._uses.get(Use(instrument, since, person), ())

    def _ask(self, seen: Seen, instrument: Instrument, person: str, now: Moment) -> None:
        checks = checks_of(seen.shop.proofs, instrument.identity, now.at)
        if not checks or self._house.worker is None or not seen.sheet.rules.check_minutes:
            return
        use = Use(instrument.identity, checks[-1].at, person)
        if use not in self._asked:
            self._asked.add(use)
            self._house.worker.read(use.run, self._take, partial(self._forget, use))

    def _take(self, answer: tuple[Use, tuple[Used, ...]]) -> None:
        use, found = answer
        if self._uses.get(use, ()) != found:
            self._uses[use] = found
            self.came.emit()

    def _forget(self, use: Use, _failure: object) -> None:
        """The book did not answer; what the next reading says of itself will."""
        self._asked.discard(use)


def instruments_of(seen: Seen, row: str) -> tuple[Instrument, ...]:
    """The instruments of a row's method of which a check before use is asked, at their newest issues."""
    return tuple(_asked(seen, row))


def _asked(seen: Seen, row: str) -> Iterator[Instrument]:
    assignment = seen.sheet.assignments.get(row)
    if assignment is None or assignment.assessment is None:
        return
    try:
        yield from asked_of(seen.shop, newest(seen.shop, assignment.assessment.method))
    except Refused:
        return  # the crib holds one of them no more; the reading will say so
