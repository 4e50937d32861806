"""How well one method answers one characteristic on one day: the checks, the ratios, and what follows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.requirement import Form
from inspection.instruments.materials import expansion_of
from inspection.instruments.method import Assessment, Check, Fitness, Method, Ratio
from inspection.instruments.pins import Pair, gauges_of, pair_for
from inspection.instruments.ratios import (
    ACCURACY,
    GAUGE_CLASS,
    RESOLUTION,
    UNCERTAINTY,
    effective_band,
    hundredths,
    ratio,
    size_of,
    uncertainty_hundredths,
)
from inspection.instruments.reach import check, permissible_error, reach_checks
from inspection.instruments.record import Instrument
from inspection.instruments.rules import Rules
from inspection.instruments.ways import Issues, Manner, Way, way_of
from inspection.measuring.budget import Budget, Source, Temperature, budget
from inspection.quantity.units import UNITS, Kind
from inspection.reasons import Amount


def sources_of(way: Way, parts: Sequence[Instrument], error: int, size: int) -> tuple[Source, ...]:
    """What a reading passes through: the instrument read with its permissible error and zero, then the others.

    One without a scale (transfer gauge, plate) adds its permissible error at the way's use; one with a scale is used
    at its own zero, so that it adds a reading only.
    """
    read = parts[0]
    first = Source(error, read.resolution, read.repeatability, read.zero)
    return (first, *(_aid(way, aid, size) for aid in parts[1:]))


def _aid(way: Way, aid: Instrument, size: int) -> Source:
    error = 0 if aid.resolution else permissible_error(aid, way.use, size) or 0
    return Source(error, aid.resolution, aid.repeatability, zeroed=False)


def temperature_of(rules: Rules, expansion: int) -> Temperature:
    """What the shop's rules say of temperature, for a part of an expansion in 1e-9 per kelvin."""
    return Temperature(expansion=expansion, spread=rules.temperature_spread)


def budget_of(
    characteristic: Characteristic, way: Way, parts: Sequence[Instrument], error: int, temperature: Temperature
) -> Budget:
    """The budget of one reading by a method at the characteristic's size; ``error`` is E of the instrument read."""
    size = size_of(characteristic)
    known = temperature if characteristic.requirement.kind is Kind.LENGTH else None
    return budget(sources_of(way, parts, error, size), size, known)


def has_ratios(characteristic: Characteristic) -> bool:
    """Whether the row is held against limits by numbers at all: not basic, reference, thread gauges or notes."""
    requirement = characteristic.requirement
    return requirement.judged and requirement.form not in (Form.THREAD, Form.NOTE)


def assess(
    characteristic: Characteristic,
    method: Method,
    issues: Issues,
    rules: Rules,
    day: str,
    material: str = "",
    temperature: Temperature | None = None,
) -> Assessment:
    """Assess ``method`` for ``characteristic`` on ``day`` (ISO date) by the shop's ``rules``.

    ``issues`` holds every instrument issue that the method names (KeyError otherwise). ``material`` is the part's as
    written on the drawing; ``temperature`` replaces what rules and material say, where more is known.
    """
    parts = [issues[part.identity, part.issue] for part in method.parts]
    way = way_of(method, issues)
    checks = list(reach_checks(characteristic, way, parts, day))
    if way is None or not checks[0].holds:
        return Assessment(method, Fitness.UNSUITABLE, tuple(checks), choosable=False)
    known = temperature or temperature_of(rules, expansion_of(material))
    if way.manner is Manner.LIMITS:
        return _by_limits(characteristic, method, parts[0], rules, checks)
    if way.manner is Manner.SCALE:
        return _by_scale(characteristic, method, way, parts, rules, known, checks)
    return _settled(method, checks, ())


def _settled(
    method: Method,
    checks: Sequence[Check],
    ratios: tuple[Ratio, ...],
    expanded: int | None = None,
    *,
    short: bool = False,
) -> Assessment:
    """Fitness from checks and ratios; ``short`` is a shortfall that makes the method marginal by itself."""
    reaches = all(item.holds for item in checks if item.name != "band")
    if not reaches:
        return Assessment(method, Fitness.UNSUITABLE, tuple(checks), ratios, expanded, choosable=False)
    fit = not short and all(item.holds for item in ratios)
    return Assessment(method, Fitness.FIT if fit else Fitness.MARGINAL, tuple(checks), ratios, expanded)


def _by_scale(
    characteristic: Characteristic,
    method: Method,
    way: Way,
    parts: Sequence[Instrument],
    rules: Rules,
    temperature: Temperature,
    checks: list[Check],
) -> Assessment:
    size = size_of(characteristic)
    error = permissible_error(parts[0], way.read_use, size)
    asked = Amount(size, characteristic.requirement.kind, characteristic.requirement.unit)
    checks.append(check("error", error is not None, tag=parts[0].tag, use=way.read_use.value, size=asked))
    if error is None:
        return _settled(method, checks, ())
    reading = budget_of(characteristic, way, parts, error, temperature)
    expanded = reading.expanded(UNITS[characteristic.requirement.unit].count)
    band = effective_band(characteristic)
    if not has_ratios(characteristic) or band is None:
        missing = has_ratios(characteristic)
        if missing:
            checks.append(check("band", False, number=characteristic.number))
        return _settled(method, checks, (), expanded, short=missing)
    ratios = (
        ratio(RESOLUTION, hundredths(band, parts[0].resolution), rules.resolution_needed),
        ratio(ACCURACY, hundredths(band, 2 * error), rules.accuracy_needed),
        ratio(UNCERTAINTY, uncertainty_hundredths(band, reading.variance), rules.uncertainty_needed),
    )
    return _settled(method, checks, ratios, expanded)


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
