"""The newest sheets, each with where it stands."""

from __future__ import annotations

from collections import defaultdict

from msgspec import Struct
from sqlalchemy import Connection, RowMapping, func, select

from storage.book.tables import piece, plan_issue, sheet, standing


class ListedSheet(Struct, frozen=True):
    """One sheet as listed: part and plan as the sheet stands on them now, its pieces, and its tally in cells."""

    sheet: str
    number: str
    revision: str
    name: str
    customer: str
    order: str
    lot: str
    day: str
    made_by: str
    serials: tuple[str, ...]
    round: int
    sealed: bool
    conforming: int
    marginal: int
    not_conforming: int
    open: int
    questions: int


def list_sheets(connection: Connection, limit: int = 200) -> tuple[ListedSheet, ...]:
    """At most ``limit`` sheets, the one made last first."""
    newest = (
        select(standing.c.sheet, func.max(standing.c.sequence).label("sequence"))
        .group_by(standing.c.sheet)
        .subquery("newest")
    )
    asked = (
        select(sheet, plan_issue.c.number, plan_issue.c.revision, plan_issue.c.name, standing)
        .join(newest, newest.c.sheet == sheet.c.sheet)
        .join(standing, (standing.c.sheet == newest.c.sheet) & (standing.c.sequence == newest.c.sequence))
        .join(plan_issue, plan_issue.c.plan == standing.c.plan)
        .order_by(sheet.c.sequence.desc())
        .limit(limit)
    )
    rows = connection.execute(asked).all()
    serials = _serials(connection, [row[sheet.c.sheet] for row in (each._mapping for each in rows)])
    return tuple(_listed(row._mapping, serials) for row in rows)


def _serials(connection: Connection, sheets: list[str]) -> dict[str, list[str]]:
    asked = (
        select(piece.c.sheet, piece.c.serial).where(piece.c.sheet.in_(sheets)).order_by(piece.c.sequence, piece.c.place)
    )
    found: dict[str, list[str]] = defaultdict(list)
    for identity, serial in connection.execute(asked):
        found[identity].append(serial)
    return found


def _listed(row: RowMapping, serials: dict[str, list[str]]) -> ListedSheet:
    return ListedSheet(
        sheet=row[sheet.c.sheet],
        number=row[plan_issue.c.number],
        revision=row[plan_issue.c.revision],
        name=row[plan_issue.c.name],
        customer=row[sheet.c.customer],
        order=row[sheet.c.order],
        lot=row[sheet.c.lot],
        day=row[sheet.c.day],
        made_by=row[sheet.c.made_by],
        serials=tuple(serials[row[sheet.c.sheet]]),
        round=row[standing.c.round],
        sealed=bool(row[standing.c.sealed]),
        conforming=row[standing.c.conforming],
        marginal=row[standing.c.marginal],
        not_conforming=row[standing.c.not_conforming],
        open=row[standing.c.open],
        questions=row[standing.c.questions],
    )
