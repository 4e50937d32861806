"""Judging a cell from its readings, by a decision rule.

Known errors are taken off first, openly. Limits and results then meet as exact integers and on the limit is inside. A
mean of n readings is never divided: its sum meets n times the limit. Guard bands and probabilities are those of each
result's own uncertainty budget. Fixed-limit gauges are judged by their class, whatever the rule.

A cell is *not conforming* as soon as one result that nothing later can mend is out: a place, a pin, GO or NOT GO, a
finding. A mean is a result only when all m declared readings stand, so an outlying first repeat decides nothing.
Otherwise a cell is open while a declared slot is empty. Readings that are an indication only fill no slot and decide
nothing, neither for nor against.

Where a slot holds several counting readings (two stations wrote at once) none is dropped: for single readings the
smallest meets the lower limit and the largest the upper, repeats all enter the mean.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from math import lcm
from typing import NamedTuple, Protocol

from msgspec import Struct
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.requirement import Requirement
from inspection.instruments.method import Assessment, Fitness
from inspection.measuring.bias import Correction, Result, corrected
from inspection.measuring.bias_stated import stated_result
from inspection.measuring.guard import (
    Decision,
    DecisionRule,
    Finding,
    Limits,
    RuleKind,
    cut,
    decide,
    per_cent,
    probability_of,
)
from inspection.measuring.reading import Observed, Reading, Role, Slot
from inspection.measuring.slots import unfilled
from inspection.measuring.uncertainty import Budget
from inspection.measuring.uncertainty_stated import stated
from inspection.measuring.verdict import Judgement, Verdict
from inspection.reasons import Amount, Figure, Part, Reason

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


class Reckoned(Protocol):
    """What a reading's method makes of its result: known errors and what is left in doubt."""

    def corrections(self, reading: Fraction | int | None = None) -> tuple[Correction, ...]:
        """What is done about the known errors of a reading."""

    def budget(self, repeats: int = 1) -> Budget:
        """The uncertainty of the mean of so many readings."""


class _Point(Struct, frozen=True):
    """One result at one place: ``total`` of ``of`` readings, held against the limits on the sides it answers.

    ``raw`` is the total before known errors were taken off, ``result`` what was done about them, ``budget`` what is
    left in doubt and ``decision`` what the rule finds; None where nothing is known of the method, and for pins.
    """

    place: str
    total: int
    of: int = 1
    lower: bool = True
    upper: bool = True
    raw: int = 0
    result: Result | None = None
    budget: Budget | None = None
    decision: Decision | None = None

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
    reckonings: Mapping[str, Reckoned] = {},
    rule: DecisionRule = DecisionRule(),  # noqa: B008  a frozen value
    told: Sequence[Reason] = (),
) -> Judgement:
    """Judge one cell from the ``readings`` that count, by a decision ``rule``.

    ``assessments`` are those of the readings' methods on the readings' own days and ``reckonings`` their known errors
    and budgets, by reading identity; ``slots`` are the ones the cell asks for; ``told`` is said beside the verdict.

    Simple acceptance: inside or on the limits with fit and proven instruments is conforming; inside with one that is
    marginal, that nothing assessed, or that rests on no check, is conforming with a marginal instrument; outside is
    not conforming. The other rules have reckoned with the uncertainty themselves, so that only a missing check makes
    marginal what they find conforming. Basic and reference dimensions are not judged and keep their results.
    """
    requirement = characteristic.requirement
    counting = [reading for reading in readings if counts(reading, assessments.get(reading.identity))]
    points = _points(characteristic, counting, reckonings, rule)
    found = _found(characteristic, points, _worst(counting, assessments), rule)
    if not requirement.judged:
        return replace(found, verdict=Verdict.NOT_JUDGED, reasons=(Reason(f"judge.{requirement.form.name.lower()}"),))
    standing_open = (*_still_open(characteristic, counting, slots), *_contradictions(counting))
    beside = (*_indications(len(readings) - len(counting)), *told)
    verdict, why, faults = _verdict(requirement, points, counting)
    out_by = _furthest(faults) if faults else None
    if verdict is Verdict.NOT_CONFORMING:
        return replace(found, verdict=verdict, out_by=out_by, reasons=(*why, *standing_open, *beside))
    if standing_open:
        return replace(found, reasons=(*standing_open, *beside))
    if verdict is not Verdict.CONFORMING:
        return replace(found, verdict=verdict, out_by=out_by, reasons=(*why, *_unproven(counting), *beside))
    short = _marginal(characteristic, counting, assessments, rule)
    return replace(found, verdict=Verdict.MARGINAL if short else verdict, reasons=(*short, *beside))


def counts(reading: Reading, assessment: Assessment | None) -> bool:
    """Whether a reading may close a row: not an indication, and its method neither unsuitable nor barred."""
    if reading.indication:
        return False
    return assessment is None or (assessment.choosable and assessment.fitness is not Fitness.UNSUITABLE)


def _indications(n: int) -> tuple[Reason, ...]:
    return (Reason("judge.indication", {"n": n}),) if n else ()


# --- what the rule says --------------------------------------------------------------------------------------------

_FOUND = {
    Finding.CONFORMING: Verdict.CONFORMING,
    Finding.DOUBT_INSIDE: Verdict.DOUBT_INSIDE,
    Finding.DOUBT_OUTSIDE: Verdict.DOUBT_OUTSIDE,
    Finding.NOT_CONFORMING: Verdict.NOT_CONFORMING,
}
_WORST_FIRST = (Verdict.NOT_CONFORMING, Verdict.DOUBT_OUTSIDE, Verdict.DOUBT_INSIDE, Verdict.CONFORMING)


def _verdict(
    requirement: Requirement, points: Sequence[_Point], counting: Sequence[Reading]
) -> tuple[Verdict, tuple[Reason, ...], list[_Fault]]:
    """The worst that any result comes to, why, and what is out."""
    limits, observed = _limit_faults(requirement, points), _observed_faults(counting)
    found = [_of_point(requirement, point) for point in points] + [Verdict.NOT_CONFORMING] * bool(observed)
    verdict = min(found, key=_WORST_FIRST.index, default=Verdict.CONFORMING)
    why = [reason for point in points if point.decision is not None for reason in _why(point.decision)]
    reasons = {(reason.code, str(reason.parts)): reason for reason in why}
    return verdict, (*(fault.reason for fault in limits + observed), *reasons.values()), limits + observed


def _of_point(requirement: Requirement, point: _Point) -> Verdict:
    """What one result comes to: by the rule, or simply where nothing was reckoned for it (pins)."""
    if point.decision is not None:
        return _FOUND[point.decision.finding]
    return Verdict.NOT_CONFORMING if _limit_faults(requirement, [point]) else Verdict.CONFORMING


def _why(decision: Decision) -> tuple[Reason, ...]:
    """Why a rule finds what it finds; a probability that is too small is named even where the result is inside."""
    if decision.rule.kind is not RuleKind.PROBABILITY or decision.finding is not Finding.NOT_CONFORMING:
        return decision.reasons
    least = per_cent(cut(1 - float(decision.rule.asked)))
    parts: dict[str, Part] = {"got": Figure(per_cent(decision.probability)), "most": Figure(least)}
    return (Reason("judge.improbable", parts),)


# --- results --------------------------------------------------------------------------------------------------


def _points(
    characteristic: Characteristic, counting: Sequence[Reading], reckonings: Mapping[str, Reckoned], rule: DecisionRule
) -> list[_Point]:
    """Every result there is: each single reading, the mean of each place whose repeats are all there, each pin."""
    points = [_reckoned(characteristic, group, reckonings, rule) for group in results_of(characteristic, counting)]
    for reading in counting:
        if reading.count is not None and reading.slot.role in (Role.ENTERS, Role.STOPS):
            enters = reading.slot.role is Role.ENTERS
            points.append(_Point(reading.slot.place, reading.count, lower=enters, upper=not enters, raw=reading.count))
    return points


def results_of(characteristic: Characteristic, counting: Sequence[Reading]) -> list[list[Reading]]:
    """The readings of each number that limits are held against: each single one, or the mean of each place whose
    declared repeats are all there."""
    values = [reading for reading in counting if reading.slot.role is Role.VALUE and reading.count is not None]
    return _means(characteristic.repeats, values) if characteristic.repeats > 1 else [[each] for each in values]


def _means(repeats: int, values: Iterable[Reading]) -> list[list[Reading]]:
    """The readings of each place that has all its declared repeats."""
    places: dict[str, list[Reading]] = {}
    for reading in values:
        places.setdefault(reading.slot.place, []).append(reading)
    return [read for read in places.values() if len({reading.slot.repeat for reading in read}) >= repeats]


def _reckoned(
    characteristic: Characteristic, group: Sequence[Reading], reckonings: Mapping[str, Reckoned], rule: DecisionRule
) -> _Point:
    """The result of one place: known errors taken off, judged by the rule with the least certain of its methods."""
    requirement, of = characteristic.requirement, len(group)
    raw, place = sum(reading.count or 0 for reading in group), group[0].slot.place
    known = made_of(requirement, group, reckonings)
    if known is None:
        return _Point(place, raw, of, raw=raw)
    made, budget = known.result, known.by.budget(of)
    point = _Point(place, made.corrected, of, raw=raw, result=made, budget=budget)
    limits = limits_of(requirement)
    if rule.kind is RuleKind.SIMPLE or not requirement.judged or limits is None:
        return point
    return replace(point, decision=decide(rule, made.corrected, limits, budget, of))


class Made(NamedTuple):
    """A result with its known errors taken off, ``by`` the least certain of the methods that its readings were taken
    with."""

    result: Result
    by: Reckoned


def made_of(requirement: Requirement, group: Sequence[Reading], reckonings: Mapping[str, Reckoned]) -> Made | None:
    """What is made of the readings of one result; None where nothing is known of their methods."""
    known = [reckonings[reading.identity] for reading in group if reading.identity in reckonings]
    if not known:
        return None
    raw, of = sum(reading.count or 0 for reading in group), len(group)
    least_sure = known[0] if len(known) == 1 else max(known, key=lambda each: each.budget(of).variance)
    corrections = least_sure.corrections(Fraction(raw, of))
    return Made(corrected(raw, corrections, of, requirement.lower, requirement.upper), least_sure)


def limits_of(requirement: Requirement) -> Limits | None:
    """The limits as the rule meets them; a natural zero is no limit, for nothing lies below it."""
    lower = None if requirement.natural_zero else requirement.lower
    return None if lower is None and requirement.upper is None else Limits(lower, requirement.upper, requirement.unit)


def _found(
    characteristic: Characteristic, points: Sequence[_Point], worst: Assessment | None, rule: DecisionRule
) -> Judgement:
    """What was found, before anything is said of it: the results, what was made of them, how good the instruments were
    and what is left in doubt."""
    results, of = _results(characteristic, points)
    found = Judgement(Verdict.OPEN, results, of, rule=rule.kind.value)
    if worst is not None:
        found = replace(found, ratios=worst.ratios, expanded=worst.expanded)
    least_sure = max(
        (point for point in points if point.budget is not None),
        key=lambda each: each.budget.variance if each.budget else Fraction(0),
        default=None,
    )
    return found if least_sure is None else _in_doubt(characteristic, points, found, least_sure, rule)


def _in_doubt(
    characteristic: Characteristic, points: Sequence[_Point], found: Judgement, least_sure: _Point, rule: DecisionRule
) -> Judgement:
    """With budget, corrections, guard band and probability of the result that is known least."""
    assert least_sure.budget is not None and least_sure.result is not None
    told = stated_result(least_sure.result)
    raw = _results(characteristic, [replace(point, total=point.raw) for point in points])[0]
    decisions = [point.decision for point in points if point.decision is not None]
    guards = [each.guard for each in decisions]
    budget = stated(least_sure.budget, characteristic.requirement.unit)
    return replace(
        found,
        budget=budget,
        expanded=budget.expanded,
        raw=raw if told.corrections else (),
        corrections=told.corrections,
        guard=None if None in guards else max((each for each in guards if each is not None), default=None),
        probability=_probability(characteristic, points, decisions, rule),
    )


def _probability(
    characteristic: Characteristic, points: Sequence[_Point], decisions: Sequence[Decision], rule: DecisionRule
) -> str:
    """The smallest probability of conformity among the results, where the rule or the customer asks for it."""
    if rule.kind is RuleKind.PROBABILITY:
        return min((each.probability for each in decisions), default="")
    limits = limits_of(characteristic.requirement)
    if not rule.printed or limits is None or not characteristic.requirement.judged:
        return ""
    held = [point for point in points if point.budget is not None]
    found = (probability_of(point.total, point.of, limits, point.budget) for point in held if point.budget)
    return min((cut(each) for each in found), default="")


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
    characteristic: Characteristic,
    counting: Sequence[Reading],
    assessments: Mapping[str, Assessment],
    rule: DecisionRule,
) -> list[Reason]:
    """What makes an inside result marginal: an instrument that falls short (a rule that reckons with the uncertainty
    has weighed that), that was never assessed or rests on no check, and a key characteristic answered by an attribute
    where it has limits to give a number for."""
    short: dict[tuple[str, str], Reason] = {}
    for reading in counting:
        assessment = assessments.get(reading.identity)
        if assessment is None and reading.slot.role is not Role.FINDING:
            short["", ""] = Reason("judge.not_assessed")
        weighed = rule.kind is not RuleKind.SIMPLE and reading.slot.role is Role.VALUE
        if assessment is not None and assessment.fitness is Fitness.MARGINAL and not weighed:
            for reason in assessment.against or (Reason("judge.marginal"),):
                short[reason.code, str(reason.parts)] = reason
    limited = characteristic.requirement.lower is not None or characteristic.requirement.upper is not None
    if characteristic.key and limited and any(reading.observed is not None for reading in counting):
        short["key", ""] = Reason("judge.key_by_attribute", {"key": characteristic.key})
    return [*short.values(), *_unproven(counting)]


def _unproven(counting: Iterable[Reading]) -> tuple[Reason, ...]:
    """Why readings rest on no check before use, each reason once."""
    said = {(reason.code, str(reason.parts)): reason for reading in counting for reason in reading.unproven}
    return tuple(said.values())


def _worst(counting: Iterable[Reading], assessments: Mapping[str, Assessment]) -> Assessment | None:
    """The assessment that the verdict leans on: a marginal one first, then the one with the largest uncertainty."""
    used = [assessments[reading.identity] for reading in counting if reading.identity in assessments]
    return max(used, key=lambda each: (each.fitness is Fitness.MARGINAL, each.expanded or 0), default=None)
