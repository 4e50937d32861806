"""Engines on a book: what every connection is set to, read back each time, and how transactions begin."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.pool import StaticPool

from storage.book.header import connected

#: How long a connection waits for another's lock before it gives up, in milliseconds.
BUSY_WAIT = 1_000

#: Pragmas belong to the connection and are forgotten with it. (name, value set, value read back)
PRAGMAS: tuple[tuple[str, str, str | int], ...] = (
    ("busy_timeout", str(BUSY_WAIT), BUSY_WAIT),
    ("journal_mode", "DELETE", "delete"),
    ("synchronous", "EXTRA", 3),
    ("foreign_keys", "ON", 1),
    ("trusted_schema", "OFF", 0),
    ("cell_size_check", "ON", 1),
)


class Engines:
    """One connection to a book, with a reading and a writing way to begin a transaction on it.

    A connection is for one thread at a time. ``writable`` False opens the file so that nothing can be written.
    """

    def __init__(self, path: Path, *, writable: bool = True) -> None:
        self.path = path
        self._mode = "rw" if writable else "ro"
        self._key: tuple[int, int] | None = None
        self.reading = create_engine("sqlite://", creator=self._connect, poolclass=StaticPool)
        event.listen(self.reading, "begin", _begin)
        self.writing = self.reading.execution_options(begin="BEGIN IMMEDIATE")

    def _connect(self) -> sqlite3.Connection:
        status = self.path.stat()
        where = f"file:{quote(os.fsencode(self.path.resolve()))}?mode={self._mode}"
        connection = sqlite3.connect(where, uri=True, isolation_level=None, check_same_thread=False)
        self._remember((status.st_dev, status.st_ino))
        try:
            _set(connection)
        except BaseException:
            connection.close()
            self._forget()
            raise
        return connection

    def _remember(self, key: tuple[int, int]) -> None:
        self._key = key
        connected(key, 1)

    def _forget(self) -> None:
        if self._key is not None:
            connected(self._key, -1)
            self._key = None

    def close(self) -> None:
        """Close the connection; closing twice does nothing."""
        self.reading.dispose()
        self._forget()


def _set(connection: sqlite3.Connection) -> None:
    """Set every pragma and read it back, outside any transaction (inside one some are silently ignored)."""
    for name, value, expected in PRAGMAS:
        connection.execute(f"PRAGMA {name} = {value}").fetchall()
        (found,) = connection.execute(f"PRAGMA {name}").fetchone()
        if found != expected:
            raise RuntimeError(f"PRAGMA {name} is {found!r}, not {expected!r}")


def _begin(connection: Connection) -> None:
    # The driver is told to begin nothing by itself, so that a writer takes its lock before it reads.
    connection.exec_driver_sql(connection.get_execution_options().get("begin", "BEGIN"))


def driver_connection(engine: Engine) -> sqlite3.Connection:
    """The sqlite3 connection beneath, for what only the driver offers (backup)."""
    with engine.connect() as connection:
        found: Any = connection.connection.driver_connection
    if not isinstance(found, sqlite3.Connection):
        raise TypeError("a book is kept with sqlite3")
    return found


def driver_rows(connection: Connection, statement: str, parts: tuple[Any, ...]) -> Iterator[tuple[Any, ...]]:
    """The rows of a written statement one by one, as the driver makes them: where they come by the thousand, each is
    let go before the next is made."""
    cursor: Any = connection.exec_driver_sql(statement, parts).cursor
    return iter(cursor)


def exists_for_writing(path: Path) -> tuple[bool, bool]:
    """Whether the file, and the folder it needs for its journal, may be written."""
    return os.access(path, os.W_OK), os.access(path.parent, os.W_OK)
