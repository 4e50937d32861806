"""Checks from the Bench: of the instrument in hand before use, of those that ask for one after it, and what happened to
one."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.background.worker import Failure
from app.bench import questions
from app.bench.checking import check_instrument, give_back, report_upset
from app.bench.flow import Flow
from app.bench.line import is_blind
from app.bench.proven import Proving, instruments_of
from app.bench.standing import Said
from app.bench.times import now_at, told_at
from app.window.house import House
from inspection.instruments.ratios import size_of
from inspection.instruments.record import Instrument
from inspection.measuring.checks_life import MICROSECONDS_PER_MINUTE
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.words.say import word

if TYPE_CHECKING:
    from storage.book.outcome import Outcome


class Checks(QObject):
    """Hands in checks of the instruments of the row at hand, and says below the entry what came of them."""

    def __init__(self, house: House, flow: Flow, proving: Proving, room: QWidget) -> None:
        super().__init__(room)
        self._house, self._flow, self._proving, self._room = house, flow, proving, room

    # --- before use -------------------------------------------------------------------------------------------------

    def check(self) -> None:
        """Check the instrument of the row at hand, once all readings are on disk; of several the one that lacks it."""
        if self._flow.seen is not None:
            self._flow.when_settled(self._check)

    def _check(self) -> None:
        seen, at = self._flow.seen, self._flow.at
        assert seen is not None
        instrument = self._proving.of(seen, at.row, now_at(self._house)).instrument or seen.instrument(at.row)
        if instrument is None:
            self._flow.say_plainly(word("bench.check.nothing", number=seen.row(at.row).number))
            return
        # near which size it is checked would tell the nominal of a row that is read blind
        size = None if is_blind(seen, at.cell) else size_of(seen.row(at.row))
        self._open(instrument, size, closing=False, then=self._nothing_more)

    def _nothing_more(self) -> None:
        """A check by itself leads to nothing else."""

    def _open(self, instrument: Instrument, size: int | None, *, closing: bool, then: Callable[[], None]) -> None:
        check_instrument(self._house, instrument, size, closing, partial(self._made, instrument, then))

    def _made(self, instrument: Instrument, then: Callable[[], None], act: acts.RecordCheck | None) -> None:
        if act is not None:
            self._house.do(
                act,
                kept=partial(self._recorded, instrument, then),
                refused=partial(self._not_recorded, instrument, act),
                back=partial(self._not_recorded, instrument, act),
            )

    def _not_recorded(self, instrument: Instrument, act: acts.RecordCheck, failure: Failure) -> None:
        give_back(self._house, instrument, act)
        self._house.fail(failure)

    def _recorded(self, instrument: Instrument, then: Callable[[], None], outcome: Outcome) -> None:
        check = next(event.check for event in outcome.events if isinstance(event, ev.CheckRecorded))
        if not check.made.passed:
            self._failed(instrument, outcome)
            return
        self._flow.say_plainly(self._good(instrument, check.at, closing=check.made.closing))
        then()

    def _good(self, instrument: Instrument, at: int, *, closing: bool) -> str:
        seen = self._flow.seen
        minutes = seen.sheet.rules.check_minutes if seen is not None and not closing else 0
        if not minutes:
            return word("bench.check.passed", tag=instrument.tag)
        until = told_at(at + minutes * MICROSECONDS_PER_MINUTE, now_at(self._house))
        return word("bench.check.good", tag=instrument.tag, until=until)

    def _failed(self, instrument: Instrument, outcome: Outcome) -> None:
        """What was read with it since its last good check counts no longer, here and on other sheets."""
        here = elsewhere = 0
        for each in outcome.followed:
            n = sum(len(event.readings) for event in each.events if isinstance(event, ev.ReadingsReopened))
            mine = self._flow.seen is not None and each.stream == self._flow.seen.sheet.identity
            here, elsewhere = here + n * mine, elsewhere + n * (not mine)
        said = [word("bench.check.failed", tag=instrument.tag)]
        said += [word("bench.check.reopened", n=here)] * bool(here)
        said += [word("bench.check.reopened_elsewhere", n=elsewhere)] * bool(elsewhere)
        self._flow.say(Said(" ".join(said), "out"))

    # --- after it ---------------------------------------------------------------------------------------------------

    def close(self, tags: tuple[str, ...], then: Callable[[], None]) -> bool:
        """Offer the checks after use that a sheet asks for before it is signed, one after the other; ``then`` follows
        the last good one. False if the person would rather sign without them."""
        shop = self._house.shop
        held = [item for tag in tags if shop is not None and (item := shop.by_tag(tag)) is not None]
        if not held or not questions.ask_closing(self._room, held):
            return False
        self._close_next(held, then)
        return True

    def _close_next(self, held: list[Instrument], then: Callable[[], None]) -> None:
        if not held:
            then()
            return
        self._open(held[0], self._closing_size(held[0]), closing=True, then=partial(self._close_next, held[1:], then))

    def _closing_size(self, instrument: Instrument) -> int | None:
        """The size of the row that was last read with it on this sheet."""
        seen = self._flow.seen
        if seen is None:
            return None
        rows = (
            seen.row(reading.characteristic)
            for reading in seen.newest_readings()
            if reading.method.parts[0].identity == instrument.identity
        )
        return next((size_of(row) for row in rows), None)

    # --- something happened -----------------------------------------------------------------------------------------

    def upset(self) -> None:
        """Say that something happened to the instrument of the row at hand; of several, to which."""
        seen, at = self._flow.seen, self._flow.at
        if seen is None:
            return
        parts = instruments_of(seen, at.row) or seen.parts(at.row)[:1]
        if not parts:
            self._flow.say_plainly(word("bench.check.nothing", number=seen.row(at.row).number))
            return
        instrument = parts[0] if len(parts) == 1 else questions.ask_which(self._room, parts)
        if instrument is not None:
            report_upset(self._house, instrument, partial(self._happened, instrument))

    def _happened(self, instrument: Instrument, act: acts.ReportUpset | None) -> None:
        if act is not None:
            self._house.do(act, kept=partial(self._told_upset, instrument))

    def _told_upset(self, instrument: Instrument, _outcome: Outcome) -> None:
        self._flow.say_plainly(word("bench.check.upset", tag=instrument.tag))
