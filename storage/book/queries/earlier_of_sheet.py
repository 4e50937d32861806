"""What did every characteristic of a sheet's part come to on the sheets before it?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from typing import NamedTuple

from sqlalchemy import Connection, func, select

from inspection.measuring.verdict import Verdict
from inspection.sheet.points_history import Earlier
from storage.book.queries.waiting import waiting_cells
from storage.book.tables import characteristic, journal, judgement, piece, plan_issue, sheet, standing

#: So many of the part's sheets are looked at, the newest of those that were made before.
MOST_SHEETS = 12

_LATEST = (
    select(func.max(standing.c.sequence)).where(standing.c.sheet == sheet.c.sheet).correlate(sheet).scalar_subquery()
)


class _Made(NamedTuple):
    """A sheet's day (ISO) and the plan issue that it stands on."""

    day: str
    plan: str


class _Asked(NamedTuple):
    """What a drawing asked for, in counts; None where it states none."""

    nominal: int | None = None
    lower: int | None = None
    upper: int | None = None


class _Came(NamedTuple):
    """What a cell came to."""

    verdict: str
    smallest: int | None
    largest: int | None
    of: int


_Cell = tuple[str, str, str]
"""Sheet, characteristic and piece."""


def earlier_of_sheet(
    connection: Connection, before: str, *, limit: int = MOST_SHEETS
) -> Mapping[str, tuple[Earlier, ...]]:
    """The results of each characteristic, through all issues of the part, on the newest sheets that were made before
    the sheet ``before``: the newest of each piece, those left out that are open, no number, or asked about and not
    answered.

    Five statements whatever the rows; what they read is bounded by the sheets.
    """
    sheets = _sheets(connection, before, limit)
    if not sheets:
        return {}
    asked = _asked(connection, {made.plan for made in sheets.values()})
    serials = _serials(connection, sheets)
    waiting = waiting_cells(connection, sheets)
    found: dict[str, list[Earlier]] = defaultdict(list)
    for (name, row, of), came in _came_to(connection, sheets).items():
        if came.verdict != Verdict.OPEN.value and came.smallest is not None and (name, row, of) not in waiting:
            then = asked.get((sheets[name].plan, row), _Asked())
            result = Earlier(name, serials[of], sheets[name].day, came.smallest, came.largest, came.of, *then)
            found[row].append(result)
    return {row: tuple(results) for row, results in found.items()}


def _sheets(connection: Connection, before: str, limit: int) -> dict[str, _Made]:
    """The sheets that are looked at, the newest first."""
    this = select(sheet.c.part, sheet.c.sequence).where(sheet.c.sheet == before).subquery()
    query = (
        select(sheet.c.sheet, sheet.c.day, standing.c.plan)
        .join(this, (sheet.c.part == this.c.part) & (sheet.c.sequence < this.c.sequence))
        .join(standing, standing.c.sequence == _LATEST)
        .order_by(sheet.c.sequence.desc())
        .limit(limit)
    )
    return {name: _Made(day, plan) for name, day, plan in connection.execute(query)}


def _came_to(connection: Connection, sheets: Collection[str]) -> dict[_Cell, _Came]:
    """The newest judgement of each cell: an entry of a sheet lies in the journal under its name."""
    query = (
        select(
            judgement.c.sheet,
            judgement.c.characteristic,
            judgement.c.piece,
            judgement.c.verdict,
            judgement.c.smallest,
            judgement.c.largest,
            judgement.c.of,
        )
        .join(journal, journal.c.sequence == judgement.c.sequence)
        .where(journal.c.stream.in_(sheets))
        .order_by(journal.c.sequence, judgement.c.place)
    )
    found: dict[_Cell, _Came] = {}
    for name, row, of, *came in connection.execute(query):
        found[name, row, of] = _Came(*came)
    return found


def _serials(connection: Connection, sheets: Collection[str]) -> dict[str, str]:
    query = select(piece.c.piece, piece.c.serial).where(piece.c.sheet.in_(sheets))
    found: dict[str, str] = {}
    for identity, serial in connection.execute(query):
        found[identity] = serial
    return found


def _asked(connection: Connection, plans: Collection[str]) -> dict[tuple[str, str], _Asked]:
    query = (
        select(
            plan_issue.c.plan,
            characteristic.c.characteristic,
            characteristic.c.nominal,
            characteristic.c.lower,
            characteristic.c.upper,
        )
        .join(characteristic, characteristic.c.sequence == plan_issue.c.sequence)
        .where(plan_issue.c.plan.in_(plans))
    )
    return {(plan, row): _Asked(*asked) for plan, row, *asked in connection.execute(query)}
