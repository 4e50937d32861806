"""A first look at a book: its shop and one sheet, read by the driver alone.

It gives a window its rows while the database layer is still to be imported. Whatever is not plainly in order gives no
look at all, and is told by the opening that follows; nothing is written, and no lock is waited for.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing
from pathlib import Path
from urllib.parse import quote

from msgspec import Struct

from inspection.drawing.plan import Plan
from inspection.measuring.proofs import NEWEST
from inspection.sheet import events as ev
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.canonical.form_4 import Record
from inspection.sheet.canonical.forms import ENTRY_READERS
from inspection.sheet.evolve import Step, fold_sheet, fold_shop
from inspection.sheet.state import Sheet, Shop
from storage.book.collecting import no_collecting
from storage.book.header import APPLICATION_ID, SCHEMA, connected, leftover_journal, open_in_this_process, read_header

SHOP = "shop"
#: The stream of checks before use, what happened to instruments, and studies: only the newest of it is held.
CHECKS = "checks"

#: The entries of that stream that ``inspection.measuring.proofs.kept`` may keep: the newest, the last good check of
#: each instrument as fitted, and every study and its withdrawal.
PROOFS = f"""
    SELECT sequence, digest, form, content FROM journal WHERE sequence IN (
        SELECT sequence FROM (
            SELECT sequence FROM journal WHERE stream = '{CHECKS}' ORDER BY sequence DESC LIMIT {NEWEST}
        )
        UNION SELECT max(sequence) FROM check_made WHERE passed = 1 GROUP BY instrument, fitted
        UNION SELECT sequence FROM study
        UNION SELECT sequence FROM study_withdrawal
    ) ORDER BY sequence
"""


class Glance(Struct, frozen=True):
    """A book up to and including entry ``sequence``, whose digest heads the chain, as far as it was looked at."""

    sequence: int
    digest: str
    shop: Shop
    plans: dict[str, Plan]
    sheet: Sheet


class _NoLook(Exception):
    """Something is not plainly in order."""


def glance(path: Path, sheet: str) -> Glance | None:
    """The shop and the sheet of this identity, or None."""
    try:
        _check(path)
        status = path.stat()
        key = status.st_dev, status.st_ino
        where = f"file:{quote(os.fsencode(path.resolve()))}?mode=ro"
        with closing(sqlite3.connect(where, uri=True, isolation_level=None, timeout=0)) as connection, no_collecting():
            connected(key, 1)
            try:
                return _look(connection, sheet)
            finally:
                connected(key, -1)
    except (OSError, sqlite3.Error, ValueError, LookupError, _NoLook):
        return None


def _check(path: Path) -> None:
    if open_in_this_process(path):
        raise _NoLook
    header = read_header(path)
    ours = header.magic and header.application == APPLICATION_ID and header.version == SCHEMA
    if not ours or header.size < header.size_expected or leftover_journal(path):
        raise _NoLook


def _look(connection: sqlite3.Connection, sheet: str) -> Glance:
    connection.execute("BEGIN")
    last = connection.execute("SELECT sequence, digest FROM journal ORDER BY sequence DESC LIMIT 1").fetchone()
    part = connection.execute("SELECT part FROM sheet WHERE sheet = ?", (sheet,)).fetchone()
    if last is None or part is None:
        raise _NoLook
    plans = {
        event.plan.identity: event.plan
        for record in _entries(connection, part[0])
        for event in record.events
        if isinstance(event, ev.PlanIssued)
    }
    shop = fold_shop(Shop(), (*_steps(connection, SHOP), *_proofs(connection)))
    return Glance(last[0], last[1], shop, plans, fold_sheet(None, _steps(connection, sheet), plans))


def _steps(connection: sqlite3.Connection, stream: str) -> Iterator[Step]:
    return ((event, record.entry) for record in _entries(connection, stream) for event in record.events)


def _proofs(connection: sqlite3.Connection) -> Iterator[Step]:
    return ((event, record.entry) for record in _read(connection.execute(PROOFS)) for event in record.events)


def _entries(connection: sqlite3.Connection, stream: str) -> Iterator[Record]:
    query = "SELECT sequence, digest, form, content FROM journal WHERE stream = ? ORDER BY sequence"
    return _read(connection.execute(query, (stream,)))


def _read(rows: Iterable[tuple[int, str, int, bytes]]) -> Iterator[Record]:
    for _, kept, form, content in rows:
        if form not in ENTRY_READERS or digest(content) != kept:
            raise _NoLook
        yield ENTRY_READERS[form](content)
