"""Feel: one block read again and again by one hand, and what that shows of the hand's force.

A trial belongs to the person who made it and to nobody else; it is no part of the shop's record, proves no instrument
and is never set beside another person's. Counts are of the instrument's quantity (pm).
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.reach import permissible_error
from inspection.instruments.record import Instrument, Use
from inspection.instruments.spelling import Piece, read_amount, readings_of
from inspection.measuring import slips
from inspection.measuring.checks import amount, use_checked
from inspection.measuring.checks_outcome import Repeated
from inspection.measuring.quantiles import CONFIDENCE, chi_square, coverage_factor
from inspection.measuring.spread import Spread
from inspection.quantity.reader import read
from inspection.quantity.units import INCH_UNITS, LARGEST_COUNT, UNITS, Kind, Quantity
from inspection.reasons import Part, Reason, Refused
from inspection.standards.usual_figures import usual_deviation
from inspection.studies.trend import Trend, trend_of

#: More readings nobody takes of one block in one go; a further trial begins.
MOST_READINGS = 200
#: Blocks of one stack are written with this between them.
JOINED = "+"


class Take(Struct, frozen=True):
    """One reading of the block: the value with what was written, and when (UTC microseconds)."""

    quantity: Quantity
    at: int


class Trial(Struct, frozen=True):
    """One block, or stack, read again and again: with which instrument (identity, issue of its record and tag), the
    true ``size`` in counts with how it was ``written`` (marked, or certified), the ``unit`` that figures are told in,
    the ``day`` (ISO) and the readings in the order taken."""

    identity: str
    instrument: str
    issue: int
    tag: str
    size: int
    written: str
    unit: str
    day: str
    takes: tuple[Take, ...] = ()

    @property
    def read(self) -> Repeated:
        """The readings as counts; not for a trial without any."""
        return Repeated(tuple(take.quantity.count for take in self.takes), self.size)


# --- a trial, step by step ----------------------------------------------------------------------------------------


def is_read_on_blocks(instrument: Instrument) -> bool:
    """Whether an instrument is one whose feel is learned on a block: one of lengths that is read when it is checked."""
    return use_checked(instrument.kind) is not None and instrument.quantity is Kind.LENGTH


def begun(instrument: Instrument, block: str, identity: str, day: str) -> Trial:
    """A trial of this instrument on a block as written: its size, or those of a stack with + between them.

    A size without a unit is in the one that the instrument is set to. Raises Refused with every fault: an instrument
    that is not read on a block, what is no size, a size of nothing or outside the instrument's range.
    """
    if not is_read_on_blocks(instrument):
        raise Refused(Reason("feel.refused.kind", {"tag": instrument.tag, "name": instrument.name}))
    size = _stacked(block, instrument.unit)
    if size <= 0:
        raise Refused(Reason("check.refused.size", {"size": amount(instrument, size)}))
    if instrument.high and not instrument.low <= size <= instrument.high:
        told: dict[str, Part] = {
            "tag": instrument.tag,
            "size": amount(instrument, size),
            "low": amount(instrument, instrument.low),
            "high": amount(instrument, instrument.high),
        }
        raise Refused(Reason("feel.refused.outside", told))
    return Trial(
        identity, instrument.identity, instrument.issue, instrument.tag, size, block.strip(), instrument.unit, day
    )


def _stacked(block: str, unit: str) -> int:
    """The sum of the sizes written; every fault at its character."""
    marks = [-1, *(at for at, sign in enumerate(block) if sign == JOINED), len(block)]
    total = 0
    faults: list[Reason] = []
    for before, after in pairwise(marks):
        try:
            total += read_amount(Piece(block).cut(before + 1, after), unit).count
        except Refused as refused:
            faults += refused.reasons
    if faults:
        raise Refused(*(Reason(each.code, {**each.parts, "text": block[:60]}) for each in faults))
    return total


def read_take(trial: Trial, text: str, at: int) -> Take:
    """What was typed as a reading of the trial's block. Raises Refused as the reader of numbers does."""
    return Take(read(text, unit=trial.unit), at)


def read_takes(trial: Trial, text: str, at: int) -> tuple[Take, ...]:
    """Readings written one after another: parted by semicolons if there are any, else by blanks.

    Raises Refused with every fault behind which reading it is, or where there is none at all.
    """
    found: list[Take] = []
    faults: list[Reason] = []
    for n, part in enumerate(readings_of(text), 1):
        try:
            found.append(read_take(trial, part, at))
        except Refused as refused:
            faults += [Reason("feel.reading", {"n": n, "written": part[:60]}), *refused.reasons]
    if faults:
        raise Refused(*faults)
    if not found:
        raise Refused(Reason("feel.refused.none", {"text": text[:60]}))
    return tuple(found)


def with_take(trial: Trial, take: Take) -> Trial:
    """The trial with one more reading. Raises Refused beyond ``MOST_READINGS``."""
    if len(trial.takes) >= MOST_READINGS:
        raise Refused(Reason("feel.refused.many", {"most": MOST_READINGS}))
    return replace(trial, takes=(*trial.takes, take))


def without_last(trial: Trial) -> Trial:
    """The trial without its last reading; the same where there is none."""
    return replace(trial, takes=trial.takes[:-1])


def is_sound(trial: Trial) -> bool:
    """Whether a trial that comes from outside can be reckoned with: lengths, in units that are known, within bounds."""
    unit = UNITS.get(trial.unit)
    return (
        unit is not None
        and unit.kind is Kind.LENGTH
        and 0 < trial.size < LARGEST_COUNT
        and len(trial.takes) <= MOST_READINGS
        and all(_is_length(take.quantity) for take in trial.takes)
    )


def _is_length(quantity: Quantity) -> bool:
    known = quantity.unit in UNITS and UNITS[quantity.unit].kind is Kind.LENGTH
    return known and quantity.kind is Kind.LENGTH and 0 <= quantity.count < LARGEST_COUNT


def slip_of(trial: Trial, instrument: Instrument) -> Reason | None:
    """What the last reading looks like beside the block and the readings before it, if it has the mark of a slip."""
    if not trial.takes:
        return None
    *before, last = trial.takes
    size = Requirement(trial.written, Form.REFERENCE, unit=trial.unit, nominal=trial.size)
    block = Characteristic("", "", FeatureKind.LENGTH, size)
    siblings = (trial.size, *(take.quantity.count for take in before))
    written = last.quantity
    found = slips.question(
        written.count, block, instrument, siblings=siblings, unit=written.unit, decimals=written.decimals
    )
    if found is None:
        return None
    if found.code == "slip.graduation":
        return Reason("feel.graduation", {"tag": trial.tag, "step": found.parts["step"]})
    return Reason("feel.slip", {"what": found.code.removeprefix("slip.").removesuffix("_beside")})


# --- what the instrument should do --------------------------------------------------------------------------------


class Should(Struct, frozen=True):
    """What an instrument should do at a size, in counts.

    ``error`` is E of ±E in the ``use`` that it is checked in (None: its record states none there), ``step`` the
    smallest step r that it shows, ``deviation`` the standard deviation s of one reading: that of its record, or
    (``usual``) that of its kind; None where neither is known.
    """

    use: Use | None = None
    error: int | None = None
    step: int = 0
    deviation: int | None = None
    usual: bool = False

    @property
    def scatter(self) -> Fraction | None:
        """The square of the scatter to expect of readings: s² and what rounding to the step adds, r²/12; None where s
        is not known."""
        return None if self.deviation is None else self.deviation**2 + Fraction(self.step**2, 12)


def should_of(trial: Trial, instrument: Instrument | None) -> Should:
    """What the instrument of a trial should do there; ``instrument`` is its record, None if nobody has it."""
    if instrument is None:
        return Should()
    use, step = use_checked(instrument.kind), _step(trial, instrument)
    error = permissible_error(instrument, use, trial.size) if use is not None else None
    if instrument.repeatability:
        return Should(use, error, step, instrument.repeatability)
    return Should(use, error, step, usual_deviation(instrument.kind, step), usual=True)


def _step(trial: Trial, instrument: Instrument) -> int:
    """The coarsest step of those shown in the units that the readings were written in."""
    inch = {take.quantity.unit in INCH_UNITS for take in trial.takes} or {instrument.unit in INCH_UNITS}
    own = instrument.unit in INCH_UNITS
    other = instrument.other_resolution if instrument.other_unit else 0
    return max((other or instrument.resolution) if each is not own else instrument.resolution for each in inch)


# --- what a trial shows -------------------------------------------------------------------------------------------


class Feel(Struct, frozen=True):
    """What a trial shows, exactly, beside what the instrument ``should`` do. ``trend`` is None under three readings."""

    unit: str
    read: Repeated
    should: Should
    trend: Trend | None = None

    @property
    def spread(self) -> Spread | None:
        """s of one reading with ν = n − 1; None for one reading, or readings that never differ."""
        return self.read.spread

    @property
    def all_equal(self) -> bool:
        """Whether several readings never differ: no evidence of no scatter, for the step may hide it."""
        return self.read.n > 1 and self.read.width == 0

    @property
    def hidden(self) -> bool:
        """Whether the readings differ by one step at most, so that rounding alone could be their scatter."""
        return self.read.width <= self.should.step

    def beyond(self) -> int:
        """How many readings lie farther from the size than E; 0 where E is not known."""
        error, size = self.should.error, self.read.size
        return 0 if error is None else sum(abs(reading - size) > error for reading in self.read.readings)

    def bias_is_told(self, confidence: Fraction = CONFIDENCE) -> bool:
        """Whether the bias is told from nothing: |mean − size| over t s/√n of Student's t, and over 2 r/√12, for a
        mean is not known better than the step allows."""
        spread, n = self.spread, self.read.n
        step = coverage_factor(None, confidence) ** 2 * Fraction(self.should.step**2, 12)
        if spread is None or spread.freedom is None:
            return self.all_equal and 0 < step < self.read.bias**2
        return self.read.bias**2 > max(coverage_factor(spread.freedom, confidence) ** 2 * spread.square / n, step)


def feel_of(trial: Trial, instrument: Instrument | None) -> Feel | None:
    """What a trial shows; None before its first reading. ``instrument`` is the issue of the record that it names."""
    if not trial.takes:
        return None
    read = trial.read
    return Feel(trial.unit, read, should_of(trial, instrument), trend_of([each - read.size for each in read.readings]))


def square_under(spread: Spread, confidence: Fraction = CONFIDENCE) -> Fraction:
    """σ² (counts²) that the true scatter stays under, with a one-sided ``confidence``: ν s² over the lower quantile of
    chi-square. Infinitely many degrees of freedom leave s² itself."""
    return _bound(spread, 1 - confidence)


def square_over(spread: Spread, confidence: Fraction = CONFIDENCE) -> Fraction:
    """σ² (counts²) that the true scatter is over, with a one-sided ``confidence``."""
    return _bound(spread, confidence)


def _bound(spread: Spread, probability: Fraction) -> Fraction:
    if spread.freedom is None:
        return spread.square
    return spread.square * spread.freedom / Fraction(chi_square(probability, spread.freedom))
