"""Which sheets do the readings of this instrument touch?"""

from __future__ import annotations

from collections import defaultdict

from msgspec import Struct
from sqlalchemy import Connection, func, select

from storage.book.tables import piece, plan_issue, reading_instrument, sheet, standing


class TouchedSheet(Struct, frozen=True):
    """One sheet with readings of an instrument: part, revision and name as its plan now says, its pieces, how many
    readings were taken with the instrument and when the last of them (UTC µs), and whether the sheet is sealed."""

    sheet: str
    number: str
    revision: str
    name: str
    customer: str
    serials: tuple[str, ...]
    readings: int
    last: int
    round: int
    sealed: bool


class Touched(Struct, frozen=True):
    """A page of the sheets that an instrument touches, the one it was used on last first; ``total`` counts all."""

    sheets: tuple[TouchedSheet, ...]
    total: int


_LATEST = (
    select(func.max(standing.c.sequence)).where(standing.c.sheet == sheet.c.sheet).correlate(sheet).scalar_subquery()
)


def touched_sheets(connection: Connection, instrument: str, *, limit: int = 50, skip: int = 0) -> Touched:
    """The sheets that an instrument was read on, whatever became of the readings: three statements."""
    used = (
        select(
            reading_instrument.c.sheet,
            func.count().label("readings"),
            func.max(reading_instrument.c.taken).label("last"),
        )
        .where(reading_instrument.c.instrument == instrument)
        .group_by(reading_instrument.c.sheet)
        .subquery()
    )
    total = connection.execute(select(func.count()).select_from(used)).scalar_one()
    page = select(used).order_by(used.c.last.desc(), used.c.sheet).limit(limit).offset(skip).subquery()
    query = (
        select(
            page.c.sheet,
            plan_issue.c.number,
            plan_issue.c.revision,
            plan_issue.c.name,
            plan_issue.c.customer,
            page.c.readings,
            page.c.last,
            standing.c.round,
            standing.c.sealed,
        )
        .select_from(page)
        .join(sheet, sheet.c.sheet == page.c.sheet)
        .join(standing, standing.c.sequence == _LATEST)
        .join(plan_issue, plan_issue.c.plan == standing.c.plan)
        .order_by(page.c.last.desc(), page.c.sheet)
    )
    rows = [dict(row) for row in connection.execute(query).mappings()]
    serials = _serials(connection, [row["sheet"] for row in rows])
    return Touched(
        tuple(
            TouchedSheet(**{**row, "sealed": bool(row["sealed"])}, serials=tuple(serials[row["sheet"]])) for row in rows
        ),
        total,
    )


def _serials(connection: Connection, sheets: list[str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = defaultdict(list)
    query = select(piece.c.sheet, piece.c.serial).where(piece.c.sheet.in_(sheets))
    for name, serial in connection.execute(query.order_by(piece.c.sequence, piece.c.place)):
        found[name].append(serial)
    return found
