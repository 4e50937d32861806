"""The charts of a complete gauge study as values that window and page draw alike: counts over places across."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from enum import StrEnum
from fractions import Fraction

from msgspec import Struct

from inspection.standards.ranges import range_constants
from inspection.studies.conducted import Conducted
from inspection.studies.gauge_results import crossed_of


class ChartPoint(Struct, frozen=True):
    """A value (counts) at a place ``x``, with the lowest and highest of what it is the middle of, if of anything;
    ``said`` is what it comes to in words, where that is no quantity."""

    x: int
    y: int
    reach: tuple[int, int] | None = None
    said: str = ""


class Shape(StrEnum):
    """What stands at a line's points: what its place among the lines gives it, a good or a bad mark, or nothing."""

    OWN = "own"
    GOOD = "good"
    BAD = "bad"
    NONE = "none"


class ChartLine(Struct, frozen=True):
    """Points that belong together, in their order, ``joined`` or each by itself; ``name`` says of whom, empty for
    all."""

    name: str
    points: tuple[ChartPoint, ...]
    joined: bool = True
    shape: Shape = Shape.OWN


class Chart(Struct, frozen=True):
    """One chart: its ``code`` in the words (``gauge.chart.<code>``), what is drawn, levels by their codes with counts,
    ``ticks`` across, and where each person's part of it begins (``parted``). ``judged`` says that points beyond the
    levels are marked. Where what goes up is no quantity, ``ups`` are its names with their counts."""

    code: str
    lines: tuple[ChartLine, ...]
    levels: tuple[tuple[str, int], ...] = ()
    ticks: tuple[tuple[int, str], ...] = ()
    parted: tuple[tuple[int, str], ...] = ()
    judged: bool = False
    ups: tuple[tuple[int, str], ...] = ()


Values = Sequence[Sequence[Fraction]]


def charts(held: Conducted, names: tuple[str, ...]) -> tuple[Chart, ...]:
    """By part, by person, interaction, averages and ranges of a complete study of parts; ``names`` are the people's.

    Limits of averages and ranges: x̄ ± 3 R̄/(d₂√n) and R̄ (1 ± 3 d₃/d₂), none under 0. Source: NIST/SEMATECH e-Handbook
    6.3.2.1. That averages lie beyond theirs is good here: parts differ more than the gauge scatters.
    """
    return tuple(_charts(held, names))


def _charts(held: Conducted, names: tuple[str, ...]) -> Iterator[Chart]:
    study = crossed_of(held)
    labels = tuple((place, part) for place, part in enumerate(study.parts, 1))
    by_part = [[count for row in study.readings for count in row[place]] for place in range(len(study.parts))]
    yield Chart("by_part", (ChartLine("", tuple(map(_spread, enumerate(by_part, 1))), joined=False),), ticks=labels)
    by_person = [[count for cell in row for count in cell] for row in study.readings]
    people = tuple((place, name) for place, name in enumerate(names, 1))
    yield Chart("by_person", (ChartLine("", tuple(map(_spread, enumerate(by_person, 1))), joined=False),), ticks=people)
    means = [[Fraction(sum(cell), len(cell)) for cell in row] for row in study.readings]
    lines = tuple(
        ChartLine(name, tuple(ChartPoint(place, round(mean)) for place, mean in enumerate(row, 1)))
        for name, row in zip(names, means, strict=True)
    )
    yield Chart("interaction", lines, ticks=labels)
    n, parts = study.trials, len(study.parts)
    widths = [[Fraction(max(cell) - min(cell)) for cell in row] for row in study.readings]
    mean_range = sum(map(sum, widths), Fraction(0)) / (len(names) * parts)
    whole = Fraction(sum(sum(row) for row in means), len(names) * parts)
    constants = range_constants(n)
    assert constants is not None, "a study holds what is tabled"
    apart = 3 * float(mean_range / constants.d2) / n**0.5
    ranged = 3 * float(mean_range) * float(constants.d3) / float(constants.d2)
    parted = tuple((person * parts + 1, name) for person, name in enumerate(names))
    ticks = tuple((person * parts + place, part) for person in range(len(names)) for place, part in labels)
    middle = (("above", round(float(whole) + apart)), ("mean", round(whole)), ("below", round(float(whole) - apart)))
    yield Chart("averages", _in_turn(names, means, parts), middle, ticks, parted)
    top = (("range_above", round(float(mean_range) + ranged)), ("range_mean", round(mean_range)))
    low = round(float(mean_range) - ranged)
    levels = (*top, ("range_below", low)) if low > 0 else top
    yield Chart("ranges", _in_turn(names, widths, parts), levels, ticks, parted, judged=True)


def _spread(given: tuple[int, list[int]]) -> ChartPoint:
    place, counts = given
    return ChartPoint(place, round(Fraction(sum(counts), len(counts))), (min(counts), max(counts)))


def _in_turn(names: tuple[str, ...], values: Values, parts: int) -> tuple[ChartLine, ...]:
    """Person beside person, part by part."""
    return tuple(
        ChartLine(
            name,
            tuple(ChartPoint(person * parts + place, round(value)) for place, value in enumerate(row, 1)),
        )
        for person, (name, row) in enumerate(zip(names, values, strict=True))
    )
