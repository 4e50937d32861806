"""When was each issue of this instrument's record entered, and by whom?"""

from __future__ import annotations

from msgspec import Struct
from sqlalchemy import Connection, select

from storage.book.tables import instrument_issue, journal


class IssueEntered(Struct, frozen=True):
    """One issue: its number, who entered it (identity), when (UTC µs) and on which of the shop's days (ISO)."""

    issue: int
    person: str
    at: int
    day: str


def instrument_history(
    connection: Connection, instrument: str, *, limit: int = 50, before: int = 0
) -> list[IssueEntered]:
    """The issues of an instrument, newest first; ``before`` is the issue to go on from, 0 from the newest."""
    query = (
        select(instrument_issue.c.issue, journal.c.person, journal.c.at, journal.c.day)
        .join(journal, journal.c.sequence == instrument_issue.c.sequence)
        .where(instrument_issue.c.instrument == instrument)
        .order_by(instrument_issue.c.issue.desc())
        .limit(limit)
    )
    if before:
        query = query.where(instrument_issue.c.issue < before)
    return [IssueEntered(**row) for row in connection.execute(query).mappings()]
