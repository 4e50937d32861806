"""The speaker of numbers: exact counts written as decimals, rounded only where a caller asks for it by name.

Every function takes a count of its kind's step (picometres or micro-arcseconds) and the symbol of a unit of ``UNITS``.
Where a count is a sum to be divided (a mean of n repeats), ``of`` is the divisor, so that the mean stays exact.
"""

from __future__ import annotations

from functools import lru_cache
from math import gcd
from typing import TYPE_CHECKING

from inspection.quantity.units import UNITS, Kind
from inspection.words.catalogue import phrase

if TYPE_CHECKING:
    from fractions import Fraction

#: Written before a value that its unit cannot hold exactly.
ABOUT = "≈"


class NotExact(ValueError):
    """The unit holds the value with no number of decimals; ask for a rounding by name."""


@lru_cache(maxsize=8192)
def fewest_decimals(count: int, unit: str, of: int = 1) -> int | None:
    """The fewest decimals that hold ``count / of`` exactly in ``unit``; None where no number of decimals does.

    >>> fewest_decimals(12_700_000_000, "in")
    1
    """
    return places_needed(count, UNITS[unit].count * of)


def places_needed(count: int, whole: int) -> int | None:
    """The fewest decimals that hold ``count / whole`` exactly; None where no number of decimals does.

    >>> places_needed(1, 8), places_needed(1, 3)
    (3, None)
    """
    rest = whole // gcd(count, whole)
    twos = (rest & -rest).bit_length() - 1
    rest >>= twos
    fives = 0
    while rest % 5 == 0:
        rest //= 5
        fives += 1
    return max(twos, fives) if rest == 1 else None


def plain(count: int, unit: str, decimals: int = 0, of: int = 1) -> str:
    """The exact value as a decimal string with at least ``decimals`` decimals, and more where the value needs them.

    Raises NotExact where ``unit`` cannot hold the value.

    >>> plain(12_700_000_000, "in", 4)
    '0.5000'
    """
    fewest = fewest_decimals(count, unit, of)
    if fewest is None:
        raise NotExact(f"{count}/{of} steps are no decimal number of {unit}")
    decimals = max(decimals, fewest)
    return placed(count * 10**decimals // (UNITS[unit].count * of), decimals)


def placed(digits: int, decimals: int) -> str:
    """An integer written with its last ``decimals`` digits after the point."""
    if not decimals:
        return str(digits)
    text = str(abs(digits)).zfill(decimals + 1)
    return f"{'-' if digits < 0 else ''}{text[:-decimals]}.{text[-decimals:]}"


def sign_of(value: int | Fraction) -> str:
    """The sign of a difference as people read it, with a true minus; nothing of none.

    >>> sign_of(-3), sign_of(3), sign_of(0)
    ('−', '+', '')
    """
    return "−" if value < 0 else "+" if value > 0 else ""


def nearest(count: int, unit: str, decimals: int, of: int = 1) -> str:
    """The value rounded to the nearest of ``decimals`` decimals, a tie to the even digit (ISO 80000-1 annex B, rule A).

    For looking at only: no verdict and no result rests on it.
    """
    whole = UNITS[unit].count * of
    low, rest = divmod(count * 10**decimals, whole)
    up = 2 * rest > whole or (2 * rest == whole and low % 2 == 1)
    return placed(low + up, decimals)


def as_fine(decimals: int, unit: str, other: str) -> int:
    """The fewest decimals that are as fine in ``other`` as ``decimals`` are in ``unit``, of the same kind.

    >>> as_fine(2, "mm", "in"), as_fine(4, "in", "mm")
    (4, 3)
    """
    step, whole, places = UNITS[unit].count, UNITS[other].count * 10**decimals, 0
    while whole > step * 10**places:
        places += 1
    return places


def shown(
    count: int,
    kind: Kind,
    unit: str,
    decimals: int | None = None,
    *,
    of: int = 1,
    leading_zero: bool = True,
    language: str = "en",
) -> str:
    """The value with its unit: ``0.5000 in``, ``45.5°``; ``.5000 in`` without the leading zero, as an inch drawing has
    it. ``decimals`` are at least kept. A value that the unit cannot hold is rounded one place further and marked
    ``≈``; an angle that it cannot hold is written out as ``0°20'15.5"``, which is exact.

    Raises ValueError where ``unit`` is not one of ``kind``.
    """
    if UNITS[unit].kind is not kind:
        raise ValueError(f"{unit} is not a unit of {kind}")
    if kind is Kind.ANGLE and of == 1 and fewest_decimals(count, unit) is None:
        return degrees_minutes(count)
    number = written_out(count, unit, decimals, of)
    if not leading_zero:
        number = number.replace("0.", ".", 1) if number.lstrip("≈ -").startswith("0.") else number
    return number + _unit_after(unit, number, language)


def written_out(count: int, unit: str, decimals: int | None = None, of: int = 1) -> str:
    """The exact number where there is one, else the nearest with the mark ``≈`` before it."""
    if fewest_decimals(count, unit, of) is not None:
        return plain(count, unit, decimals or 0, of)
    return f"{ABOUT} {nearest(count, unit, _places(unit) if decimals is None else decimals + 1, of)}"


def degrees_minutes(count: int) -> str:
    """An angle in degrees, minutes and, where they are needed, seconds: ``45°30'``. Every count is exact so."""
    degrees, rest = divmod(abs(count), UNITS["°"].count)
    minutes, seconds = divmod(rest, UNITS["'"].count)
    end = plain(seconds, '"') + '"' if seconds else ""
    return f"{'-' if count < 0 else ''}{degrees}°{minutes}'{end}"


def _places(unit: str) -> int:
    """Decimals at which a value that is not exact is cut for the eye: a hundredth of a micron or of an arc-second."""
    return max(0, len(str(UNITS[unit].count // 10_000)) - 1)


def _unit_after(unit: str, number: str, language: str) -> str:
    """The unit as it follows a number: the sign of an angle stands close; only thou and tenths are words."""
    if UNITS[unit].kind is Kind.ANGLE:
        return unit
    return f" {phrase(f'unit.{unit}', language, n=number)}" if unit in ("thou", "tenth") else f" {unit}"


# --- a value in each of the ways that a bench asks for --------------------------------------------------------


def as_inch(count: int, decimals: int | None = None) -> str:
    """A length in decimal inches, marked ``≈`` where inches cannot hold it."""
    return shown(count, Kind.LENGTH, "in", decimals)


def as_mm(count: int, decimals: int | None = None) -> str:
    """A length in millimetres; every count is exact in them."""
    return shown(count, Kind.LENGTH, "mm", decimals)


def as_micron(count: int, decimals: int | None = None) -> str:
    """A length in microns; every count is exact in them."""
    return shown(count, Kind.LENGTH, "µm", decimals)


def as_64ths(count: int) -> tuple[str, int]:
    """The nearest 64th of an inch, in lowest terms as it stands on a rule, and the remainder in picometres (the count
    less that 64th). Half-way between two, the smaller in size is taken.

    >>> as_64ths(29_400_500_000)
    ('1 5/32', 31750000)
    """
    step = UNITS["in"].count // 64
    marks, rest = divmod(abs(count), step)
    marks += 2 * rest > step
    whole, part = divmod(marks, 64)
    common = gcd(part, 64)
    fraction = f"{part // common}/{64 // common}" if part else ""
    text = " ".join(filter(None, (str(whole) if whole or not part else "", fraction)))
    below = count < 0 and marks
    return f"-{text}" if below else text, count - (-marks if below else marks) * step


def with_64ths(count: int) -> str:
    """The nearest 64th with what remains, as one line: ``1 5/32 in + 0.00125 in``."""
    fraction, rest = as_64ths(count)
    if not rest:
        return f"{fraction} in"
    return f"{fraction} in {'+' if rest > 0 else '−'} {as_inch(abs(rest))}"


# --- rounding, by name ----------------------------------------------------------------------------------------

#: At so many decimals every unit of the table is finer than the step of its kind (1 pm, 1 µas).
FINEST = 13


def rounded_away(
    count: int, unit: str, decimals: int, *, lower: int | None = None, upper: int | None = None, of: int = 1
) -> str:
    """A computed result rounded outward: away from the middle between ``lower`` and ``upper`` (counts), so that no
    rounding is kind. With one limit it goes towards that limit, with none away from zero. Where rounding would carry
    a value over a limit that it keeps, further decimals are taken; a value on a limit that ``unit`` cannot hold is
    given to the nearest of ``FINEST`` decimals.

    >>> rounded_away(12_701_000_000, "in", 4, lower=12_674_600_000, upper=12_725_400_000)
    '0.5001'
    """
    up = _is_upward(count, lower, upper, of)
    whole = UNITS[unit].count * of
    for places in range(decimals, FINEST):
        scale: int = 10**places
        digits = -(-count * scale // whole) if up else count * scale // whole
        carried = digits * UNITS[unit].count
        over = up and upper is not None and count <= upper * of and carried > upper * scale
        under = not up and lower is not None and count >= lower * of and carried < lower * scale
        if not over and not under:
            return placed(digits, places)
    return nearest(count, unit, FINEST, of)


def _is_upward(count: int, lower: int | None, upper: int | None, of: int) -> bool:
    if lower is not None and upper is not None:
        return 2 * count >= (lower + upper) * of
    if lower is None and upper is None:
        return count >= 0
    return lower is None


def seen_as(
    count: int, unit: str, decimals: int, *, lower: int | None = None, upper: int | None = None, of: int = 1
) -> str:
    """A value for looking at in another unit: exact where ``decimals`` hold it, else the nearest with the mark ``≈``.
    Where rounding would show it on the other side of a limit (counts), further decimals are taken.

    >>> seen_as(31_762_700_000, "mm", 3), seen_as(19_037_300_000, "mm", 3, lower=19_037_300_000)
    ('≈ 31.763', '19.0373')
    """
    whole = UNITS[unit].count * of
    for places in range(decimals, FINEST):
        digits, rest = divmod(count * 10**places, whole)
        if not rest:
            return placed(digits, places)
        digits += 2 * rest > whole or (2 * rest == whole and digits % 2 == 1)
        told, true = digits * UNITS[unit].count, count * 10**places
        below = lower is not None and (told < lower * 10**places) != (true < lower * of * 10**places)
        above = upper is not None and (told > upper * 10**places) != (true > upper * of * 10**places)
        if not below and not above:
            return f"{ABOUT} {placed(digits, places)}"
    return f"{ABOUT} {nearest(count, unit, FINEST, of)}"


def rounded_inward(lower: int | None, upper: int | None, unit: str, decimals: int) -> tuple[str | None, str | None]:
    """Limits in another unit, each rounded into the band so that no value is let in by rounding; None stays open.
    Where the rounded limits would pass each other, both take further decimals.

    >>> rounded_inward(6_324_600_000, 6_375_400_000, "mm", 2)
    ('6.33', '6.37')
    """
    whole = UNITS[unit].count
    for places in range(decimals, FINEST):
        scale: int = 10**places
        low = None if lower is None else -(-lower * scale // whole)
        high = None if upper is None else upper * scale // whole
        if low is None or high is None or low <= high:
            return None if low is None else placed(low, places), None if high is None else placed(high, places)
    return _each_nearest(lower, unit), _each_nearest(upper, unit)


def _each_nearest(limit: int | None, unit: str) -> str | None:
    return None if limit is None else nearest(limit, unit, FINEST)


# --- said aloud -----------------------------------------------------------------------------------------------

_MICRON = UNITS["µm"].count
_TENTH = UNITS["tenth"].count


def spoken(count: int, kind: Kind, unit: str, language: str = "en") -> str:
    """The value as a machinist says it: ``1 inch 157 thou and 5 tenths``, ``12 point 7 millimetres``, ``28 microns``,
    ``45 degrees 30 minutes``.

    Inches, thou and tenths are said in all three. Under a tenth, half of one is said as such and the rest in
    millionths; a value that inches cannot hold is said to the nearest tenth (under a thou, millionth) after "about".
    Whole microns under a tenth of a millimetre are said as microns. Decimals are said digit by digit. (Common
    practice; no single source.)

    Raises ValueError where ``unit`` is not one of ``kind``.
    """
    if UNITS[unit].kind is not kind:
        raise ValueError(f"{unit} is not a unit of {kind}")
    size = abs(count)
    about = False
    if kind is Kind.ANGLE:
        said = _angle_aloud(size, language)
    elif unit in ("in", "thou", "tenth"):
        about, size = _to_a_word(size)
        said = _inch_aloud(size, language)
    elif unit == "mm" and 0 < size < 100 * _MICRON and size % _MICRON == 0:
        said = _amount_aloud(size, "µm", language)
    else:
        about = fewest_decimals(size, unit) is None
        said = _amount_aloud(size, unit, language)
    said = phrase("spoken.minus", language, value=said) if count < 0 else said
    return phrase("spoken.about", language, value=said) if about else said


def _to_a_word(size: int) -> tuple[bool, int]:
    """Whether a length has to be rounded to be said in inches, and the length that is said."""
    if fewest_decimals(size, "in") is not None:
        return False, size
    unit = "tenth" if size >= UNITS["thou"].count else "µin"
    return True, int(nearest(size, unit, 0)) * UNITS[unit].count


def _inch_aloud(size: int, language: str) -> str:
    inches, rest = divmod(size, UNITS["in"].count)
    thou, rest = divmod(rest, UNITS["thou"].count)
    large = [phrase(f"spoken.{unit}", language, n=str(n)) for unit, n in (("in", inches), ("thou", thou)) if n]
    small = _tenths_aloud(rest, language)
    if not large and not small:
        return phrase("spoken.in", language, n="0")
    return _joined(large + small, language, last="spoken.and" if small else "spoken.then")


def _tenths_aloud(size: int, language: str) -> list[str]:
    """What is under a thou: tenths, half a tenth, or tenths and millionths."""
    tenths, rest = divmod(size, _TENTH)
    if 2 * rest == _TENTH:
        return [phrase("spoken.tenths_and_half" if tenths else "spoken.half_tenth", language, n=str(tenths))]
    said = [phrase("spoken.tenth", language, n=str(tenths))] if tenths else []
    if rest:
        said.append(phrase("spoken.millionth", language, n=_number_aloud(plain(rest, "µin"), language)))
    return said


def _angle_aloud(size: int, language: str) -> str:
    degrees, rest = divmod(size, UNITS["°"].count)
    minutes, seconds = divmod(rest, UNITS["'"].count)
    said = [phrase(f"spoken.{unit}", language, n=str(n)) for unit, n in (("°", degrees), ("'", minutes)) if n]
    if seconds or not said:
        unit = '"' if seconds else "°"
        said.append(phrase(f"spoken.{unit}", language, n=_number_aloud(plain(seconds, unit), language)))
    return _joined(said, language, last="spoken.then")


def _amount_aloud(size: int, unit: str, language: str) -> str:
    number = written_out(size, unit).removeprefix(f"{ABOUT} ")
    return phrase(f"spoken.{unit}", language, n=_number_aloud(number, language))


def _number_aloud(number: str, language: str) -> str:
    whole, _, decimals = number.partition(".")
    return phrase("spoken.point", language, whole=whole, digits=" ".join(decimals)) if decimals else whole


def _joined(said: list[str], language: str, *, last: str) -> str:
    text = said[0]
    for n, each in enumerate(said[1:], 2):
        text = phrase(last if n == len(said) else "spoken.then", language, before=text, last=each)
    return text
