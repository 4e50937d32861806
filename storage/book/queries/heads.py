"""Entries of the chain by their place: what a head that was carried outside is held against."""

from __future__ import annotations

from sqlalchemy import Connection, Select, select

from inspection.sheet.chain_head import ChainHead
from storage.book.tables import journal

_ENTRIES = select(journal.c.sequence, journal.c.digest).order_by(journal.c.sequence.desc()).limit(1)


def head_now(connection: Connection) -> ChainHead:
    """The end of the chain; position 0 of an empty book."""
    return _last(connection, _ENTRIES)


def head_to_carry(connection: Connection) -> ChainHead:
    """The head that a file carries: the last entry but those that only say which files went out, so that a file made
    again, with nothing done meanwhile, is the same file."""
    return _last(connection, _ENTRIES.where(journal.c.act != "RecordSent"))


def _last(connection: Connection, query: Select[int, str]) -> ChainHead:
    row = connection.execute(query).one_or_none()
    return ChainHead(row[0], row[1]) if row is not None else ChainHead(0, "")


def digest_at(connection: Connection, position: int) -> str:
    """The digest of the entry at a place; empty where there is none."""
    query = select(journal.c.digest).where(journal.c.sequence == position)
    return connection.execute(query).scalar() or ""


def holds(connection: Connection, head: ChainHead) -> bool:
    """Whether the chain still contains this head."""
    return head.is_at(digest_at(connection, head.position))
