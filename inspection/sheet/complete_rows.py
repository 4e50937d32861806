"""Which rows of a sheet a first article still lacks: measured and conforming on every piece that is left, or not."""

from __future__ import annotations

from collections.abc import Iterator

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
    """The characteristics that a partial first article has to show, in the plan's order: those unfinished on any piece;
    all that are judged where no piece is left."""
    lacking = {row for row, _ in unfinished(sheet)}
    everything = no_piece_left(sheet)
    return tuple(
        row.identity
        for row in sheet.plan.characteristics
        if row.identity in lacking or (everything and row.requirement.judged)
    )


def unfinished_together(partial: Sheet, baseline: Sheet) -> Iterator[Cell]:
    """What keeps a partial first article and its baseline together from being complete: cells of the partial that are
    unfinished, and rows that are unfinished on the baseline and that the partial is not about (piece empty), unless
    its revision does not have them any more."""
    yield from unfinished(partial)
    asked = partial.rows.by_identity
    about = partial.only or asked
    yield from ((row, "") for row in unfinished_rows(baseline) if row in asked and row not in about)
