"""What can be read again: the rows that were read, each with the slots that are asked, told without what was read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from msgspec.structs import replace

from app.bench import told
from app.ledger.review.told import serial_of
from inspection.drawing.characteristic import Characteristic
from inspection.drawing.requirement import Form
from inspection.instruments.method import Method
from inspection.instruments.record import Instrument
from inspection.measuring.reading import Slot
from inspection.measuring.slots import slots_of
from inspection.sheet.cells import instrument_of
from inspection.sheet.points_table import Point
from inspection.sheet.state import Cell, Sheet, Shop
from inspection.words.say import word

#: So many rows are ticked at first, the worst of the list.
PROPOSED = 12
#: Requirements that say what is looked for and hold no number to read.
_SAID = frozenset({Form.NOTE, Form.THREAD})


class ToRead(NamedTuple):
    """One slot of a cell, and the method it is read with if that is not the row's."""

    cell: Cell
    slot: Slot
    method: Method | None = None


def rows_read(sheet: Sheet) -> tuple[Cell, ...]:
    """The cells of which a reading counts, in the order of plan and pieces."""
    return tuple(
        (row.identity, piece.identity)
        for row in sheet.plan.characteristics
        for piece in sheet.pieces
        if sheet.counting(row.identity, piece.identity)
    )


def proposed(points: Iterable[Point], sheet: Sheet) -> tuple[Cell, ...]:
    """The rows that the list proposes: those of the points that wait for an answer and must have one, worst first."""
    waiting = (point for point in points if point.must_answer and point.key not in sheet.point_answers)
    cells = dict.fromkeys(cell for point in waiting for cell in point.cells)
    return tuple(cell for cell in cells if sheet.counting(*cell))[:PROPOSED]


def slots_to_read(sheet: Sheet, shop: Shop, cells: Iterable[Cell]) -> Iterator[ToRead]:
    """Every place of these cells once: a mean is compared by single readings."""
    for cell in cells:
        for slot in slots_of(sheet.row_at(*cell), instrument_read(sheet, shop, cell)):
            if slot.repeat == 1:
                yield ToRead(cell, slot)


def instrument_read(sheet: Sheet, shop: Shop, cell: Cell, method: Method | None = None) -> Instrument | None:
    """The instrument in hand: that of ``method``, or of the row's; its newest issue."""
    if method is not None:
        return shop.crib.get(method.parts[0].identity)
    held = instrument_of(shop, sheet, cell[0])
    return shop.crib.get(held.identity, held) if held is not None else None


def blind_name(row: Characteristic) -> str:
    """A row without its limits and its nominal: what it is called; a note or a thread by its words, which tell what
    to look for."""
    if row.requirement.form in _SAID:
        return row.requirement.written
    named = row.kind.value in row.name.casefold()
    return row.name if named else ", ".join(filter(None, (row.name, row.kind.value)))


def blind_text(sheet: Sheet, wanted: ToRead) -> str:
    """What is read next: number, row, place, piece."""
    row = sheet.row_at(*wanted.cell)
    once = told.slot_words(replace(row, repeats=1), wanted.slot)
    serial = word("review.row.piece", serial=serial_of(sheet, wanted.cell[1])) if len(sheet.pieces) > 1 else ""
    return "   ".join(filter(None, (row.number, blind_name(row), once, serial)))
