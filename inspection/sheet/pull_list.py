"""What to fetch from the crib before a sheet is measured: instruments in pick-up order, sizes to take out of sets, what
to check before use, and the route itself."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping
from functools import cache

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.numbers import natural_key
from inspection.instruments.method import Assignment, Method, Stop
from inspection.instruments.pins import gauges_of
from inspection.instruments.record import Instrument, InstrumentKind, Standing
from inspection.quantity.units import Kind
from inspection.reasons import Amount, Reason
from inspection.standards.tables import rows as table_rows


class Pull(Struct, frozen=True):
    """One instrument to fetch, as its record now stands.

    ``legs`` are the stops of the route at which it is in hand (counted from 1), ``rows`` the balloon numbers of the
    rows it is needed for; ``sizes`` the members of a set to take along (pm), as runs in the set's own order.
    ``checks`` are what to check before use, ``minds`` what stands against it today.
    """

    instrument: Instrument
    legs: tuple[int, ...]
    rows: tuple[str, ...]
    sizes: tuple[tuple[int, ...], ...] = ()
    checks: tuple[Reason, ...] = ()
    minds: tuple[Reason, ...] = ()


class Leg(Struct, frozen=True):
    """One stop of the route: what is in hand (None: nothing reaches), in which set-up, for which rows."""

    order: int
    set_up: str
    method: Method | None
    rows: tuple[str, ...]


class PullList(Struct, frozen=True):
    """The whole list: what to fetch in the order it is first picked up, and the route."""

    pulls: tuple[Pull, ...]
    legs: tuple[Leg, ...]


def pull_list(
    rows: Iterable[Characteristic],
    assignments: Mapping[str, Assignment],
    stops: Iterable[Stop],
    crib: Mapping[str, Instrument],
    day: str,
) -> PullList:
    """The pull list of a route over ``rows``, from the ``crib`` as it stands on ``day`` (ISO)."""
    by_identity = {row.identity: row for row in rows}
    stops = tuple(stops)
    legs = tuple(_legs(by_identity, assignments, stops))
    needed: dict[str, list[tuple[int, Characteristic]]] = {}
    for order, stop in enumerate(stops, start=1):
        for name in stop.characteristics:
            assessment = assignments[name].assessment
            if name in by_identity and assessment is not None:
                for part in assessment.method.parts:
                    needed.setdefault(part.identity, []).append((order, by_identity[name]))
    pulls = (
        _pull(crib[identity], uses, day)
        for identity, uses in needed.items()
        if identity in crib and crib[identity].kind is not InstrumentKind.EYE
    )
    return PullList(tuple(pulls), legs)


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


def _pull(instrument: Instrument, uses: list[tuple[int, Characteristic]], day: str) -> Pull:
    rows = [row for _, row in uses]
    return Pull(
        instrument,
        legs=tuple(sorted({leg for leg, _ in uses})),
        rows=_numbers(rows),
        sizes=_sizes(instrument, rows),
        checks=tuple(checks_before_use(instrument, rows)),
        minds=tuple(_minds(instrument, day)),
    )


def _minds(instrument: Instrument, day: str) -> Iterator[Reason]:
    if instrument.standing is not Standing.IN_SERVICE:
        yield Reason(f"pull.{instrument.standing.name.lower()}", {"tag": instrument.tag})
    if instrument.due and instrument.due < day:
        yield Reason("pull.overdue", {"tag": instrument.tag, "due": instrument.due})


# --- sizes ----------------------------------------------------------------------------------------------------


def _sizes(instrument: Instrument, rows: Iterable[Characteristic]) -> tuple[tuple[int, ...], ...]:
    """Pins to try for each row: from the one below its lower limit to the one above its upper limit."""
    if instrument.kind is not InstrumentKind.GAUGE_PINS:
        return ()
    there = [gauge.size for gauge in gauges_of(instrument) if gauge.size not in instrument.missing]
    wanted = sorted({place for row in rows for place in _places(there, row)})
    runs: list[list[int]] = []
    for place in wanted:
        if runs and place == runs[-1][-1] + 1:
            runs[-1].append(place)
        else:
            runs.append([place])
    return tuple(tuple(there[place] for place in run) for run in runs)


def _places(sizes: list[int], row: Characteristic) -> range:
    lower, upper = row.requirement.lower, row.requirement.upper
    first = bisect_right(sizes, lower) - 1 if lower is not None else None
    last = bisect_left(sizes, upper) if upper is not None else None
    if first is None and last is None:
        return range(0)
    first = first if first is not None else (last or 0) - 1
    last = last if last is not None else first + 1
    return range(max(0, first), min(len(sizes) - 1, last) + 1)


# --- checks ---------------------------------------------------------------------------------------------------


def checks_before_use(instrument: Instrument, rows: Iterable[Characteristic]) -> Iterator[Reason]:
    """What to check on an instrument before it is used for these rows (common practice)."""
    for line in _checks().get(instrument.kind.value, ()):
        if line != "block":
            yield Reason(f"check.{line}")
        elif (size := _size_of_tightest(rows)) is not None:
            yield Reason("check.block", {"size": size})


def _size_of_tightest(rows: Iterable[Characteristic]) -> Amount | None:
    """The size of the row with the narrowest band: there a block is read."""
    sized = [row.requirement for row in rows if row.requirement.kind is Kind.LENGTH]
    found = [one for one in sized if one.nominal and one.lower is not None and one.upper is not None]
    if not found:
        return None
    tightest = min(found, key=lambda one: (one.upper or 0) - (one.lower or 0))
    return Amount(tightest.nominal or 0, Kind.LENGTH, tightest.unit)


@cache
def _checks() -> Mapping[str, tuple[str, ...]]:
    return {row["kind"]: tuple(filter(None, row["lines"].split(";"))) for row in table_rows("checks")}
