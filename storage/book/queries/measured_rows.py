"""Which characteristics of this part were ever read?"""

from __future__ import annotations

from sqlalchemy import Connection, select

from storage.book.tables import reading


def measured_rows(connection: Connection, part: str) -> frozenset[str]:
    """The identities of the part's characteristics that some sheet holds a reading of, withdrawn ones too."""
    query = select(reading.c.characteristic).where(reading.c.part == part).distinct()
    return frozenset(connection.execute(query).scalars())
