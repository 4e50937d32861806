"""Which rows of a sheet a first article still lacks: measured and conforming on every piece that is left, or not."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.plan import Plan
from inspection.measuring.verdict import Verdict
from inspection.sheet.cells import cells_by_route
from inspection.sheet.state import Cell, Sheet

_GOOD = frozenset({Verdict.CONFORMING, Verdict.MARGINAL})


def unfinished(sheet: Sheet) -> Iterator[Cell]:
    """The required cells that were not measured, do not conform or are in doubt, whatever the customer accepts."""
    return (cell for cell in cells_by_route(sheet) if sheet.judgement(*cell).verdict not in _GOOD)


def no_piece_left(sheet: Sheet) -> bool:
    """Whether every piece was scrapped or returned, so that nothing is shown of any row."""
    return all(piece.identity in sheet.left for piece in sheet.pieces)


def unfinished_rows(sheet: Sheet) -> tuple[str, ...]:
    """The characteristics that its first article lacks, in the plan's order: those unfinished on any piece; where no
    piece is left all that are judged and that the sheet is about."""
    lacking = {row for row, _ in unfinished(sheet)}
    if no_piece_left(sheet):
        about = sheet.only or sheet.rows.by_identity
        lacking |= {row.identity for row in judged_rows(sheet.plan) if row.identity in about}
    return tuple(row.identity for row in sheet.plan.characteristics if row.identity in lacking)


def owed_rows(baseline: Sheet, plan: Plan) -> tuple[str, ...]:
    """The characteristics of an issue of its plan that a partial first article has to show, in the plan's order: those
    that its baseline lacks, and those that the issue has new or asks otherwise than the one that the baseline is on."""
    owed = {*unfinished_rows(baseline), *(row.identity for row in asked_anew(baseline.plan, plan))}
    return tuple(row.identity for row in plan.characteristics if row.identity in owed)


def asked_anew(was: Plan, now: Plan) -> Iterator[Characteristic]:
    """The judged rows of an issue of a plan that an earlier one does not have, or of which it asks something else."""
    before = {row.identity: row.asks for row in was.characteristics}
    return (row for row in judged_rows(now) if before.get(row.identity) != row.asks)


def judged_rows(plan: Plan) -> Iterator[Characteristic]:
    """The rows of a plan that readings are held against."""
    return (row for row in plan.characteristics if row.requirement.judged)
