"""Which sheets are there?"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from msgspec import Struct
from sqlalchemy import Connection

from storage.book.queries.conditions import doubts_of


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


_PAGE = """
    SELECT sheet.*, (SELECT max(standing.sequence) FROM standing WHERE standing.sheet = sheet.sheet) AS latest
    FROM sheet
"""
#: The sheets of one page with their newest standing and plan issue. The page is cut before anything is joined, so that
#: no more than its sheets are looked up. A head that was written later replaces the one it was made with; marks for
#: review wait that were made and not answered, each counted once. The columns are the fields of ``ListedSheet`` but for
#: the serials, and what they depend on.
_LISTED = f"""
    SELECT page.sheet, plan_issue.number, plan_issue.revision, plan_issue.name,
        coalesce(nullif(coalesce(head.customer, page.customer), ''), plan_issue.customer),
        coalesce(head."order", page."order"), coalesce(head.lot, page.lot), page.day, page.made_by, standing.round,
        standing.sealed, standing.conforming, standing.marginal, standing.not_conforming, standing.open,
        standing.questions, {doubts_of("page.sheet")},
        (SELECT count(DISTINCT sheet_mark.mark) FILTER (WHERE sheet_mark.change = 'marked')
            - count(DISTINCT sheet_mark.mark) FILTER (WHERE sheet_mark.change = 'answered')
        FROM sheet_mark WHERE sheet_mark.sheet = page.sheet)
    FROM ({{page}}) AS page
    JOIN standing ON standing.sequence = page.latest
    JOIN plan_issue ON plan_issue.plan = standing.plan
    LEFT JOIN head ON head.sheet = page.sheet
        AND head.sequence = (SELECT max(newest.sequence) FROM head AS newest WHERE newest.sheet = page.sheet)
    ORDER BY page.sequence DESC
"""
_SERIALS = """
    SELECT piece.sheet, piece.serial FROM piece WHERE piece.sheet IN (SELECT value FROM json_each(?))
    ORDER BY piece.sequence, piece.place
"""


def list_sheets(connection: Connection, *, limit: int = 50, skip: int = 0, part: str = "") -> list[ListedSheet]:
    """Sheets, the newest first, of all parts or of the part of this identity. Two statements."""
    page = f"{_PAGE} {'WHERE sheet.part = ?' if part else ''} ORDER BY sheet.sequence DESC LIMIT ? OFFSET ?"
    return _listed(connection, page, *([part] if part else []), limit, skip)


def listed_of(connection: Connection, places: Sequence[int]) -> list[ListedSheet]:
    """The sheets that these entries made, the newest first. Two statements."""
    return _listed(connection, f"{_PAGE} WHERE sheet.sequence IN (SELECT value FROM json_each(?))", json.dumps(places))


def sheets_named(connection: Connection, names: Sequence[str]) -> list[ListedSheet]:
    """The sheets of these identities, the newest first. Two statements."""
    return _listed(connection, f"{_PAGE} WHERE sheet.sheet IN (SELECT value FROM json_each(?))", json.dumps(names))


def _listed(connection: Connection, page: str, *given: str | int) -> list[ListedSheet]:
    rows = connection.exec_driver_sql(_LISTED.format(page=page), given).all()
    serials = _serials(connection, [row[0] for row in rows])
    return [_listed_sheet(row, tuple(serials[row[0]])) for row in rows]


def _listed_sheet(row: Sequence[Any], serials: tuple[str, ...]) -> ListedSheet:
    fields = [*row[:9], serials, row[9], bool(row[10]), *row[11:]]
    return ListedSheet(*fields)


def _serials(connection: Connection, sheets: list[str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = defaultdict(list)
    for name, serial in connection.exec_driver_sql(_SERIALS, (json.dumps(sheets),)):
        found[name].append(serial)
    return found
