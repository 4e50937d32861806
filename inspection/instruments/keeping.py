"""Where an instrument stands on a day: whether it may be used, and how long its calibration still holds."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Container, Iterable
from datetime import date
from enum import StrEnum

from msgspec import Struct

from inspection.instruments.record import Instrument, Standing

#: From so many days before its due date on an instrument is told as due soon where the shop's rules are not at hand
#: (common practice: a month ahead).
SOON = 30


class Keeping(StrEnum):
    """What is to be said of an instrument first, the gravest coming first."""

    OUT_OF_SERVICE = "out of service"
    REFERENCE_ONLY = "reference only"
    CHANGED = "not as calibrated"
    OVERDUE = "overdue"
    USED_UP = "read as often as it may be"
    SOON = "due soon"
    GOOD = "good"
    NO_DUE = "needs no calibration"


def days_left(instrument: Instrument, day: str) -> int | None:
    """Days from ``day`` (ISO) to the last good day of its calibration, negative once that is past; None without one.

    >>> days_left(Instrument("", 0, "C-1", InstrumentKind.EYE, "", due="2026-03-02"), "2026-03-01")
    1
    """
    if not instrument.due:
        return None
    return (date.fromisoformat(instrument.due) - date.fromisoformat(day)).days


def months_later(day: str, months: int) -> str:
    """The same day of the month ``months`` later (ISO), the last one of a month that has no such day.

    >>> months_later("2026-08-31", 6)
    '2027-02-28'
    """
    begun = date.fromisoformat(day)
    year, month = divmod(begun.year * 12 + begun.month - 1 + months, 12)
    return date(year, month + 1, min(begun.day, monthrange(year, month + 1)[1])).isoformat()


#: States in which it is to be calibrated anew.
LAPSED = (Keeping.OVERDUE, Keeping.USED_UP)
#: States in which nobody can choose an instrument for acceptance.
BARRED = frozenset({Keeping.OUT_OF_SERVICE, Keeping.REFERENCE_ONLY, Keeping.CHANGED, *LAPSED})


def keeping_of(instrument: Instrument, day: str, ahead: int = SOON, *, used: bool = False) -> Keeping:
    """Where it stands on a day (ISO), told as due soon from ``ahead`` days before its due date on; ``used`` says that
    it was read as often as its interval allows."""
    if instrument.standing is Standing.OUT_OF_SERVICE:
        return Keeping.OUT_OF_SERVICE
    if instrument.standing is Standing.REFERENCE_ONLY:
        return Keeping.REFERENCE_ONLY
    if not instrument.as_calibrated:
        return Keeping.CHANGED
    left = days_left(instrument, day)
    if left is not None and left < 0:
        return Keeping.OVERDUE
    if used:
        return Keeping.USED_UP
    if left is None:
        return Keeping.NO_DUE
    return Keeping.SOON if left <= ahead else Keeping.GOOD


class Lapse(Struct, frozen=True):
    """How many instruments have ``lapsed``, by date or by use, and how many fall due ``soon``."""

    lapsed: int
    soon: int


def lapse(crib: Iterable[Instrument], day: str, ahead: int, used_up: Container[str] = ()) -> Lapse:
    """What of a crib is to be calibrated anew on a day (ISO), or within ``ahead`` days; ``used_up`` are those that were
    read as often as their interval allows."""
    found = [keeping_of(one, day, ahead, used=one.identity in used_up) for one in crib]
    return Lapse(sum(each in LAPSED for each in found), found.count(Keeping.SOON))
