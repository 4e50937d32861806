"""Verdicts as data."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from inspection.instruments.method import Ratio
from inspection.measuring.bias_stated import StatedCorrection
from inspection.measuring.uncertainty_stated import StatedBudget
from inspection.reasons import Reason


class Verdict(StrEnum):
    """What a cell (one characteristic on one piece) came to."""

    OPEN = "open"
    CONFORMING = "conforming"
    MARGINAL = "conforming, instrument marginal"
    DOUBT_INSIDE = "in doubt, measured inside"
    DOUBT_OUTSIDE = "in doubt, measured outside"
    NOT_CONFORMING = "not conforming"
    NOT_JUDGED = "not judged"  # basic and reference dimensions


#: What only a further measurement or a disposition settles.
IN_DOUBT = frozenset({Verdict.DOUBT_INSIDE, Verdict.DOUBT_OUTSIDE})
#: What is said beside a verdict without being a reason for it.
BESIDE = frozenset({"judge.indication", "judge.repeated", "judge.reopened"})
#: Why a reading rests on no check before use: codes begin so.
UNPROVEN = "unproven."


class Judgement(Struct, frozen=True):
    """How one cell was judged.

    ``results`` are the reported results as exact counts: smallest and largest over places, or one value; for pins
    the largest that entered and the smallest that did not. A mean of n repeats is ``results`` (its sum,) with
    ``of`` = n, so that the judgement stays exact. ``out_by`` is how far outside the nearer limit, positive over
    the upper and negative under the lower, in counts (of the sum's n-th part rounded away from zero to 1 step).
    ``ratios`` and ``expanded`` are the instrument's at the time, ``rule`` the decision rule's code. ``results`` are
    corrected where known errors were taken off by ``corrections``; ``raw`` are the same before. ``guard`` is the guard
    band g in counts (None: none, or none is possible), ``probability`` that of conformity as a decimal cut to four
    places (empty: not asked for), ``budget`` the uncertainty budget that the verdict rests on.
    """

    verdict: Verdict
    results: tuple[int, ...] = ()
    of: int = 1
    out_by: int | None = None
    reasons: tuple[Reason, ...] = ()
    ratios: tuple[Ratio, ...] = ()
    expanded: int | None = None
    rule: str = "simple"
    raw: tuple[int, ...] = ()
    corrections: tuple[StatedCorrection, ...] = ()
    guard: int | None = None
    probability: str = ""
    budget: StatedBudget | None = None

    @property
    def only_unproven(self) -> bool:
        """Whether a missing check before use alone makes the verdict marginal, and not the instrument."""
        why = [reason.code for reason in self.reasons if reason.code not in BESIDE]
        return self.verdict is Verdict.MARGINAL and all(code.startswith(UNPROVEN) for code in why)

    @property
    def shows_nothing(self) -> bool:
        """Whether no result inside the limits could show conformity: the uncertainty leaves no room between the guard
        bands."""
        return self.rule == "guarded" and self.budget is not None and self.guard is None


class Question(Struct, frozen=True):
    """A slip question: which reading, which pattern (``reason`` names it, never the value that would pass)."""

    identity: str
    reading: str
    characteristic: str
    piece: str
    reason: Reason
