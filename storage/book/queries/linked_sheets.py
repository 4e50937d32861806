"""Which sheets does this one complete or amend, and which complete or amend it?"""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct
from sqlalchemy import Connection, select, text

from inspection.sheet.missing_linked import Completion
from inspection.sheet.review import FIRST_ARTICLE, StatementKind
from storage.book.tables import piece, sheet_link, statement

_COMPLETING = text(
    """WITH RECURSIVE after (sheet, sequence) AS (
        SELECT sheet, sequence FROM sheet_link WHERE other = :sheet AND how = 'completes'
        UNION SELECT link.sheet, link.sequence FROM sheet_link AS link JOIN after ON link.other = after.sheet
        WHERE link.how = 'completes')
    SELECT sheet FROM after ORDER BY sequence"""
)


class LinkedSheet(Struct, frozen=True):
    """A sheet (identity) with the serials of its pieces that is linked to another one: ``how`` is "completes" (a
    partial first article) or "amends"; ``follows`` says that it is the later of the two, ``complete`` that the first
    article was stated complete on it."""

    sheet: str
    serials: tuple[str, ...]
    how: str
    follows: bool
    complete: bool


def linked_sheets(connection: Connection, sheet: str, *, completes: str = "", amends: str = "") -> list[LinkedSheet]:
    """The sheets linked to the one of this identity: those that it ``completes`` or ``amends`` itself, "" for none, and
    then those that follow it, in the order in which they were made. Three statements, by indexes."""
    named = [(name, how, False) for how, name in (("completes", completes), ("amends", amends)) if name]
    after = select(sheet_link.c.sheet, sheet_link.c.how).where(sheet_link.c.other == sheet)
    rows = connection.execute(after.order_by(sheet_link.c.sequence)).all()
    links = [*named, *((row.sheet, row.how, True) for row in rows)]
    names = [name for name, _how, _follows in links]
    serials, complete = _serials(connection, names), _complete(connection, names)
    return [LinkedSheet(name, tuple(serials[name]), how, follows, name in complete) for name, how, follows in links]


def completions(connection: Connection, sheet: str) -> list[Completion]:
    """The partial first articles that complete the sheet of this identity, and those that complete such a one in turn,
    in the order in which they were made."""
    names = list(connection.execute(_COMPLETING, {"sheet": sheet}).scalars())
    serials, complete = _serials(connection, names), _complete(connection, names)
    return [Completion(tuple(serials[name]), name in complete) for name in names]


def _serials(connection: Connection, sheets: Iterable[str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {name: [] for name in sheets}
    query = select(piece.c.sheet, piece.c.serial).where(piece.c.sheet.in_(found))
    for name, serial in connection.execute(query.order_by(piece.c.sequence, piece.c.place)):
        found[name].append(serial)
    return found


def _complete(connection: Connection, sheets: Iterable[str]) -> set[str]:
    query = select(statement.c.sheet, statement.c.kind).where(
        statement.c.sheet.in_(list(sheets)), statement.c.kind.in_([kind.value for kind in FIRST_ARTICLE])
    )
    last = {row.sheet: row.kind for row in connection.execute(query.order_by(statement.c.sequence))}
    return {name for name, kind in last.items() if kind == StatementKind.COMPLETE.value}
