"""One row of a reading file as acts on a sheet: the same acts that the Bench hands in."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from difflib import get_close_matches

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.requirement import Requirement
from inspection.instruments.method import Method
from inspection.instruments.record import Instrument
from inspection.measuring.reading import Reading, Role, Slot
from inspection.measuring.slots import slots_of
from inspection.quantity.reader import read
from inspection.quantity.units import Quantity
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.cells import instrument_of, waiting_slots
from inspection.sheet.head import Piece
from inspection.sheet.helping import given_on, method_with
from inspection.sheet.state import Cell, Sheet, Shop
from storage.intake.readings import ReadingRow


class Look(Struct, frozen=True):
    """Shop and sheet at one moment ``at`` (UTC microseconds); ``day`` is the shop's calendar day then."""

    shop: Shop
    sheet: Sheet
    day: str
    at: int


class CellRefused(Refused):
    """A row's cell in the column of ``field`` cannot be carried out."""

    def __init__(self, field: str, *reasons: Reason) -> None:
        super().__init__(*reasons)
        self.field = field


class _At(Struct, frozen=True):
    """Where a row of the file points: the sheet's row and piece."""

    row: Characteristic
    piece: Piece

    @property
    def cell(self) -> Cell:
        return self.row.identity, self.piece.identity

    def reason(self, code: str, **parts: str | int) -> Reason:
        return Reason(code, {"number": self.row.number, "serial": self.piece.serial, **parts})


def acts_of(row: ReadingRow, look: Callable[[], Look]) -> Iterator[acts.AnyAct]:
    """The acts of one row, each made when it is asked for, from the sheet as it then stands.

    Raises CellRefused naming the column at fault, or Refused.
    """
    sheet = look().sheet
    at = _At(_row(sheet, row.number), _piece(sheet, row.serial))
    if row.reading:
        yield from _another_instrument(row, at, look())
        yield _reading(row, at, look())
    elif row.withdraw:
        yield acts.TakeBack(sheet=sheet.identity, reading=_withdrawn(row, at, sheet).identity, reason=row.reason)
    elif row.answer:
        yield _answer(row, at, sheet)
    if row.note:
        piece = at.piece.identity if row.serial else ""
        yield acts.WriteNote(sheet=sheet.identity, characteristic=at.row.identity, text=row.note, piece=piece)


# --- where the row points -------------------------------------------------------------------------------------


def _row(sheet: Sheet, number: str) -> Characteristic:
    found = next((row for row in sheet.plan.characteristics if row.number == number), None)
    if found is not None:
        return found
    near = get_close_matches(number, [row.number for row in sheet.plan.characteristics], n=1)
    if near:
        raise CellRefused("number", Reason("intake.number_unknown_near", {"number": number[:60], "near": near[0]}))
    raise CellRefused("number", Reason("intake.number_unknown", {"number": number[:60]}))


def _piece(sheet: Sheet, serial: str) -> Piece:
    serials = ", ".join(piece.serial for piece in sheet.pieces)
    if not serial and len(sheet.pieces) == 1:
        return sheet.pieces[0]
    if not serial:
        raise CellRefused("serial", Reason("intake.serial_needed", {"serials": serials}))
    found = next((piece for piece in sheet.pieces if piece.serial == serial), None)
    if found is None:
        raise CellRefused("serial", Reason("intake.serial_unknown", {"serial": serial[:60], "serials": serials}))
    return found


# --- readings -------------------------------------------------------------------------------------------------


def _reading(row: ReadingRow, at: _At, now: Look) -> acts.TakeReading:
    replaced = _replaced(row, at, now.sheet)
    slot = replaced.slot if replaced else _slot(row, at, now)
    return acts.TakeReading(
        sheet=now.sheet.identity,
        characteristic=at.row.identity,
        piece=at.piece.identity,
        slot=slot,
        quantity=None if row.observed else _quantity(row, at, now),
        observed=row.observed,
        replaces=replaced.identity if replaced and row.replaces else "",
        reason=row.reason if row.replaces else "",
        answers=_question(row, at, now.sheet) if row.answer == "new_reading" else "",
        taken=row.taken,
        day=row.day,
    )


def _quantity(row: ReadingRow, at: _At, now: Look) -> Quantity:
    """The number as the Bench reads it: without a unit it is in the one that the instrument in hand is set to."""
    instrument = instrument_of(now.shop, now.sheet, at.row.identity)
    requirement = at.row.requirement
    try:
        return read(row.reading, unit=unit_in_hand(instrument, requirement), kind=requirement.kind)
    except Refused as refused:
        raise CellRefused("reading", *refused.reasons) from None


def unit_in_hand(instrument: Instrument | None, requirement: Requirement) -> str:
    """The unit of a number written without one: what the instrument in hand is set to, where that is of its kind."""
    return instrument.unit if instrument and instrument.quantity is requirement.kind else requirement.unit


def _replaced(row: ReadingRow, at: _At, sheet: Sheet) -> Reading | None:
    """The reading that this row corrects, or that the question it answers is about."""
    if row.replaces:
        return _nth(row, at, sheet)
    if row.answer == "new_reading":
        question = _question(row, at, sheet)
        return sheet.readings[sheet.questions[question].reading]
    return None


def _nth(row: ReadingRow, at: _At, sheet: Sheet) -> Reading:
    taken = [r for r in sheet.readings.values() if (r.characteristic, r.piece) == at.cell]
    if not row.replaces or row.replaces > len(taken):
        raise CellRefused("replaces", at.reason("intake.no_such_reading", n=row.replaces or 0))
    return taken[row.replaces - 1]


def _slot(row: ReadingRow, at: _At, now: Look) -> Slot:
    """The slot that a row names, or the next one that waits; what the row leaves open must not be ambiguous."""
    asked = slots_of(now.sheet.row_at(*at.cell), instrument_of(now.shop, now.sheet, at.row.identity))
    named = [slot for slot in asked if _named(row, slot)]
    if not named:
        raise CellRefused(_naming(row), at.reason("intake.slot_unknown", slots=_listed(asked)))
    roles = dict.fromkeys(slot.role for slot in named)
    if len(roles) > 1:
        raise CellRefused("role", at.reason("intake.role_needed", roles=", ".join(roles)))
    waiting = [slot for slot in waiting_slots(now.shop, now.sheet, at.cell) if slot in named]
    if waiting:
        return waiting[0]
    raise CellRefused("reading", at.reason("intake.nothing_waits"))


def _named(row: ReadingRow, slot: Slot) -> bool:
    return (
        row.place.casefold() in ("", slot.place.casefold())
        and row.repeat in (None, slot.repeat)
        and row.role in (None, slot.role)
    )


def _naming(row: ReadingRow) -> str:
    return "place" if row.place else "role" if row.role else "repeat"


def _listed(slots: tuple[Slot, ...]) -> str:
    def said(slot: Slot) -> str:
        several = str(slot.repeat) if any(other.repeat > 1 for other in slots) else ""
        return " ".join(filter(None, (slot.place, slot.role if slot.role is not Role.VALUE else "", several)))

    return ", ".join(filter(None, map(said, slots))) or Role.VALUE


# --- withdrawals and answers ----------------------------------------------------------------------------------


def _withdrawn(row: ReadingRow, at: _At, sheet: Sheet) -> Reading:
    if row.replaces:
        return _nth(row, at, sheet)
    counting = [reading for reading in sheet.counting(*at.cell) if _named(row, reading.slot)]
    if not counting:
        raise CellRefused("withdraw", at.reason("intake.nothing_to_withdraw"))
    if len(counting) > 1:
        raise CellRefused("withdraw", at.reason("intake.several_to_withdraw"))
    return counting[0]


def _question(row: ReadingRow, at: _At, sheet: Sheet) -> str:
    for question in sheet.open_questions():
        if (question.characteristic, question.piece) == at.cell:
            return question.identity
    raise CellRefused("answer", at.reason("intake.no_question"))


def _answer(row: ReadingRow, at: _At, sheet: Sheet) -> acts.AnyAct:
    question = _question(row, at, sheet)
    if row.answer == "kept":
        return acts.KeepAsWritten(sheet=sheet.identity, question=question)
    if row.answer == "left_open":
        return acts.LeaveOpen(sheet=sheet.identity, question=question)
    raise CellRefused("reading", Reason("intake.answer_without_reading"))


# --- another instrument ---------------------------------------------------------------------------------------


def _another_instrument(row: ReadingRow, at: _At, now: Look) -> Iterator[acts.AnyAct]:
    """The choice of the instrument that a row names, unless the row of the sheet is already measured with it."""
    if not row.instrument:
        return
    wanted = [_tagged(now.shop, tag.strip()) for tag in row.instrument.split("+")]
    assignment = now.sheet.assignments.get(at.row.identity)
    if assignment and assignment.assessment and _holds(assignment.assessment.method, wanted):
        return
    if not row.reason:
        raise CellRefused("reason", at.reason("intake.reason_needed"))
    yield acts.ChooseInstrument(
        sheet=now.sheet.identity,
        characteristic=at.row.identity,
        method=_method(row, at, now, wanted),
        reason=row.reason,
    )


def _tagged(shop: Shop, tag: str) -> Instrument:
    found = shop.by_tag(tag)
    if found is None:
        raise CellRefused("instrument", Reason("intake.instrument_unknown", {"tag": tag[:60]}))
    return found


def _holds(method: Method, wanted: list[Instrument]) -> bool:
    return {one.identity for one in wanted} <= {part.identity for part in method.parts}


def _method(row: ReadingRow, at: _At, now: Look, wanted: list[Instrument]) -> Method:
    """The best method for the row of which every instrument named is a part. Raises CellRefused where there is none."""
    given = given_on(now.shop, now.sheet, row.day or now.day, row.taken or now.at)
    found = method_with(given, at.row, wanted)
    if found is None:
        raise CellRefused("instrument", at.reason("intake.instrument_cannot", tag=row.instrument[:60]))
    return found
