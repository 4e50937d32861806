"""What was sent of this sheet, and is the sheet still what was sent?"""

from __future__ import annotations

from typing import Any

from msgspec import Struct
from sqlalchemy import Connection, Select, select

from storage.book.tables import journal, reopening, seal, sent


class SentOfSheet(Struct, frozen=True):
    """A file that was made of a sheet: the journal entry's place, form, name then, SHA-256 in hex, who and when
    (UTC µs). ``since`` is what became of the sheet after it: "" (nothing), "changed", "signed" or "reopened"."""

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
    newest = {
        "reopened": _newest(connection, select(reopening.c.sequence).where(reopening.c.sheet == sheet)),
        "signed": _newest(connection, select(seal.c.sequence).where(seal.c.sheet == sheet)),
        "changed": _newest(
            connection,
            select(journal.c.sequence).where(
                journal.c.stream == sheet, journal.c.act.not_in(("RecordSent", "KeepDocument"))
            ),
        ),
    }
    return [SentOfSheet(**row, since=_since(row["sequence"], newest)) for row in rows]


def _newest(connection: Connection, query: Select[Any]) -> int:
    """The place of the last entry of a kind, 0 if there is none."""
    sequence = query.selected_columns[0]
    return int(connection.execute(query.order_by(sequence.desc()).limit(1)).scalar() or 0)


def _since(sequence: int, newest: dict[str, int]) -> str:
    return next((change for change, last in newest.items() if last > sequence), "")
