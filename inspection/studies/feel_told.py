"""What a trial says: each finding as a reason, and every number as a decimal string, for the eye and for scripts."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from msgspec import Struct

from inspection.instruments.record import Use
from inspection.measuring.quantiles import CONFIDENCE
from inspection.measuring.uncertainty_stated import about, significant
from inspection.quantity.units import UNITS
from inspection.reasons import Amount, Part, Reason
from inspection.studies.feel import Feel, square_over, square_under

#: From this many readings on a spread is worth looking at: its bound is then under twice itself (chi-square).
ENOUGH = 10


class Said(Struct, frozen=True):
    """One finding: ``good`` as it should be, or not, or (None) neither, for want of evidence or of a figure."""

    reason: Reason
    good: bool | None = None


class Row(Struct, frozen=True):
    """One line of figures: its name (``feel.row.<name>``), what the readings show and what the instrument should do;
    None where there is nothing to say."""

    name: str
    shown: Reason | None = None
    should: Reason | None = None


class StatedFeel(Struct, frozen=True):
    """A trial's numbers as decimal strings in ``unit``, "" where there is none: bias (mean − size), s with ν and the
    bound that the true scatter stays under at ``confidence`` (hundredths of a per cent, one-sided), slope a reading and
    whether it is told from nothing; E, step and s of the instrument."""

    unit: str
    n: int
    bias: str
    bias_told: bool
    deviation: str
    freedom: str
    under: str
    drift: str
    drift_told: bool
    error: str
    step: str
    usual: str
    confidence: int = int(CONFIDENCE * 10_000)


def signed(value: Fraction, unit: str) -> Amount:
    """A computed value with its sign, to three significant digits.

    >>> signed(Fraction(-2_540_000), "in").count
    -2540000
    """
    size = about(value**2, unit)
    return Amount(-size.count if value < 0 else size.count, size.kind, unit, size.decimals)


def stated(feel: Feel) -> StatedFeel:
    """A trial's numbers for a script or a list."""
    spread, trend, should = feel.spread, feel.trend, feel.should
    return StatedFeel(
        feel.unit,
        feel.read.n,
        _decimal(feel.read.bias, feel.unit),
        feel.bias_is_told(),
        _root(spread.square, feel.unit) if spread else "",
        str(spread.freedom) if spread else "",
        _root(square_under(spread), feel.unit) if spread else "",
        _decimal(trend.slope, feel.unit) if trend else "",
        trend is not None and trend.is_told(should.step),
        "" if should.error is None else _decimal(Fraction(should.error), feel.unit),
        _decimal(Fraction(should.step), feel.unit) if should.step else "",
        "" if should.deviation is None else _decimal(Fraction(should.deviation), feel.unit),
    )


def _root(square: Fraction, unit: str) -> str:
    return significant(square / UNITS[unit].count ** 2)


def _decimal(value: Fraction, unit: str) -> str:
    return ("-" if value < 0 else "") + _root(value**2, unit)


def rows(feel: Feel) -> tuple[Row, ...]:
    """Bias, scatter, its bound and drift, each beside what the instrument should do; then the step. Those of which
    nothing is known are left out."""
    unit, should, spread, trend = feel.unit, feel.should, feel.spread, feel.trend
    found = (
        Row("bias", _just(signed(feel.read.bias, unit)), _error(feel)),
        Row("spread", _spread(feel), _expected(feel)),
        Row("under", _just(about(square_under(spread), unit)) if spread else None),
        Row("drift", _just(signed(trend.slope, unit)) if trend else None),
        Row("step", None, _just(_amount(feel, should.step)) if should.step else None),
    )
    return tuple(row for row in found if row.shown or row.should)


def _just(amount: Amount) -> Reason:
    return Reason("feel.shown", {"amount": amount})


def _error(feel: Feel) -> Reason | None:
    error, use = feel.should.error, feel.should.use
    if error is None or use is None:
        return None
    return Reason("feel.should.error", {"error": _amount(feel, error), "use": use.value})


def _spread(feel: Feel) -> Reason | None:
    if feel.spread is not None:
        parts: dict[str, Part] = {"s": about(feel.spread.square, feel.unit), "freedom": feel.spread.freedom or 0}
        return Reason("feel.shown.spread", parts)
    return Reason("feel.shown.equal") if feel.all_equal else None


def _expected(feel: Feel) -> Reason | None:
    should = feel.should
    if should.deviation is None:
        return None
    return Reason("feel.should.usual" if should.usual else "feel.should.own", {"s": _amount(feel, should.deviation)})


# --- what it says -------------------------------------------------------------------------------------------------


def findings(feel: Feel) -> tuple[Said, ...]:
    """What is to be said of a trial, the plainest first."""
    return (*_of_error(feel), *_of_bias(feel), *_of_spread(feel), *_of_drift(feel), *_of_number(feel))


def _of_error(feel: Feel) -> Iterator[Said]:
    """The mean, and every reading, beside the permissible error."""
    error, use, n = feel.should.error, feel.should.use, feel.read.n
    if error is None or use is None:
        yield Said(Reason("feel.no_error"))
        return
    parts: dict[str, Part] = {"error": _amount(feel, error), "use": use.value}
    beyond = feel.beyond()
    if beyond:
        yield Said(Reason("feel.beyond", {**parts, "k": beyond, "n": n}), good=False)
    elif n > 1:
        yield Said(Reason("feel.within", {**parts, "n": n}), good=True)


def _of_bias(feel: Feel) -> Iterator[Said]:
    """Whether the mean is told from the size, and what a hand usually does then (common practice)."""
    bias, n = feel.read.bias, feel.read.n
    if n < 2:
        return
    if not feel.bias_is_told():
        yield Said(Reason("feel.bias.chance", {"n": n}), good=True)
        return
    parts: dict[str, Part] = {"bias": signed(abs(bias), feel.unit), "n": n}
    yield Said(Reason("feel.bias.large" if bias > 0 else "feel.bias.small", parts))
    if feel.should.use is Use.OUTSIDE:
        yield Said(Reason("feel.hint.large" if bias > 0 else "feel.hint.small"))


def _of_spread(feel: Feel) -> Iterator[Said]:
    spread, expected, n = feel.spread, feel.should.scatter, feel.read.n
    step = _amount(feel, feel.should.step)
    if n < 2:
        return
    if spread is None and not feel.should.step:
        yield Said(Reason("feel.all_equal.stepless", {"n": n}))
    elif spread is None:
        yield Said(Reason("feel.all_equal", {"n": n, "step": step}))
    elif feel.hidden:
        yield Said(Reason("feel.spread.hidden", {"step": step}))
    elif expected is None:
        yield Said(Reason("feel.spread.unknown"))
    else:
        steadier, unsteadier = square_under(spread) < expected, square_over(spread) > expected
        code = "less" if steadier else "more" if unsteadier else "alike"
        parts: dict[str, Part] = {"s": about(expected, feel.unit), "n": n}
        yield Said(Reason(f"feel.spread.{code}", parts), good=not unsteadier)


def _of_drift(feel: Feel) -> Iterator[Said]:
    trend = feel.trend
    if trend is None:
        return
    if not trend.is_told(feel.should.step):
        yield Said(Reason("feel.drift.chance"), good=True)
        return
    parts: dict[str, Part] = {"drift": signed(abs(trend.over), feel.unit), "n": trend.n}
    yield Said(Reason("feel.drift.up" if trend.slope > 0 else "feel.drift.down", parts), good=False)


def _of_number(feel: Feel) -> Iterator[Said]:
    if feel.read.n < ENOUGH:
        yield Said(Reason("feel.few", {"n": feel.read.n, "enough": ENOUGH}))


def _amount(feel: Feel, count: int) -> Amount:
    return Amount(count, UNITS[feel.unit].kind, feel.unit)
