"""The crib as the list shows it: one line an instrument, its state on the day, and what a search finds it by."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from enum import Enum
from functools import lru_cache
from typing import NamedTuple

from app.parts.marks import Mark
from inspection.instruments.as_written import range_text, resolution_text
from inspection.instruments.keeping import LAPSED, SOON, Keeping, days_left, keeping_of
from inspection.instruments.method import Fitness
from inspection.instruments.record import Instrument
from inspection.words.say import word

#: The mark beside each state's words.
MARKS = {
    Keeping.OUT_OF_SERVICE: Mark.OUT,
    Keeping.REFERENCE_ONLY: Mark.NOT_JUDGED,
    Keeping.CHANGED: Mark.OUT,
    Keeping.OVERDUE: Mark.OUT,
    Keeping.USED_UP: Mark.OUT,
    Keeping.SOON: Mark.MARGINAL,
    Keeping.GOOD: Mark.CONFORMING,
    Keeping.NO_DUE: Mark.NOT_JUDGED,
}
FITNESS_MARKS = {Fitness.FIT: Mark.CONFORMING, Fitness.MARGINAL: Mark.MARGINAL}


class Only(Enum):
    """Which instruments the list is cut down to."""

    ALL = "all"
    SOON = "soon"
    OVERDUE = "overdue"
    OUT_OF_SERVICE = "out_of_service"
    LENT = "lent"


class Line(NamedTuple):
    """One instrument as listed; every field as shown. ``found_by`` is what a search looks through."""

    identity: str
    tag: str
    kind: str
    name: str
    range: str
    resolution: str
    due: str
    state: str
    place: str
    holder: str
    keeping: Keeping
    mark: Mark
    found_by: str

    @property
    def where(self) -> str:
        """Who has it, or where it lies."""
        return word("crib.with", holder=self.holder) if self.holder else self.place


def state_text(instrument: Instrument, day: str, ahead: int = SOON, *, used: bool = False) -> str:
    """Where it stands on a day, in words; ``used`` says that it was read as often as it may be."""
    left = days_left(instrument, day)
    return word(f"crib.state.{keeping_of(instrument, day, ahead, used=used).name.lower()}", n=abs(left or 0))


def line_of(instrument: Instrument, day: str, ahead: int = SOON, *, used: bool = False) -> Line:
    """One instrument as shown on a day (ISO). The days left are not searched, or every digit would find something."""
    keeping = keeping_of(instrument, day, ahead, used=used)
    texts = (
        instrument.tag,
        instrument.kind.value,
        instrument.name,
        range_text(instrument),
        resolution_text(instrument),
        instrument.due,
        state_text(instrument, day, ahead, used=used),
        instrument.place,
        instrument.holder,
    )
    without_days = (*texts[:6], keeping.value, *texts[7:])
    more = (instrument.standing, instrument.certificate, instrument.laboratory, instrument.thread, instrument.note)
    found_by = "\n".join((*without_days, *more)).casefold()
    return Line(instrument.identity, *texts, keeping, MARKS[keeping], found_by)


class Lines:
    """The lines of a crib; those of issues that were shown before are not made again."""

    def __init__(self) -> None:
        self._made: dict[str, tuple[Instrument, str, int, bool, Line]] = {}

    def of(
        self, crib: Mapping[str, Instrument], day: str, ahead: int = SOON, used_up: Container[str] = ()
    ) -> tuple[Line, ...]:
        """Every instrument by tag, told as due soon from ``ahead`` days before its due date on; ``used_up`` are those
        that were read as often as they may be."""
        lines = (self._line(one, day, ahead, one.identity in used_up) for one in crib.values())
        return tuple(sorted(lines, key=lambda line: _by_tag(line.tag)))

    def _line(self, instrument: Instrument, day: str, ahead: int, used: bool) -> Line:
        made = self._made.get(instrument.identity)
        if made is None or made[0] is not instrument or made[1:4] != (day, ahead, used):
            line = line_of(instrument, day, ahead, used=used)
            made = self._made[instrument.identity] = (instrument, day, ahead, used, line)
        return made[4]


@lru_cache(maxsize=8192)
def _by_tag(tag: str) -> tuple[tuple[int, int, str], ...]:
    """Tags in the order of their numbers: C-9 before C-10."""
    parts: list[str] = []
    for sign in tag.casefold():
        if parts and parts[-1].isdecimal() == sign.isdecimal():
            parts[-1] += sign
        else:
            parts.append(sign)
    return tuple((0, int(part), "") if part.isdecimal() else (1, 0, part) for part in parts)


def is_in(line: Line, only: Only) -> bool:
    """Whether a line belongs to what the list is cut down to."""
    if only is Only.LENT:
        return bool(line.holder)
    if only is Only.OVERDUE:
        return line.keeping in LAPSED
    return only is Only.ALL or line.keeping.name == only.name


def found(lines: Iterable[Line], text: str, only: Only = Only.ALL) -> tuple[Line, ...]:
    """The lines that hold every word of a text somewhere, and belong to ``only``."""
    wanted = text.casefold().split()
    return tuple(line for line in lines if is_in(line, only) and all(each in line.found_by for each in wanted))


def fitted(lines: Iterable[Line], found_fit: Mapping[str, Fitness]) -> tuple[Line, ...]:
    """The lines of instruments that fit a feature, the fit before the marginal ones, with that as their state."""
    told = [
        line._replace(state=word(f"crib.fits.{fitness}"), mark=FITNESS_MARKS[fitness])
        for line in lines
        if (fitness := found_fit.get(line.identity)) is not None
    ]
    return tuple(sorted(told, key=lambda line: line.mark is not Mark.CONFORMING))


def counts(lines: Iterable[Line]) -> dict[Only, int]:
    """How many instruments belong to each."""
    held = tuple(lines)
    return {only: sum(is_in(line, only) for line in held) for only in Only}
