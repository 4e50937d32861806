"""The speaker of numbers: exact counts written as decimals, and rounded only where a caller asks for it by name.

Every function takes a count of its kind's step (picometres or micro-arcseconds) and the symbol of a unit of ``UNITS``.
Where a count is a sum to be divided (a mean of n repeats), ``of`` is the divisor, so that the mean stays exact.
"""

from __future__ import annotations

from math import gcd

from inspection.quantity.units import UNITS, Kind

#: Written before a value that its unit cannot hold exactly.
ABOUT = "≈"


class NotExact(ValueError):
    """The unit holds the value with no number of decimals; ask for a rounding by name."""


def fewest_decimals(count: int, unit: str, of: int = 1) -> int | None:
    """The fewest decimals that hold ``count / of`` exactly in ``unit``; None where no number of decimals does.

    >>> fewest_decimals(12_700_000_000, "in")
    1
    """
    whole = UNITS[unit].count * of
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


def nearest(count: int, unit: str, decimals: int, of: int = 1) -> str:
    """The value rounded to the nearest of ``decimals`` decimals, a tie to the even digit (ISO 80000-1 annex B, rule A).

    For looking at only: no verdict and no result rests on it.
    """
    whole = UNITS[unit].count * of
    low, rest = divmod(count * 10**decimals, whole)
    up = 2 * rest > whole or (2 * rest == whole and low % 2 == 1)
    return placed(low + up, decimals)


def shown(
    count: int,
    kind: Kind,
    unit: str,
    decimals: int | None = None,
    *,
    of: int = 1,
    leading_zero: bool = True,
) -> str:
    """The value with its unit: ``0.5000 in``, ``45.5°``; ``.5000 in`` without the leading zero, as an inch drawing has
    it. ``decimals`` are at least kept; a value that the unit cannot hold is rounded one place further and marked ``≈``.

    Raises ValueError where ``unit`` is not one of ``kind``.
    """
    if UNITS[unit].kind is not kind:
        raise ValueError(f"{unit} is not a unit of {kind}")
    number = written_out(count, unit, decimals, of)
    if not leading_zero:
        number = number.replace("0.", ".", 1) if number.lstrip("≈ -").startswith("0.") else number
    return number + unit_after(unit, number)


def written_out(count: int, unit: str, decimals: int | None = None, of: int = 1) -> str:
    """The exact number where there is one, else the nearest with the mark ``≈`` before it."""
    if fewest_decimals(count, unit, of) is not None:
        return plain(count, unit, decimals or 0, of)
    return f"{ABOUT} {nearest(count, unit, _places(unit) if decimals is None else decimals + 1, of)}"


def _places(unit: str) -> int:
    """Decimals at which a value that is not exact is cut for the eye: a hundredth of a micron or of an arc-second."""
    return max(0, len(str(UNITS[unit].count // 10_000)) - 1)


def unit_after(unit: str, number: str) -> str:
    """The unit as it follows a number: signs of an angle stand close, ``tenth`` takes its plural."""
    if UNITS[unit].kind is Kind.ANGLE:
        return unit
    return f" {unit}s" if unit == "tenth" and number != "1" else f" {unit}"
