"""How did a part come out, revision by revision?"""

from __future__ import annotations

from msgspec import Struct
from sqlalchemy import Connection

from storage.book.queries.conditions import doubts_of

#: So many of a part's newest sheets are counted.
MOST_SHEETS = 500


class RevisionCounts(Struct, frozen=True):
    """The sheets of one revision of a part, first and last day (ISO), and how many cells came to which verdict.
    ``questions`` are slip questions that wait: what they are about is counted as it was read."""

    revision: str
    sheets: int
    first: str
    last: str
    conforming: int
    marginal: int
    not_conforming: int
    open: int
    in_doubt: int = 0
    questions: int = 0


_BY_REVISION = f"""
    SELECT plan_issue.revision, count(*), min(page.day), max(page.day), sum(standing.conforming),
        sum(standing.marginal), sum(standing.not_conforming), sum(standing.open), sum({doubts_of("page.sheet")}),
        sum(standing.questions)
    FROM (
        SELECT sheet.sheet, sheet.day,
            (SELECT max(standing.sequence) FROM standing WHERE standing.sheet = sheet.sheet) AS latest
        FROM sheet WHERE sheet.part = ? ORDER BY sheet.sequence DESC LIMIT {MOST_SHEETS}
    ) AS page
    JOIN standing ON standing.sequence = page.latest
    JOIN plan_issue ON plan_issue.plan = standing.plan
    GROUP BY plan_issue.revision
    ORDER BY max(plan_issue.issue) DESC
"""


def part_in_time(connection: Connection, part: str) -> list[RevisionCounts]:
    """The revisions of a part that have sheets, the newest first. One statement over its newest sheets."""
    return [RevisionCounts(*row) for row in connection.exec_driver_sql(_BY_REVISION, (part,))]
