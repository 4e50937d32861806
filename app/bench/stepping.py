"""Stepping pins up in the bore at hand: E and N say of each whether it enters; Enter keeps the two that size it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from app.bench.seen import Seen
from app.bench.under_way import At
from inspection.instruments.record import Instrument
from inspection.instruments.stepping import Tried, marked
from inspection.measuring.reading import Reading
from inspection.reasons import Reason, Refused
from inspection.sheet.trying import BY_PINS, Kept, Trial, likely_bore, to_keep, told_of_sized, trial_of, tries_of
from inspection.words.say import say, word

Sized = tuple[str, str, str, str]
"""A bore and the set that is tried in it: row, piece, place, instrument."""


class Shown(NamedTuple):
    """What the card shows of the bore at hand: what to do next on one line, what is known so far as a sentence, and the
    look of that."""

    line: str = ""
    sentence: str = ""
    look: str = ""


class Stepping:
    """The pins that were tried and are not yet kept as readings, by bore and set; they last as long as the window."""

    def __init__(self, on_the_way: Callable[[], Iterable[Reading | None]]) -> None:
        self._on_the_way = on_the_way  # readings handed over and not yet on disk
        self._tried: dict[Sized, list[Tried]] = {}

    def trial(self, seen: Seen | None, at: At) -> Trial | None:
        """Where the bore at hand stands; None where nothing waits that pins answer."""
        instrument = _instrument(seen, at)
        if seen is None or instrument is None or at.slot is None:
            return None
        tried = (*tries_of(self._readings(seen, at), at.slot.place), *self._tried.get(_bore(at, instrument), ()))
        likely = likely_bore(seen.sheet, at.cell, at.slot.place, instrument)
        return trial_of(instrument, likely, tried)

    def _readings(self, seen: Seen, at: At) -> tuple[Reading, ...]:
        """The readings of the cell that count, with those on their way."""
        kept = (each for each in seen.sheet.counting(*at.cell) if not each.indication)
        way = (each for each in self._on_the_way() if each is not None and _cell(each) == at.cell)
        return (*kept, *way)

    def shown(self, seen: Seen | None, at: At) -> Shown:
        """What the card shows of it. Pins are told as they are marked, whatever lengths are shown in."""
        trial, instrument = self.trial(seen, at), _instrument(seen, at)
        if trial is None or instrument is None:
            return Shown()
        said = " ".join(map(say, trial.reasons))
        if trial.pin is not None:
            return Shown(said)
        try:
            keeps = ", ".join(_as(each) for each in self.keeps(seen, at))
        except Refused as refused:
            return Shown("", " ".join((said, *map(say, refused.reasons))), "doubt")
        line = word("stepping.enter_keeps", pins=keeps) if keeps else ""
        return Shown(line, said, "doubt" if trial.at_fault or not keeps else "")

    def try_it(self, seen: Seen | None, at: At, *, entered: bool) -> str:
        """The pin to be tried next enters or does not; what was done in words, "" where no pin is asked for."""
        trial, instrument = self.trial(seen, at), _instrument(seen, at)
        if trial is None or instrument is None or trial.pin is None:
            return ""
        size = trial.pin.size
        self._tried.setdefault(_bore(at, instrument), []).append(Tried(size, entered))
        pin = marked(instrument, size)
        return say(Reason("stepping.entered" if entered else "stepping.stopped", {"pin": pin}))

    def take_back(self, seen: Seen | None, at: At) -> str:
        """Take back what was said of the last pin; what was done in words, "" where there is none."""
        instrument = _instrument(seen, at)
        tried = self._tried.get(_bore(at, instrument), []) if instrument is not None else []
        if instrument is None or not tried:
            return ""
        return say(Reason("stepping.taken_back", {"pin": marked(instrument, tried.pop().size)}))

    def keeps(self, seen: Seen | None, at: At) -> tuple[Kept, ...]:
        """The readings that Enter on the empty field keeps. Raises Refused where one is kept already and differs."""
        trial, instrument = self.trial(seen, at), _instrument(seen, at)
        if seen is None or trial is None or instrument is None or at.slot is None:
            return ()
        readings = self._readings(seen, at)
        taken = {each.slot for each in readings}
        waiting = (slot for slot in seen.waiting(at.cell) if slot not in taken)
        return to_keep(trial, instrument, at.slot.place, readings, waiting)

    def forget(self, seen: Seen, at: At) -> None:
        """What was tried in this bore is kept as readings now."""
        if (instrument := _instrument(seen, at)) is not None:
            self._tried.pop(_bore(at, instrument), None)

    def told(self, seen: Seen, at: At) -> str:
        """What a bore's readings tell of it once both are on disk, as a sentence; else ""."""
        instrument = _instrument(seen, at)
        if instrument is None or at.slot is None:
            return ""
        return " ".join(map(say, told_of_sized(instrument, seen.sheet.counting(*at.cell), at.slot.place)))


def _instrument(seen: Seen | None, at: At) -> Instrument | None:
    """The set of pins of the row at hand, None where the place asks for no pin."""
    if seen is None or seen.sheet.sealed or at.corrects or at.slot is None or at.slot.role not in BY_PINS:
        return None
    return seen.instrument(at.row)


def _bore(at: At, instrument: Instrument) -> Sized:
    assert at.slot is not None
    return at.row, at.piece, at.slot.place, instrument.identity


def _cell(reading: Reading) -> tuple[str, str]:
    return reading.characteristic, reading.piece


def _as(kept: Kept) -> str:
    return word(f"stepping.as.{kept.slot.role.name.lower()}", pin=kept.text)
