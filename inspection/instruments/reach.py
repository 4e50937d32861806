"""Can it reach? Each condition is a named check with what was asked, needed and got.

Lengths are picometres, angles micro-arcseconds. A check that does not apply is left out, not passed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from inspection.drawing.characteristic import Characteristic
from inspection.instruments.comparing import compared_checks
from inspection.instruments.designations import read_designation
from inspection.instruments.method import Check
from inspection.instruments.record import Instrument, InstrumentKind, Standing, Use
from inspection.instruments.ways import Manner, Way
from inspection.reasons import Amount, Part, Reason
from inspection.standards.usual_figures import usual_smallest_bore


def check(name: str, holds: bool, **parts: Part) -> Check:
    """A named check; the code of its reason says whether it holds."""
    return Check(name, holds, Reason(f"reach.{name}" if holds else f"reach.{name}.not", parts))


def permissible_error(instrument: Instrument, use: Use, size: int) -> int | None:
    """E (counts) of an instrument in a use at a size; None if its record states none there."""
    found = [step for step in instrument.permissible if step.use is use and size <= step.up_to]
    return min(found, key=lambda step: step.up_to).error if found else None


def limits_asked(characteristic: Characteristic) -> tuple[int | None, int | None]:
    """The smallest and largest size an instrument must show; nominal stands in where no limit does.

    A quantity with a natural zero asks for its upper limit only.
    """
    requirement = characteristic.requirement
    stated = [x for x in (requirement.lower, requirement.upper) if x is not None]
    if requirement.natural_zero:
        return None, max(stated, default=requirement.nominal or 0)
    if not stated:
        stated = [x for x in (requirement.nominal,) if x is not None]
    return min(stated, default=None), max(stated, default=None)


def range_covers(instrument: Instrument, asked: tuple[int | None, int | None]) -> bool:
    """Whether the instrument's range holds both ends asked."""
    least, most = asked
    return (least is None or instrument.low <= least) and (most is None or most <= instrument.high)


def smallest_bore(touching: Instrument) -> int | None:
    """The smallest bore (pm) that contacts enter cleanly: the record's, else what such jaws usually do."""
    stated = touching.contacts.smallest_bore
    return usual_smallest_bore(touching.kind.value) if stated is None else stated


def contacts_clear(
    characteristic: Characteristic, way: Way, touching: Instrument
) -> Iterator[tuple[str, bool, int, int]]:
    """Every condition between contacts and feature that applies: its name, whether it holds, needed, got (pm)."""
    contacts, access = touching.contacts, characteristic.access
    bore, _ = limits_asked(characteristic)
    smallest = smallest_bore(touching)
    if way.use is Use.INSIDE and smallest is not None and bore is not None:
        yield "bore", bore >= smallest, smallest, bore
    if access.reach is not None and contacts.reach is not None:
        yield "depth", contacts.reach >= access.reach, access.reach, contacts.reach
    if access.corner_radius is not None and contacts.relief is not None:
        yield "corner", contacts.relief >= access.corner_radius, access.corner_radius, contacts.relief
    if contacts.width is not None:
        if access.wall is not None:
            yield "width", access.wall >= contacts.width, contacts.width, access.wall
        if access.bore_length is not None and way.use is Use.INSIDE:
            yield "length", access.bore_length >= contacts.width, contacts.width, access.bore_length


def usable(instrument: Instrument, day: str) -> bool:
    """Whether an instrument may be used for acceptance on a day: in service, as calibrated, due that day or later."""
    return (
        instrument.standing is Standing.IN_SERVICE
        and instrument.as_calibrated
        and (not instrument.due or instrument.due >= day)
    )


def service_checks(instrument: Instrument, day: str, read: int | None = None) -> Iterator[Check]:
    """In service, calibration due on or after the day (an ISO date) and, where it is ``read`` as often as its interval
    allows, no longer good; configuration as calibrated."""
    tag = instrument.tag
    yield check("service", instrument.standing is Standing.IN_SERVICE, tag=tag, standing=instrument.standing.value)
    if instrument.due:
        yield check("due", instrument.due >= day, tag=tag, due=instrument.due, day=day)
    if instrument.every_readings and instrument.certified:
        yield check("used", read is None, tag=tag, n=read or 0, most=instrument.every_readings)
    if not instrument.as_calibrated:
        yield check("configuration", False, tag=tag)


def thread_matches(characteristic: Characteristic, instrument: Instrument) -> bool:
    """Whether a thread gauge is the one for the row: same thread and class, a plug for a nut's thread, else a ring."""
    asked = read_designation(characteristic.requirement.written)
    if asked is None or asked != read_designation(instrument.thread):
        return False
    return asked.internal == (instrument.kind is InstrumentKind.THREAD_PLUG)


def missing_ends(instrument: Instrument) -> tuple[str, ...]:
    """The ends of a thread gauge that are missing: it answers a thread by both or not at all."""
    return tuple(end.label for end in instrument.members if end.size in instrument.missing)


def touches(way: Way, parts: Sequence[Instrument]) -> Instrument:
    """The instrument of a method that meets the feature: the transfer gauge, else the one that is read."""
    return parts[1] if way.transfer is not None else parts[0]


def spanning(way: Way, parts: Sequence[Instrument]) -> Sequence[Instrument]:
    """The instruments whose range must hold the size: the one read and the transfer gauge."""
    return parts[:2] if way.transfer is not None else parts[:1]


def transfer_reads(way: Way, parts: Sequence[Instrument]) -> bool:
    """Whether the transfer gauge may be read over the instrument read."""
    return way.transfer is None or not parts[1].read_over or parts[0].kind in parts[1].read_over


def needs_force(characteristic: Characteristic, touching: Instrument) -> bool:
    """Whether the instrument presses on material that may not bear it."""
    return characteristic.access.soft and touching.contacts.hard


def _amount(characteristic: Characteristic, count: int, unit: str) -> Amount:
    return Amount(count, characteristic.requirement.kind, unit)


def reach_checks(
    characteristic: Characteristic,
    way: Way | None,
    parts: Sequence[Instrument],
    day: str,
    used_up: Mapping[str, int] = {},
) -> Iterator[Check]:
    """All checks of a method on a characteristic; ``way`` is None if its instruments make up no way of measuring.
    ``used_up`` is how often those were read that were read as often as their interval allows."""
    read = parts[0]
    use = {"tag": read.tag, "feature": characteristic.kind.value}
    answers = way is not None and way.answers(characteristic) and read.quantity is characteristic.requirement.kind
    if way is None or not answers or not transfer_reads(way, parts):
        yield check("use", False, **use)
    else:
        yield check("use", True, **use)
        yield from _meeting(characteristic, way, parts)
    for instrument in parts:
        yield from service_checks(instrument, day, used_up.get(instrument.identity))


def _meeting(characteristic: Characteristic, way: Way, parts: Sequence[Instrument]) -> Iterator[Check]:
    """Checks of a way that answers the kind of feature: sizes, contacts, force, designation."""
    if way.manner is Manner.THREAD:
        written, thread = characteristic.requirement.written, parts[0].thread
        yield check("thread", thread_matches(characteristic, parts[0]), tag=parts[0].tag, thread=thread, asked=written)
        if lost := missing_ends(parts[0]):
            yield check("ends", False, tag=parts[0].tag, ends=", ".join(lost))
    if way.manner is Manner.SCALE:
        yield from _range_checks(characteristic, way, parts)
    unit = characteristic.requirement.unit
    touching = touches(way, parts)
    for name, holds, needed, got in contacts_clear(characteristic, way, touching):
        amounts = {"needed": _amount(characteristic, needed, unit), "got": _amount(characteristic, got, unit)}
        yield check(name, holds, tag=touching.tag, **amounts)
    if characteristic.access.soft:
        yield check("force", not needs_force(characteristic, touching), tag=touching.tag)


def _range_checks(characteristic: Characteristic, way: Way, parts: Sequence[Instrument]) -> Iterator[Check]:
    if way.set_on is not None:
        yield from (Check(*found) for found in compared_checks(characteristic, parts[0], parts[-1]))
        return
    asked = limits_asked(characteristic)
    if asked == (None, None):
        return
    for instrument in spanning(way, parts):
        low = _amount(characteristic, instrument.low, instrument.unit)
        high = _amount(characteristic, instrument.high, instrument.unit)
        yield check("range", range_covers(instrument, asked), tag=instrument.tag, low=low, high=high)
