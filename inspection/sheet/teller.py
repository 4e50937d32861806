"""Who tells a report: people, times, instruments and words of a sheet, in one language and one time zone."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, tzinfo

from msgspec import Struct

from inspection.instruments.method import Method
from inspection.instruments.record import Instrument, Standing
from inspection.measuring.reading import Reading
from inspection.reasons import Reason
from inspection.sheet.state import Cell, Sheet, Shop
from inspection.words.say import say, word


class Teller(Struct, frozen=True):
    """Tells a sheet's people, times, instruments and words, in one language and one time zone. ``taken`` holds every
    reading of a cell, withdrawn ones too, in the order taken; ``budgets`` the name of the uncertainty budget of each
    cell that has one. ``told`` keeps what was said of instruments: a sheet has thousands of readings by a few."""

    shop: Shop
    sheet: Sheet
    taken: Mapping[Cell, tuple[Reading, ...]]
    language: str = "en"
    zone: tzinfo = UTC
    budgets: Mapping[Cell, str] = {}
    told: dict[tuple[Method, str], str] = {}

    def word(self, code: str, **parts: str | int) -> str:
        """Words of the catalogue."""
        return word(code, self.language, **parts)

    def say(self, reason: Reason) -> str:
        """The sentence of a reason."""
        return say(reason, language=self.language)

    def person(self, identity: str) -> str:
        """A person's name; the identity of one whom the book does not hold."""
        person = self.shop.people.get(identity)
        return person.name if person else identity

    def when(self, at: int) -> str:
        """UTC microseconds as local day and time, to the minute."""
        return datetime.fromtimestamp(at // 1_000_000, self.zone).strftime("%Y-%m-%d %H:%M")

    def instruments(self, method: Method) -> list[Instrument]:
        """The issues that a method names, as far as the book holds them."""
        found = (self.shop.issues.get((part.identity, part.issue)) for part in method.parts)
        return [instrument for instrument in found if instrument is not None]

    def method(self, method: Method) -> str:
        """Tag and name of the instrument that is read, then of those it needs."""
        found = self.told.get((method, ""))
        if found is None:
            found = " + ".join(f"{one.tag} {one.name}".strip() for one in self.instruments(method))
            self.told[method, ""] = found
        return found

    def calibration(self, method: Method, day: str) -> str:
        """The calibration state of a method's instruments on an ISO day, each with its tag where there are several."""
        found = self.told.get((method, day))
        if found is None:
            found = self.told[method, day] = self._calibration(method, day)
        return found

    def _calibration(self, method: Method, day: str) -> str:
        instruments = self.instruments(method)
        states = [self.state(one, day) for one in instruments]
        if len(set(states)) == 1:
            return states[0]
        return "; ".join(f"{one.tag} {state}" for one, state in zip(instruments, states, strict=True))

    def state(self, instrument: Instrument, day: str) -> str:
        """The calibration state of one instrument on an ISO day."""
        if instrument.standing is not Standing.IN_SERVICE:
            return self.word(f"report.standing.{instrument.standing.name.lower()}")
        if not instrument.due:
            return self.word("report.calibration.none")
        state = "due" if day <= instrument.due else "overdue"
        said = self.word(f"report.calibration.{state}", due=instrument.due)
        certificate = instrument.certificate
        return f"{said}, {self.word('report.certificate', certificate=certificate)}" if certificate else said

    def day(self, at: int) -> str:
        """The local day of a moment (UTC microseconds), ISO."""
        return self.when(at).partition(" ")[0]

    def tag(self, instrument: str) -> str:
        """The mark of an instrument of the crib; its identity where the book does not hold it."""
        held = self.shop.crib.get(instrument)
        return held.tag if held else instrument
