"""A budget as it leaves the reckoning: for a table on the screen, an appendix of the sheet, and under the seal.

Nothing here is a fraction or a float: amounts are whole counts, computed numbers are decimal strings at stated digits,
sentences are reasons.
"""

from __future__ import annotations

from fractions import Fraction
from math import isqrt

from msgspec import Struct

from inspection.measuring.quantiles import CONFIDENCE
from inspection.measuring.uncertainty import Budget, Line, Measure
from inspection.quantity.speaker import placed
from inspection.quantity.units import UNITS
from inspection.reasons import Amount, Reason

#: Digits that standard uncertainties, sensitivities and contributions are stated with.
DIGITS = 3


class StatedLine(Struct, frozen=True):
    """One line as stated. ``standard`` is u(x) in ``unit``, ``sensitivity`` ∂y/∂x in the row's unit per that unit,
    ``contribution`` their product in the row's unit; ``freedom`` is ν, empty for infinitely many; ``share`` is the
    line's part of the combined variance in hundredths."""

    name: str
    what: Reason
    estimate: Reason
    distribution: str
    divisor: str
    standard: str
    unit: str
    sensitivity: str
    freedom: str
    contribution: str
    share: int


class StatedBudget(Struct, frozen=True):
    """A budget as stated, in ``unit``: u_c, ν_eff (empty for infinitely many), k, the coverage probability in
    hundredths of a per cent, what is left uncorrected, and U as a count and as text."""

    lines: tuple[StatedLine, ...]
    unit: str
    combined: str
    freedom: str
    factor: str
    confidence: int
    expanded: int
    uncorrected: int = 0


class _Scale(Struct, frozen=True):
    """The unit that a measure is stated in: its symbol (empty: the row's own) and how many of the measure it holds."""

    symbol: str
    size: Fraction


_SCALES = {
    Measure.TEMPERATURE: _Scale("°C", Fraction(1)),
    Measure.EXPANSION: _Scale("1e-6/°C", Fraction(1, 1_000_000)),
    Measure.ANGLE: _Scale("mrad", Fraction(1, 1_000)),
}


def stated(budget: Budget, unit: str, confidence: Fraction = CONFIDENCE) -> StatedBudget:
    """The budget with every number written out, in the row's ``unit``."""
    whole, variance = UNITS[unit].count, budget.variance
    effective = budget.effective
    return StatedBudget(
        tuple(_line(line, unit, round(100 * line.variance / variance)) for line in budget.lines),
        unit,
        significant(variance / whole**2),
        "" if effective is None else decimal(effective, 1),
        placed(int(budget.factor(confidence) * 1_000), 3),
        int(confidence * 10_000),
        budget.expanded(whole, confidence),
        -(-budget.uncorrected.numerator // budget.uncorrected.denominator),
    )


def _line(line: Line, unit: str, share: int) -> StatedLine:
    whole = UNITS[unit].count
    scale = _SCALES.get(line.measure, _Scale(unit, Fraction(whole)))
    sensitivity = line.sensitivity * scale.size / whole
    return StatedLine(
        line.name,
        line.what,
        line.estimate,
        line.distribution.value,
        significant(line.divisor, DIGITS + 1),
        significant(line.square / scale.size**2),
        scale.symbol,
        ("-" if sensitivity < 0 else "") + significant(sensitivity**2),
        "" if line.freedom is None else decimal(line.freedom, 1),
        significant(line.variance / whole**2),
        share,
    )


def decimal(value: Fraction, decimals: int) -> str:
    """A number cut to so many decimals at most, without idle zeros.

    >>> decimal(Fraction(335, 20), 1), decimal(Fraction(18), 1)
    ('16.7', '18')
    """
    text = placed(value.numerator * 10**decimals // value.denominator, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def significant(square: Fraction, digits: int = DIGITS) -> str:
    """√``square`` written plainly with so many significant digits, to the nearest, a tie away from 0.

    >>> significant(Fraction(3)), significant(Fraction(5, 10**9)), significant(Fraction(10**8))
    ('1.73', '0.0000707', '10000')
    """
    if square == 0:
        return "0"
    over, under, places = square.numerator, square.denominator, 0
    least = under * 100 ** (digits - 1)
    while over < least:
        over, places = over * 100, places + 1
    text = placed(_nearest_root(over, under), places)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _nearest_root(over: int, under: int) -> int:
    """√(over / under) to the nearest whole number, a tie away from 0; whole numbers, for every entry waits for it."""
    low = isqrt(over // under)
    return low + (4 * over >= under * (2 * low + 1) ** 2)


def about(square: Fraction, unit: str) -> Amount:
    """√``square`` (counts²) as an amount of three significant digits in ``unit``, or a whole count where that is
    coarser: a computed width or deviation inside a reason.

    >>> about(Fraction(10**12), "in")
    Amount(count=1000760, kind=<Kind.LENGTH: 'length'>, unit='in', decimals=7)
    """
    whole = UNITS[unit].count
    decimals, tens = 0, square.numerator
    while 0 < tens < (100 * whole) ** 2 * square.denominator and whole % 10 ** (decimals + 1) == 0:
        decimals, tens = decimals + 1, tens * 100
    digits = _nearest_root(square.numerator * 100**decimals, square.denominator * whole**2)
    return Amount(digits * whole // 10**decimals, UNITS[unit].kind, unit, decimals)
