"""Numbers as a customer wants them: in another system, with other decimals. Exact wherever the unit holds the value;
else limits are rounded inward and results outward, so that no rounding lets anything in."""

from __future__ import annotations

from fractions import Fraction

from msgspec import Struct

from inspection.drawing.requirement import Requirement
from inspection.quantity.speaker import as_fine, fewest_decimals, nearest, plain, rounded_away, rounded_inward
from inspection.quantity.units import UNITS, Kind

#: The units of length that each system wants: what is finer stays finer.
OTHER = {"in": {"mm": "in", "µm": "µin", "cm": "in"}, "mm": {"in": "mm", "µin": "µm", "thou": "mm", "tenth": "mm"}}


class Wish(Struct, frozen=True):
    """What is wanted of a number: the system ("in", "mm", empty: as drawn), decimals (None: the limits'), and whether
    it may be rounded to them."""

    unit: str = ""
    decimals: int | None = None
    outward: bool = False


def unit_wanted(requirement: Requirement, wish: Wish) -> str:
    """The unit that a row's numbers go out in.

    >>> from inspection.drawing.requirement import Form
    >>> unit_wanted(Requirement("", Form.LIMITS, unit="in"), Wish("mm"))
    'mm'
    """
    if requirement.kind is not Kind.LENGTH:
        return requirement.unit
    return OTHER.get(wish.unit, {}).get(requirement.unit, requirement.unit)


def decimals_wanted(requirement: Requirement, wish: Wish) -> int:
    """The decimals of a row's numbers: those wanted, else as fine as its limits are written, and never fewer than they
    take in the other system.

    >>> from inspection.drawing.requirement import Form
    >>> half = Requirement("", Form.LIMITS, decimals=3, lower=12_573_000_000, upper=12_827_000_000)
    >>> decimals_wanted(half, Wish("mm")), decimals_wanted(half, Wish("mm", 2))
    (3, 2)
    """
    if wish.decimals is not None:
        return wish.decimals
    unit = unit_wanted(requirement, wish)
    if unit == requirement.unit:
        return requirement.decimals
    ends = [fewest_decimals(end, unit) for end in (requirement.lower, requirement.upper) if end is not None]
    return max(as_fine(requirement.decimals, requirement.unit, unit), *(each or 0 for each in ends), 0)


def limits_wanted(requirement: Requirement, wish: Wish) -> tuple[str, str]:
    """Lower and upper limit, empty where open; never rounded for decimals alone, for a limit is exact."""
    unit, decimals = unit_wanted(requirement, wish), decimals_wanted(requirement, wish)
    ends = (requirement.lower, requirement.upper)
    if all(end is None or fewest_decimals(end, unit) is not None for end in ends):
        low, high = ("" if end is None else plain(end, unit, decimals) for end in ends)
        return low, high
    told = rounded_inward(*ends, unit, max(decimals, requirement.decimals))
    return told[0] or "", told[1] or ""


def nominal_wanted(requirement: Requirement, wish: Wish) -> str:
    """The nominal, exactly where the unit holds it. Where it does not, it is its limit as told if it is one (a basic
    hole's, say), else rounded to the limits' decimals: nothing is accepted by a nominal.

    >>> from inspection.drawing.requirement import Form
    >>> hole = Requirement("", Form.FIT, unit="mm", decimals=3, nominal=22 * 10**9, lower=22 * 10**9,
    ...                    upper=22_033_000_000)
    >>> nominal_wanted(hole, Wish("in")), limits_wanted(hole, Wish("in"))
    ('0.86615', ('0.86615', '0.86744'))
    """
    nominal, unit, decimals = requirement.nominal, unit_wanted(requirement, wish), decimals_wanted(requirement, wish)
    if nominal is None:
        return ""
    if fewest_decimals(nominal, unit) is not None:
        return plain(nominal, unit, decimals)
    for end, told in zip((requirement.lower, requirement.upper), limits_wanted(requirement, wish), strict=True):
        if end == nominal:
            return told
    return nearest(nominal, unit, decimals)


def result_wanted(number: str, requirement: Requirement, wish: Wish) -> str:
    """A reported result (a plain decimal string in the row's unit) as it is wanted: with further noughts, exactly in
    the other system, or, only where that is asked for or no number of decimals holds it, rounded outward."""
    unit, decimals = unit_wanted(requirement, wish), decimals_wanted(requirement, wish)
    digits, places = _apart(number)
    if unit == requirement.unit and len(number.partition(".")[2]) <= decimals:
        return plain(digits * UNITS[unit].count, unit, decimals, 10**places)
    count, of = digits * UNITS[requirement.unit].count, 10**places
    exact = fewest_decimals(count, unit, of)
    if exact is not None and (wish.decimals is None or not wish.outward or exact <= decimals):
        return plain(count, unit, decimals, of)
    return rounded_away(count, unit, decimals, lower=requirement.lower, upper=requirement.upper, of=of)


def _apart(number: str) -> tuple[int, int]:
    """A plain decimal string as its digits and how many of them stand behind the point."""
    return int(number.replace(".", "")), len(number.partition(".")[2])


def between(one: str, other: str) -> str:
    """The difference of two plain decimal strings, exactly, with the decimals of the finer.

    >>> between("0.5001", "0.5"), between("1.00", "1.0")
    ('0.0001', '0.00')
    """
    places = max(_apart(one)[1], _apart(other)[1])
    digits = (Fraction(one) - Fraction(other)) * 10**places
    text = f"{abs(int(digits)):0{places + 1}d}"
    whole, part = (text[:-places], text[-places:]) if places else (text, "")
    return ("-" if digits < 0 else "") + whole + (f".{part}" if part else "")
