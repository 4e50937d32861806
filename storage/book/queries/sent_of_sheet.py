"""What was sent of this sheet, and is the sheet still what was sent?"""

from __future__ import annotations

from typing import Any

from msgspec import Struct
from sqlalchemy import Connection, select

from storage.book.tables import journal, reopening, sent


class SentOfSheet(Struct, frozen=True):
    """A file that was made of a sheet: the journal entry's place, form, name then, SHA-256 in hex, who and when
    (UTC µs). ``since`` is what became of the sheet after it: "" (nothing), "changed" or "reopened"."""

    sequence: int
    form: str
    name: str
    digest: str
    by: str
    at: int
    since: str = ""


def sent_of_sheet(connection: Connection, sheet: str, *, limit: int = 200, skip: int = 0) -> list[SentOfSheet]:
    """Files made of the sheet of this identity, the newest first."""
    names = [name for name in SentOfSheet.__struct_fields__ if name != "since"]
    query = select(*(sent.c[name] for name in names)).where(sent.c.sheet == sheet)
    rows = connection.execute(query.order_by(sent.c.sequence.desc()).limit(limit).offset(skip)).mappings().all()
    changed = _newest(
        connection,
        select(journal.c.sequence)
        .where(journal.c.stream == sheet, journal.c.act != "RecordSent")
        .order_by(journal.c.sequence.desc()),
    )
    reopened = _newest(
        connection,
        select(reopening.c.sequence).where(reopening.c.sheet == sheet).order_by(reopening.c.sequence.desc()),
    )
    return [SentOfSheet(**row, since=_since(row["sequence"], changed, reopened)) for row in rows]


def _newest(connection: Connection, query: Any) -> int:
    return connection.execute(query.limit(1)).scalar() or 0


def _since(sequence: int, changed: int, reopened: int) -> str:
    if reopened > sequence:
        return "reopened"
    return "changed" if changed > sequence else ""
