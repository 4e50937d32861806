"""Which parts are there, and which one has this number?"""

from __future__ import annotations

from msgspec import Struct
from sqlalchemy import Connection, func, or_, select

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


def list_parts(connection: Connection, *, limit: int = 50, skip: int = 0, like: str = "") -> list[ListedPart]:
    """Parts, the one planned last first: all, or those whose number, name or drawing holds ``like`` in any case."""
    query = _LISTED
    if like:
        columns = (plan_issue.c.number, plan_issue.c.name, plan_issue.c.drawing)
        query = query.where(or_(*(column.icontains(like, autoescape=True) for column in columns)))
    return [ListedPart(**row) for row in connection.execute(query.limit(limit).offset(skip)).mappings()]


def part_of_number(connection: Connection, number: str) -> str:
    """The identity of the part whose newest plan issue bears this part number; empty if there is none."""
    query = _LISTED.where(plan_issue.c.number == number).limit(1)
    row = connection.execute(query).first()
    return str(row.part) if row else ""
