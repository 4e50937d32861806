"""Which sheets are marked for review, and which of these marks wait for an answer?"""

from __future__ import annotations

from msgspec import Struct
from sqlalchemy import ColumnElement, Connection, exists, func, select

from storage.book.tables import piece, plan_issue, sheet_mark, stage


class OpenMark(Struct, frozen=True):
    """A mark that nobody has answered: on which ``sheet`` of which part (number and revision as its plan now says) with
    which pieces, because of which ``instrument`` (identity, issue) found out by which ``error`` (counts), how many
    ``readings`` it names, and whose ``words`` they are (UTC microseconds)."""

    sheet: str
    mark: str
    number: str
    revision: str
    serials: tuple[str, ...]
    instrument: str
    issue: int
    error: int
    readings: int
    words: str
    by: str
    at: int


def waits() -> ColumnElement[bool]:
    """Whether a row of ``sheet_mark`` is a mark that no later row answers."""
    later = sheet_mark.alias()
    answered = exists().where(
        later.c.sheet == sheet_mark.c.sheet, later.c.mark == sheet_mark.c.mark, later.c.change == "answered"
    )
    return (sheet_mark.c.change == "marked") & ~answered


def open_marks(connection: Connection, *, limit: int = 200) -> list[OpenMark]:
    """The marks that wait, the newest first. Two statements."""
    newest = (
        select(func.max(stage.c.sequence)).where(stage.c.sheet == sheet_mark.c.sheet).correlate(sheet_mark)
    ).scalar_subquery()
    query = (
        select(sheet_mark, plan_issue.c.number, plan_issue.c.revision)
        .join(stage, (stage.c.sheet == sheet_mark.c.sheet) & (stage.c.sequence == newest))
        .join(plan_issue, plan_issue.c.plan == stage.c.plan)
        .where(waits())
        .order_by(sheet_mark.c.sequence.desc())
        .limit(limit)
    )
    rows = connection.execute(query).mappings().all()
    named = select(piece.c.sheet, piece.c.serial).where(piece.c.sheet.in_({row["sheet"] for row in rows}))
    serials: dict[str, list[str]] = {}
    for name, serial in connection.execute(named.order_by(piece.c.sequence, piece.c.place)):
        serials.setdefault(name, []).append(serial)
    fields = [name for name in OpenMark.__struct_fields__ if name != "serials"]
    return [OpenMark(**{name: row[name] for name in fields}, serials=tuple(serials[row["sheet"]])) for row in rows]
