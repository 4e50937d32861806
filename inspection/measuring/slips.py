"""Slips worth a question: has a reading the mark of a known slip, so that the part should be read once more?

Asked of a number that is already kept, for one of six causes:

(a) it is out by at least the whole band *and* one known slip, undone, puts it in the middle half of the band;
(b) in or out, it stands off from its siblings by a slip's size, within 3 s;
(c) it is not on the graduations of the instrument it was read from;
(d) only an upper limit bounds it from zero, it is within a tenth of that, and the same number in the unit of the
    drawing is no such small value: 3.2 typed for µm at a tester in µin would pass, whatever the part is like;
(e) it lies beyond what the instrument that it was read with can show;
(f) it is nowhere near the size that was drawn, whatever made it so: out by ten bands and half the size.

A rule that asked of every reject would push bad parts to good, hence the width of (a), and of (f), where no
part lies that anybody would measure. The question names the
pattern in words and carries no number by which it could be undone, so that the answer is read off the part.

The patterns are common practice, no single source: one turn of an inch or metric thimble (.025 in, .5 mm), an inch
taken for a millimetre or the reverse (25.4), two neighbouring digits swapped, .1 in, 1 in, 10 mm, the decimal point,
the sign, a radius for a diameter or the reverse, the row above or below.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import gcd, isqrt

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.instruments.pins import present
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.quantity.speaker import fewest_decimals
from inspection.quantity.units import INCH_UNITS, UNITS, Kind
from inspection.reasons import Amount, Reason

#: A slip undone: its code, and the value as a fraction of counts (numerator, denominator).
Undone = tuple[str, int, int]

_INCH = UNITS["in"].count
_MILLIMETRE = UNITS["mm"].count
_THIMBLES = frozenset(
    {
        InstrumentKind.OUTSIDE_MICROMETER,
        InstrumentKind.INSIDE_MICROMETER,
        InstrumentKind.DEPTH_MICROMETER,
        InstrumentKind.THREE_POINT_BORE_GAUGE,
    }
)
_INCH_STEPS = (("slip.tenth_inch", _INCH // 10), ("slip.inch", _INCH))
_METRIC_STEPS = (("slip.ten_millimetres", 10 * _MILLIMETRE),)
_POINT_PLACES = 3
_DIAMETERS = frozenset({FeatureKind.OUTSIDE_DIAMETER, FeatureKind.BORE})

#: From this many siblings on, their own scatter is believed.
ENOUGH_SIBLINGS = 5


def question(
    count: int,
    characteristic: Characteristic,
    instrument: Instrument | None,
    *,
    siblings: Sequence[int] = (),
    neighbours: Sequence[int] = (),
    unit: str = "",
    decimals: int | None = None,
    over: Instrument | None = None,
) -> Reason | None:
    """The question that a kept reading of ``count`` steps raises, or None.

    ``siblings`` are the other readings of the same requirement and place: on other pieces, of the other holes of one
    count, earlier on this piece. ``neighbours`` are the nominals of the rows beside, of the same kind of quantity.
    ``over`` are the blocks that the instrument was set on, whose stack a reading holds besides.
    ``unit`` and ``decimals`` are those the reading was written with; without them the instrument's unit and the
    fewest decimals that drawing and value ask for. Gauge pins raise one only for a pin that is missing from its set,
    attributes none.
    """
    if instrument is not None and instrument.kind is InstrumentKind.GAUGE_PINS:
        return _missing_member(count, instrument)
    unit = unit or _unit(characteristic, instrument)
    undone = tuple(_undone(count, characteristic, instrument, neighbours, unit, decimals))
    return (
        _against_band(count, characteristic, undone)
        or _against_siblings(count, characteristic, instrument, siblings, undone)
        or _in_the_other_unit(count, characteristic, unit)
        or _beyond(count, characteristic.requirement.kind, instrument, over)
        or _nowhere_near(count, characteristic, siblings)
        or _off_graduations(count, characteristic.requirement.kind, instrument, unit, over)
    )


def _unit(characteristic: Characteristic, instrument: Instrument | None) -> str:
    kind = characteristic.requirement.kind
    return instrument.unit if instrument and instrument.quantity is kind else characteristic.requirement.unit


# --- the slips, undone ----------------------------------------------------------------------------------------


def _undone(
    count: int,
    characteristic: Characteristic,
    instrument: Instrument | None,
    neighbours: Sequence[int],
    unit: str,
    decimals: int | None,
) -> Iterator[Undone]:
    """Every value that the reading would have been without one known slip, the plainest slip first: what one of them
    names need not be named again as swapped digits."""
    if count:
        yield "slip.sign", -count, 1
    for places in range(1, _POINT_PLACES + 1):
        yield "slip.point", count * 10**places, 1
        yield "slip.point", count, 10**places
    if characteristic.requirement.kind is Kind.LENGTH:
        yield from _lengths(count, characteristic)
        yield from _steps(count, instrument, unit)
    yield from _swapped(count, characteristic, unit, decimals)
    centre = _centre(characteristic)
    if centre is not None:
        for nominal in neighbours:
            yield "slip.neighbour", 2 * (count - nominal) + centre, 2


def _steps(count: int, instrument: Instrument | None, unit: str) -> Iterator[Undone]:
    """Whole steps of the instrument: a turn of its thimble in the unit it is made in, and the marks of a scale."""
    if instrument is not None and instrument.kind in _THIMBLES:
        turn = _INCH // 40 if instrument.unit in INCH_UNITS else _MILLIMETRE // 2
        yield "slip.turn", count - turn, 1
        yield "slip.turn", count + turn, 1
    for code, step in _INCH_STEPS if unit in INCH_UNITS else _METRIC_STEPS:
        yield code, count - step, 1
        yield code, count + step, 1


def _lengths(count: int, characteristic: Characteristic) -> Iterator[Undone]:
    yield "slip.unit", count * 127, 5
    yield "slip.unit", count * 5, 127
    if characteristic.kind in _DIAMETERS or characteristic.requirement.diameter:
        yield "slip.radius", count * 2, 1
    elif characteristic.kind is FeatureKind.RADIUS:
        yield "slip.diameter", count, 2


def _swapped(count: int, characteristic: Characteristic, unit: str, decimals: int | None) -> Iterator[Undone]:
    """Two neighbouring digits of what was written, exchanged; a value that is no decimal of its unit has none."""
    fewest = fewest_decimals(count, unit)
    if fewest is None:
        return
    places = max(fewest, characteristic.requirement.decimals if decimals is None else decimals)
    step = UNITS[unit].count
    digits = str(abs(count) * 10**places // step).zfill(places)
    sign = -1 if count < 0 else 1
    for at, (left, right) in enumerate(pairwise(digits)):
        if left != right:
            turned = int(digits[:at] + right + left + digits[at + 2 :])
            yield "slip.digits", sign * turned * step, 10**places


def _centre(characteristic: Characteristic) -> int | None:
    """Twice the value that a row's readings are expected at: its nominal, else the middle of its band."""
    requirement = characteristic.requirement
    if requirement.nominal is not None:
        return 2 * requirement.nominal
    band = _band(characteristic)
    return None if band is None else band[0] + band[1]


# --- (a) against the band -------------------------------------------------------------------------------------


def _band(characteristic: Characteristic) -> tuple[int, int] | None:
    """The band that readings are expected in. A single limit bounds the band T that its ratios are taken from; an
    upper limit with a natural zero begins there. None where nothing is judged or no band is known."""
    requirement = characteristic.requirement
    lower, upper, band = requirement.lower, requirement.upper, requirement.band
    if not requirement.judged:
        return None
    if lower is not None and upper is not None:
        return lower, upper
    if band is None:
        return None
    if upper is not None:
        return upper - band, upper
    return None if lower is None else (lower, lower + band)


def _against_band(count: int, characteristic: Characteristic, undone: Sequence[Undone]) -> Reason | None:
    band = _band(characteristic)
    if band is None or band[1] <= band[0]:
        return None
    low, high = band
    if _out(count, characteristic, low) < high - low:
        return None
    bottom, top = 3 * low + high, low + 3 * high
    for code, value, over in undone:
        if bottom * over <= 4 * value <= top * over:
            return Reason(code)
    return None


def _in_the_other_unit(count: int, characteristic: Characteristic, unit: str) -> Reason | None:
    """A reading within a tenth of a limit from zero that would be at least a quarter of it as a number of the drawing's
    unit (both parts common practice): few parts are that good, and a slip of 25 or 39 times leaves a part in there."""
    requirement = characteristic.requirement
    upper, theirs = requirement.upper, requirement.unit
    if upper is None or not requirement.natural_zero or (unit in INCH_UNITS) is (theirs in INCH_UNITS):
        return None
    if 10 * count < upper and 4 * count * UNITS[theirs].count >= upper * UNITS[unit].count:
        return Reason("slip.unit_inside")
    return None


def _out(count: int, characteristic: Characteristic, low: int) -> int:
    """By how much a reading is out of a band that begins at ``low``; towards an open side never."""
    requirement = characteristic.requirement
    over = 0 if requirement.upper is None else count - requirement.upper
    return max(low - count if requirement.lower is not None else 0, over)


# --- (e), (f) what cannot be -----------------------------------------------------------------------------------

#: How far beyond its range an instrument may still show something, as a part of the range: a thimble turns on past its
#: last mark, a display counts on (common practice).
OVERRUN = 20
#: Out by so many bands, and by half the size drawn, nobody would measure the part: the number is wrong, or the part is
#: another one (common practice).
_BANDS = 10


def is_beyond(count: int, instrument: Instrument, low: int, high: int) -> bool:
    """Whether an instrument that reads ``low`` to ``high`` (counts) as it is set up can show no such number."""
    over = (high - low) // OVERRUN
    return bool(instrument.resolution) and low < high and not low - over <= count <= high + over


def _beyond(count: int, kind: Kind, instrument: Instrument | None, over: Instrument | None) -> Reason | None:
    if instrument is None or over is not None or instrument.quantity is not kind:
        return None
    if not is_beyond(count, instrument, instrument.low, instrument.high):
        return None
    return Reason("slip.beyond", {"instrument": instrument.name})


def _nowhere_near(count: int, characteristic: Characteristic, siblings: Sequence[int]) -> Reason | None:
    """Where another reading that was let stand is as far away, the part is, and nobody is asked again."""
    if not _is_far(count, characteristic) or any(_is_far(each, characteristic) for each in siblings):
        return None
    return Reason("slip.far")


def _is_far(count: int, characteristic: Characteristic) -> bool:
    band, centre = _band(characteristic), _centre(characteristic)
    if not band or not centre or characteristic.requirement.natural_zero:
        return False
    out = _out(count, characteristic, band[0])
    return out >= _BANDS * (band[1] - band[0]) and 4 * out >= abs(centre)


# --- (b) against siblings -------------------------------------------------------------------------------------


def _against_siblings(
    count: int,
    characteristic: Characteristic,
    instrument: Instrument | None,
    siblings: Sequence[int],
    undone: Sequence[Undone],
) -> Reason | None:
    """A reading more than 3 s off the mean of its siblings that one slip, undone, brings within 3 s of it.

    A slip smaller than 6 s cannot be told from scatter, and raises no question.
    """
    n = len(siblings)
    if not n:
        return None
    total = sum(siblings)
    reach = 3 * n * scatter(siblings, characteristic, instrument)
    if abs(n * count - total) <= reach:
        return None
    for code, value, over in undone:
        near = abs(n * value - over * total) <= over * reach
        if near and n * abs(count * over - value) > 2 * over * reach:
            return Reason(f"{code}_beside")
    return None


def scatter(siblings: Sequence[int], characteristic: Characteristic, instrument: Instrument | None) -> int:
    """s of siblings in counts: their own standard deviation, never less than the instrument's repeatability and
    r/√12 of its step, for equal readings are no evidence of s = 0.

    Fewer than five siblings say little of their own scatter; s is then at least a twelfth of the band, as a process
    of C_p = 2 scatters (common practice), so that 3 s is the half-width of the band's middle half.
    """
    least = max(instrument.repeatability, isqrt(instrument.resolution**2 // 12)) if instrument else 0
    n = len(siblings)
    if n < ENOUGH_SIBLINGS:
        band = _band(characteristic)
        least = max(least, (band[1] - band[0]) // 12 if band else 0)
    if n < 2:
        return least
    first = siblings[0]
    off = [value - first for value in siblings]
    squares = n * sum(value * value for value in off) - sum(off) ** 2
    return max(least, isqrt(squares // (n * (n - 1))))


# --- (c) graduations ------------------------------------------------------------------------------------------


def _missing_member(count: int, instrument: Instrument) -> Reason | None:
    """A pin read that its set's record says is not there."""
    if count not in instrument.missing:
        return None
    size = Amount(count, Kind.LENGTH, instrument.unit)
    return Reason("slip.missing_member", {"instrument": instrument.name, "size": size})


def _off_graduations(
    count: int, kind: Kind, instrument: Instrument | None, unit: str, over: Instrument | None
) -> Reason | None:
    """A value that the instrument has no mark for, in the unit it was read in if the instrument shows that too."""
    if instrument is None or instrument.quantity is not kind:
        return None
    if instrument.kind is InstrumentKind.RADIUS_GAUGE and instrument.members:
        off = all(member.size != count for member in present(instrument))
        return Reason("slip.no_leaf", {"instrument": instrument.name}) if off else None
    step, shown_in = step_shown(instrument, unit)
    step = steps_over(over, step) if over is not None and step else step
    if not step or count % step == 0:
        return None
    return Reason("slip.graduation", {"instrument": instrument.name, "step": Amount(step, kind, shown_in)})


def off_marks(
    count: int, kind: Kind, instrument: Instrument | None, unit: str, over: Instrument | None = None
) -> Reason | None:
    """What a reading of ``count`` steps in ``unit`` is that no mark of the instrument, set on blocks or not, and no
    member of its set shows; None where it is one."""
    if instrument is not None and instrument.kind is InstrumentKind.GAUGE_PINS:
        return _missing_member(count, instrument)
    return _off_graduations(count, kind, instrument, unit, over)


def steps_over(blocks: Instrument, step: int) -> int:
    """The step (pm) that readings over blocks come in, stack and difference together, where the instrument alone shows
    ``step``.

    >>> from inspection.instruments.starter import starter_crib
    >>> blocks = next(each for each in starter_crib() if each.tag == "G-01")
    >>> steps_over(blocks, 12_700_000)  # half a thou over blocks by tenths: a tenth
    2540000
    """
    return gcd(step, *(member.size for member in present(blocks)))


def step_shown(instrument: Instrument, unit: str) -> tuple[int, str]:
    """The smallest step r (counts) that an instrument shows where it is read in ``unit``, and the unit it then shows:
    its other one where it has one of that system."""
    other = bool(instrument.other_unit) and (unit in INCH_UNITS) is not (instrument.unit in INCH_UNITS)
    if other:
        return instrument.other_resolution, instrument.other_unit
    return instrument.resolution, instrument.unit
