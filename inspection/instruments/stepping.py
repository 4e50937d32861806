"""Stepping up gauge pins to size a bore: which pin next, between which two the bore lies, and the pins to take along.

Lengths are picometres. A pin marked N is somewhere within its class tolerance (``pins.true_bounds``): one that enters
says that the bore is not under the least that the pin may be, one that does not enter that it is not over the most.
Pins go in by their own weight; nobody presses one in to learn more (common practice).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from functools import partial

from msgspec import Struct

from inspection.instruments.pins import Gauge, gauges_of
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.instruments.spelling import amount_text
from inspection.quantity.speaker import fewest_decimals, plain
from inspection.quantity.units import Kind
from inspection.reasons import Amount, Reason, Refused


class Tried(Struct, frozen=True):
    """One pin that was tried: its marked size (pm), and whether it entered."""

    size: int
    entered: bool


class Sized(Struct, frozen=True):
    """What the pins tell of a bore: the largest that ``entered``, the smallest that ``stopped`` (None: none yet)."""

    entered: Gauge | None = None
    stopped: Gauge | None = None

    @property
    def least(self) -> int | None:
        """The bore is surely not under this (pm)."""
        return self.entered.least if self.entered else None

    @property
    def most(self) -> int | None:
        """The bore is surely not over this (pm)."""
        return self.stopped.most if self.stopped else None

    def within(self, lower: int | None, upper: int | None) -> bool:
        """Whether that shows the bore to lie in lower … upper (pm, None for an open side), whatever the pins' true
        sizes within their class."""
        over = lower is None or (self.least is not None and self.least >= lower)
        under = upper is None or (self.most is not None and self.most <= upper)
        return over and under


class Step(Struct, frozen=True):
    """Where a bore stands: the pin to try next (None: the set can tell no more), what is known, and what to say."""

    pin: Gauge | None
    sized: Sized
    reasons: tuple[Reason, ...] = ()


def next_pin(instrument: Instrument, likely: int, tried: Sequence[Tried] = ()) -> Step:
    """The pin of a set to try next in a bore of ``likely`` size (pm), after those that were tried, in order.

    It begins with the largest pin that is not over the likely size; goes one up as long as pins enter, or one down
    until one does, further at every step (1, 2, 4 …); and halves what is left between the two. Missing pins are passed
    over, and said where a finer answer is lost with them.

    Raises Refused for an instrument that is no set of pins, one without a pin of known class, a size not over zero, a
    tried size that the set has no pin of, and a larger pin that entered where one surely smaller did not.
    """
    gauges = _gauges(instrument)
    unit = instrument.unit
    if likely <= 0:
        raise Refused(Reason("stepping.size", {"size": Amount(likely, Kind.LENGTH, unit)}))
    sized = sized_by(instrument, tried)
    low = _place(gauges, sized.entered) if sized.entered else -1
    high = _place(gauges, sized.stopped) if sized.stopped else len(gauges)
    place = _next_place(gauges, likely, low, high, tried)
    if place is not None:
        return Step(gauges[place], sized)
    return Step(None, sized, sized_reasons(instrument, sized))


def sized_by(instrument: Instrument, tried: Sequence[Tried]) -> Sized:
    """Between which pins the tried ones put the bore. Raises Refused as ``next_pin`` does."""
    gauges = {gauge.size: gauge for gauge in _gauges(instrument)}
    unknown = [each.size for each in tried if each.size not in gauges]
    if unknown:
        sizes = (marked(instrument, size) for size in dict.fromkeys(unknown))
        raise Refused(*(Reason("stepping.no_pin", {"size": size, "tag": instrument.tag}) for size in sizes))
    into = max((each.size for each in tried if each.entered), default=None)
    out = min((each.size for each in tried if not each.entered), default=None)
    if into is not None and out is not None and (into == out or gauges[into].least > gauges[out].most):
        parts = {name: marked(instrument, size) for name, size in (("large", into), ("small", out))}
        raise Refused(Reason("stepping.both" if into == out else "stepping.crossed", dict(parts)))
    return Sized(gauges[into] if into is not None else None, gauges[out] if out is not None else None)


def _gauges(instrument: Instrument) -> tuple[Gauge, ...]:
    if instrument.kind is not InstrumentKind.GAUGE_PINS:
        raise Refused(Reason("stepping.not_pins", {"tag": instrument.tag, "name": instrument.name}))
    gauges = gauges_of(instrument)
    if not gauges:
        raise Refused(Reason("stepping.no_class", {"tag": instrument.tag}))
    return gauges


def marked(instrument: Instrument, size: int) -> Amount:
    """A size as it is marked on a member of this set: with as many decimals as the finest of them needs."""
    return Amount(size, Kind.LENGTH, instrument.unit, _decimals(instrument))


def mark_text(instrument: Instrument, size: int) -> str:
    """The same as a machinist types it: without a unit, inches without the leading zero; with its unit where that of
    the set cannot hold it.

    >>> mark_text(Instrument("", 0, "P", InstrumentKind.GAUGE_PINS, ""), 12_700_000_000)
    '.5'
    """
    if fewest_decimals(size, instrument.unit) is None:
        return amount_text(size, instrument.unit)
    number = plain(size, instrument.unit, _decimals(instrument))
    return number.removeprefix("0") if instrument.unit == "in" and number.startswith("0.") else number


def _decimals(instrument: Instrument) -> int:
    needed = (fewest_decimals(member.size, instrument.unit) or 0 for member in instrument.members)
    return max(needed, default=0)


def _place(gauges: Sequence[Gauge], gauge: Gauge) -> int:
    return bisect_left(gauges, gauge.size, key=lambda each: each.size)


def _next_place(gauges: Sequence[Gauge], likely: int, low: int, high: int, tried: Sequence[Tried]) -> int | None:
    """Which pin next, knowing that the low-th enters and the high-th does not (one before and one past the end: not
    known); None when they are neighbours."""
    if high - low <= 1:
        return None
    if not tried:
        return max(0, bisect_right(gauges, likely, key=lambda each: each.size) - 1)
    stride: int = 2 ** (len({each.size for each in tried}) - 1)
    if high == len(gauges):
        return min(high - 1, low + stride)
    if low == -1:
        return max(0, high - stride)
    return (low + high) // 2


def sized_reasons(instrument: Instrument, sized: Sized) -> tuple[Reason, ...]:
    """What the set tells of a bore that no further pin is tried in: between which two it lies and what it then is, or
    that it is beyond the set; and what is lost with missing pins."""
    tag, amount = instrument.tag, partial(marked, instrument)
    if sized.entered is None or sized.stopped is None:
        if sized.stopped is not None:
            return (Reason("stepping.under_all", {"tag": tag, "size": amount(sized.stopped.size)}),)
        size = sized.entered.size if sized.entered else 0
        return (Reason("stepping.over_all", {"tag": tag, "size": amount(size)}),)
    a, b = sized.entered, sized.stopped
    marks = {"a": amount(a.size), "b": amount(b.size)}
    bounds = {**marks, "least": amount(a.least), "most": amount(b.most)}
    found = Reason("stepping.sized" if a.size < b.size else "stepping.overlap", dict(bounds))
    lost = sum(1 for size in instrument.missing if a.size < size < b.size)
    return (found, Reason("stepping.missing_between", {"n": lost, "tag": tag, **marks})) if lost else (found,)


def pins_to_take(instrument: Instrument, lower: int | None, upper: int | None) -> tuple[Gauge, ...]:
    """The pins to take along for a bore lower … upper (pm, None for an open side): from the largest that is surely not
    over the lower limit to the smallest that is surely not under the upper one, so that a bore out by little is sized
    too. One limit alone takes the pin on either side of it. Raises Refused as ``next_pin`` does, and where there is no
    limit or they stand the wrong way round."""
    gauges = _gauges(instrument)
    if lower is None and upper is None:
        raise Refused(Reason("stepping.no_limit"))
    if lower is not None and upper is not None and lower > upper:
        unit = instrument.unit
        ends = {"lower": Amount(lower, Kind.LENGTH, unit), "upper": Amount(upper, Kind.LENGTH, unit)}
        raise Refused(Reason("stepping.limits", dict(ends)))
    from_here = lower if lower is not None else upper
    to_here = upper if upper is not None else lower
    first = bisect_right(gauges, from_here, key=lambda each: each.most) - 1
    last = bisect_left(gauges, to_here, key=lambda each: each.least)
    return gauges[max(0, first) : last + 1]
