"""A book read from its first entry to its last: the journal in pieces, each with the rows that follow from it.

By the driver alone and one statement a table and piece, each piece in a transaction of its own, so that no cursor stays
open and nobody waits.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, NamedTuple

from storage.book.journal import CHUNK
from storage.book.tables import PROJECTION, journal

Line = tuple[Any, ...]
"""A row of the journal, in the order of its columns."""
JOURNAL_COLUMNS = tuple(column.name for column in journal.columns)
_LINES = f"SELECT {', '.join(JOURNAL_COLUMNS)} FROM journal"
_PIECE = f"{_LINES} WHERE sequence > ? AND sequence <= ? ORDER BY sequence LIMIT {CHUNK}"
_PIECE_OF_STREAM = f"{_LINES} WHERE stream = ? AND sequence > ? AND sequence < ? ORDER BY sequence LIMIT {CHUNK}"
COLUMNS = {name: tuple(column.name for column in table.columns) for name, table in PROJECTION.items()}
_ROWS = {
    name: f"""SELECT {", ".join(f'"{column}"' for column in columns)} FROM "{name}"
    WHERE sequence BETWEEN ? AND ? ORDER BY sequence, place"""
    for name, columns in COLUMNS.items()
}


class Passage(NamedTuple):
    """Some entries of the journal in order, and the rows of every table that name them, in order too."""

    lines: list[Line]
    rows: dict[str, list[tuple[Any, ...]]]


def last_entry(connection: sqlite3.Connection) -> int:
    """The sequence of the newest entry, 0 if there is none."""
    with _transaction(connection):
        found = connection.execute("SELECT max(sequence) FROM journal").fetchone()[0]
    return found or 0


def digest_at(connection: sqlite3.Connection, sequence: int) -> str:
    """The digest noted at an entry, empty where there is none."""
    with _transaction(connection):
        found = connection.execute("SELECT digest FROM journal WHERE sequence = ?", (sequence,)).fetchone()
    return str(found[0]) if found else ""


def passages(connection: sqlite3.Connection, after: int, last: int) -> Iterator[Passage]:
    """The book after one entry (0: from the first) and up to another; what comes in meanwhile lies behind that."""
    with _transaction(connection):
        used = [name for name in PROJECTION if connection.execute(f'SELECT 1 FROM "{name}" LIMIT 1').fetchone()]
    after = after or -(2**63)
    while True:
        with _transaction(connection):
            lines = connection.execute(_PIECE, (after, last)).fetchall()
            if not lines:
                return
            ends = lines[0][0], lines[-1][0]
            rows = {name: connection.execute(_ROWS[name], ends).fetchall() for name in used}
        yield Passage(lines, rows)
        after = ends[1]


def lines_before(connection: sqlite3.Connection, stream: str, sequence: int) -> Iterator[Line]:
    """A stream's entries before this sequence."""
    after = -(2**63)
    while True:
        with _transaction(connection):
            lines = connection.execute(_PIECE_OF_STREAM, (stream, after, sequence)).fetchall()
        yield from lines
        if len(lines) < CHUNK:
            return
        after = lines[-1][0]


@contextmanager
def _transaction(connection: sqlite3.Connection) -> Iterator[None]:
    connection.execute("BEGIN")
    try:
        yield
    finally:
        connection.execute("ROLLBACK")
