"""What was read and what was made of it, as it leaves the reckoning: whole counts and reasons, for sheet and seal."""

from __future__ import annotations

from msgspec import Struct

from inspection.measuring.bias import Correction, Result
from inspection.reasons import Reason


class StatedCorrection(Struct, frozen=True):
    """One known error: its name, what was done about it, the amount added (or left) to the nearest count, and why."""

    name: str
    handling: str
    amount: int
    reason: Reason


class StatedResult(Struct, frozen=True):
    """A result, ``raw`` and ``corrected``, both sums of ``of`` readings in counts, with what was done on the way.

    ``rounded_away`` says that the last count was rounded away from conformance."""

    raw: int
    corrected: int
    of: int
    corrections: tuple[StatedCorrection, ...] = ()
    rounded_away: bool = False


def stated_result(result: Result) -> StatedResult:
    """The result with its corrections as whole counts.

    >>> from inspection.measuring.bias import corrected
    >>> stated_result(corrected(30, [], 3))
    StatedResult(raw=30, corrected=30, of=3, corrections=(), rounded_away=False)
    """
    told = tuple(stated_correction(each) for each in result.corrections)
    return StatedResult(result.raw, result.corrected, result.of, told, result.rounded_away)


def stated_correction(correction: Correction) -> StatedCorrection:
    """One known error as whole counts."""
    return StatedCorrection(correction.name, correction.handling.value, round(correction.amount), correction.reason)
