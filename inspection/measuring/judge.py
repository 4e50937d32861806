"""Judging a cell from its readings, by simple acceptance.

Limits and readings meet as exact integers and on the limit is inside. A mean of n readings is never divided: its sum
meets n times the limit.

A cell is *not conforming* as soon as one result that nothing later can mend is out: a place, a pin, GO or NOT GO, a
finding. A mean is a result only when all m declared readings stand, so an outlying first repeat decides nothing.
Otherwise a cell is open while a declared slot is empty. Readings that are an indication only fill no slot and decide
nothing, neither for nor against.

Where a slot holds several counting readings (two stations wrote at once) none is dropped: for single readings the
smallest meets the lower limit and the largest the upper, repeats all enter the mean.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import lcm

from msgspec import Struct
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.requirement import Requirement
from inspection.instruments.method import Assessment, Fitness
from inspection.measuring.reading import Observed, Reading, Role, Slot
from inspection.measuring.slots import unfilled
from inspection.measuring.verdict import Judgement, Verdict
from inspection.reasons import Amount, Part, Reason

_MET = {
    Role.GO: Observed.ENTERS,
    Role.NOT_GO: Observed.DOES_NOT_ENTER,
    Role.FINDING: Observed.AS_REQUIRED,
}
_NOT_MET = {
    Role.GO: "judge.go_does_not_enter",
    Role.NOT_GO: "judge.not_go_enters",
    Role.FINDING: "judge.not_as_required",
}


class _Point(Struct, frozen=True):
    """One result at one place: ``total`` of ``of`` readings, held against the limits on the sides it answers."""

    place: str
    total: int
    of: int = 1
    lower: bool = True
    upper: bool = True

    @property
    def what(self) -> str:
        """What is out where it is: a pin answers one side, and its size is not the hole's."""
        return "" if self.lower and self.upper else "pin_"


class _Fault(Struct, frozen=True):
    """One result that is out: by how many counts (signed; a mean's rounded away from zero), and why."""

    by: int
    reason: Reason


def judge(
    characteristic: Characteristic,
    readings: Sequence[Reading],
    assessments: Mapping[str, Assessment],
    slots: Sequence[Slot],
) -> Judgement:
    """Judge one cell from the ``readings`` that count, by simple acceptance.

    ``assessments`` are those of the readings' methods on the readings' own days, by reading identity; ``slots`` are
    the ones the cell asks for. Inside or on the limits with fit instruments is conforming; inside with one that is
    marginal, or that nothing assessed, is conforming with a marginal instrument; outside is not conforming.
    Basic and reference dimensions are not judged and keep their results.
    """
    requirement = characteristic.requirement
    counting = [reading for reading in readings if counts(reading, assessments.get(reading.identity))]
    points = _points(characteristic, counting)
    found = _found(characteristic, points, _worst(counting, assessments))
    if not requirement.judged:
        return replace(found, verdict=Verdict.NOT_JUDGED, reasons=(Reason(f"judge.{requirement.form.name.lower()}"),))
    faults = _limit_faults(requirement, points) + _observed_faults(counting)
    standing_open = (*_still_open(characteristic, counting, slots), *_contradictions(counting))
    told = _indications(len(readings) - len(counting))
    if faults:
        reasons = (*(fault.reason for fault in faults), *standing_open, *told)
        return replace(found, verdict=Verdict.NOT_CONFORMING, out_by=_furthest(faults), reasons=reasons)
    if standing_open:
        return replace(found, reasons=(*standing_open, *told))
    short = _marginal(characteristic, counting, assessments)
    return replace(found, verdict=Verdict.MARGINAL if short else Verdict.CONFORMING, reasons=(*short, *told))


def counts(reading: Reading, assessment: Assessment | None) -> bool:
    """Whether a reading may close a row: not an indication, and its method neither unsuitable nor barred."""
    if reading.indication:
        return False
    return assessment is None or (assessment.choosable and assessment.fitness is not Fitness.UNSUITABLE)


def _indications(n: int) -> tuple[Reason, ...]:
    return (Reason("judge.indication", {"n": n}),) if n else ()


# --- results --------------------------------------------------------------------------------------------------


def _points(characteristic: Characteristic, counting: Sequence[Reading]) -> list[_Point]:
    """Every result there is: each single reading, the mean of each place whose repeats are all there, each pin."""
    values = [reading for reading in counting if reading.slot.role is Role.VALUE and reading.count is not None]
    points = _means(characteristic.repeats, values) if characteristic.repeats > 1 else _singles(values)
    for reading in counting:
        if reading.count is not None and reading.slot.role in (Role.ENTERS, Role.STOPS):
            enters = reading.slot.role is Role.ENTERS
            points.append(_Point(reading.slot.place, reading.count, lower=enters, upper=not enters))
    return points


def _singles(values: Iterable[Reading]) -> list[_Point]:
    return [_Point(reading.slot.place, reading.count or 0) for reading in values]


def _means(repeats: int, values: Iterable[Reading]) -> list[_Point]:
    places: dict[str, list[Reading]] = {}
    for reading in values:
        places.setdefault(reading.slot.place, []).append(reading)
    return [
        _Point(place, sum(reading.count or 0 for reading in read), len(read))
        for place, read in places.items()
        if len({reading.slot.repeat for reading in read}) >= repeats
    ]


def _found(characteristic: Characteristic, points: Sequence[_Point], worst: Assessment | None) -> Judgement:
    """What was found, before anything is said of it: the results and how good the instruments were."""
    results, of = _results(characteristic, points)
    if worst is None:
        return Judgement(Verdict.OPEN, results, of)
    return Judgement(Verdict.OPEN, results, of, ratios=worst.ratios, expanded=worst.expanded)


def _results(characteristic: Characteristic, points: Sequence[_Point]) -> tuple[tuple[int, ...], int]:
    """The reported results over a common divisor: one value, or smallest and largest.

    Pins give the least that entered and the largest that did not, once both are there: each place's own pair lies
    within these.
    """
    values = [point for point in points if point.lower and point.upper]
    if not values:
        entered = [point.total for point in points if point.lower]
        stopped = [point.total for point in points if point.upper]
        return ((min(entered), max(stopped)) if entered and stopped else (), 1)
    of = lcm(*(point.of for point in values))
    scaled = [point.total * (of // point.of) for point in values]
    one = len(values) == 1 and len(characteristic.places) < 2
    return ((scaled[0],) if one else (min(scaled), max(scaled)), of)


# --- faults ---------------------------------------------------------------------------------------------------


def _limit_faults(requirement: Requirement, points: Iterable[_Point]) -> list[_Fault]:
    faults = []
    for point in points:
        if point.lower and requirement.lower is not None and point.total < point.of * requirement.lower:
            by = (point.total - point.of * requirement.lower) // point.of
            faults.append(_Fault(by, _out(f"judge.{point.what}under", requirement, point, by, requirement.lower)))
        if point.upper and requirement.upper is not None and point.total > point.of * requirement.upper:
            by = -((point.of * requirement.upper - point.total) // point.of)
            faults.append(_Fault(by, _out(f"judge.{point.what}over", requirement, point, by, requirement.upper)))
    return faults


def _out(code: str, requirement: Requirement, point: _Point, by: int, limit: int) -> Reason:
    parts: dict[str, Part] = {
        "by": Amount(abs(by), requirement.kind, requirement.unit, requirement.decimals),
        "limit": Amount(limit, requirement.kind, requirement.unit, requirement.decimals),
    }
    return _at(code, point.place, parts)


def _at(code: str, place: str, parts: dict[str, Part]) -> Reason:
    """A reason that names its place, where there is one."""
    return Reason(f"{code}_at", {**parts, "place": place}) if place else Reason(code, parts)


def _observed_faults(counting: Iterable[Reading]) -> list[_Fault]:
    return [
        _Fault(0, _at(_NOT_MET[reading.slot.role], reading.slot.place, {}))
        for reading in counting
        if reading.slot.role in _MET and reading.observed is not _MET[reading.slot.role]
    ]


def _furthest(faults: Iterable[_Fault]) -> int | None:
    """The worst amount out, of numbers; None where only gauges or findings are out."""
    return max((fault.by for fault in faults), key=abs) or None


# --- what keeps a cell open -----------------------------------------------------------------------------------


def _still_open(characteristic: Characteristic, counting: Sequence[Reading], slots: Sequence[Slot]) -> Iterable[Reason]:
    """Empty slots, and limits that nobody gave."""
    requirement = characteristic.requirement
    missing = unfilled(characteristic, slots, {reading.slot for reading in counting})
    if missing:
        yield Reason("judge.missing", {"n": len(missing), "of": len(slots)})
    numbers = any(reading.count is not None for reading in counting)
    if numbers and requirement.lower is None and requirement.upper is None:
        yield Reason("judge.no_limits")


def _contradictions(counting: Sequence[Reading]) -> Iterable[Reason]:
    """A pin that enters where a smaller one does not, or one that does both: one of the two is misread."""
    for place in dict.fromkeys(reading.slot.place for reading in counting):
        here = [reading for reading in counting if reading.slot.place == place and reading.count is not None]
        entered = [reading.count for reading in here if reading.slot.role is Role.ENTERS]
        stopped = [reading.count for reading in here if reading.slot.role is Role.STOPS]
        if entered and stopped and max(filter(None, entered)) >= min(filter(None, stopped)):
            yield _at("judge.pins_contradict", place, {})


# --- instruments ----------------------------------------------------------------------------------------------


def _marginal(
    characteristic: Characteristic, counting: Iterable[Reading], assessments: Mapping[str, Assessment]
) -> list[Reason]:
    """What makes an inside result marginal: an instrument that falls short or was never assessed, and a key
    characteristic answered by an attribute where it has limits to give a number for."""
    short: dict[tuple[str, str], Reason] = {}
    for reading in counting:
        assessment = assessments.get(reading.identity)
        if assessment is None and reading.slot.role is not Role.FINDING:
            short["", ""] = Reason("judge.not_assessed")
        if assessment is not None and assessment.fitness is Fitness.MARGINAL:
            for reason in assessment.against or (Reason("judge.marginal"),):
                short[reason.code, str(reason.parts)] = reason
    limited = characteristic.requirement.lower is not None or characteristic.requirement.upper is not None
    if characteristic.key and limited and any(reading.observed is not None for reading in counting):
        short["key", ""] = Reason("judge.key_by_attribute", {"key": characteristic.key})
    return list(short.values())


def _worst(counting: Iterable[Reading], assessments: Mapping[str, Assessment]) -> Assessment | None:
    """The assessment that the verdict leans on: a marginal one first, then the one with the largest uncertainty."""
    used = [assessments[reading.identity] for reading in counting if reading.identity in assessments]
    return max(used, key=lambda each: (each.fitness is Fitness.MARGINAL, each.expanded or 0), default=None)
