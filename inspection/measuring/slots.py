"""The slots of a cell: which readings a row asks for, said before the first is taken, and on which pieces."""

from __future__ import annotations

from collections.abc import Sequence, Set

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.requirement import Form
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.measuring.reading import Role, Slot

_THREAD_GAUGES = frozenset({InstrumentKind.THREAD_PLUG, InstrumentKind.THREAD_RING})
_GO_ENDS = frozenset({"GO", "NOT GO"})
FIRST_AND_LAST = "first-last"


def slots_of(characteristic: Characteristic, instrument: Instrument | None) -> tuple[Slot, ...]:
    """The slots of one cell of this row when ``instrument`` is the one that is read, in the order they are taken.

    Numbers: every declared place, and at each the declared repeats. Gauge pins: at each place the largest that
    enters and the smallest that does not. Threads, and fixed-limit gauges where the row allows an attribute: GO and
    NOT GO at each place. Notes, and what the eye answers where the row allows an attribute: one finding a place.
    Repeats are of numbers only; trying a gauge again is no mean. A numeric requirement that does not allow an
    attribute asks for a number whatever is in hand.
    """
    roles = roles_of(characteristic, instrument)
    repeats = characteristic.repeats if roles == (Role.VALUE,) else 1
    return tuple(
        Slot(place, repeat, role)
        for place in characteristic.places or ("",)
        for repeat in range(1, max(1, repeats) + 1)
        for role in roles
    )


def unfilled(characteristic: Characteristic, slots: Sequence[Slot], filled: Set[Slot]) -> tuple[Slot, ...]:
    """Those of a cell's ``slots`` that still want a reading, the ``filled`` ones being answered.

    A place answered whole by numbers or by pins needs no other slot, so that changing instruments between places or
    pieces opens nothing that was answered.
    """
    return tuple(
        slot for slot in slots if slot not in filled and not _answered_at(slot.place, characteristic.repeats, filled)
    )


def _answered_at(place: str, repeats: int, filled: Set[Slot]) -> bool:
    numbers = {Slot(place, repeat) for repeat in range(1, max(1, repeats) + 1)}
    return numbers <= filled or {Slot(place, 1, role) for role in (Role.ENTERS, Role.STOPS)} <= filled


def roles_of(characteristic: Characteristic, instrument: Instrument | None) -> tuple[Role, ...]:
    """What the readings of this row answer, one reading of each role at a place."""
    if characteristic.kind is FeatureKind.NOTE or characteristic.requirement.form is Form.NOTE:
        return (Role.FINDING,)
    if instrument is not None and instrument.kind is InstrumentKind.GAUGE_PINS and not _fixed(instrument):
        return (Role.ENTERS, Role.STOPS)
    if _thread(characteristic) or (characteristic.attribute_allowed and instrument and _fixed(instrument)):
        return (Role.GO, Role.NOT_GO)
    if characteristic.attribute_allowed and instrument and instrument.kind is InstrumentKind.EYE:
        return (Role.FINDING,)
    return (Role.VALUE,)


def _thread(characteristic: Characteristic) -> bool:
    """Whether the row is a thread as designated, which only its GO and NOT GO answer; a stated size (a minor or a
    pitch diameter with its own limits) is a row of its own and asks for a number."""
    return characteristic.requirement.form is Form.THREAD


def _fixed(instrument: Instrument) -> bool:
    """Whether the instrument is one pair of fixed limits, and not a set from which sizes are tried."""
    ends = {member.label.strip().upper().replace("-", " ").replace("NO GO", "NOT GO") for member in instrument.members}
    return instrument.kind in _THREAD_GAUGES or ends == _GO_ENDS


def needed(characteristic: Characteristic, piece_index: int, pieces_count: int) -> bool:
    """Whether the row's sampling asks for the piece at ``piece_index`` (from 0) of ``pieces_count``.

    "all", "first-last", or a number n: the first n pieces, at least one. A sampling that is none of these asks for
    all, the strict side.
    """
    sampling = characteristic.sampling.strip().casefold()
    if sampling == FIRST_AND_LAST:
        return piece_index in (0, pieces_count - 1)
    if sampling.isdecimal():
        return piece_index < max(1, int(sampling))
    return True
