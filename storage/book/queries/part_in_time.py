"""How did a part come out, revision by revision?"""

from __future__ import annotations

from msgspec import Struct
from sqlalchemy import Connection, func, select

from storage.book.queries.sheets import doubts_of
from storage.book.tables import plan_issue, sheet, standing

#: So many of a part's newest sheets are counted.
MOST_SHEETS = 500


class RevisionCounts(Struct, frozen=True):
    """The sheets of one revision of a part, first and last day (ISO), and how many cells came to which verdict."""

    revision: str
    sheets: int
    first: str
    last: str
    conforming: int
    marginal: int
    not_conforming: int
    open: int
    in_doubt: int = 0


def part_in_time(connection: Connection, part: str) -> list[RevisionCounts]:
    """The revisions of a part that have sheets, the newest first. One statement over its newest sheets."""
    newest = (
        select(func.max(standing.c.sequence))
        .where(standing.c.sheet == sheet.c.sheet)
        .correlate(sheet)
        .scalar_subquery()
    )
    page = (
        select(sheet.c.sheet, sheet.c.day, newest.label("latest"))
        .where(sheet.c.part == part)
        .order_by(sheet.c.sequence.desc())
        .limit(MOST_SHEETS)
        .subquery()
    )
    query = (
        select(
            plan_issue.c.revision,
            func.count(),
            func.min(page.c.day),
            func.max(page.c.day),
            *(func.sum(standing.c[name]) for name in ("conforming", "marginal", "not_conforming", "open")),
            func.sum(doubts_of(page.c.sheet)),
        )
        .select_from(page)
        .join(standing, standing.c.sequence == page.c.latest)
        .join(plan_issue, plan_issue.c.plan == standing.c.plan)
        .group_by(plan_issue.c.revision)
        .order_by(func.max(plan_issue.c.issue).desc())
    )
    return [RevisionCounts(*row) for row in connection.execute(query)]
