"""Known errors of a reading: taken off openly, left because they are small and said so, or the instrument refused.

A correction is added to the reading. What was read and what was made of it are both kept. Counts of the row's kind (pm)
throughout; a diameter is a diameter and a chord a chord, as each function says.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum
from fractions import Fraction
from math import ceil, floor, isqrt

from msgspec import Struct

from inspection.instruments.record import Direction
from inspection.measuring.certificates import Certificate, known_at
from inspection.measuring.spread import Spread
from inspection.measuring.thermal import Temperatures, check_temperatures
from inspection.measuring.thermal import correction as thermal_correction
from inspection.measuring.uncertainty import Line, bounded, deviating
from inspection.measuring.uncertainty_parts import RADIAN, amount
from inspection.measuring.uncertainty_stated import about
from inspection.quantity.units import UNITS
from inspection.reasons import Amount, Part, Reason, Refused

#: A known error may stay uncorrected up to this part of the band T: common practice, the rule of ten.
SMALL = Fraction(1, 10)

#: Roots are cut this far below a count: two counts under 2**53 whose squares differ by 1 still differ.
_FINE = 2**80


class Handling(StrEnum):
    """What is done about a known error."""

    CORRECTED = "corrected"
    LEFT = "left uncorrected"
    REFUSED = "refused"


class Correction(Struct, frozen=True):
    """One known error and what is done about it.

    ``amount`` is what is, or would be, added to the reading; ``reason`` says so to a person. ``lines`` go into the
    budget where it is corrected; where it is left, |amount| is added to U, unless a line of the budget has ``covered``
    it already.
    """

    name: str
    handling: Handling
    amount: Fraction
    reason: Reason
    lines: tuple[Line, ...] = ()
    covered: bool = False

    @property
    def left(self) -> Fraction:
        """What U is made greater by."""
        return abs(self.amount) if self.handling is Handling.LEFT and not self.covered else Fraction(0)


class Result(Struct, frozen=True):
    """A result, raw and corrected: sums of ``of`` readings, so that a mean stays exact.

    ``corrections`` are what was done on the way. ``rounded_away`` says that the correction, which is no whole count,
    was rounded away from conformance because the limit lies within that count.
    """

    raw: int
    corrected: int
    of: int = 1
    corrections: tuple[Correction, ...] = ()
    rounded_away: bool = False

    @property
    def refusals(self) -> tuple[Reason, ...]:
        """Why the instrument is refused; empty if it is not."""
        return tuple(each.reason for each in self.corrections if each.handling is Handling.REFUSED)

    @property
    def uncorrected(self) -> Fraction:
        """What is left uncorrected and is added to U: the sizes of the errors left that no line covers."""
        return sum((each.left for each in self.corrections), Fraction(0))

    @property
    def lines(self) -> tuple[Line, ...]:
        """The lines that the corrections add to the budget."""
        return tuple(line for each in self.corrections if each.handling is Handling.CORRECTED for line in each.lines)


def corrected(
    raw: int,
    corrections: Iterable[Correction],
    of: int = 1,
    lower: int | None = None,
    upper: int | None = None,
) -> Result:
    """The reading, or the sum of ``of`` readings, with its corrections added.

    The correction is rounded to a whole count, the nearest, but never over a limit towards conformance. Raises
    Refused for fewer than one reading.

    >>> warm = Correction("temperature", Handling.CORRECTED, Fraction(-5, 2), Reason(""))
    >>> corrected(100, [warm]).corrected, corrected(100, [warm], lower=98).corrected
    (98, 97)
    """
    if of < 1:
        raise Refused(Reason("doubt.repeats_none"))
    held = tuple(corrections)
    made = sum((each.amount for each in held if each.handling is Handling.CORRECTED), Fraction(0))
    exact = raw + of * made
    total = raw + of * round(made)
    over = upper is not None and exact > of * upper >= total
    under = lower is not None and exact < of * lower <= total
    if over:
        total = raw + of * ceil(made)
    if under:
        total = raw + of * floor(made)
    return Result(raw, total, of, held, over or under)


def tenth_of_band(error: Fraction, band: int | None) -> bool:
    """Whether a known error may stay uncorrected: at most a tenth of T; never where there is no band."""
    return band is not None and abs(error) <= SMALL * band


# --- inside jaws ----------------------------------------------------------------------------------------------


class Jaws(Struct, frozen=True):
    """Inside jaws: ``across`` is w, both blades' flats plus the gap between them, known within ± ``doubt``
    (half-width); None if nobody measured it."""

    across: int | None
    doubt: int = 0


def bore_read(diameter: int, jaws: Jaws, tag: str, unit: str) -> Fraction:
    """What flat jaws read in a bore of ``diameter`` D: R = √(D² − w²).

    Raises Refused for jaws wider than the bore (a chord is never larger than its diameter), of unknown width, or for
    sizes that are not over 0.

    >>> round(float(bore_read(3 * 10**9, Jaws(300_000_000), "C-1", "mm")) / 10**9, 6)
    2.984962
    """
    across = _across(jaws, tag)
    _over_nothing(diameter, tag)
    if across >= diameter:
        raise _too_wide(across, diameter, tag, unit)
    return _root(Fraction(diameter * diameter - across * across))


def jaws_in_bore(
    reading: Fraction | int,
    jaws: Jaws,
    band: int | None,
    tag: str,
    unit: str,
    *,
    measured: bool = True,
    judged: bool = True,
    diameter: int | None = None,
) -> Correction:
    """The error of flat inside jaws in a bore: they stand on a chord, read R = √(D² − w²), and D = √(R² + w²).

    ``reading`` is R; where it was itself reckoned from a ``diameter``, that keeps the tenth exact. Corrected where w is
    known (``measured``), with u(D) = w·u(w)/D; w is a half-width, so u(w) = doubt/√3. Where only a usual w of the kind
    is known (not ``measured``), the error is left if w²/2D is at most a tenth of the ``band`` T, otherwise the
    instrument is refused; a row that is not ``judged`` has no T and no verdict to lead astray, there it is left. Raises
    Refused for an unknown w and for sizes that are not over 0. Source: the chord of a circle; the tenth is common
    practice.

    >>> known = jaws_in_bore(3_988_734_135, Jaws(300_000_000, 50_000_000), 10**7, "C-1", "mm")
    >>> known.handling.value, round(float(known.amount) / 10**6, 2)  # D 4 mm, w .3: µm
    ('corrected', 11.27)
    >>> jaws_in_bore(3_988_734_135, Jaws(300_000_000), 10**7, "C-1", "mm", measured=False).handling.value
    'refused'
    """
    across = _across(jaws, tag)
    _over_nothing(reading, tag)
    square = Fraction(reading) ** 2 + across * across if diameter is None else Fraction(diameter * diameter)
    error = _root(square) - reading
    said: dict[str, Part] = {
        "tag": tag,
        "C": about(error**2, unit),
        "w": amount(across, unit),
        "D": about(square, unit) if diameter is None else amount(diameter, unit),
    }
    if measured:
        line = jaws_line(_root(square), jaws, tag, unit)
        return Correction("jaws", Handling.CORRECTED, error, Reason("doubt.jaws.corrected", said), (line,))
    if not judged:
        return Correction("jaws", Handling.LEFT, error, Reason("doubt.jaws.not_judged", said))
    if jaws_may_stay(square, across, band):
        return Correction("jaws", Handling.LEFT, error, Reason("doubt.jaws.left", said))
    return Correction("jaws", Handling.REFUSED, error, Reason("doubt.jaws.refused", said))


def jaws_may_stay(square: Fraction | int, across: int, band: int | None) -> bool:
    """Whether the error of jaws may stay uncorrected: w²/2D ≤ T/10, from the ``square`` of the diameter, exactly."""
    return band is not None and 100 * across**4 <= 4 * square * band**2


def jaws_line(diameter: Fraction | int, jaws: Jaws, tag: str, unit: str) -> Line:
    """What a corrected chord still leaves in doubt: u(D) = w·u(w)/D, with u(w) = doubt/√3.

    Raises Refused for an unknown w, and for jaws wider than the diameter.

    >>> float(jaws_line(60, Jaws(5, 36), "C-1", "mm").variance)
    3.0
    """
    across = _across(jaws, tag)
    _over_nothing(diameter, tag)
    if across >= diameter:
        raise _too_wide(across, round(diameter), tag, unit)
    width = Reason("doubt.estimate.within", {"a": amount(jaws.doubt, unit)})
    what = Reason("doubt.line.jaws", {"tag": tag})
    return bounded("jaws", what, width, jaws.doubt, sensitivity=Fraction(across) / diameter)


def _across(jaws: Jaws, tag: str) -> int:
    if jaws.across is None:
        raise Refused(Reason("doubt.jaws_unknown", {"tag": tag}))
    if jaws.across < 0 or jaws.doubt < 0:
        raise Refused(Reason("doubt.width_negative", {"part": "jaws"}))
    return jaws.across


def _too_wide(across: int, diameter: int, tag: str, unit: str) -> Refused:
    parts: dict[str, Part] = {"tag": tag, "w": amount(across, unit), "D": amount(diameter, unit)}
    return Refused(Reason("doubt.jaws_too_wide", parts))


def _over_nothing(size: Fraction | int, tag: str) -> None:
    if size <= 0:
        raise Refused(Reason("doubt.size_nothing", {"tag": tag}))


def diameter_of_chord(chord: int, height: int, unit: str) -> Fraction:
    """The diameter of a circle from a ``chord`` c and its ``height`` h: D = c²/4h + h.

    Raises Refused for a chord or height that is not over 0.

    >>> float(diameter_of_chord(10, 1, "mm"))
    26.0
    """
    if chord <= 0 or height <= 0:
        raise Refused(Reason("doubt.chord_nothing", {"c": amount(chord, unit), "h": amount(height, unit)}))
    return Fraction(chord * chord, 4 * height) + height


def chord_at(diameter: int, height: int, unit: str) -> Fraction:
    """The chord of a circle of ``diameter`` D at ``height`` h from its edge: c = 2√(h(D − h)).

    Raises Refused for a height that is not between 0 and the diameter.

    >>> float(chord_at(26 * 10**9, 10**9, "mm")) / 10**9
    10.0
    """
    if not 0 < height < diameter:
        raise Refused(Reason("doubt.chord_beyond", {"D": amount(diameter, unit), "h": amount(height, unit)}))
    return 2 * _root(Fraction(height * (diameter - height)))


def height_of_chord(diameter: int, chord: int, unit: str) -> Fraction:
    """The height of a ``chord`` c over the edge of a circle of ``diameter`` D: h = (D − √(D² − c²))/2.

    Raises Refused for a chord that is larger than the diameter, or not over 0.

    >>> float(height_of_chord(26, 10, "mm"))
    1.0
    """
    if not 0 < chord <= diameter:
        raise Refused(Reason("doubt.chord_too_long", {"c": amount(chord, unit), "D": amount(diameter, unit)}))
    return (diameter - _root(Fraction(diameter * diameter - chord * chord))) / 2


# --- temperature ----------------------------------------------------------------------------------------------


def temperature(size: int, known: Temperatures, unit: str, *, may_be_left: bool = True) -> Correction | None:
    """The error of temperatures that were measured: corrected if asked for, otherwise left (U' = U + |C|) or, where a
    shop does not allow that, refused. None where nothing was measured or nothing follows.

    Its lines are those of ``temperature_lines`` and stay with the budget. Raises Refused as ``check_temperatures``.

    >>> from inspection.measuring.thermal import Measured
    >>> warm = Temperatures(part_expansion=23_600, measured=Measured(5_000, 5_000), corrected=True)
    >>> temperature(25_400_000_000, warm, "in").handling.value
    'corrected'
    """
    check_temperatures(known)
    error = thermal_correction(size, known)
    if not error:
        return None
    said: dict[str, Part] = {"C": _signed(error, unit)}
    if known.corrected:
        return Correction("temperature", Handling.CORRECTED, error, Reason("doubt.temperature.corrected", said))
    if may_be_left:
        return Correction("temperature", Handling.LEFT, error, Reason("doubt.temperature.left", said))
    return Correction("temperature", Handling.REFUSED, error, Reason("doubt.temperature.refused", said))


# --- certificates and checks ----------------------------------------------------------------------------------


def certificate(size: int, held: Certificate, tag: str, unit: str) -> Correction:
    """The error that a certificate states at ``size``, taken off: the correction is −e, e = indication − true.

    Its lines are those of ``certificate_lines``. Raises Refused as ``known_at`` does.
    """
    error = known_at(held, size, tag).error
    said: dict[str, Part] = {"tag": tag, "number": held.number, "C": _signed(-error, unit)}
    return Correction("certificate", Handling.CORRECTED, -error, Reason("doubt.certificate.corrected", said))


class Checked(Struct, frozen=True):
    """Readings of a gauge block before use: their sum over ``of`` readings, the block's true ``size`` with its squared
    standard uncertainty ``square``, and the ``spread`` of a reading."""

    total: int
    of: int
    size: int
    square: Fraction
    spread: Spread

    @property
    def error(self) -> Fraction:
        """e = mean indication − true size."""
        return Fraction(self.total, self.of) - self.size


def block_check(
    held: Checked,
    permissible: int,
    band: int | None,
    tag: str,
    unit: str,
    *,
    certified: Fraction = Fraction(0),
    within: Fraction | None = None,
) -> Correction:
    """What readings of a block say of the instrument at that size.

    An error beyond the ``permissible`` ±E by more than it is known to (2u) refuses the instrument: it no longer keeps
    what its budget rests on. Within, it is left if it is at most a tenth of the ``band`` T, otherwise taken off, with
    u² = s²/n + u²(block). One that is left within ±E is covered: the budget holds the whole of ±E as a line, and adding
    to U what was seen of it would count it twice.

    Where the reading is corrected by a certificate, that has taken off ``certified``, its error at the block's size,
    and only the rest is left or taken off; in place of ±E the budget then holds the drift, a half-width ``within``.
    Raises Refused without readings, and for a block size that is not over 0.

    >>> held = Checked(2_002, 2, 1_000, Fraction(1, 4), Spread(Fraction(1), 1))
    >>> block_check(held, 5, 10, "M-1", "mm").handling.value, block_check(held, 5, 9, "M-1", "mm").handling.value
    ('left uncorrected', 'corrected')
    """
    if held.of < 1:
        raise Refused(Reason("doubt.repeats_none"))
    _over_nothing(held.size, tag)
    seen = _Seen("check", held.error, held.spread.square / held.of + held.square, permissible, certified, within)
    said: dict[str, Part] = {"tag": tag, "size": amount(held.size, unit)}
    return _answered(seen, band, said, unit, check_lines(held, tag, unit))


def zero_offset(
    total: int,
    of: int,
    permissible: int,
    band: int | None,
    tag: str,
    unit: str,
    *,
    square: Fraction = Fraction(0),
    certified: Fraction = Fraction(0),
    within: Fraction | None = None,
) -> Correction | None:
    """What ``of`` readings of a closed or set instrument, off by ``total`` counts together, say of its zero; handled as
    the error of ``block_check`` is, ``square`` being the squared standard uncertainty of the mean.

    None where it is nothing. Where it is taken off, its doubt is the budget's line of zero, with ``of`` settings
    averaged. Raises Refused without readings.

    >>> zero_offset(-9, 3, 5, 20, "M-1", "mm").amount
    Fraction(3, 1)
    """
    if of < 1:
        raise Refused(Reason("doubt.repeats_none"))
    seen = _Seen("zero", Fraction(total, of), square, permissible, certified, within)
    return _answered(seen, band, {"tag": tag, "n": of}, unit) if seen.rest else None


class _Seen(Struct, frozen=True):
    """An error that a check showed, with u² of it, what it may be, and what of it a certificate takes off."""

    name: str
    error: Fraction
    square: Fraction
    permissible: int
    certified: Fraction
    within: Fraction | None

    @property
    def rest(self) -> Fraction:
        return self.error - self.certified

    @property
    def refused(self) -> bool:
        beyond = abs(self.error) - self.permissible
        return beyond > 0 and beyond**2 > 4 * self.square

    @property
    def covered(self) -> bool:
        return abs(self.rest) <= (self.permissible if self.within is None else self.within)


def _answered(
    seen: _Seen, band: int | None, said: dict[str, Part], unit: str, lines: tuple[Line, ...] = ()
) -> Correction:
    if seen.refused:
        parts = {**said, "e": _signed(seen.error, unit), "E": amount(seen.permissible, unit)}
        return Correction(seen.name, Handling.REFUSED, -seen.rest, Reason(f"doubt.{seen.name}.refused", parts))
    parts = {**said, "e": _signed(seen.rest, unit), "C": _signed(-seen.rest, unit)}
    if tenth_of_band(seen.rest, band):
        told = Reason(f"doubt.{seen.name}.left" if seen.covered else f"doubt.{seen.name}.left_over", parts)
        return Correction(seen.name, Handling.LEFT, -seen.rest, told, covered=seen.covered)
    return Correction(seen.name, Handling.CORRECTED, -seen.rest, Reason(f"doubt.{seen.name}.corrected", parts), lines)


def check_lines(held: Checked, tag: str, unit: str) -> tuple[Line, ...]:
    """The lines of a correction by a block check: the mean's scatter with its ν, and the block."""
    parts: dict[str, Part] = {"s": about(held.spread.square, unit), "m": held.of, "seen": held.spread.seen.value}
    mean = Reason("doubt.estimate.mean", parts)
    what = Reason("doubt.line.check", {"tag": tag})
    block = Reason("doubt.line.block", {"size": amount(held.size, unit)})
    sure = Reason("doubt.estimate.standard", {"u": about(held.square, unit)})
    return (
        deviating("check", what, mean, held.spread.square, held.of, freedom=held.spread.freedom),
        deviating("block", block, sure, held.square),
    )


# --- cosine and class -----------------------------------------------------------------------------------------


def tilt(size: int, angle: int, tag: str, unit: str) -> Correction:
    """The mean of what an instrument held out of square by up to ``angle`` θ (µas) reads long, taken off: −Lθ²/6.

    For outside, depth and plungers only; its line is ``uncertainty_parts.tilt`` with ``corrected``. Raises Refused
    for a negative size or angle.
    """
    if size < 0 or angle < 0:
        raise Refused(Reason("doubt.width_negative", {"part": "tilt"}))
    error = -size * (angle * RADIAN) ** 2 / 6
    return Correction(
        "tilt", Handling.CORRECTED, error, Reason("doubt.tilt.corrected", {"tag": tag, "C": _signed(error, unit)})
    )


def class_middle(tolerance: int, direction: Direction | None) -> Fraction:
    """How far the middle of a gauge's class lies from its marked size (counts): + t/2, − t/2, or 0 without direction.

    >>> class_middle(200, Direction.MINUS)
    Fraction(-100, 1)
    """
    sign = {Direction.PLUS: 1, Direction.MINUS: -1, None: 0}[direction]
    return Fraction(sign * tolerance, 2)


def _signed(error: Fraction, unit: str) -> Amount:
    found = about(error**2, unit)
    return Amount(-found.count, UNITS[unit].kind, unit, found.decimals) if error < 0 else found


def _root(square: Fraction) -> Fraction:
    """√ of a square of counts, cut far below a count; exact where it is a whole number."""
    return Fraction(isqrt(square.numerator * _FINE**2 // square.denominator), _FINE)
