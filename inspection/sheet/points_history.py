"""Points of history: results more than 3 s from what the same characteristic came to on earlier sheets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from math import lcm

from msgspec import Struct

from inspection.drawing.requirement import Requirement
from inspection.measuring.uncertainty_stated import about
from inspection.measuring.verdict import Verdict
from inspection.quantity.units import UNITS
from inspection.reasons import Amount
from inspection.sheet.points_look import At, Look
from inspection.sheet.points_table import Point
from inspection.studies.outlying import ENOUGH, Past, past_of


class Earlier(Struct, frozen=True):
    """What one piece of an earlier sheet came to on one characteristic: ``sheet`` and ``serial``, the ``day`` (ISO).

    ``smallest`` and ``largest`` are the results in counts, None where no number was read; of a mean of n they are the
    sum, with ``of`` = n. ``nominal``, ``lower`` and ``upper`` are what the drawing asked for then.
    """

    sheet: str
    serial: str
    day: str
    smallest: int | None
    largest: int | None
    of: int = 1
    nominal: int | None = None
    lower: int | None = None
    upper: int | None = None


History = Mapping[str, Sequence[Earlier]]
"""Earlier results by characteristic."""


def of_history(look: Look, history: History) -> Iterator[Point]:
    """A point for each cell whose smallest or largest result stands apart from those of earlier sheets; silent where
    these are fewer than five, or were held against another size."""
    for at in look.at:
        if at.judgement.results and at.judgement.verdict is not Verdict.OPEN and at.row.identity in history:
            yield from _of_cell(look, at, history[at.row.identity])


def _of_cell(look: Look, at: At, earlier: Sequence[Earlier]) -> Iterator[Point]:
    judgement, same = at.judgement, _held_against(at.row.requirement, earlier)
    if len(same) < ENOUGH:
        return
    of = lcm(judgement.of, *{each.of for each in same})
    smallest = [each.smallest * (of // each.of) for each in same if each.smallest is not None]
    largest = [each.largest * (of // each.of) for each in same if each.largest is not None]
    ends = ((min(judgement.results), smallest), (max(judgement.results), largest))
    for result, before in ends if len(judgement.results) > 1 else ends[:1]:
        value, past = result * (of // judgement.of), past_of(before)
        if past is not None and past.is_beyond(value, _least(look, at) * of * of):
            yield _told(look, at, value, past, of)
            return


def _held_against(asked: Requirement, earlier: Sequence[Earlier]) -> list[Earlier]:
    """The results that were held against the same size: the same nominal, or where there is none the same limits."""
    if asked.nominal is not None:
        return [each for each in earlier if each.nominal == asked.nominal]
    ends = (asked.lower, asked.upper)
    return [each for each in earlier if each.nominal is None and (each.lower, each.upper) == ends]


def _least(look: Look, at: At) -> int:
    """The least s² that is believed of earlier results (counts²): that of the hand, or r²/12 of the scale."""
    read = look.read_with(at.readings[-1]) if at.readings else None
    if read is None or read.quantity is not at.row.requirement.kind:
        return 0
    return max(read.repeatability**2, read.resolution**2 // 12)


def _told(look: Look, at: At, value: int, past: Past, of: int) -> Point:
    unit = at.row.requirement.unit
    said = "history_over" if value * past.n > past.total else "history_under"
    return look.point(
        "history",
        [at.cell],
        (reading.identity for reading in at.readings),
        said=said,
        off=about(Fraction(value - past.mean, of) ** 2, unit),
        mean=_rounded(past.mean / of, at.row.requirement),
        s=about(past.square / of**2, unit),
        of=past.n,
    )


def _rounded(value: Fraction, requirement: Requirement) -> Amount:
    """A mean (counts) to one place more than the limits have."""
    unit, decimals = requirement.unit, requirement.decimals + 1
    grid = Fraction(UNITS[unit].count, 10**decimals)
    return Amount(int(round(value / grid) * grid), requirement.kind, unit, decimals)
