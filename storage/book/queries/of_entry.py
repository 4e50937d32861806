"""Which sheet is an entry of the journal about, and what is it called?"""

from __future__ import annotations

from msgspec import Struct
from sqlalchemy import Connection, text

_NAMED = text(
    """SELECT sheet.sheet, issue.number, issue.revision,
    (SELECT group_concat(serial, ', ') FROM (SELECT serial FROM piece WHERE piece.sheet = sheet.sheet
        ORDER BY piece.sequence, piece.place)) AS serials
    FROM sheet JOIN plan_issue AS issue ON issue.plan = sheet.plan WHERE sheet.sheet = :sheet"""
)
_STREAM = text("SELECT stream FROM journal WHERE sequence = :entry")


class Named(Struct, frozen=True):
    """A sheet by its identity, with the part number and revision it was made on and its serials."""

    sheet: str
    number: str
    revision: str
    serials: str


def sheet_named(connection: Connection, sheet: str) -> Named | None:
    """The sheet of this identity; None where the book has none."""
    row = connection.execute(_NAMED, {"sheet": sheet}).mappings().one_or_none()
    return Named(row["sheet"], row["number"], row["revision"], row["serials"] or "") if row is not None else None


def sheet_of_entry(connection: Connection, entry: int) -> Named | None:
    """The sheet that the entry at this place is about; None for one that is about none, or is not there."""
    stream = connection.execute(_STREAM, {"entry": entry}).scalar()
    return sheet_named(connection, stream) if stream else None
