"""A row read again beside what was read before: both with their U, and whether they agree."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.bench import told
from app.ledger.review.told import name_of
from app.parts.items import Item
from app.parts.marks import Mark
from inspection.sheet import figures
from inspection.sheet.points_again import of_again, single_result
from inspection.sheet.points_look import Look
from inspection.words.say import say, word

if TYPE_CHECKING:
    from inspection.measuring.reading import Reading
    from inspection.sheet.state import Sheet, Shop

#: The mark of each code that a comparison goes by in the list; any other is one that nothing is known against.
_MARKS = {"again_differs": Mark.OUT, "again_outside": Mark.OUT}


def compared(shop: Shop, sheet: Sheet, second: Reading, units: str) -> Item:
    """What a reading at review came to beside the one of the same place that counts."""
    row = sheet.row_at(second.characteristic, second.piece)
    look = Look(shop, sheet, "")
    for first in sheet.counting(second.characteristic, second.piece):
        if first.slot == second.slot and not first.indication:
            for point in of_again(look, {first.identity: second}):
                lines = (_line(look, first, units), _line(look, second, units))
                return Item(say(point.reason, units), _MARKS.get(point.code, Mark.CONFORMING), lines)
    said = word("review.again.alone", number=row.number, reading=told.reading(second, row.requirement, units))
    return Item(said, Mark.NOT_JUDGED)


def _line(look: Look, reading: Reading, units: str) -> str:
    """One reading with who read it, and its U where that is known."""
    row = look.sheet.row_at(reading.characteristic, reading.piece)
    said = told.reading(reading, row.requirement, units)
    known = single_result(look, row, reading)
    if known is not None:
        unit = told.unit_shown(row.requirement, units)
        said = f"{said} {unit}, U = {figures.uncertainty(known.expanded, unit)} {unit}"
    return word("review.again.line", reading=said, person=name_of(look.shop, reading.by), with_=look.tags(reading))
