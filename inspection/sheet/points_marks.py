"""Points of marks for review: an instrument was found out, and readings of the sheet are to be looked at."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.reasons import Amount, Part, Reason
from inspection.sheet.points_look import Look
from inspection.sheet.points_table import Point
from inspection.sheet.review import Mark
from inspection.sheet.state import Cell, Sheet, Shop

CODE = "marked"
_SAID = {"large": "marked.large", "small": "marked.small", "true": "marked.true"}


def of_marks(look: Look) -> Iterator[Point]:
    """A point for each mark; an answered one stays on the list with its answer."""
    for held in look.sheet.marks.values():
        found = found_out(look.shop, held)
        yield look.point(
            CODE,
            cells_of(look.sheet, held),
            held.readings,
            said=_SAID[way_of(held)],
            about=held.identity,
            count=len(held.readings),
            words=held.words,
            tag=found.parts["tag"],
            error=found.parts["error"],
        )


def cells_of(sheet: Sheet, mark: Mark) -> tuple[Cell, ...]:
    """The cells whose readings a mark names, each once; a row that the sheet's plan no longer has is left out."""
    held = (sheet.readings[name] for name in mark.readings if name in sheet.readings)
    cells = dict.fromkeys((reading.characteristic, reading.piece) for reading in held)
    return tuple(cell for cell in cells if cell[0] in sheet.rows.by_identity)


def key_of(sheet: Sheet, mark: Mark) -> str:
    """By what the point of a mark is answered."""
    return Point(CODE, Reason(f"mark.found.{way_of(mark)}"), cells_of(sheet, mark), about=mark.identity).key


def found_out(shop: Shop, mark: Mark) -> Reason:
    """What was found of the instrument."""
    one = shop.issues.get((mark.instrument, mark.issue))
    error: Part = Amount(abs(mark.error), one.quantity, one.unit) if one is not None else str(mark.error)
    return Reason(f"mark.found.{way_of(mark)}", {"tag": one.tag if one is not None else "–", "error": error})


def way_of(mark: Mark) -> str:
    """Whether the instrument read "large", "small" or "true"."""
    return "large" if mark.error > 0 else "small" if mark.error < 0 else "true"
