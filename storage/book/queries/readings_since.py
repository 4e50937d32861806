"""How often was an instrument read since a moment?"""

from __future__ import annotations

from sqlalchemy import Connection, func, select

from storage.book.tables import reading_instrument


def readings_since(connection: Connection, instrument: str, since: int) -> int:
    """The readings taken with an instrument after ``since`` (UTC microseconds), whatever became of them: one statement
    on an index."""
    query = select(func.count()).where(
        reading_instrument.c.instrument == instrument, reading_instrument.c.taken > since
    )
    return connection.execute(query).scalar_one()
