"""Which sheet was worked on last?"""

from __future__ import annotations

from sqlalchemy import Connection, select

from storage.book.tables import standing


def last_sheet(connection: Connection) -> str:
    """The identity of the sheet with the newest entry; empty if there is none."""
    query = select(standing.c.sheet).order_by(standing.c.sequence.desc()).limit(1)
    return connection.execute(query).scalar() or ""
