"""Repeatability as evidence: a standard deviation, how many degrees of freedom stand behind it, and where it was seen.

Sums of squares of whole counts are exact, so a deviation is kept as an exact square.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import StrEnum
from fractions import Fraction

from msgspec import Struct

from inspection.reasons import Reason, Refused


class Seen(StrEnum):
    """Where a repeatability comes from."""

    DEFAULT = "default"  # the shop's figure for the kind of instrument, on parts
    BLOCK = "block"  # repeated readings of a gauge block
    STUDY = "study"  # repeated readings of parts
    ZERO = "zero"  # repeated settings of zero


class Spread(Struct, frozen=True):
    """A standard deviation s of single readings as its exact ``square`` (counts²), from ``seen``.

    ``freedom`` is ν = n − 1, added up over pooled groups; None for a figure that the shop takes as known. ``of`` names
    the studies that it is from, where they have a name.
    """

    square: Fraction
    freedom: int | None = None
    seen: Seen = Seen.DEFAULT
    of: str = ""


def taken_as_known(deviation: int, seen: Seen = Seen.DEFAULT) -> Spread:
    """A shop's figure: ``deviation`` is a standard deviation in counts. Raises Refused for a negative one.

    >>> taken_as_known(762_000).freedom is None
    True
    """
    if deviation < 0:
        raise Refused(Reason("doubt.width_negative", {"part": "reading"}))
    return Spread(Fraction(deviation * deviation), None, seen)


def pooled(groups: Iterable[Sequence[int]], seen: Seen = Seen.BLOCK) -> Spread | None:
    """The pooled deviation of groups of readings (counts), each group of one thing read again and again.

    s² = Σ Σ(x − x̄)² / Σ(n − 1) and ν = Σ(n − 1). None where there is no evidence: no group with two readings, or
    readings that never differ: then the step was too coarse to show a scatter, which is no proof that there is none.
    Source: JCGM 100:2008, 4.2.4 and H.3.6; ISO 5725-2.

    >>> found = pooled([[10, 12, 11], [21, 20]])
    >>> found.square, found.freedom
    (Fraction(5, 6), 3)
    """
    squares, freedom = Fraction(0), 0
    for group in groups:
        if len(group) > 1:
            squares += sum(x * x for x in group) - Fraction(sum(group) ** 2, len(group))
            freedom += len(group) - 1
    return Spread(squares / freedom, freedom, seen) if squares > 0 else None


def pooled_spreads(spreads: Iterable[Spread], seen: Seen = Seen.STUDY) -> Spread | None:
    """Several deviations pooled by their degrees of freedom; figures taken as known carry no readings and stay out.

    >>> pooled_spreads([Spread(Fraction(4), 2), Spread(Fraction(1), 4)]).square
    Fraction(2, 1)
    """
    held = [(spread.square, spread.freedom) for spread in spreads if spread.freedom is not None]
    freedom = sum(each for _, each in held)
    total = sum((square * each for square, each in held), Fraction(0))
    return Spread(total / freedom, freedom, seen) if total > 0 else None


def spread_of(default: Spread, block: Spread | None = None, study: Spread | None = None) -> Spread:
    """The deviation to reckon with: that of the study on parts where there is one; else the larger of what was seen on
    a block and the default for parts, for a block is kinder than a part.

    >>> block = pooled([[0, 3, 6]])
    >>> spread_of(taken_as_known(2), block).seen, spread_of(taken_as_known(9), block).seen
    (<Seen.BLOCK: 'block'>, <Seen.DEFAULT: 'default'>)
    """
    if study is not None and study.square > 0:
        return study
    return block if block is not None and block.square > default.square else default
