"""The cells of a sheet in route order, and which of their slots still wait for a reading."""

from __future__ import annotations

from collections.abc import Iterator, Set

from inspection.drawing.characteristic import Characteristic
from inspection.instruments.record import Instrument
from inspection.measuring.reading import Slot
from inspection.measuring.slots import needed, slots_of, unfilled
from inspection.measuring.verdict import Verdict
from inspection.sheet.state import Cell, Sheet, Shop

Waiting = tuple[str, str, Slot]
"""A slot that waits for a reading: (characteristic, piece, slot)."""


def instrument_of(shop: Shop, sheet: Sheet, characteristic: str) -> Instrument | None:
    """The instrument that is read for this row: its issue as assigned; None if nothing answers the row."""
    assignment = sheet.assignments.get(characteristic)
    if assignment is None or assignment.assessment is None:
        return None
    part = assignment.assessment.method.parts[0]
    return shop.issues.get((part.identity, part.issue))


def required(sheet: Sheet, cell: Cell) -> bool:
    """Whether the sheet needs this cell: judged at all, a row that the sheet is about, on a piece that the row's
    sampling names and that has not left the sheet."""
    if cell[1] in sheet.left or (sheet.only and cell[0] not in sheet.only):
        return False
    row = sheet.characteristic(cell[0])
    place = next(i for i, piece in enumerate(sheet.pieces) if piece.identity == cell[1])
    return row.requirement.judged and needed(row, place, len(sheet.pieces))


def rows_by_route(sheet: Sheet) -> tuple[str, ...]:
    """Every row once, in the order of the route; rows that no stop names come last, in the plan's order."""
    on_route = dict.fromkeys(name for stop in sheet.stops for name in stop.characteristics)
    return (*on_route, *(row.identity for row in sheet.plan.characteristics if row.identity not in on_route))


def cells_by_route(sheet: Sheet) -> tuple[Cell, ...]:
    """Every required cell in the order they are to be measured: by piece, or each row on every piece."""
    rows = rows_by_route(sheet)
    pieces = [piece.identity for piece in sheet.pieces]
    in_order = (
        [(row, piece) for piece in pieces for row in rows]
        if sheet.order == "piece"
        else [(row, piece) for row in rows for piece in pieces]
    )
    wanted = {
        row.identity: _wanted(row, len(pieces)) if not sheet.only or row.identity in sheet.only else frozenset()
        for row in sheet.plan.characteristics
    }
    place = {piece: i for i, piece in enumerate(pieces)}
    return tuple(cell for cell in in_order if place[cell[1]] in wanted[cell[0]] and cell[1] not in sheet.left)


def _wanted(row: Characteristic, pieces: int) -> frozenset[int]:
    if not row.requirement.judged:
        return frozenset()
    return frozenset(i for i in range(pieces) if needed(row, i, pieces))


def waiting_slots(shop: Shop, sheet: Sheet, cell: Cell) -> tuple[Slot, ...]:
    """The slots of a cell that still want a reading, in order. An indication fills no slot."""
    row = sheet.row_at(*cell)
    filled = {reading.slot for reading in sheet.counting(*cell) if not reading.indication}
    return unfilled(row, slots_of(row, instrument_of(shop, sheet, cell[0])), filled)


def waiting(
    shop: Shop, sheet: Sheet, *, after: Cell | None = None, under_way: Set[Waiting] = frozenset()
) -> Iterator[Waiting]:
    """Slots that wait for a reading, in route order from the cell ``after`` on and then from the start.

    ``under_way`` are slots whose reading was handed over and is not yet on disk.
    """
    cells = cells_by_route(sheet)
    start = cells.index(after) if after in cells else 0
    for cell in cells[start:] + cells[:start]:
        for slot in waiting_slots(shop, sheet, cell):
            if (*cell, slot) not in under_way:
                yield (*cell, slot)


def open_cells(sheet: Sheet) -> tuple[Cell, ...]:
    """Required cells whose verdict is open."""
    return tuple(cell for cell in cells_by_route(sheet) if sheet.judgement(*cell).verdict is Verdict.OPEN)
