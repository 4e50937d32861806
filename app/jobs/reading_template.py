"""The readings that a sheet still waits for, as the rows of a file to fill in."""

from __future__ import annotations

from inspection.drawing.characteristic import Characteristic
from inspection.measuring.reading import Role, Slot
from inspection.sheet.cells import waiting
from inspection.sheet.figures import between, limits
from inspection.sheet.state import Sheet, Shop
from inspection.words.say import word
from storage.intake.grid import names


def rows_to_fill(shop: Shop, sheet: Sheet) -> tuple[dict[str, str], ...]:
    """One row a slot that waits for a reading, in route order: texts by field of a reading file.

    Of a row that is read blind neither requirement nor limits are told.
    """
    serials = {piece.identity: piece.serial for piece in sheet.pieces}
    return tuple(
        {"serial": serials[piece], **_row(sheet.row_at(characteristic, piece), slot)}
        for characteristic, piece, slot in waiting(shop, sheet)
    )


def _row(row: Characteristic, slot: Slot) -> dict[str, str]:
    between_them = between(*limits(row.requirement))
    told = f"{between_them} {row.requirement.unit}" if between_them else ""
    return {
        "number": row.number,
        "requirement": "" if row.blind else row.requirement.written,
        "limits": word("template.blind") if row.blind else told,
        "place": slot.place,
        "repeat": str(slot.repeat) if row.repeats > 1 else "",
        "role": "" if slot.role is Role.VALUE else names("role")[slot.role.name.lower()][0],
    }
