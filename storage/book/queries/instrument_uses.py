"""Who used an instrument since a moment, on whatever sheet; and the sheets that were read with it in a time."""

from __future__ import annotations

from sqlalchemy import Connection, select

from inspection.measuring.checks import Configuration
from inspection.measuring.checks_life import Used
from storage.book.tables import journal, reading_instrument


def uses_by_others(connection: Connection, instrument: str, since: int, person: str) -> tuple[Used, ...]:
    """The first use of an instrument by somebody else since a moment (UTC microseconds), on any sheet: it ended the
    check that was made before. How the instrument was set up for it is left out, for the hand alone decides."""
    query = (
        select(reading_instrument.c.reading, reading_instrument.c.issue, journal.c.person, reading_instrument.c.taken)
        .join(journal, journal.c.sequence == reading_instrument.c.sequence)
        .where(reading_instrument.c.instrument == instrument, reading_instrument.c.taken > since)
        .where(journal.c.person != person)
        .order_by(reading_instrument.c.taken)
        .limit(1)
    )
    return tuple(
        Used(reading, instrument, issue, Configuration(""), by, taken)
        for reading, issue, by, taken in connection.execute(query)
    )


def sheets_read_with(connection: Connection, instrument: str, since: int, until: int) -> tuple[str, ...]:
    """The sheets that hold readings with an instrument taken after ``since`` and up to ``until``, oldest first."""
    query = (
        select(reading_instrument.c.sheet)
        .where(reading_instrument.c.instrument == instrument)
        .where(reading_instrument.c.taken > since, reading_instrument.c.taken <= until)
        .order_by(reading_instrument.c.taken)
    )
    return tuple(dict.fromkeys(connection.execute(query).scalars()))
