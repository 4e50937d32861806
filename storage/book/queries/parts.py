"""Which parts are there, and which one has this number?"""

from __future__ import annotations

from msgspec import Struct
from sqlalchemy import Connection, func, select

from storage.book.tables import plan_issue


class ListedPart(Struct, frozen=True):
    """One part by its newest plan issue: the part's identity, that issue's identity and number, and its head."""

    part: str
    plan: str
    issue: int
    number: str
    revision: str
    name: str
    drawing: str
    drawing_revision: str
    customer: str
    rows: int


_other = plan_issue.alias()
_NEWEST = select(func.max(_other.c.issue)).where(_other.c.part == plan_issue.c.part).scalar_subquery()
_LISTED = (
    select(*(plan_issue.c[name] for name in ListedPart.__struct_fields__))
    .where(plan_issue.c.issue == _NEWEST)
    .order_by(plan_issue.c.sequence.desc())
)


def list_parts(connection: Connection, *, limit: int = 50, skip: int = 0) -> list[ListedPart]:
    """Parts, the one planned last first."""
    rows = connection.execute(_LISTED.limit(limit).offset(skip)).mappings()
    return [ListedPart(**row) for row in rows]


def part_of_number(connection: Connection, number: str) -> str:
    """The identity of the part whose newest plan issue bears this part number; empty if there is none."""
    query = _LISTED.where(plan_issue.c.number == number).limit(1)
    row = connection.execute(query).first()
    return str(row.part) if row else ""
