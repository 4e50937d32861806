"""The numbers of a report: counts in a row's unit with at least the limit's decimals, never rounded the kind way."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from msgspec import Struct

from inspection.drawing.requirement import Requirement
from inspection.quantity.speaker import (
    FINEST,
    degrees_minutes,
    fewest_decimals,
    nearest,
    placed,
    plain,
    rounded_away,
    rounded_inward,
)
from inspection.quantity.units import UNITS, Kind
from inspection.words.say import word


def number(count: int, requirement: Requirement, decimals: int = 0, of: int = 1) -> str:
    """``count / of`` as a plain decimal string in the row's unit: exactly where the unit can hold it, else rounded
    away from mid-band to the decimals wanted, and further where that would cross a limit. It never has fewer decimals
    than the limits."""
    places = max(decimals, requirement.decimals)
    if fewest_decimals(count, requirement.unit, of) is not None:
        return plain(count, requirement.unit, places, of)
    return _outward(count, requirement, places, of)


class Acceptance(Struct, frozen=True):
    """A guard band as printed: g and the limits that it leaves, as plain decimal strings; empty where there is none."""

    guard: str = ""
    lower: str = ""
    upper: str = ""


NO_ACCEPTANCE = Acceptance()


def acceptance(
    requirement: Requirement, guard: int, expanded: int, results: Sequence[int] = (), of: int = 1
) -> Acceptance:
    """The acceptance limits that a ``guard`` band g (counts) leaves: lower + g and upper − g, to the place of U
    (``expanded``, counts), rounded inward, and g rounded up. They take further decimals where a result (``results`` /
    ``of``) would otherwise stand on their other side in print. A natural zero is no limit.
    """
    unit, natural = requirement.unit, requirement.natural_zero
    low = None if requirement.lower is None or natural else requirement.lower + guard
    high = None if requirement.upper is None else requirement.upper - guard
    found = NO_ACCEPTANCE
    for places in range(max(decimals_of(expanded, unit), requirement.decimals), FINEST):
        told = rounded_inward(low, high, unit, places)
        found = Acceptance(_rounded_up(guard, unit, places), told[0] or "", told[1] or "")
        if all(_on_its_side(Fraction(total, of), low, high, found, unit) for total in results):
            break
    return found


def _rounded_up(count: int, unit: str, places: int) -> str:
    return placed(-(-count * 10**places // UNITS[unit].count), places)


def _on_its_side(result: Fraction, low: int | None, high: int | None, told: Acceptance, unit: str) -> bool:
    """Whether a result (counts) lies as the exact acceptance limits have it also of the printed ones."""
    at = result / UNITS[unit].count
    low_told = low is None or (at >= Fraction(told.lower)) == (result >= low)
    return low_told and (high is None or (at <= Fraction(told.upper)) == (result <= high))


def computed(
    total: int, requirement: Requirement, expanded: int | None, of: int = 1, accepted: Acceptance = NO_ACCEPTANCE
) -> str:
    """A result that was computed (a mean, a corrected reading) to the place of its uncertainty U (a count), or one
    place past the limits if there is none, never with fewer decimals than they have. Further decimals are taken where
    it would cross a limit, or an acceptance limit as printed."""
    places = requirement.decimals + 1 if expanded is None else decimals_of(expanded, requirement.unit)
    places, exact = max(places, requirement.decimals), Fraction(total, of * UNITS[requirement.unit].count)
    text = _to_places(total, requirement, places, of)
    while places < FINEST and not _keeps_its_side(Fraction(text), exact, accepted):
        places += 1
        text = _to_places(total, requirement, places, of)
    return text


def _to_places(total: int, requirement: Requirement, places: int, of: int) -> str:
    fewest = fewest_decimals(total, requirement.unit, of)
    if fewest is not None and fewest <= places:
        return plain(total, requirement.unit, places, of)
    return _outward(total, requirement, places, of)


def _keeps_its_side(told: Fraction, exact: Fraction, accepted: Acceptance) -> bool:
    lower = not accepted.lower or (told >= Fraction(accepted.lower)) == (exact >= Fraction(accepted.lower))
    return lower and (not accepted.upper or (told <= Fraction(accepted.upper)) == (exact <= Fraction(accepted.upper)))


def uncertainty(expanded: int, unit: str) -> str:
    """U (a count) as it is stated, to two significant digits in ``unit``.

    >>> uncertainty(3_556_000, "in"), uncertainty(25_400_000, "in")
    ('0.00014', '0.0010')
    """
    return _rounded_up(expanded, unit, decimals_of(expanded, unit))


def signed(count: int, requirement: Requirement, decimals: int) -> str:
    """What was added to a reading, with its sign, to at least ``decimals`` and as far as its first digit, to the
    nearest.

    >>> from inspection.drawing.requirement import Form
    >>> signed(-3_000_000, Requirement("", Form.LIMITS), 4), signed(250, Requirement("", Form.LIMITS), 4)
    ('−0.0001', '+0.00000001')
    """
    places = max(decimals, requirement.decimals)
    while places < FINEST and not 2 * abs(count) * 10**places >= UNITS[requirement.unit].count:
        places += 1
    return ("−" if count < 0 else "+") + nearest(abs(count), requirement.unit, places)


def _outward(count: int, requirement: Requirement, places: int, of: int) -> str:
    return rounded_away(count, requirement.unit, places, lower=requirement.lower, upper=requirement.upper, of=of)


def decimals_of(expanded: int, unit: str) -> int:
    """The decimals at which an uncertainty shows its second digit in ``unit``; it is greater than nothing.

    >>> decimals_of(533_400_000, "in")
    3
    """
    places = 0
    while 0 < expanded * 10**places < 10 * UNITS[unit].count:
        places += 1
    return places


def text(count: int, requirement: Requirement, decimals: int = 0, of: int = 1) -> str:
    """The number as printed: without its unit, for that heads its row; an angle that degrees cannot hold in degrees,
    minutes and seconds, which are exact."""
    if requirement.kind is Kind.ANGLE and of == 1 and fewest_decimals(count, requirement.unit) is None:
        return degrees_minutes(count)
    return number(count, requirement, decimals, of)


def limits(requirement: Requirement) -> tuple[str, str]:
    """Lower and upper limit as plain decimal strings, empty where open; rounded inward where the unit cannot hold
    one, so that nothing is let in."""
    ends = (requirement.lower, requirement.upper)
    if all(end is None or fewest_decimals(end, requirement.unit) is not None for end in ends):
        low, high = ("" if end is None else plain(end, requirement.unit, requirement.decimals) for end in ends)
        return low, high
    rounded = rounded_inward(*ends, requirement.unit, requirement.decimals)
    return rounded[0] or "", rounded[1] or ""


def between(low: str, high: str) -> str:
    """Both limits on one line, or the one there is with its sign; empty where there is none. What has a natural zero
    has an upper limit only: nothing is no limit that could be missed."""
    if low and high:
        return f"{low} … {high}"
    return f"≤ {high}" if high else f"≥ {low}" if low else ""


def out_text(by: int, requirement: Requirement, language: str) -> str:
    """How far a result is out: ".0002 over" in inches, "0.005 under" in millimetres, "0.5° over" for an angle."""
    amount = text(abs(by), _unlimited(requirement))
    if requirement.unit == "in" and amount.startswith("0."):
        amount = amount[1:]
    if requirement.kind is Kind.ANGLE and amount[-1].isdigit():
        amount += requirement.unit
    return word("report.over" if by > 0 else "report.under", language, by=amount)


def _unlimited(requirement: Requirement) -> Requirement:
    """The row's unit and decimals without its limits: a distance is rounded away from nothing."""
    return Requirement("", requirement.form, requirement.kind, requirement.unit, requirement.decimals)
