"""A row to be: what an entry leaves in a table."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from msgspec import Struct

from inspection.sheet.events import Entry

Row = tuple[str, dict[str, Any]]
"""A row to be: the name of its table, and its columns."""


class Where(Struct, frozen=True):
    """Where an entry belongs: its place in the journal, itself, its stream, and the part of a sheet's stream."""

    sequence: int
    entry: Entry
    stream: str
    part: str = ""


RowsOf = Callable[[Any, Where], list[Row]]
"""The rows that follow from an event of one kind."""


def by(where: Where) -> dict[str, Any]:
    """Who made the entry, and when."""
    return {"by": where.entry.person, "at": where.entry.at}
