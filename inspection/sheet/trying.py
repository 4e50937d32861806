"""Pins tried in a bore of a sheet: what was tried, which pin to try next, and what is then kept as its readings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic
from inspection.instruments.pins import Gauge, gauges_of
from inspection.instruments.record import Instrument
from inspection.instruments.stepping import Sized, Tried, mark_text, marked, next_pin, sized_by, sized_reasons
from inspection.measuring.reading import Reading, Role, Slot
from inspection.reasons import Part, Reason, Refused
from inspection.sheet.state import Cell, Sheet, family

#: The readings of a bore that is measured with pins.
BY_PINS = frozenset({Role.ENTERS, Role.STOPS})


class Trial(Struct, frozen=True):
    """Where a bore stands that pins are tried in: the ``pin`` to try next (None: no further one tells more), what is
    known, and what to say. ``at_fault`` says that what was tried cannot all be so."""

    pin: Gauge | None = None
    sized: Sized = Sized()
    reasons: tuple[Reason, ...] = ()
    at_fault: bool = False

    @property
    def is_sized(self) -> bool:
        """Whether the bore lies between two pins that both can be kept."""
        into, out = self.sized.entered, self.sized.stopped
        return self.pin is None and into is not None and out is not None and into.size < out.size


def trial_of(instrument: Instrument, likely: int, tried: Sequence[Tried]) -> Trial:
    """Where a bore of ``likely`` size (pm) stands after the pins of a set that were ``tried``, in order."""
    try:
        step = next_pin(instrument, likely, tried)
    except Refused as refused:
        return Trial(reasons=refused.reasons, at_fault=True)
    if step.pin is None:
        return Trial(None, step.sized, step.reasons)
    code = "stepping.next" if tried else "stepping.first"
    return Trial(step.pin, step.sized, (Reason(code, {"pin": marked(instrument, step.pin.size)}),))


def tries_of(readings: Iterable[Reading], place: str) -> tuple[Tried, ...]:
    """What the readings of a cell say was tried at a place: the largest that enters, the smallest that does not."""
    return tuple(
        Tried(reading.count, reading.slot.role is Role.ENTERS)
        for reading in readings
        if reading.count is not None and reading.slot.place == place and reading.slot.role in BY_PINS
    )


def likely_bore(sheet: Sheet, cell: Cell, place: str, instrument: Instrument) -> int:
    """The size (pm) to begin at: that of the like bore that was sized last, else the one that the drawing has.

    Of a row read blind neither may show: it begins in the middle of the set. 0 for a set without a usable pin.
    """
    row = sheet.characteristic(cell[0])
    sizes = [gauge.size for gauge in gauges_of(instrument)]
    middle = sizes[len(sizes) // 2] if sizes else 0
    if row.blind:
        return middle
    return next(_like(sheet, row, cell, place), None) or row.requirement.likely or middle


def _like(sheet: Sheet, row: Characteristic, cell: Cell, place: str) -> Iterator[int]:
    """Largest pins that enter like bores: other places of the cell, other holes of its count, other pieces."""
    holes = [name for name in sheet.rows.families.get(family(row), ()) if name != row.identity]
    cells = [cell, *((name, cell[1]) for name in reversed(holes))]
    cells += [(row.identity, piece.identity) for piece in reversed(sheet.pieces) if piece.identity != cell[1]]
    for each in cells:
        for reading in reversed(sheet.counting(*each)):
            here = each == cell and reading.slot.place == place
            if reading.slot.role is Role.ENTERS and reading.count is not None and not here:
                yield reading.count


class Kept(Struct, frozen=True):
    """A reading that follows from pins that were tried: its slot, and the mark of the pin as it is typed."""

    slot: Slot
    text: str


def to_keep(
    trial: Trial, instrument: Instrument, place: str, readings: Sequence[Reading], waiting: Iterable[Slot]
) -> tuple[Kept, ...]:
    """What is kept of a bore that is sized: each of its two readings that still waits.

    ``readings`` are those of the cell that count. Raises Refused where one of them is another pin than was found since.
    """
    into, out = trial.sized.entered, trial.sized.stopped
    if not trial.is_sized or into is None or out is None:
        return ()
    found = {Role.ENTERS: into.size, Role.STOPS: out.size}
    faults = [
        Reason(f"stepping.kept.{each.slot.role.name.lower()}", _pair(instrument, found[each.slot.role], each.count))
        for each in readings
        if each.slot.role in BY_PINS and each.slot.place == place and each.count not in (None, found[each.slot.role])
    ]
    if faults:
        raise Refused(*faults)
    return tuple(
        Kept(slot, mark_text(instrument, found[slot.role]))
        for slot in waiting
        if slot.place == place and slot.role in BY_PINS
    )


def _pair(instrument: Instrument, found: int, kept: int | None) -> dict[str, Part]:
    return {"found": marked(instrument, found), "kept": marked(instrument, kept or 0)}


def told_of_sized(instrument: Instrument, readings: Sequence[Reading], place: str) -> tuple[Reason, ...]:
    """What a bore's two readings by pins tell of it, and the pin between them that was not tried; nothing while one of
    them is missing, or where they are no pins of this set."""
    tried = tries_of(readings, place)
    try:
        step = next_pin(instrument, 1, tried) if tried else None
        sized = sized_by(instrument, tried)
    except Refused:
        return ()
    if step is None or sized.entered is None or sized.stopped is None:
        return ()
    between = (Reason("stepping.between", {"pin": marked(instrument, step.pin.size)}),) if step.pin else ()
    return (*sized_reasons(instrument, sized), *between)
