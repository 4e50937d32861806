"""What to fetch from the crib before a sheet is measured: instruments in pick-up order, what to take out of sets, what
to check before use, and the route itself."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.numbers import natural_key
from inspection.instruments.method import Assignment, Method, Stop
from inspection.instruments.record import Instrument, InstrumentKind, Standing
from inspection.measuring.checks import checklist, line_reason
from inspection.reasons import Reason
from inspection.sheet.pull_sets import Blocks, Built, Pins, Uses, blocks_for, pins_for


class Pull(Struct, frozen=True):
    """One instrument to fetch, as its record now stands.

    ``legs`` are the stops of the route at which it is in hand, or something is checked on it (counted from 1), ``rows``
    the balloon numbers of the rows it is needed for. ``pins`` and ``stacks`` are what to take out of a set.
    ``checks`` are what to check before use, ``minds`` what stands against it today.
    """

    instrument: Instrument
    legs: tuple[int, ...]
    rows: tuple[str, ...]
    pins: Pins = Pins()
    stacks: tuple[Built, ...] = ()
    checks: tuple[Reason, ...] = ()
    minds: tuple[Reason, ...] = ()


class Leg(Struct, frozen=True):
    """One stop of the route: what is in hand (None: nothing reaches), in which set-up, for which rows."""

    order: int
    set_up: str
    method: Method | None
    rows: tuple[str, ...]


class PullList(Struct, frozen=True):
    """The whole list: what to fetch in the order it is first picked up, and the route; ``lacks`` is what the crib does
    not hold for it."""

    pulls: tuple[Pull, ...]
    legs: tuple[Leg, ...]
    lacks: tuple[Reason, ...] = ()


def pull_list(
    rows: Iterable[Characteristic],
    assignments: Mapping[str, Assignment],
    stops: Iterable[Stop],
    crib: Mapping[str, Instrument],
    day: str,
    used_up: Container[str] = (),
) -> PullList:
    """The pull list of a route over ``rows``, from the ``crib`` as it stands on ``day`` (ISO); ``used_up`` are those
    that were read as often as their interval allows."""
    by_identity = {row.identity: row for row in rows}
    stops = tuple(stops)
    legs = tuple(_legs(by_identity, assignments, stops))
    needed = _needed(by_identity, assignments, stops)
    blocks = blocks_for(needed, crib, day)
    fetched = dict.fromkeys((*needed, *blocks.sets))
    pulls = [
        _pull(crib[identity], needed.get(identity, ()), blocks, day, used_up)
        for identity in fetched
        if identity in crib and crib[identity].kind is not InstrumentKind.EYE
    ]
    return PullList(tuple(sorted(pulls, key=lambda pull: pull.legs[0])), legs, blocks.lacks)


def _needed(
    rows: Mapping[str, Characteristic], assignments: Mapping[str, Assignment], stops: Iterable[Stop]
) -> dict[str, list[tuple[int, Characteristic]]]:
    """Every instrument of the route by its identity, with the stops and rows it is needed for."""
    needed: dict[str, list[tuple[int, Characteristic]]] = {}
    for order, stop in enumerate(stops, start=1):
        for name in stop.characteristics:
            assessment = assignments[name].assessment
            if name in rows and assessment is not None:
                for part in assessment.method.parts:
                    needed.setdefault(part.identity, []).append((order, rows[name]))
    return needed


def _legs(
    rows: Mapping[str, Characteristic], assignments: Mapping[str, Assignment], stops: Iterable[Stop]
) -> Iterator[Leg]:
    for order, stop in enumerate(stops, start=1):
        here = [name for name in stop.characteristics if name in rows]
        assessments = (assignments[name].assessment for name in here)
        method = next((found.method for found in assessments if found is not None), None)
        yield Leg(order, stop.set_up, method, _numbers(rows[name] for name in here))


def _numbers(rows: Iterable[Characteristic]) -> tuple[str, ...]:
    return tuple(sorted({row.number for row in rows}, key=natural_key))


def _pull(instrument: Instrument, uses: Uses, blocks: Blocks, day: str, used_up: Container[str]) -> Pull:
    rows = [row for _, row in uses]
    pins = pins_for(instrument, rows)
    return Pull(
        instrument,
        legs=tuple(sorted({leg for leg, _ in uses} | set(blocks.legs_of(instrument.identity)))),
        rows=_numbers(rows),
        pins=pins,
        stacks=blocks.of_set(instrument.identity),
        checks=tuple(checks_before_use(instrument, blocks.near.get(instrument.identity))),
        minds=(*minds_of(instrument, day, used_up), *pins.lacks),
    )


def checks_before_use(instrument: Instrument, near: int | None = None) -> Iterator[Reason]:
    """What to check on an instrument before use (common practice); ``near`` is the size (pm) of the block that it
    is read on."""
    return (line_reason(line, instrument, near) for line in checklist(instrument))


def minds_of(instrument: Instrument, day: str, used_up: Container[str] = ()) -> Iterator[Reason]:
    """What stands against using an instrument for acceptance on ``day`` (ISO); ``used_up`` are those that were read as
    often as their interval allows."""
    if instrument.standing is not Standing.IN_SERVICE:
        yield Reason(f"pull.{instrument.standing.name.lower()}", {"tag": instrument.tag})
    if not instrument.as_calibrated:
        yield Reason("pull.changed", {"tag": instrument.tag})
    if instrument.due and instrument.due < day:
        yield Reason("pull.overdue", {"tag": instrument.tag, "due": instrument.due})
    if instrument.identity in used_up:
        yield Reason("pull.used_up", {"tag": instrument.tag, "most": instrument.every_readings})
