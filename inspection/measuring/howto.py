"""How to take a reading well, in a few short lines: by kind of instrument, by use, and by what stands in its way."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from inspection.drawing.characteristic import Characteristic
from inspection.instruments.record import Instrument, InstrumentKind, Use
from inspection.instruments.ways import ways
from inspection.quantity.units import Kind
from inspection.reasons import Amount, Reason
from inspection.standards.tables import rows


def how_to_take(
    characteristic: Characteristic, instrument: Instrument | None, use: Use | None = None, *, in_machine: bool = False
) -> tuple[Reason, ...]:
    """Short lines on how to take a reading of this row with this instrument: wiping, zero, squareness, force, soaking,
    the corner radius. ``use`` adds those of one use (inside, depth) and of comparing; ``in_machine`` leads with the
    caution for a part that is still in a machine. Common practice; no instrument, no lines of its own.
    """
    lines = dict.fromkeys(_lines(characteristic, instrument.kind, use)) if instrument else {}
    said = [_line(line, characteristic) for line in lines if line != "corner"]
    if "corner" in lines:
        said.append(_corner(characteristic))
    if characteristic.access.soft:
        said.append(Reason("howto.soft"))
    if characteristic.repeats > 1:
        said.append(Reason("howto.repeats", {"n": characteristic.repeats}))
    return ((Reason("caution.machine"),) if in_machine else ()) + tuple(said)


def _line(line: str, characteristic: Characteristic) -> Reason:
    size = characteristic.requirement.likely
    if line != "zero_on_stack" or not size or characteristic.blind:
        return Reason(f"howto.{line}")
    return Reason("howto.zero_on_stack_for", {"size": Amount(size, Kind.LENGTH, _length_unit(characteristic))})


def _corner(characteristic: Characteristic) -> Reason:
    radius = characteristic.access.corner_radius
    if radius is None:
        return Reason("howto.corner")
    return Reason("howto.corner_of", {"radius": Amount(radius, Kind.LENGTH, _length_unit(characteristic))})


def _length_unit(characteristic: Characteristic) -> str:
    requirement = characteristic.requirement
    return requirement.unit if requirement.kind is Kind.LENGTH else "in"


def _lines(characteristic: Characteristic, kind: InstrumentKind, use: Use | None) -> Iterator[str]:
    """The lines of what an instrument is set on to compare a part of this kind, which lead, for the card may have room
    for the first only; then its own."""
    table = _table()
    for way in ways():
        if way.set_on is not None and way.read is kind and way.use is use and way.answers(characteristic):
            yield from table.get((way.set_on, way.use), ())
    yield from table.get((kind, ""), ())
    if use is not None:
        yield from table.get((kind, use), ())


@cache
def _table() -> dict[tuple[str, str], tuple[str, ...]]:
    return {(row["kind"], row["use"]): tuple(row["lines"].split(";")) for row in rows("howto")}
