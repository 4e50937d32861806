"""Repeats after a doubt: how many would settle it, set before they are taken; and when none can.

Only the scatter of reading gets smaller with repeats, and never under the step of the scale. All readings enter the
mean, the first one too.
"""

from __future__ import annotations

from collections.abc import Callable

from msgspec import Struct

from inspection.measuring.guard import DecisionRule, Finding, Limits, decide
from inspection.measuring.uncertainty import Budget
from inspection.reasons import Reason, Refused

#: More than this nobody takes by hand at one place and still puts the instrument down squarely.
MOST = 12


class Repeats(Struct, frozen=True):
    """What repeats would do. ``needed`` is m, the readings in the mean with the first among them; None if up to
    ``most`` do not settle it. ``reason`` says so, naming the part that stays where repeats do not help."""

    needed: int | None
    most: int
    reason: Reason


def repeats_needed(
    at: Callable[[int], Budget], settles: Callable[[Budget], bool], most: int = MOST, now: int = 1
) -> Repeats:
    """The smallest m over ``now`` for which the budget of a mean of m ``settles`` the doubt.

    ``at`` gives the budget for m readings. Raises Refused where fewer than two readings would be allowed.
    """
    if most < 2 or now < 1:
        raise Refused(Reason("doubt.repeats_none"))
    for m in range(now + 1, most + 1):
        if settles(at(m)):
            return Repeats(m, most, Reason("doubt.repeats.needed", {"m": m}))
    return Repeats(None, most, stays(at(most), most))


def stays(budget: Budget, most: int) -> Reason:
    """Why repeats do not settle a doubt: the largest part left, and its share; or what is left uncorrected."""
    if budget.uncorrected**2 > budget.expanded_square():
        return Reason("doubt.repeats.uncorrected", {"m": most})
    largest = budget.largest
    return Reason("doubt.repeats.dominated", {"part": largest.name, "share": budget.share(largest), "m": most})


def rule_settles(rule: DecisionRule, total: int, limits: Limits, of: int = 1) -> Callable[[Budget], bool]:
    """Whether a budget takes a result out of doubt if the mean stays where the result ``total / of`` is now."""
    settled = (Finding.CONFORMING, Finding.NOT_CONFORMING)
    return lambda budget: decide(rule, total, limits, budget, of).finding in settled
