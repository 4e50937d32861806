"""How far has a new book come?"""

from __future__ import annotations

from msgspec import Struct
from sqlalchemy import Connection, func, select

from storage.book.tables import plan_issue, sheet


class Begun(Struct, frozen=True):
    """Parts that have a plan, and sheets."""

    parts: int
    sheets: int


def begun(connection: Connection) -> Begun:
    """Counts up to two: one is enough to have begun."""
    parts = select(plan_issue.c.part).distinct().limit(2).subquery()
    sheets = select(sheet.c.sheet).limit(2).subquery()
    counts = (select(func.count()).select_from(one).scalar_subquery() for one in (parts, sheets))
    return Begun(*connection.execute(select(*counts)).one())
