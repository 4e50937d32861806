"""The ratios of tolerance to instrument, exactly: in hundredths, rounded down, as the rules state what they need.

Rounding down to the hundredths that rules are written in never carries a ratio over its threshold: a ratio holds
exactly when what is shown is at least what is needed.
"""

from __future__ import annotations

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.requirement import Form
from inspection.instruments.method import Ratio
from inspection.instruments.ways import zone_is_axial

RESOLUTION = "resolution"
ACCURACY = "accuracy"
UNCERTAINTY = "uncertainty"
GAUGE_CLASS = "gauge class"


def has_ratios(characteristic: Characteristic) -> bool:
    """Whether the row is held against limits by numbers at all: not basic, reference, thread gauges or notes."""
    requirement = characteristic.requirement
    return requirement.judged and requirement.form not in (Form.THREAD, Form.NOTE)


def effective_band(characteristic: Characteristic) -> int | None:
    """T that one reading of the row may use, in counts; None if the row leaves no band.

    The full band, but half of it where a ⌀ zone is measured by coordinates (rounded down to one count).
    """
    requirement = characteristic.requirement
    if requirement.band is None or not requirement.judged:
        return None
    return requirement.band // 2 if zone_is_axial(characteristic) else requirement.band


def size_of(characteristic: Characteristic) -> int:
    """The size (counts) at which permissible error and temperature are taken: the largest of limits and nominal."""
    requirement = characteristic.requirement
    return max((x for x in (requirement.upper, requirement.nominal, requirement.lower) if x is not None), default=0)


def hundredths(band: int, part: int) -> int:
    """⌊100 · band / part⌋. Nothing is known of a part of 0, so it carries no band."""
    return 100 * band // part if part > 0 else 0


def smallest_band(part: int, needed: int) -> int:
    """The smallest band (counts) whose ratio to ``part`` is at least ``needed`` hundredths."""
    return -(-part * needed // 100)


def spoken(count: int) -> str:
    """A number of hundredths as a decimal without idle zeros.

    >>> spoken(1000), spoken(374), spoken(2050)
    ('10', '3.74', '20.5')
    """
    whole, rest = divmod(count, 100)
    return f"{whole}.{rest:02d}".rstrip("0") if rest else str(whole)


def ratio(name: str, got: int, needed: int) -> Ratio:
    """A ratio as shown, from hundredths."""
    return Ratio(name, spoken(got), spoken(needed), got >= needed)
