"""Temperatures as they are typed for the log, and what is wrong with them, field by field."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple
from uuid import UUID

from app.window.asking import Fault
from inspection.instruments.known_within import kelvin_text, read_kelvin
from inspection.instruments.reach import usable
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.instruments.spelling import Piece
from inspection.measuring.temperature_as_written import read_temperature
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.proof_life import log_temperature
from inspection.sheet.state import Sheet, Shop
from inspection.words.say import say, word
from storage.book.clock import Moment

#: The entry that is not made: what the book would refuse is asked ahead of it.
_NO_ENTRY = str(UUID(int=0))
#: The field that a refusal of the log is about, where its code or what it is of tells.
_FIELDS = {
    "temperature.within_unknown": "within",
    "temperature.soak_negative": "soak",
    "temperature.of_part": "part",
    "temperature.of_instrument": "instrument",
}


class Temperatures(NamedTuple):
    """For which sheet and person temperatures are logged, and when."""

    shop: Shop
    sheet: Sheet
    now: Moment
    person: str

    def thermometers(self) -> tuple[Instrument, ...]:
        """The crib's that may be used today, by their marks; the one used last comes first."""
        last = self.sheet.temperatures[-1].thermometer if self.sheet.temperatures else ""
        held = (each for each in self.shop.crib.values() if each.kind is InstrumentKind.THERMOMETER)
        return tuple(
            sorted((each for each in held if usable(each, self.now.day)), key=lambda e: (e.tag != last, e.tag))
        )

    def choices(self) -> tuple[tuple[str, str], ...]:
        """The thermometers as they are offered, and another one."""
        return (*((each.tag, _named(each)) for each in self.thermometers()), ("", word("bench.log.another")))

    def read(self, typed: Mapping[str, str]) -> acts.LogTemperature | Fault:
        """The act that the fields make, or what is wrong with the first that is no good."""
        try:
            part = _read("part", typed, read_temperature)
            instrument = _read("instrument", typed, read_temperature)
            within = _read("within", typed, read_kelvin) if typed["within"].strip() else 0
            soak = _read("soak", typed, _minutes) if typed["soak"].strip() else 0
        except _Wrong as wrong:
            return wrong.fault
        tag = typed["thermometer"] or typed["other"].strip()
        act = acts.LogTemperature(
            sheet=self.sheet.identity,
            part=part,
            instrument=instrument,
            thermometer=tag,
            within=within,
            soak_minutes=soak,
            written=(typed["part"].strip(), typed["instrument"].strip()),
        )
        return self._refused(act, "other" if not typed["thermometer"] else "thermometer") or act

    def _refused(self, act: acts.LogTemperature, thermometer: str) -> Fault | None:
        """What the book would refuse of it."""
        entry = ev.Entry(identity=_NO_ENTRY, person=self.person, at=self.now.at, day=self.now.day)
        try:
            log_temperature(self.shop, act, entry)
        except Refused as refused:
            (reason, *_) = refused.reasons
            field = _FIELDS.get(str(reason.parts.get("of", reason.code)), thermometer)
            return Fault(field, say(reason))
        return None


class _Wrong(Exception):
    """One field cannot be read."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(fault.text)
        self.fault = fault


def _read(field: str, typed: Mapping[str, str], read: Callable[[Piece], int]) -> int:
    text = typed[field]
    try:
        return read(Piece(text).cut(0))
    except Refused as refused:
        (reason, *_) = refused.reasons
        at = reason.parts.get("at", -1)
        raise _Wrong(Fault(field, say(reason), at if isinstance(at, int) else -1)) from None


def _minutes(piece: Piece) -> int:
    """Whole minutes, with or without their unit."""
    digits = piece.text.casefold().removesuffix("min").strip()
    if not digits.isdecimal() or len(digits) > 5:
        raise Refused(Reason("bench.log.minutes", {"text": piece.text[:60], "at": piece.at}))
    return int(digits)


def _named(thermometer: Instrument) -> str:
    within = kelvin_text(thermometer.kelvin) if thermometer.kelvin else ""
    return "   ".join(filter(None, (f"{thermometer.tag} {thermometer.name}", within)))
