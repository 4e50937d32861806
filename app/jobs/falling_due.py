"""What falls due: instruments to be calibrated anew soon, by their date or by how often they were read."""

from __future__ import annotations

from datetime import datetime

from msgspec import Struct

from app.jobs.local_time import LocalZone
from inspection.instruments.intervals import used_up
from inspection.instruments.keeping import Keeping, days_left, keeping_of
from inspection.instruments.record import Instrument, Standing
from storage.book.door import Book
from storage.book.queries.readings_since import readings_since


class Due(Struct, frozen=True):
    """An instrument that falls due: where it stands, how many days are left (None without a due date), how often it was
    read since its certificate (None where its interval says nothing of that), and whether that is as often as it may
    be."""

    instrument: Instrument
    keeping: Keeping
    left: int | None
    readings: int | None
    is_used_up: bool


def read_since_certified(book: Book, one: Instrument) -> int | None:
    """How often an instrument was read since the day of its certificate; None where its interval says nothing of it."""
    if not one.every_readings or not one.certified:
        return None
    began = datetime.fromisoformat(one.certified).replace(tzinfo=LocalZone())
    return book.ask(readings_since, one.identity, int(began.timestamp()) * 1_000_000)


def falling_due(book: Book, day: str, ahead: int) -> list[Due]:
    """The instruments in service that are overdue on a ``day`` (ISO), fall due within ``ahead`` days, or were read as
    often as their interval allows; those that are due longest first. Raises BookFailure."""
    found = []
    for one in book.shop().crib.values():
        if one.standing is not Standing.IN_SERVICE:
            continue
        keeping, readings = keeping_of(one, day, ahead), read_since_certified(book, one)
        used = readings is not None and used_up(one, readings) is not None
        if used or keeping in (Keeping.OVERDUE, Keeping.SOON):
            found.append(Due(one, keeping, days_left(one, day), readings, used))
    return sorted(found, key=lambda each: (each.left is None, each.left or 0, each.instrument.tag))
