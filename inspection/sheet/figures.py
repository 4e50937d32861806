"""The numbers of a report: counts in a row's unit with at least the limit's decimals, never rounded the kind way."""

from __future__ import annotations

from inspection.drawing.requirement import Requirement
from inspection.quantity.speaker import degrees_minutes, fewest_decimals, plain, rounded_away, rounded_inward
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


def mean(total: int, requirement: Requirement, expanded: int | None, of: int) -> str:
    """A mean to the place of its uncertainty U (a count), or one place past the limits if there is none."""
    places = requirement.decimals + 1 if expanded is None else decimals_of(expanded, requirement.unit)
    places = max(places, requirement.decimals)
    fewest = fewest_decimals(total, requirement.unit, of)
    if fewest is not None and fewest <= places:
        return plain(total, requirement.unit, places, of)
    return _outward(total, requirement, places, of)


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
