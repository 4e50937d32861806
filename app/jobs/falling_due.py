"""What falls due: instruments to be calibrated anew soon, by their date or by how often they were read."""

from __future__ import annotations

from msgspec import Struct

from inspection.instruments.intervals import used_up
from inspection.instruments.keeping import Keeping, days_left, keeping_of, lapse
from inspection.instruments.record import Instrument, Standing
from inspection.reasons import Reason
from inspection.sheet.state import Shop
from storage.book.counted_use import readings_since_certified
from storage.book.door import Book


class Due(Struct, frozen=True):
    """An instrument that falls due: where it stands, how many days are left (None without a due date), how often it was
    read since its certificate (None where its interval says nothing of that), and whether that is as often as it may
    be."""

    instrument: Instrument
    keeping: Keeping
    left: int | None
    readings: int | None
    is_used_up: bool


def reminder(shop: Shop, day: str) -> tuple[Reason, ...]:
    """What is said when a book is opened on a ``day`` (ISO): how many instruments are overdue, by date or by use, and
    how many fall due within the days of the shop's rules; nothing where none."""
    ahead = shop.rules.remind_days
    found = lapse(shop.crib.values(), day, ahead, shop.used_up)
    lapsed = Reason("due.remind.lapsed", {"n": found.lapsed})
    soon = Reason("due.remind.soon", {"n": found.soon, "days": ahead})
    return (lapsed,) * bool(found.lapsed) + (soon,) * bool(found.soon)


def falling_due(book: Book, day: str, ahead: int) -> list[Due]:
    """The instruments in service that are overdue on a ``day`` (ISO), fall due within ``ahead`` days, or were read as
    often as their interval allows; those that are due longest first. Raises BookFailure."""
    found = []
    for one in book.shop().crib.values():
        if one.standing is not Standing.IN_SERVICE:
            continue
        readings = book.ask(readings_since_certified, one) if one.every_readings else None
        used = readings is not None and used_up(one, readings) is not None
        keeping = keeping_of(one, day, ahead, used=used)
        if keeping in (Keeping.OVERDUE, Keeping.USED_UP, Keeping.SOON):
            found.append(Due(one, keeping, days_left(one, day), readings, used))
    return sorted(found, key=lambda each: (each.left is None, each.left or 0, each.instrument.tag))
