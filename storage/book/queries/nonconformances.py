"""Which nonconformances are there in the whole shop, and which of them still wait for a decision?"""

from __future__ import annotations

from typing import Any

from msgspec import Struct
from sqlalchemy import ColumnElement, Connection, FromClause, ScalarSelect, Select, and_, or_, select

from storage.book.queries.conditions import patterns
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
    document. One statement; it goes through the nonconformances, and no more of them than a page are looked up."""
    page = _page(text, limit, after).subquery()
    query = (
        select(page, plan_issue.c.number.label("part"), plan_issue.c.revision, piece.c.serial)
        .join(piece, and_(piece.c.sheet == page.c.sheet, piece.c.piece == page.c.piece))
        .join(plan_issue, plan_issue.c.plan == _plan_now(page.c.sheet))
        .order_by(page.c.disposition.is_(None).desc(), page.c.sequence.desc())
    )
    names = frozenset(ListedNonconformance.__struct_fields__)
    rows = connection.execute(query).mappings()
    told = ({name: held for name, held in row.items() if name in names and held is not None} for row in rows)
    return [ListedNonconformance(**each) for each in told]


def _page(text: str, limit: int, after: ListedNonconformance | None) -> Select[Any]:
    """The nonconformances of a page as they stand."""
    raised, decided = nonconformance.alias("raised"), nonconformance.alias("decided")
    waits = decided.c.sequence.is_(None)
    same = and_(decided.c.sheet == raised.c.sheet, decided.c.nonconformance == raised.c.nonconformance)
    query = (
        select(
            *(raised.c[name] for name in ("sequence", "nonconformance", "sheet", "piece", "number", "rows", "what")),
            raised.c.by,
            raised.c.at,
            decided.c.disposition,
            decided.c.document,
            decided.c.by.label("decided_by"),
            decided.c.at.label("decided_at"),
        )
        .select_from(raised)
        .outerjoin(decided, and_(same, decided.c.change == "decided"))
        .where(raised.c.change == "raised", *(_holds_word(raised, decided, each) for each in text.split()))
        .order_by(waits.desc(), raised.c.sequence.desc())
        .limit(limit)
    )
    if after is not None:
        older = raised.c.sequence < after.sequence
        query = query.where(or_(~waits, older) if after.waits else and_(~waits, older))
    return query


def _holds_word(raised: FromClause, decided: FromClause, text: str) -> ColumnElement[bool]:
    own = (raised.c.number, raised.c.what, decided.c.disposition, decided.c.document)
    serials = select(piece.c.piece).where(piece.c.sheet == raised.c.sheet, _holds(piece.c.serial, text))
    parts = select(plan_issue.c.part).where(_holds(plan_issue.c.number, text))
    return or_(*(_holds(column, text) for column in own), raised.c.piece.in_(serials), raised.c.part.in_(parts))


def _holds(column: ColumnElement[str], text: str) -> ColumnElement[bool]:
    return or_(*(column.like(pattern, escape="/") for pattern in patterns(text)))


def _plan_now(name: ColumnElement[str]) -> ScalarSelect[str]:
    """The plan that a sheet stands on now."""
    newest = select(stage.c.plan).where(stage.c.sheet == name).order_by(stage.c.sequence.desc()).limit(1)
    return newest.scalar_subquery()
