"""How well one method answers one characteristic on one day: the checks, the ratios, and what follows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic
from inspection.instruments.method import Assessment, Check, Fitness, Method, Ratio
from inspection.instruments.pins import Pair, gauges_of, pair_for
from inspection.instruments.ratios import (
    ACCURACY,
    GAUGE_CLASS,
    RESOLUTION,
    UNCERTAINTY,
    effective_band,
    has_ratios,
    hundredths,
    ratio,
)
from inspection.instruments.reach import check, reach_checks
from inspection.instruments.reckoning import Reckoning, reckoning
from inspection.instruments.record import Instrument
from inspection.instruments.rules import Rules
from inspection.instruments.ways import Issues, Manner, way_of
from inspection.measuring.bias import Correction, Handling
from inspection.measuring.certificates import says_at
from inspection.measuring.known import NOTHING_KNOWN, Known
from inspection.measuring.uncertainty_ratio import uncertainty_hundredths
from inspection.quantity.units import UNITS, Kind
from inspection.reasons import Amount, Refused


class Weighed(NamedTuple):
    """What a row's reckoning comes to: checks that refuse the method, else the ratios (none where none apply) and U."""

    refused: tuple[Check, ...]
    ratios: tuple[Ratio, ...] = ()
    expanded: int | None = None

    @property
    def fit(self) -> bool:
        """Whether every ratio holds."""
        return all(each.holds for each in self.ratios)


def assess(
    characteristic: Characteristic,
    method: Method,
    issues: Issues,
    rules: Rules,
    day: str,
    material: str = "",
    known: Known = NOTHING_KNOWN,
) -> Assessment:
    """Assess ``method`` for ``characteristic`` on ``day`` (ISO date) by the shop's ``rules``: what `assessed` says,
    without what it was reckoned with."""
    return assessed(characteristic, method, issues, rules, day, material, known)[0]


def assessed(
    characteristic: Characteristic,
    method: Method,
    issues: Issues,
    rules: Rules,
    day: str,
    material: str = "",
    known: Known = NOTHING_KNOWN,
) -> tuple[Assessment, Reckoning | None]:
    """The assessment of ``method`` for ``characteristic`` on ``day`` (ISO date) by the shop's ``rules``, and known
    errors and budget as far as the method reads a scale and enough is known of it: where the assessment came to a U.

    ``issues`` holds every instrument issue that the method names (KeyError otherwise), and the earlier ones, for their
    certificates. ``material`` is the part's as written on the drawing; ``known`` is what checks, studies and
    thermometers say. U and the uncertainty ratio are those of the mean of the row's declared repeats.
    """
    parts = [issues[part.identity, part.issue] for part in method.parts]
    way = way_of(method, issues)
    checks = list(reach_checks(characteristic, way, parts, day, known.used_up))
    if way is None or not checks[0].holds:
        return Assessment(method, Fitness.UNSUITABLE, tuple(checks), choosable=False), None
    if way.manner is Manner.LIMITS:
        return _by_limits(characteristic, method, parts[0], rules, checks), None
    if way.manner is not Manner.SCALE:
        return _settled(method, checks, ()), None
    try:
        found = reckoning(characteristic, way, parts, issues, rules, known, material)
    except Refused as refused:
        said = [item.reason for item in checks]
        return _settled(method, [*checks, *(each for each in _unknown(refused) if each.reason not in said)], ()), None
    assessment = _by_scale(characteristic, method, found, rules, checks)
    return assessment, None if assessment.expanded is None else found


def _settled(
    method: Method,
    checks: Sequence[Check],
    ratios: tuple[Ratio, ...],
    expanded: int | None = None,
    *,
    short: bool = False,
) -> Assessment:
    """Fitness from checks and ratios; ``short`` is a shortfall that makes the method marginal by itself."""
    if not _hold(checks):
        return Assessment(method, Fitness.UNSUITABLE, tuple(checks), ratios, expanded, choosable=False)
    fit = not short and all(item.holds for item in ratios)
    return Assessment(method, Fitness.FIT if fit else Fitness.MARGINAL, tuple(checks), ratios, expanded)


def _hold(checks: Sequence[Check]) -> bool:
    """Whether every check holds that bars a method; a row without a band only makes it marginal."""
    return all(item.holds for item in checks if item.name != "band")


def _by_scale(
    characteristic: Characteristic, method: Method, found: Reckoning, rules: Rules, checks: list[Check]
) -> Assessment:
    stated = tuple(_stated(characteristic, found))
    checks += stated
    if not _hold(stated):
        return _settled(method, checks, ())
    weighed = weigh(found, characteristic.repeats, rules)
    checks += weighed.refused
    missing = found.judged and found.band is None
    if missing:
        checks.append(check("band", False, number=characteristic.number))
    return _settled(method, checks, weighed.ratios, weighed.expanded, short=missing)


def _stated(row: Characteristic, found: Reckoning) -> Iterator[Check]:
    """For everything that errs: that its record states by how much at this size, or that a certificate does."""
    for source in found.erring:
        at, held = source.at(found.size), source.certificate_at(found.size)
        asked = Amount(at, row.requirement.kind, row.requirement.unit)
        if held is None:
            stated = any(at <= up_to for up_to, _ in source.steps)
            yield check("error", stated, tag=source.tag, use=source.use.value, size=asked)
        elif says_at(held, at):
            yield check("certificate", True, tag=source.tag, number=held.number, size=asked)


def weigh(found: Reckoning, repeats: int, rules: Rules) -> Weighed:
    """The ratios of a row and U of the mean of ``repeats`` readings, or why the method is refused: a known error that
    may neither stay nor be taken off, or something that the budget needs and nobody knows."""
    try:
        refused = tuple(_refused(each) for each in found.corrections() if each.handling is Handling.REFUSED)
        budget = found.budget(repeats)
        limit = found.read.limit_at(found.size)
    except Refused as unknown:
        return Weighed(tuple(_unknown(unknown)))
    if refused:
        return Weighed(refused)
    expanded = budget.expanded(UNITS[found.unit].count)
    if not found.judged or found.band is None:
        return Weighed((), (), expanded)
    ratios = (
        ratio(RESOLUTION, hundredths(found.band, found.read.resolution), rules.resolution_needed),
        ratio(ACCURACY, hundredths(found.band, 2 * limit), rules.accuracy_needed),
        ratio(UNCERTAINTY, uncertainty_hundredths(found.band, budget), rules.uncertainty_needed),
    )
    return Weighed((), ratios, expanded)


def _refused(correction: Correction) -> Check:
    """A known error that bars the method; one that a check before use showed bars it today only."""
    return Check("bias" if correction.name == "jaws" else "check", False, correction.reason)


def _unknown(refused: Refused) -> Iterator[Check]:
    """What the budget needs and nobody knows, or what cannot be as it is written."""
    return (Check("doubt", False, reason) for reason in refused.reasons)


def pair_of(characteristic: Characteristic, instrument: Instrument) -> Pair | None:
    """GO and NO-GO of a set of pins for a bore; None if it holds no such sizes."""
    requirement = characteristic.requirement
    return pair_for(gauges_of(instrument), requirement.lower, requirement.upper)


def _missing(characteristic: Characteristic, instrument: Instrument, pair: Pair | None) -> Iterator[Check]:
    """One check for each end that a missing member of the set would have been; it holds if another stands in."""
    if not instrument.missing:
        return
    whole = pair_of(characteristic, replace(instrument, missing=()))
    if whole is None:
        return
    instead = (pair.go, pair.no_go) if pair is not None else (None, None)
    for lost, other in zip((whole.go, whole.no_go), instead, strict=True):
        if lost is None or lost.size not in instrument.missing:
            continue
        size = _size(lost.size, instrument)
        if other is None:
            yield check("members", False, tag=instrument.tag, size=size)
        else:
            yield check("members", True, tag=instrument.tag, size=size, other=_size(other.size, instrument))


def _size(size: int, instrument: Instrument) -> Amount:
    return Amount(size, Kind.LENGTH, instrument.unit)


def _by_limits(
    characteristic: Characteristic, method: Method, instrument: Instrument, rules: Rules, checks: list[Check]
) -> Assessment:
    pair = pair_of(characteristic, instrument)
    checks += _missing(characteristic, instrument, pair)
    checks.append(check("sizes", pair is not None, tag=instrument.tag, requirement=characteristic.requirement.written))
    band = effective_band(characteristic)
    if pair is None or band is None:
        return _settled(method, checks, (), short=has_ratios(characteristic))
    share = pair.share_hundredths(band)
    if share < rules.gauge_class_marginal:
        needed = ratio(GAUGE_CLASS, share, rules.gauge_class_marginal)
        checks.append(check("class", False, tag=instrument.tag, got=needed.got, needed=needed.needed))
    return _settled(method, checks, (ratio(GAUGE_CLASS, share, rules.gauge_class_needed),))
