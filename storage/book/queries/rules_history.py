"""Who issued the shop's rules, when, and what did each issue say?"""

from __future__ import annotations

from msgspec import Struct
from sqlalchemy import Connection, select

from inspection.instruments.rules import Rules
from inspection.sheet import events as ev
from inspection.sheet.canonical.forms import ENTRY_READERS
from storage.book.tables import journal, rules_issue


class RulesEntered(Struct, frozen=True):
    """One issue of the rules: what it says, who issued it (identity), when (UTC µs) and on which of the shop's days
    (ISO)."""

    rules: Rules
    person: str
    at: int
    day: str


def rules_history(connection: Connection, *, limit: int = 50, before: int = 0) -> list[RulesEntered]:
    """The issues of the shop's rules, newest first; ``before`` is the issue to go on from, 0 from the newest."""
    query = (
        select(journal.c.form, journal.c.content)
        .join(rules_issue, rules_issue.c.sequence == journal.c.sequence)
        .order_by(rules_issue.c.issue.desc())
        .limit(limit)
    )
    if before:
        query = query.where(rules_issue.c.issue < before)
    records = (ENTRY_READERS[form](content) for form, content in connection.execute(query))
    return [
        RulesEntered(event.rules, record.entry.person, record.entry.at, record.entry.day)
        for record in records
        for event in record.events
        if isinstance(event, ev.RulesIssued)
    ]
