"""The journal, the files kept with it, and how a table of the projection is made."""

from __future__ import annotations

from sqlalchemy import (
    Column,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    Text,
    UniqueConstraint,
)

metadata = MetaData()

journal = Table(
    "journal",
    metadata,
    Column("sequence", Integer, primary_key=True, autoincrement=False),
    Column("identity", Text, nullable=False, unique=True),
    Column("stream", Text, nullable=False),  # "shop", or the identity of a part or a sheet
    Column("act", Text, nullable=False),
    Column("person", Text, nullable=False),
    Column("at", Integer, nullable=False),
    Column("day", Text, nullable=False),
    Column("station", Text, nullable=False),
    Column("station_sequence", Integer, nullable=False),
    Column("previous", Text, nullable=False, unique=True),
    Column("digest", Text, nullable=False, unique=True),
    Column("form", Integer, nullable=False),
    Column("content", LargeBinary, nullable=False),
    UniqueConstraint("station", "station_sequence", "at"),
    Index("journal_by_stream", "stream", "sequence"),
    sqlite_strict=True,
)

#: Alembic's own note of the step a book stands at; ``user_version`` in the header says the same.
schema_step = Table(
    "schema_step",
    metadata,
    Column("version_num", String(32), nullable=False),
    PrimaryKeyConstraint("version_num", name="schema_step_pkc"),
)

#: Files kept with records, by digest. Not a projection: the journal names their digests, the bytes lie here alone.
attached_file = Table(
    "attached_file",
    metadata,
    Column("digest", Text, primary_key=True),
    Column("sequence", Integer, ForeignKey("journal.sequence"), nullable=False),
    Column("size", Integer, nullable=False),
    Column("content", LargeBinary, nullable=False),
    sqlite_strict=True,
)


def text_of(name: str) -> Column[str]:
    """A column of text that is never missing."""
    return Column(name, Text, nullable=False)


def number_of(name: str) -> Column[int]:
    """A column of whole numbers that are never missing."""
    return Column(name, Integer, nullable=False)


def maybe_number(name: str) -> Column[int]:
    """A column of whole numbers, or nothing."""
    return Column(name, Integer, nullable=True)


def projection(name: str, *parts: Column[str] | Column[int] | Index | UniqueConstraint) -> Table:
    """A table of what follows from journal entries, a row by the entry and its place among that entry's rows."""
    return Table(
        name,
        metadata,
        Column("sequence", Integer, ForeignKey("journal.sequence"), nullable=False),
        Column("place", Integer, nullable=False),
        *parts,
        PrimaryKeyConstraint("sequence", "place"),
        sqlite_with_rowid=False,
        sqlite_strict=True,
    )
