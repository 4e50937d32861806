"""Which nonconformances are there in the whole shop, and which of them still wait for a decision?"""

from __future__ import annotations

from msgspec import Struct
from sqlalchemy import ColumnElement, Connection, and_, or_, select

from storage.book.queries.found_sheets import holds
from storage.book.tables import nonconformance, piece, plan_issue, stage


class ListedNonconformance(Struct, frozen=True):
    """One nonconformance as it stands: its ``number``, the sheet with its part and the piece it is about, on how many
    ``rows``, what was found, by whom (identity) and when (UTC µs).

    ``disposition``, ``document`` (the customer's), ``decided_by`` and ``decided_at`` are empty (0) while it waits.
    ``sequence`` is the journal entry that raised it.
    """

    sequence: int
    nonconformance: str
    sheet: str
    part: str
    revision: str
    serial: str
    number: str
    rows: int
    what: str
    by: str
    at: int
    disposition: str = ""
    document: str = ""
    decided_by: str = ""
    decided_at: int = 0

    @property
    def waits(self) -> bool:
        """Whether nobody has decided what is done."""
        return not self.disposition


def nonconformances(
    connection: Connection, text: str = "", *, limit: int = 100, after: ListedNonconformance | None = None
) -> list[ListedNonconformance]:
    """Those that wait for a decision first, then the others, each the newest first; ``after`` is the last one that is
    known already. Each word of ``text`` is to stand somewhere in number, part, serial, what was found, disposition or
    document. One statement."""
    raised, decided = nonconformance.alias("raised"), nonconformance.alias("decided")
    waits = decided.c.sequence.is_(None)
    query = (
        select(
            raised.c.sequence,
            raised.c.nonconformance,
            raised.c.sheet,
            plan_issue.c.number.label("part"),
            plan_issue.c.revision,
            piece.c.serial,
            raised.c.number,
            raised.c.rows,
            raised.c.what,
            raised.c.by,
            raised.c.at,
            decided.c.disposition,
            decided.c.document,
            decided.c.by.label("decided_by"),
            decided.c.at.label("decided_at"),
        )
        .select_from(raised)
        .outerjoin(
            decided,
            and_(
                decided.c.sheet == raised.c.sheet,
                decided.c.nonconformance == raised.c.nonconformance,
                decided.c.change == "decided",
            ),
        )
        .join(piece, and_(piece.c.sheet == raised.c.sheet, piece.c.piece == raised.c.piece))
        .join(plan_issue, plan_issue.c.plan == _plan_now(raised.c.sheet))
        .where(raised.c.change == "raised")
        .order_by(waits.desc(), raised.c.sequence.desc())
        .limit(limit)
    )
    for word in text.split():
        searched = (raised.c.number, raised.c.what, plan_issue.c.number, piece.c.serial)
        also = (decided.c.disposition, decided.c.document)
        query = query.where(or_(*(holds(column, word) for column in (*searched, *also))))
    if after is not None:
        older = raised.c.sequence < after.sequence
        query = query.where(or_(~waits, older) if after.waits else and_(~waits, older))
    rows = connection.execute(query).mappings()
    return [ListedNonconformance(**{name: held for name, held in row.items() if held is not None}) for row in rows]


def _plan_now(name: ColumnElement[str]) -> ColumnElement[str]:
    """The plan that a sheet stands on now."""
    newest = select(stage.c.plan).where(stage.c.sheet == name).order_by(stage.c.sequence.desc()).limit(1)
    return newest.scalar_subquery()
