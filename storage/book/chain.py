"""Checking the journal: every entry's bytes against their digest, the chain, and the columns beside the bytes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import msgspec
from msgspec import Struct
from sqlalchemy import select

from inspection.reasons import Reason
from inspection.sheet import events as ev
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.canonical.form_4 import Record
from inspection.sheet.canonical.forms import ENTRY_READERS
from storage.book.engines import Engines
from storage.book.journal import CHUNK, columns_of
from storage.book.tables import journal

Progress = Callable[[int, int], None]
"""Called with the entries done and the entries in all."""


class Chain(Struct):
    """What the journal came to: ``faults``, how many entries, how many of them up to the last signature, its streams
    in order of their first entry, and those in which some entry cannot be read."""

    faults: list[Reason]
    entries: int = 0
    signed: int = 0
    streams: dict[str, None] = {}
    unreadable: set[str] = set()


def check_chain(engines: Engines, progress: Progress | None = None) -> Chain:
    """Go through the whole journal in pieces, holding no cursor between them."""
    chain = Chain([])
    last, place = "", 0
    total = _entries(engines)
    for row in rows_in_order(engines):
        place += 1
        sequence = row["sequence"]
        if sequence != place:
            chain.faults.append(Reason("verify.entry_missing", {"entry": place}))
            place = sequence
        if row["previous"] != last:
            chain.faults.append(Reason("verify.chain_broken", {"entry": sequence}))
        last = row["digest"]
        chain.streams[row["stream"]] = None
        chain.faults += _check_entry(row, chain)
        chain.entries += 1
        if progress is not None and chain.entries % CHUNK == 0:
            progress(chain.entries, total)
    return chain


def rows_in_order(engines: Engines, stream: str = "") -> Iterator[dict[str, Any]]:
    """The journal's rows of one stream or of all, each piece in a transaction of its own."""
    after = 0
    query = select(journal).order_by(journal.c.sequence).limit(CHUNK)
    if stream:
        query = query.where(journal.c.stream == stream)
    while True:
        with engines.reading.begin() as connection:
            rows = connection.execute(query.where(journal.c.sequence > after)).mappings().all()
        yield from (dict(row) for row in rows)
        if len(rows) < CHUNK:
            return
        after = rows[-1]["sequence"]


def read_row(row: dict[str, Any]) -> Record | None:
    """The record in a journal row's bytes, None if they hold none."""
    reader = ENTRY_READERS.get(row["form"])
    try:
        return reader(row["content"]) if reader else None
    except (msgspec.DecodeError, UnicodeDecodeError):
        return None


def _check_entry(row: dict[str, Any], chain: Chain) -> list[Reason]:
    sequence = row["sequence"]
    record = read_row(row)
    if record is None:
        chain.unreadable.add(row["stream"])
        return [Reason("verify.entry_unreadable", {"entry": sequence})]
    if any(isinstance(event, ev.SheetSealed | ev.StatementSigned) for event in record.events):
        chain.signed = chain.entries + 1
    if digest(row["content"]) != row["digest"]:
        return [Reason("verify.entry_changed", {"entry": sequence})]
    expected = columns_of(record, sequence, row["content"])
    return [
        Reason("verify.column_changed", {"entry": sequence, "column": name, "stored": str(row[name])})
        for name in expected
        if row[name] != expected[name]
    ]


def _entries(engines: Engines) -> int:
    with engines.reading.begin() as connection:
        query = select(journal.c.sequence).order_by(journal.c.sequence.desc()).limit(1)
        return connection.execute(query).scalar() or 0
