"""Which sheets are there?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from msgspec import Struct
from sqlalchemy import ColumnElement, Connection, Select, Subquery, and_, func, select

from storage.book.tables import head, in_doubt, piece, plan_issue, sheet, sheet_mark, standing


class ListedSheet(Struct, frozen=True):
    """One sheet in a list: part and revision as its plan now says, pieces, and where it stands.

    ``conforming``, ``marginal``, ``not_conforming``, ``open`` and ``in_doubt`` count cells (one row on one piece);
    ``questions`` are slip questions that wait, ``marks`` marks for review that do.
    ``person`` is the identity of who made it, ``day`` when (ISO).
    """

    sheet: str
    number: str
    revision: str
    name: str
    customer: str
    order: str
    lot: str
    day: str
    person: str
    serials: tuple[str, ...]
    round: int
    sealed: bool
    conforming: int
    marginal: int
    not_conforming: int
    open: int
    questions: int
    in_doubt: int = 0
    marks: int = 0


#: So many sheets are named in one statement.
NAMED_AT_ONCE = 500

_LATEST = (
    select(func.max(standing.c.sequence)).where(standing.c.sheet == sheet.c.sheet).correlate(sheet).scalar_subquery()
)


def list_sheets(connection: Connection, *, limit: int = 50, skip: int = 0, part: str = "") -> list[ListedSheet]:
    """Sheets, the newest first, of all parts or of the part of this identity."""
    chosen = select(sheet, _LATEST.label("latest")).order_by(sheet.c.sequence.desc()).limit(limit).offset(skip)
    if part:
        chosen = chosen.where(sheet.c.part == part)
    return _listed(connection, chosen)


def listed_of(connection: Connection, places: Sequence[int]) -> list[ListedSheet]:
    """The sheets that these entries made, the newest first. Two statements."""
    return _listed(connection, select(sheet, _LATEST.label("latest")).where(sheet.c.sequence.in_(places)))


def sheets_named(connection: Connection, names: Sequence[str]) -> list[ListedSheet]:
    """The sheets of these identities, the newest first. Two statements for each ``NAMED_AT_ONCE`` of them."""
    found: list[ListedSheet] = []
    for start in range(0, len(names), NAMED_AT_ONCE):
        some = sheet.c.sheet.in_(names[start : start + NAMED_AT_ONCE])
        found += _listed(connection, select(sheet, _LATEST.label("latest")).where(some))
    return found


def _listed(connection: Connection, chosen: Select[Any]) -> list[ListedSheet]:
    rows = [dict(row) for row in connection.execute(_with_standing(chosen.subquery())).mappings()]
    serials = _serials(connection, [row["sheet"] for row in rows])
    for row in rows:
        for name in ("customer", "order", "lot"):
            written = row.pop(f"written_{name}")
            row[name] = row[name] if written is None else written
        row["customer"] = row["customer"] or row["part_customer"]
        del row["part_customer"]
        row["sealed"] = bool(row["sealed"])
        row["serials"] = tuple(serials[row["sheet"]])
    return [ListedSheet(**row) for row in rows]


def doubts_of(name: ColumnElement[str]) -> ColumnElement[int]:
    """How many cells of the sheet of this ``name`` are in doubt: what its newest row says, none where there is none."""
    newest = select(in_doubt.c.cells).where(in_doubt.c.sheet == name).order_by(in_doubt.c.sequence.desc()).limit(1)
    return func.coalesce(newest.scalar_subquery(), 0)


def _marks_of(name: ColumnElement[str]) -> ColumnElement[int]:
    """How many marks for review wait on the sheet of this ``name``: those made less those answered, each once."""
    query = select(
        func.count(sheet_mark.c.mark.distinct()).filter(sheet_mark.c.change == "marked")
        - func.count(sheet_mark.c.mark.distinct()).filter(sheet_mark.c.change == "answered")
    )
    return query.where(sheet_mark.c.sheet == name).scalar_subquery()


def _with_standing(page: Subquery) -> Select[Any]:
    """The sheets of one page with their newest standing and plan issue. The page is cut before anything is joined,
    so that no more than its sheets are looked up. A head that was written later replaces the one it was made with."""
    newest_head = (
        select(func.max(head.c.sequence)).where(head.c.sheet == page.c.sheet).correlate(page).scalar_subquery()
    )
    return (
        select(
            page.c.sheet,
            plan_issue.c.number,
            plan_issue.c.revision,
            plan_issue.c.name,
            page.c.customer,
            plan_issue.c.customer.label("part_customer"),
            page.c.order,
            page.c.lot,
            *(head.c[name].label(f"written_{name}") for name in ("customer", "order", "lot")),
            page.c.day,
            page.c.made_by.label("person"),
            standing.c.round,
            standing.c.sealed,
            standing.c.conforming,
            standing.c.marginal,
            standing.c.not_conforming,
            standing.c.open,
            standing.c.questions,
            doubts_of(page.c.sheet).label("in_doubt"),
            _marks_of(page.c.sheet).label("marks"),
        )
        .select_from(page)
        .join(standing, standing.c.sequence == page.c.latest)
        .join(plan_issue, plan_issue.c.plan == standing.c.plan)
        .outerjoin(head, and_(head.c.sheet == page.c.sheet, head.c.sequence == newest_head))
        .order_by(page.c.sequence.desc())
    )


def _serials(connection: Connection, sheets: list[str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = defaultdict(list)
    query = select(piece.c.sheet, piece.c.serial).where(piece.c.sheet.in_(sheets))
    for name, serial in connection.execute(query.order_by(piece.c.sequence, piece.c.place)):
        found[name].append(serial)
    return found
