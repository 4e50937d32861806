"""The parts of a reading's uncertainty, each a constructor of one line.

Sizes, errors and steps are counts of the row's kind (pm, µas) and never negative; angles of tilt and play are µas.
``tag`` names the instrument as the shop calls it and ``unit`` is the unit that the line is spoken in. Each raises
Refused for a negative amount. Sources: JCGM 100:2008 (GUM) with the simplifications of ISO 14253-2, both from memory.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from math import radians, tan

from inspection.instruments.record import Direction, Use
from inspection.measuring.spread import Spread
from inspection.measuring.uncertainty import Distribution, Line, Measure, bounded, deviating
from inspection.measuring.uncertainty_stated import about
from inspection.quantity.units import UNITS
from inspection.reasons import Amount, Part, Reason, Refused

#: π to 40 decimals: exact enough for any angle, and the same everywhere.
PI = Fraction(31415926535897932384626433832795028841972, 10**40)

#: Radians in one µas.
RADIAN = PI / (180 * 3_600_000_000)


def amount(count: int, unit: str) -> Amount:
    """A count as an amount in its unit."""
    return Amount(count, UNITS[unit].kind, unit)


def _within(count: int, unit: str) -> Reason:
    return Reason("doubt.estimate.within", {"a": amount(count, unit)})


def permissible(error: int, tag: str, use: Use, unit: str) -> Line:
    """Permissible error without a certificate: ``error`` is the half-width E of ±E at this use and size; u = E / √3.

    >>> from inspection.quantity.units import PICOMETRES_PER_MILLIMETRE
    >>> permissible(20_000_000, "C-1", Use.OUTSIDE, "mm").variance * 3 == 20_000_000**2
    True
    """
    what = Reason("doubt.line.permissible", {"tag": tag, "use": use.value})
    return bounded("permissible", what, _within(error, unit), error)


def reading(spread: Spread, resolution: int, repeats: int, tag: str, unit: str) -> Line:
    """Reading the scale: the larger of s / √m and r / √12.

    ``spread`` is the deviation s of one reading, ``repeats`` is m, the readings in the mean that is reported, and
    ``resolution`` the smallest step r shown. The scatter seen already holds the step, but the mean cannot be known
    better than the step allows. Where the scatter counts, its ν counts too. Raises Refused for m under 1.

    >>> reading(Spread(Fraction(100), 9), 12, 4, "M-1", "mm").variance  # s/√m = 5, r/√12 = 3.46
    Fraction(25, 1)
    >>> reading(Spread(Fraction(100), 9), 12, 25, "M-1", "mm").freedom is None  # s/√m = 2: the step decides
    True
    """
    what = Reason("doubt.line.reading", {"tag": tag})
    return _scatter_or_step("reading", what, spread, resolution, repeats, unit)


def zero(spread: Spread, resolution: int, settings: int, tag: str, unit: str) -> Line:
    """Setting or reading zero: the larger of s₀ / √n₀ and r / √12.

    ``spread`` is the deviation s₀ of one setting and ``settings`` is n₀, the zero readings that were averaged and
    taken off; 1 where the zero was set once. Raises Refused for n₀ under 1.

    >>> zero(Spread(Fraction(0)), 12, 1, "M-1", "mm").variance
    Fraction(12, 1)
    """
    what = Reason("doubt.line.zero", {"tag": tag})
    return _scatter_or_step("zero", what, spread, resolution, settings, unit)


def _scatter_or_step(name: str, what: Reason, spread: Spread, resolution: int, n: int, unit: str) -> Line:
    if n < 1:
        raise Refused(Reason("doubt.repeats_none"))
    if resolution < 0:
        raise Refused(Reason("doubt.width_negative", {"part": name}))
    if 12 * spread.square < n * resolution * resolution:
        step = Reason("doubt.estimate.step", {"r": amount(resolution, unit)})
        line = bounded(name, what, step, Fraction(resolution, 2))
        return Line(name, what, step, line.distribution, Fraction(12), line.square)
    parts: dict[str, Part] = {"s": about(spread.square, unit), "m": n, "seen": spread.seen.value}
    code = "doubt.estimate.mean" if n > 1 else "doubt.estimate.deviation"
    estimate = Reason(f"{code}.named", {**parts, "title": spread.of}) if spread.of else Reason(code, parts)
    return deviating(name, what, estimate, spread.square, n, freedom=spread.freedom)


def people(spread: Spread, tag: str, unit: str) -> Line:
    """Whoever reads: ``spread`` is what differs between the means of several people who read the same parts. More
    readings by one of them make it no smaller.

    >>> people(Spread(Fraction(9), 2), "M-1", "mm").variance
    Fraction(9, 1)
    """
    told: dict[str, Part] = {"s": about(spread.square, unit), "m": 1, "seen": spread.seen.value, "title": spread.of}
    estimate = Reason("doubt.estimate.deviation.named", told)
    what = Reason("doubt.line.people", {"tag": tag})
    return deviating("people", what, estimate, spread.square, 1, freedom=spread.freedom)


def transfer(spread: Spread, repeats: int, tag: str, unit: str) -> Line:
    """Carrying a size over: ``spread`` is the deviation of setting a small-hole or telescoping gauge by feel and
    reading it once, ``repeats`` how often it was set anew in the mean. The instrument that it is read over adds its
    own lines. Raises Refused for fewer than one setting.

    >>> transfer(Spread(Fraction(64), 5), 4, "G-1", "in").variance
    Fraction(16, 1)
    """
    what = Reason("doubt.line.transfer", {"tag": tag})
    return _scatter_or_step("transfer", what, spread, 0, repeats, unit)


def gauge_class(tolerance: int, direction: Direction | None, tag: str, unit: str, times: int = 1) -> Line:
    """A fixed size within its class: ``tolerance`` is t, the full width of N … N + t or N − t … N, so that it is known
    within ± t/2 of the middle (``bias.class_middle``); without a direction it lies within ± t.

    ``times`` is how many members of that class one size is built of (a stack of blocks, a pair of pins), each with an
    error of its own. Raises Refused for fewer than one.

    >>> gauge_class(12, Direction.PLUS, "P-1", "in").variance, gauge_class(6, None, "B-1", "in", times=2).variance
    (Fraction(12, 1), Fraction(24, 1))
    """
    if times < 1:
        raise Refused(Reason("doubt.members_none", {"tag": tag}))
    half = Fraction(tolerance) if direction is None else Fraction(tolerance, 2)
    what = Reason("doubt.line.gauge_class", {"tag": tag, "n": times})
    code = "doubt.estimate.within" if direction is None else "doubt.estimate.width"
    one = bounded("gauge class", what, Reason(code, {"a": amount(tolerance, unit)}), half)
    return Line(one.name, what, one.estimate, one.distribution, one.divisor / times, one.square * times)


def certified_size(expanded: int, factor: int, tag: str, unit: str, sensitivity: int = 1) -> Line:
    """A fixed size with a certificate: ``expanded`` is its U and ``factor`` its k in thousandths; u = U / k.

    ``sensitivity`` is how often the one size enters the result: 3 for the diameter of three wires of one lot, whose
    errors go the same way, in a 60° thread's pitch diameter E = M − 3w + 0.866p (common practice).

    >>> certified_size(30, 2_000, "B-1", "mm").variance
    Fraction(225, 1)
    """
    if expanded < 0 or factor <= 0:
        raise Refused(Reason("doubt.certificate_numbers", {"tag": tag}))
    what = Reason("doubt.line.certified_size", {"tag": tag})
    estimate = Reason("doubt.estimate.expanded", {"U": amount(expanded, unit), "k": str(factor / 1000)})
    return deviating(
        "certified size", what, estimate, expanded**2, Fraction(factor, 1000) ** 2, sensitivity=sensitivity
    )


class Touch(StrEnum):
    """How tilting shows in the reading."""

    LONG = "long"  # outside, depth, or a plunger out of square: it only ever reads long
    BORE = "bore"  # inside: along the axis long, off centre short


def tilt(size: int, angle: int, touch: Touch, tag: str, unit: str, *, corrected: bool = False) -> Line:
    """An instrument held out of square by up to ``angle`` (µas, half-width) on a ``size`` of L.

    Outside, in depth and under a plunger it reads long by Lθ²/2, on the mean Lθ²/6: with that mean taken off
    (``corrected``, see ``bias.tilt``) u = Lθ²/(3√5), otherwise the whole u = Lθ²/(2√5). In a bore the error has no
    sign, nothing can be taken off, and ``corrected`` is refused.

    >>> long = tilt(10**11, 3_600_000_000, Touch.LONG, "C-1", "mm")  # 100 mm by 1°
    >>> round(float(long.variance) ** 0.5 / 10**6, 2)  # µm
    6.81
    """
    _not_negative("tilt", size, angle)
    if corrected and touch is Touch.BORE:
        raise Refused(Reason("doubt.tilt_in_bore", {"tag": tag}))
    theta = angle * RADIAN
    divisor = Fraction(45 if corrected else 20)
    what = Reason(f"doubt.line.tilt_{touch.value}", {"tag": tag})
    estimate = Reason("doubt.estimate.angle", {"a": Amount(angle, UNITS["°"].kind, "°")})
    square = (size * theta**2) ** 2 / divisor
    return Line("tilt", what, estimate, Distribution.QUADRATIC, divisor, square)


def askew(width: int, angle: int, tag: str, unit: str) -> Line:
    """Wide jaws on flats that were not squared by feel: ``width`` w of the contact, out of square by up to ``angle``
    (µas, half-width). The error is of first order, w·θ: u = wθ/√3. Once squared this line is left out.

    >>> round(float(askew(6 * 10**9, 1_800_000_000, "C-1", "mm").variance) ** 0.5 / 10**6)  # 6 mm by 0.5°, in µm
    30
    """
    return _angular("askew", Reason("doubt.line.askew", {"tag": tag}), width, angle)


def jaw_play(distance: int, angle: int, tag: str, unit: str) -> Line:
    """A sliding jaw that rocks by up to ``angle`` ε (µas, half-width), touching at ``distance`` a from the beam:
    u = a·ε/√3.

    >>> round(float(jaw_play(40 * 10**9, 72_000_000, "C-1", "mm").variance) ** 0.5 / 10**6, 1)  # 40 mm, 72 arcsec
    8.1
    """
    return _angular("jaw play", Reason("doubt.line.jaw_play", {"tag": tag}), distance, angle)


def _angular(name: str, what: Reason, arm: int, angle: int) -> Line:
    _not_negative(name, arm, angle)
    estimate = Reason("doubt.estimate.angle", {"a": Amount(angle, UNITS["°"].kind, "°")})
    return bounded(name, what, estimate, angle * RADIAN, measure=Measure.ANGLE, sensitivity=arm)


def parallax(height: int, angle: int, tag: str, unit: str) -> Line:
    """A scale that stands ``height`` h off the edge or face it is read against, the eye off by up to ``angle`` φ
    (µas, half-width) from square above it: u = h·tan φ / √3. Raises Refused for an eye at 90° or beyond.

    >>> round(float(parallax(10**9, 36_000_000_000, "R-1", "mm").variance) ** 0.5 / 10**6)  # 1 mm, 10°: µm
    102
    """
    _not_negative("parallax", height, angle)
    if angle >= 90 * 3_600_000_000:
        raise Refused(Reason("doubt.parallax_angle", {"tag": tag}))
    off = Fraction(round(height * tan(radians(angle / 3_600_000_000))))
    what = Reason("doubt.line.parallax", {"tag": tag, "h": amount(height, unit)})
    estimate = Reason("doubt.estimate.angle", {"a": Amount(angle, UNITS["°"].kind, "°")})
    return bounded("parallax", what, estimate, off)


def _not_negative(name: str, *counts: int) -> None:
    if min(counts) < 0:
        raise Refused(Reason("doubt.width_negative", {"part": name}))
