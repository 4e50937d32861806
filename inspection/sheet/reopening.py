"""What a failed check, or a removal for cause, puts in question on sheets: row by row, done or about to be done."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from msgspec import Struct

from inspection.measuring.proofs import CheckRecord
from inspection.measuring.reading import Reading
from inspection.quantity.speaker import shown
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.evolve import fold_shop
from inspection.sheet.life import decide, follow_ups
from inspection.sheet.proof_life import cells_of, reopen_readings
from inspection.sheet.state import Sheet, Shop
from inspection.words.say import word

SheetsReadWith = Callable[[str, int, int], Iterable[str]]
"""The sheets read with an instrument (by identity) after one moment and up to another (UTC microseconds)."""


class ReopenedRow(Struct, frozen=True):
    """Readings of one row on one piece that a check puts in question: the sheet with its part, the balloon number, the
    serial and the readings. On a ``sealed`` sheet they are marked, and the verdict stands until a new round begins."""

    sheet: str
    part: str
    revision: str
    number: str
    serial: str
    readings: tuple[Reading, ...]
    sealed: bool


def reopened_rows(sheet: Sheet, events: Iterable[ev.Event]) -> Iterator[ReopenedRow]:
    """The rows of a sheet whose readings these events re-opened or marked, in the order of the readings."""
    names = [name for event in events if isinstance(event, ev.ReadingsReopened) for name in event.readings]
    held = [sheet.readings[name] for name in names]
    serials = {piece.identity: piece.serial for piece in sheet.pieces}
    part = sheet.plan.part
    for row, piece in cells_of(sheet, names):
        yield ReopenedRow(
            sheet.identity,
            part.number,
            part.revision,
            sheet.characteristic(row).number,
            serials[piece],
            tuple(each for each in held if (each.characteristic, each.piece) == (row, piece)),
            sheet.sealed,
        )


class Ahead(Struct, frozen=True):
    """A removal for cause that is not done yet: the ``check`` that would be on record as failed, the shop as it would
    be then, the ``entry`` that would do it, and the sheets to look at."""

    check: CheckRecord
    shop: Shop
    entry: ev.Entry
    sheets: tuple[str, ...]

    def rows(self, sheet: Sheet) -> tuple[ReopenedRow, ...]:
        """What it would put in question on one of these sheets."""
        act = acts.ReopenReadings(sheet=sheet.identity, check=self.check.made.identity)
        return tuple(reopened_rows(sheet, reopen_readings(self.shop, sheet, act, self.entry)))


def removal_ahead(shop: Shop, act: acts.RemoveForCause, entry: ev.Entry, sheets_read_with: SheetsReadWith) -> Ahead:
    """What the act would come to if ``entry`` carried it out; nothing is done. Raises Refused as the act does."""
    events = decide(shop, None, {}, act, entry)
    check = next(event.check for event in events if isinstance(event, ev.CheckRecorded))
    after = fold_shop(shop, [(event, entry) for event in events])
    followed = follow_ups(act, events, sheets_read_with)
    return Ahead(check, after, entry, tuple(each.sheet for each in followed if isinstance(each, acts.ReopenReadings)))


def reading_text(reading: Reading) -> str:
    """A reading as a list tells it: the value in the unit that it was read in, or what was seen."""
    if reading.count is None:
        return word(f"observed.{reading.observed.name.lower()}") if reading.observed else ""
    return shown(reading.count, reading.kind, reading.unit, reading.decimals)
