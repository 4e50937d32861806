"""Reading and writing journal entries: the bytes as they were kept, checked against their digest."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from msgspec import Struct
from sqlalchemy import Connection, bindparam, func, insert, select

from inspection.sheet.canonical.canonical import digest
from inspection.sheet.canonical.form_4 import Record
from inspection.sheet.canonical.forms import ENTRY_READERS
from storage.book.failures import failure
from storage.book.glance import PROOFS
from storage.book.tables import journal

#: Entries read at a time, so that no cursor stays open.
CHUNK = 500


class Kept(Struct, frozen=True):
    """One journal entry as it lies in the book: its place, the digest of its bytes, and the bytes read."""

    sequence: int
    digest: str
    record: Record


class Head(Struct, frozen=True):
    """The end of the chain (sequence 0 and an empty digest for an empty book), and the last of a station's own."""

    sequence: int
    digest: str
    station_sequence: int


_HEAD = select(
    select(journal.c.sequence).order_by(journal.c.sequence.desc()).limit(1).scalar_subquery(),
    select(journal.c.digest).order_by(journal.c.sequence.desc()).limit(1).scalar_subquery(),
    select(func.max(journal.c.station_sequence)).where(journal.c.station == bindparam("station")).scalar_subquery(),
)
_COLUMNS = (journal.c.sequence, journal.c.digest, journal.c.form, journal.c.content)
_AFTER = select(*_COLUMNS).where(journal.c.sequence > bindparam("after")).order_by(journal.c.sequence).limit(CHUNK)
_OF_STREAM = (
    select(*_COLUMNS)
    .where(journal.c.stream == bindparam("stream"), journal.c.sequence > bindparam("after"))
    .order_by(journal.c.sequence)
    .limit(CHUNK)
)


def head(connection: Connection, station: str) -> Head:
    """The end of the chain."""
    sequence, last, own = connection.execute(_HEAD, {"station": station}).one()
    return Head(sequence or 0, last or "", own or 0)


def entries_after(connection: Connection, path: Path, after: int) -> Iterator[Kept]:
    """Every entry after this sequence, in order. Raises BookFailure at one whose bytes are not what was kept."""
    yield from _chunks(connection, path, _AFTER, {"after": after})


def entries_of(connection: Connection, path: Path, stream: str) -> Iterator[Kept]:
    """Every entry of a stream, in order; raises as ``entries_after``."""
    yield from _chunks(connection, path, _OF_STREAM, {"stream": stream, "after": 0})


def proofs(connection: Connection, path: Path) -> Iterator[Kept]:
    """The entries of checks and studies that are held in memory, in order; raises as ``entries_after``."""
    for row in connection.exec_driver_sql(PROOFS).all():
        yield _kept(path, *row)


def _chunks(connection: Connection, path: Path, query: Any, bound: dict[str, Any]) -> Iterator[Kept]:
    while rows := connection.execute(query, bound).all():
        for row in rows:
            yield _kept(path, *row)
        if len(rows) < CHUNK:
            return
        bound = {**bound, "after": rows[-1][0]}


def _kept(path: Path, sequence: int, kept_digest: str, form: int, content: bytes) -> Kept:
    if digest(content) != kept_digest or form not in ENTRY_READERS:
        raise failure("book.entry_damaged", path, entry=sequence)
    return Kept(sequence, kept_digest, ENTRY_READERS[form](content))


def columns_of(record: Record, sequence: int, content: bytes) -> dict[str, Any]:
    """The journal row of a record whose canonical bytes are ``content``."""
    entry = record.entry
    return {
        "sequence": sequence,
        "identity": entry.identity,
        "stream": record.stream,
        "act": type(record.act).__name__,
        "person": entry.person,
        "at": entry.at,
        "day": entry.day,
        "station": entry.station,
        "station_sequence": record.sequence,
        "previous": entry.previous,
        "digest": digest(content),
        "form": record.form,
        "content": content,
    }


def append(connection: Connection, rows: list[dict[str, Any]]) -> None:
    """Write journal rows."""
    connection.execute(insert(journal), rows)
