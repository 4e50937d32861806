"""Decision rules: what a result says of a limit, given its uncertainty.

Simple acceptance, guard bands (ISO 14253-1) and the probability of conformity (JCGM 106:2012). A result and its limits
meet as whole counts; guard bands are rounded up to a count and probabilities cut down, so that what floating point
cannot tell is never told in favour of conformity. A mean of ``of`` readings is held as their sum.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from math import ceil, floor, sqrt

from msgspec import Struct

from inspection.measuring.quantiles import Interval, below, quantile
from inspection.measuring.uncertainty import Budget
from inspection.quantity.units import UNITS
from inspection.reasons import Amount, Figure, Part, Reason, Refused

#: From so many degrees of freedom on Student's t counts as normal.
NORMAL_FROM = 30

#: What floating point may be off by; a near-tie within it goes against conformity.
_NEAR = 1e-9

#: What a root and a product may be off by, as a part of themselves.
_FINE = 1e-12

_TEN_THOUSAND = 10_000


class RuleKind(StrEnum):
    """How a result is held against its limits."""

    SIMPLE = "simple"
    GUARDED = "guarded"
    PROBABILITY = "probability"


class DecisionRule(Struct, frozen=True):
    """A decision rule as agreed. ``probability`` is p, the conformance probability asked for, in ten-thousandths;
    ``by_expanded`` sets the guard band to U instead, as older contracts have it (ISO 14253-1:2013). ``printed`` says
    that the customer agreed to be shown the probability of conformity."""

    kind: RuleKind = RuleKind.SIMPLE
    probability: int = 9_500
    by_expanded: bool = False
    printed: bool = False

    @property
    def asked(self) -> Fraction:
        """p as a fraction. Raises Refused where it proves nothing (a half or less) or everything (1)."""
        if not _TEN_THOUSAND // 2 < self.probability < _TEN_THOUSAND:
            raise Refused(Reason("doubt.probability", {"got": str(self.probability / _TEN_THOUSAND)}))
        return Fraction(self.probability, _TEN_THOUSAND)


def check_rule(rule: DecisionRule) -> None:
    """Raises Refused for a rule whose probability proves nothing or everything."""
    if rule.kind is not RuleKind.SIMPLE:
        _ = rule.asked


def rule_reason(rule: DecisionRule) -> Reason:
    """The rule as it is named on a sheet.

    >>> rule_reason(DecisionRule(RuleKind.GUARDED)).parts
    {'p': Figure(text='95')}
    """
    if rule.kind is RuleKind.SIMPLE:
        return Reason("rule.said.simple")
    if rule.by_expanded:
        return Reason("rule.said.guarded_by_u")
    asked: dict[str, Part] = {"p": Figure(per_cent(cut(float(rule.asked))))}
    return Reason("rule.said.guarded" if rule.kind is RuleKind.GUARDED else "rule.said.probability", asked)


class Finding(StrEnum):
    """What a decision rule finds."""

    CONFORMING = "conforming"
    DOUBT_INSIDE = "in doubt, measured inside"
    DOUBT_OUTSIDE = "in doubt, measured outside"
    NOT_CONFORMING = "not conforming"


class Limits(Struct, frozen=True):
    """The limits of a row in counts, None for an open side, and the unit they are spoken in.

    A quantity with a natural zero has no lower limit."""

    lower: int | None
    upper: int | None
    unit: str = "in"

    @property
    def band(self) -> int | None:
        """T, None with an open side."""
        return None if self.lower is None or self.upper is None else self.upper - self.lower

    def amount(self, count: int) -> Amount:
        """A count as an amount in the limits' unit."""
        return Amount(count, UNITS[self.unit].kind, self.unit)


class Decision(Struct, frozen=True):
    """What was found: under which rule, with which guard band (counts; None where there is none, or none is possible)
    and which probability of conformity (decimal string cut to four places, empty where none was asked for)."""

    finding: Finding
    rule: DecisionRule
    reasons: tuple[Reason, ...] = ()
    guard: int | None = None
    probability: str = ""


def _freedom(budget: Budget) -> int | None:
    """Degrees of freedom as the decision takes them."""
    freedom = budget.freedom
    return freedom if freedom is not None and freedom < NORMAL_FROM else None


@lru_cache(maxsize=4096)
def guard_factor(ratio: float | None, probability: Fraction, freedom: int | None = None) -> float | None:
    """g / u for a band of ``ratio`` = T / u (None: one limit only): a result that far inside a limit conforms with
    ``probability`` p, the other limit reckoned with. None where no result can: T under 3.92 u at 95 %.

    It solves F(g/u) − F(−(T − g)/u) = p; F is normal, or Student's t with ``freedom``. Sources: ISO 14253-1:2017 (from
    memory), JCGM 106:2012, 8.3.

    >>> p = Fraction(95, 100)
    >>> [round(guard_factor(ratio, p), 3) for ratio in (6.0, 5.0, 4.5, 4.0)]
    [1.645, 1.649, 1.668, 1.796]
    >>> guard_factor(3.9, p) is None, round(guard_factor(None, p, 4), 3)
    (True, 2.132)
    """
    one_sided = quantile(probability, freedom)
    if ratio is None:
        return one_sided
    widest = quantile((1 + probability) / 2, freedom)
    if ratio < 2 * widest * (1 - _FINE):
        return None
    low, high = one_sided, max(ratio / 2, one_sided)
    while high - low > _FINE * high / 10:
        middle = (low + high) / 2
        if middle in (low, high):
            break
        reached = below(middle, freedom) - below(middle - ratio, freedom) >= float(probability)
        low, high = (low, middle) if reached else (middle, high)
    return high


def guard_band(limits: Limits, budget: Budget, rule: DecisionRule) -> int | None:
    """g in counts, rounded up, with what is left uncorrected added; None where this method cannot show conformity.

    Raises Refused without limits.
    """
    _some(limits)
    band = limits.band
    if rule.by_expanded:
        guard = budget.expanded(UNITS[limits.unit].count)
    else:
        deviation = _deviation(budget)
        ratio = None if band is None else band / deviation
        factor = guard_factor(ratio, rule.asked, _freedom(budget))
        if factor is None:
            return None
        guard = ceil(factor * deviation * (1 + _FINE) + float(budget.uncorrected))
    return None if band is not None and 2 * guard > band else guard


def _deviation(budget: Budget) -> float:
    """u_c as a float. Raises Refused where nothing is known."""
    variance = budget.variance
    if variance <= 0:
        raise Refused(Reason("doubt.nothing_known"))
    return sqrt(variance)


def _some(limits: Limits) -> None:
    if limits.lower is None and limits.upper is None:
        raise Refused(Reason("doubt.no_limits"))
    if limits.band is not None and limits.band < 0:
        raise Refused(Reason("doubt.limits_crossed"))


def probability_of(total: int, of: int, limits: Limits, budget: Budget) -> float:
    """The probability that the true value conforms, given the result ``total / of``: one- or two-sided, normal, or
    Student's t under 30 degrees of freedom. What is left uncorrected shifts the result the worse way.

    Raises Refused without limits, or where nothing is known of the uncertainty. Source: JCGM 106:2012, 7.
    """
    _some(limits)
    deviation, freedom, left = _deviation(budget), _freedom(budget), budget.uncorrected
    shifts = (-left, left) if left else (Fraction(0),)
    return min(
        Interval(
            _apart(limits.lower, total, of, shift, deviation), _apart(limits.upper, total, of, shift, deviation)
        ).probability(freedom)
        for shift in shifts
    )


def _apart(limit: int | None, total: int, of: int, shift: Fraction, deviation: float) -> float | None:
    return None if limit is None else float(Fraction(limit * of - total, of) - shift) / deviation


# --- deciding -------------------------------------------------------------------------------------------------


def decide(rule: DecisionRule, total: int, limits: Limits, budget: Budget, of: int = 1) -> Decision:
    """What ``rule`` finds of the result ``total / of`` (counts) against ``limits`` with ``budget``.

    Simple acceptance asks nothing of the budget. Raises Refused without limits, for fewer than one reading, for a
    probability that proves nothing, and where nothing is known of the uncertainty.
    """
    _some(limits)
    if of < 1:
        raise Refused(Reason("doubt.repeats_none"))
    if rule.kind is RuleKind.SIMPLE:
        return Decision(Finding.CONFORMING if margin(total, of, limits) >= 0 else Finding.NOT_CONFORMING, rule)
    if rule.kind is RuleKind.GUARDED:
        return _guarded(rule, total, of, limits, budget)
    return _probable(rule, total, of, limits, budget)


def margin(total: int, of: int, limits: Limits) -> int:
    """How far the sum of ``of`` readings is inside the nearer limit, in counts of the sum; negative outside.

    Raises Refused without limits.
    """
    _some(limits)
    down = None if limits.lower is None else total - of * limits.lower
    up = None if limits.upper is None else of * limits.upper - total
    return min(each for each in (down, up) if each is not None)


def _guarded(rule: DecisionRule, total: int, of: int, limits: Limits, budget: Budget) -> Decision:
    """Inside by at least g conforms, outside by more than g does not, between is in doubt on the side it lies."""
    inside = margin(total, of, limits)
    guard = guard_band(limits, budget, rule)
    reach = guard if guard is not None else _one_sided(limits, budget, rule)
    if guard is not None and inside >= of * guard:
        return Decision(Finding.CONFORMING, rule, guard=guard)
    if inside < -of * reach:
        return Decision(Finding.NOT_CONFORMING, rule, guard=guard)
    parts: dict[str, Part] = {"by": limits.amount(_whole(abs(inside), of)), "g": limits.amount(reach)}
    code = "doubt.guard.inside" if inside >= 0 else "doubt.guard.outside"
    reasons = (Reason(code, parts),)
    if guard is None:
        reasons = (_cannot(limits), *(reasons if inside < 0 else ()))
    return Decision(Finding.DOUBT_INSIDE if inside >= 0 else Finding.DOUBT_OUTSIDE, rule, reasons, guard)


def _one_sided(limits: Limits, budget: Budget, rule: DecisionRule) -> int:
    """How far outside proves nonconformity where no distance inside proves conformity: by the nearer limit alone."""
    one = limits if limits.lower is None else Limits(limits.lower, None, limits.unit)
    found = guard_band(one, budget, rule)
    return 0 if found is None else found


def _cannot(limits: Limits) -> Reason:
    return Reason("doubt.guard.none", {"T": limits.amount(limits.band or 0)})


def _whole(sum_of: int, of: int) -> int:
    """A distance of a sum as one of its mean, to a whole count, cut."""
    return sum_of // of


def _probable(rule: DecisionRule, total: int, of: int, limits: Limits, budget: Budget) -> Decision:
    """P at least p conforms, P at most its complement does not; a near-tie goes against conformity."""
    asked = float(rule.asked)
    found = probability_of(total, of, limits, budget)
    text = cut(found)
    if found >= asked + _NEAR:
        return Decision(Finding.CONFORMING, rule, probability=text)
    if found <= 1 - asked + _NEAR:
        return Decision(Finding.NOT_CONFORMING, rule, probability=text)
    parts: dict[str, Part] = {"got": Figure(per_cent(text)), "needed": Figure(per_cent(cut(asked)))}
    side = Finding.DOUBT_INSIDE if margin(total, of, limits) >= 0 else Finding.DOUBT_OUTSIDE
    return Decision(side, rule, (Reason("doubt.probability.between", parts),), probability=text)


def cut(probability: float) -> str:
    """A probability cut down to four decimals; what is a near-tie from below stays below.

    >>> cut(0.97725), cut(1.0), cut(0.95)
    ('0.9772', '1.0000', '0.9500')
    """
    count = floor(min(max(probability, 0.0), 1.0) * _TEN_THOUSAND + _NEAR)
    return f"{count // _TEN_THOUSAND}.{count % _TEN_THOUSAND:04d}"


def per_cent(text: str) -> str:
    """A probability of four decimals in per cent, without idle zeros.

    >>> per_cent("0.9772"), per_cent("0.9500")
    ('97.72', '95')
    """
    count = int(text.replace(".", ""))
    whole, rest = divmod(count, 100)
    return f"{whole}.{rest:02d}".rstrip("0") if rest else str(whole)
