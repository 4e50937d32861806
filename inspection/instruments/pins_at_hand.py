"""The pins that a shop has at hand for a bore: which sets hold GO and NO-GO for it, and what to take to size it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from inspection.drawing.numbers import natural_key
from inspection.drawing.plan import TitleBlock
from inspection.drawing.requirement import Requirement
from inspection.drawing.rows import characteristic
from inspection.instruments.pins import Gauge, Pair, gauges_of, pair_for
from inspection.instruments.ratios import spoken
from inspection.instruments.reach import usable
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.instruments.stepping import marked, pins_to_take
from inspection.quantity.reader import read
from inspection.quantity.speaker import fewest_decimals
from inspection.quantity.units import Kind
from inspection.reasons import Amount, Part, Reason, Refused

#: What a person wrote leaves no limits; a plain size does.
_NO_LIMITS = frozenset({"general.missing", "general.decimals", "general.fraction"})
#: What is said of a band that only feeds ratios, where a single limit is asked about.
_ANY_BAND = "1"


class Bore(Struct, frozen=True):
    """A bore that pins are asked for: ``lower`` … ``upper`` (pm, None for an open side), the ``unit`` it is told in,
    and its ``band`` T where both are given. A plain size has the one for both and no band."""

    lower: int | None
    upper: int | None
    unit: str
    band: int | None = None

    @property
    def is_size(self) -> bool:
        """Whether it is a plain size without tolerance."""
        return self.band is None and self.lower is not None and self.lower == self.upper


class Offered(Struct, frozen=True):
    """A set with the pair it holds for a bore, T / t of the member that spends most in hundredths (None without a
    band), and the pins to take to size the bore."""

    instrument: Instrument
    pair: Pair
    share: int | None
    take: tuple[Gauge, ...]


def bore_asked(text: str, unit: str = "in") -> Bore:
    """The bore that a text names: a callout as it is drawn, two limits, or a plain size; ``unit`` holds where none is
    written. Raises Refused for what is none of these, at its character."""
    try:
        return bore_of(_requirement(text, unit))
    except Refused as refused:
        if not any(reason.code in _NO_LIMITS for reason in refused.reasons):
            raise
    size = read(text.strip().removeprefix("⌀").strip(), unit=unit, kind=Kind.LENGTH)
    return Bore(size.count, size.count, size.unit)


def _requirement(text: str, unit: str) -> Requirement:
    row = {"number": "1", "kind": "bore", "requirement": text}
    try:
        return characteristic(row, TitleBlock(unit=unit))[0].requirement
    except Refused as refused:
        if all(reason.code != "band.ask" for reason in refused.reasons):
            raise
    return characteristic({**row, "band": _ANY_BAND}, TitleBlock(unit=unit))[0].requirement


def bore_of(requirement: Requirement) -> Bore:
    """The bore of a row's requirement. Raises Refused where it states no limit of a length."""
    lower, upper = requirement.lower, requirement.upper
    if requirement.kind is not Kind.LENGTH or (lower is None and upper is None):
        raise Refused(Reason("stepping.no_limit"))
    band = upper - lower if lower is not None and upper is not None else None
    return Bore(lower, upper, requirement.unit, band)


def pin_sets(crib: Iterable[Instrument], day: str) -> tuple[Instrument, ...]:
    """The sets of pins in a crib that may be used for acceptance on ``day`` (ISO), by tag."""
    found = (each for each in crib if each.kind is InstrumentKind.GAUGE_PINS and usable(each, day))
    return tuple(sorted(found, key=lambda each: natural_key(each.tag)))


def pairs_at_hand(sets: Iterable[Instrument], bore: Bore) -> tuple[Offered, ...]:
    """Every set that holds a pair for a bore with limits, the one whose class spends least of the band first."""
    found = [each for one in sets if (each := offered(one, bore)) is not None]
    return tuple(sorted(found, key=lambda each: -(each.share or 0)))


def offered(instrument: Instrument, bore: Bore) -> Offered | None:
    """What one set of pins holds for a bore; None without a pair. Raises Refused for what is no set of pins, or none of
    known class."""
    take = pins_to_take(instrument, bore.lower, bore.upper)
    pair = pair_for(gauges_of(instrument), bore.lower, bore.upper)
    if pair is None:
        return None
    return Offered(instrument, pair, pair.share_hundredths(bore.band) if bore.band else None, take)


# --- said -------------------------------------------------------------------------------------------------------


def pair_reasons(instrument: Instrument, bore: Bore) -> tuple[Reason, ...]:
    """What a set of pins holds for a bore: GO and NO-GO by class and direction and the pins to step up through, or of a
    plain size the pins on either side of it. Raises Refused as ``offered`` does."""
    if bore.is_size:
        return _around(instrument, bore)
    found = offered(instrument, bore)
    if found is None:
        return (none_reason(bore, instrument.tag),)
    ends = {"go": found.pair.go, "no_go": found.pair.no_go}
    sizes = {name: marked(instrument, gauge.size) for name, gauge in ends.items() if gauge is not None}
    code = "pins.pair" if len(sizes) > 1 else f"pins.{next(iter(sizes))}"
    said = [Reason(code, {"tag": instrument.tag, **sizes}), *_class(instrument, found)]
    return (*said, _take(instrument, found.take)) if found.take else tuple(said)


def limits_told(bore: Bore) -> dict[str, Part]:
    """The limits of a bore as parts of a sentence, by name, an open side left out."""
    ends = {name: end for name, end in (("lower", bore.lower), ("upper", bore.upper)) if end is not None}
    places = max((fewest_decimals(end, bore.unit) or 0 for end in ends.values()), default=0)
    return {name: Amount(end, Kind.LENGTH, bore.unit, places) for name, end in ends.items()}


def none_reason(bore: Bore, tags: str) -> Reason:
    """That no set of these ``tags`` holds a pair for a bore with limits."""
    given = limits_told(bore)
    code = "pins.none" if len(given) > 1 else f"pins.none_{next(iter(given))}"
    return Reason(code, {"tags": tags, **given})


def _class(instrument: Instrument, found: Offered) -> tuple[Reason, ...]:
    """By which class and direction, and what part of the band it spends."""
    direction = instrument.direction.value if instrument.direction else ""
    known = " ".join(filter(None, (instrument.gauge_class, direction)))
    if not known or found.share is None:
        return (Reason("pins.class", {"class": known}),) if known else ()
    return (Reason("pins.class_ratio", {"class": known, "ratio": spoken(found.share)}),)


def _take(instrument: Instrument, take: Sequence[Gauge]) -> Reason:
    first, last = marked(instrument, take[0].size), marked(instrument, take[-1].size)
    return Reason("pins.take", {"first": first, "last": last, "n": len(take)})


def _around(instrument: Instrument, bore: Bore) -> tuple[Reason, ...]:
    """The pins on either side of a size, whatever their true sizes within the class."""
    size = bore.lower or 0
    gauges = gauges_of(instrument)
    pins_to_take(instrument, size, size)  # refuses what is no set of pins
    below = max((gauge.size for gauge in gauges if gauge.most <= size), default=None)
    above = min((gauge.size for gauge in gauges if gauge.least > size), default=None)
    told = Amount(size, Kind.LENGTH, bore.unit)
    if below is None and above is None:
        return (Reason("pins.none_around", {"tag": instrument.tag, "size": told}),)
    ends = {"below": below, "above": above}
    parts: dict[str, Part] = {name: marked(instrument, each) for name, each in ends.items() if each is not None}
    code = "pins.around" if len(parts) > 1 else f"pins.{next(iter(parts))}"
    return (Reason(code, {"tag": instrument.tag, "size": told, **parts}),)
