"""Was this file made by the program, and of which sheet?"""

from __future__ import annotations

from msgspec import Struct
from sqlalchemy import Connection, Table, func, select

from storage.book.tables import reopening, seal, sent


class SentFile(Struct, frozen=True):
    """A file that was made of a sheet: the journal entry's place, format, name then, who made it and when (UTC µs)."""

    sequence: int
    sheet: str
    form: str
    name: str
    by: str
    at: int


def files_of_digest(connection: Connection, digest: str) -> list[SentFile]:
    """Every record of a file with this SHA-256 (hex), oldest first."""
    columns = [sent.c[name] for name in SentFile.__struct_fields__]
    query = select(*columns).where(sent.c.digest == digest).order_by(sent.c.sequence).limit(100)
    return [SentFile(**row) for row in connection.execute(query).mappings()]


def signed_after(connection: Connection, record: SentFile) -> int | None:
    """The round that was signed only after a file was made of its open sheet; None if the file was made of a sealed
    sheet, or nothing was signed since."""

    def last_before(table: Table) -> int:
        query = select(func.max(table.c.sequence)).where(
            table.c.sheet == record.sheet, table.c.sequence < record.sequence
        )
        return connection.execute(query).scalar() or 0

    if last_before(seal) > last_before(reopening):
        return None
    query = select(func.min(seal.c.round)).where(seal.c.sheet == record.sheet, seal.c.sequence > record.sequence)
    return connection.execute(query).scalar()
