"""What the cells of a sheet came to, counted: the one definition behind every number of conforming, marginal and other
results that is shown, printed or kept."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from inspection.measuring.verdict import Verdict
from inspection.sheet.cells import cells_by_route, required
from inspection.sheet.state import Cell, Sheet

#: What each verdict is counted as; what is not judged is not counted.
COUNTED: Mapping[Verdict, str] = {
    Verdict.CONFORMING: "conforming",
    Verdict.MARGINAL: "marginal",
    Verdict.NOT_CONFORMING: "not_conforming",
    Verdict.DOUBT_INSIDE: "in_doubt",
    Verdict.DOUBT_OUTSIDE: "in_doubt",
}
#: What cells are counted as, in the order in which they are told.
NAMES = (*dict.fromkeys(COUNTED.values()), "open")


def counted_as(sheet: Sheet, cell: Cell) -> str:
    """The number that a cell is counted in, one of ``NAMES``; empty for none.

    A cell with a verdict counts by it whether or not the sheet still asks for it: what was read beyond the sampling,
    or on a piece that left, stays what it came to. One without is open where the sheet asks for it.
    """
    verdict = sheet.judgement(*cell).verdict
    if verdict is Verdict.OPEN:
        return "open" if required(sheet, cell) else ""
    return COUNTED.get(verdict, "")


def counts_by_piece(sheet: Sheet) -> dict[str, Counter[str]]:
    """How many cells of each piece came to what, by the piece's identity; takes a moment on a sheet of thousands."""
    found: dict[str, Counter[str]] = {piece.identity: Counter() for piece in sheet.pieces}
    for (_, piece), judgement in sheet.judgements.items():
        if judgement.verdict in COUNTED:
            found[piece][COUNTED[judgement.verdict]] += 1
    for cell in cells_by_route(sheet):  # every one of them is required
        kept = sheet.judgements.get(cell)
        found[cell[1]]["open"] += kept is None or kept.verdict is Verdict.OPEN
    return found


def counts_of(sheet: Sheet) -> dict[str, int]:
    """How many cells of a sheet came to what: every one of ``NAMES``."""
    whole: Counter[str] = Counter()
    for counts in counts_by_piece(sheet).values():
        whole.update(counts)
    return {name: whole[name] for name in NAMES}
