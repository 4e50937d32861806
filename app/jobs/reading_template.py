"""The readings that a sheet still waits for, as the rows of a file to fill in."""

from __future__ import annotations

from app.jobs.reading_acts import unit_in_hand
from inspection.drawing.characteristic import Characteristic
from inspection.instruments.record import Instrument
from inspection.measuring.reading import Role, Slot
from inspection.sheet.cells import instrument_of, waiting
from inspection.sheet.figures import between, limits
from inspection.sheet.state import Sheet, Shop
from inspection.words.say import word
from storage.intake.grid import names


def rows_to_fill(shop: Shop, sheet: Sheet) -> tuple[dict[str, str], ...]:
    """One row a slot that waits for a reading, in route order: texts by field of a reading file.

    Of a row that is read blind neither requirement nor limits are told. Beside the limits stands the unit that a number
    written without one is in, where it is another than theirs.
    """
    serials = {piece.identity: piece.serial for piece in sheet.pieces}
    return tuple(
        {
            "serial": serials[piece],
            **_row(sheet.row_at(characteristic, piece), slot, instrument_of(shop, sheet, characteristic)),
        }
        for characteristic, piece, slot in waiting(shop, sheet)
    )


def _row(row: Characteristic, slot: Slot, instrument: Instrument | None) -> dict[str, str]:
    between_them = between(*limits(row.requirement))
    told = word("template.blind") if row.blind else f"{between_them} {row.requirement.unit}" if between_them else ""
    unit = unit_in_hand(instrument, row.requirement)
    if instrument is not None and slot.role is Role.VALUE and unit != row.requirement.unit:
        told = "; ".join(filter(None, (told, word("template.shows", tag=instrument.tag, unit=unit))))
    return {
        "number": row.number,
        "requirement": "" if row.blind else row.requirement.written,
        "limits": told,
        "place": slot.place,
        "repeat": str(slot.repeat) if row.repeats > 1 else "",
        "role": "" if slot.role is Role.VALUE else names("role")[slot.role.name.lower()][0],
    }
