"""A gauge study: the same parts read by several people several times, and what of the scatter is whose.

Repeatability is the instrument's (one person, one part, again and again), reproducibility the people's (their means
differ, or differ from part to part: interaction), and the rest is the parts'. Two ways to reckon it: by averages and
ranges, which can be done by hand and sees no interaction, and by analysis of variance.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from fractions import Fraction
from math import sqrt

from msgspec import Struct

from inspection.reasons import Part, Reason, Refused
from inspection.standards.ranges import RangeConstants, most_tabled, range_constants
from inspection.studies.groups import f_above
from inspection.studies.sample import sample_of

#: An interaction that chance explains with a probability over this is pooled with repeatability. A quarter, so that a
#: real one is seldom thrown away (common practice; others take 0.05).
POOLED_OVER = Fraction(1, 4)
#: Deviations of a study spread over so many σ, against which the band is set (common practice: 6, formerly 5.15).
SPREAD = 6


class Way(StrEnum):
    """How a study was reckoned."""

    RANGES = "ranges"
    VARIANCES = "variances"


class Study(Struct, frozen=True):
    """What was read: ``readings[person][part][trial]`` in counts, every person every part equally often."""

    people: tuple[str, ...]
    parts: tuple[str, ...]
    readings: tuple[tuple[tuple[int, ...], ...], ...]

    @property
    def trials(self) -> int:
        """How often each person read each part."""
        return len(self.readings[0][0])


def study(people: Sequence[str], parts: Sequence[str], readings: Sequence[Sequence[Sequence[int]]]) -> Study:
    """A study that can be reckoned. Raises Refused with every fault: fewer than two people, parts or trials, more than
    are tabled, a person who did not read every part equally often."""
    trials = max((len(cell) for row in readings for cell in row), default=0)
    faults = [
        Reason(f"gauge.refused.{what}", {"n": n, "most": most_tabled()})
        for what, n in (("people", len(people)), ("parts", len(parts)), ("trials", trials))
        if not 2 <= n <= most_tabled()
    ]
    for person, row in zip(people, readings, strict=True):
        for part, cell in zip(parts, row, strict=True):
            if len(cell) != trials:
                told: dict[str, Part] = {"person": person, "part": part, "n": len(cell), "trials": trials}
                faults.append(Reason("gauge.refused.uneven", told))
    if faults:
        raise Refused(*faults)
    return Study(tuple(people), tuple(parts), tuple(tuple(tuple(cell) for cell in row) for row in readings))


class Source(Struct, frozen=True):
    """A line of the analysis of variance: sum of squares (counts²), degrees of freedom, and F with its probability by
    chance; both None where there is nothing to hold it against."""

    squares: Fraction
    freedom: int
    ratio: float | None = None
    chance: float | None = None

    @property
    def mean(self) -> Fraction:
        """The mean square, counts²."""
        return self.squares / self.freedom


class Variances(Struct, frozen=True):
    """The analysis of variance: parts, people, their interaction, repeats. ``pooled`` are interaction and repeats
    together where chance explains the interaction, and then what parts and people are held against; else None."""

    parts: Source
    people: Source
    interaction: Source
    repeats: Source
    pooled: Source | None


class Shares(Struct, frozen=True):
    """Variances (counts²) by whose they are, none under 0. ``interaction`` is a share of ``reproducibility``, 0 where
    it was pooled or is not seen this ``way``."""

    way: Way
    repeatability: float
    reproducibility: float
    interaction: float
    parts: float
    variances: Variances | None = None

    @property
    def gauge(self) -> float:
        """Repeatability and reproducibility together."""
        return self.repeatability + self.reproducibility

    @property
    def total(self) -> float:
        """All of it."""
        return self.gauge + self.parts

    def of_study(self, variance: float) -> float | None:
        """A deviation over that of the whole study; None where nothing scatters."""
        return sqrt(variance / self.total) if self.total else None

    def of_band(self, variance: float, band: int) -> float:
        """Six deviations over the band T (counts)."""
        return SPREAD * sqrt(variance) / band

    @property
    def categories(self) -> int | None:
        """The number of distinct categories, √2 σ_parts/σ_gauge, rounded down and 1 at the least; None where the gauge
        shows no scatter at all, which is its step's doing."""
        if not self.gauge:
            return None
        return max(1, int(sqrt(2 * self.parts / self.gauge)))


def by_ranges(read: Study) -> Shares:
    """By averages and ranges: EV = R̄/d₂; AV² = (X̄_diff/d₂*)² − EV²/(nr), not under 0; PV = R_p/d₂*.

    Source: the usual average-and-range method (AIAG Measurement Systems Analysis, 4th ed., ch. III, from memory), with
    1/d₂ and 1/d₂* for its K₁, K₂ and K₃.
    """
    people, parts, trials = len(read.people), len(read.parts), read.trials
    cells = [cell for row in read.readings for cell in row]
    mean_range = Fraction(sum(max(cell) - min(cell) for cell in cells), len(cells))
    repeatability = mean_range / _constants(trials).d2
    by_person = [sum(map(sum, row)) for row in read.readings]
    by_part = [sum(sum(row[part]) for row in read.readings) for part in range(parts)]
    apart = float(Fraction(max(by_person) - min(by_person), parts * trials)) / _constants(people).of_one
    across = float(Fraction(max(by_part) - min(by_part), people * trials)) / _constants(parts).of_one
    own = float(repeatability) ** 2
    return Shares(Way.RANGES, own, max(0.0, apart**2 - own / (parts * trials)), 0.0, across**2)


def _constants(n: int) -> RangeConstants:
    found = range_constants(n)
    assert found is not None, "a study holds what is tabled"
    return found


def by_variances(read: Study, pooled_over: Fraction = POOLED_OVER) -> Shares:
    """By two-way crossed analysis of variance, people and parts both at random. Components under 0 are taken as 0.

    Source: NIST/SEMATECH e-Handbook 3.2.3.2 for the sums of squares; components by the expected mean squares.
    """
    people, parts, trials = len(read.people), len(read.parts), read.trials
    table = _variances(read, pooled_over)
    rest = table.pooled or table.interaction
    own = (table.pooled or table.repeats).mean
    interaction = Fraction(0) if table.pooled else max(Fraction(0), (rest.mean - own) / trials)
    apart = max(Fraction(0), (table.people.mean - rest.mean) / (parts * trials))
    across = max(Fraction(0), (table.parts.mean - rest.mean) / (people * trials))
    return Shares(
        Way.VARIANCES, float(own), float(apart + interaction), float(interaction), float(across), variances=table
    )


def _variances(read: Study, pooled_over: Fraction) -> Variances:
    people, parts, trials = len(read.people), len(read.parts), read.trials
    by_person = [sum(map(sum, row)) for row in read.readings]
    by_part = [sum(sum(row[part]) for row in read.readings) for part in range(parts)]
    cells = [sum(cell) for row in read.readings for cell in row]
    whole = sample_of([each for row in read.readings for cell in row for each in cell]).about_mean
    of_people = sample_of(by_person).about_mean / (parts * trials)
    of_parts = sample_of(by_part).about_mean / (people * trials)
    of_cells = sample_of(cells).about_mean / trials
    both = Source(of_cells - of_people - of_parts, (people - 1) * (parts - 1))
    repeats = Source(whole - of_cells, people * parts * (trials - 1))
    interaction = _held(both, repeats)
    pooled = None
    if interaction.chance is None or interaction.chance > pooled_over:
        pooled = Source(both.squares + repeats.squares, both.freedom + repeats.freedom)
    rest = pooled or interaction
    return Variances(
        _held(Source(of_parts, parts - 1), rest),
        _held(Source(of_people, people - 1), rest),
        interaction,
        repeats,
        pooled,
    )


def _held(source: Source, against: Source) -> Source:
    """With F and its probability; without where the other never scatters: equal repeats hold nothing against it."""
    if not against.squares:
        return source if source.squares == 0 else Source(source.squares, source.freedom, None, 0.0)
    ratio = float(source.mean / against.mean)
    return Source(source.squares, source.freedom, ratio, f_above(ratio, source.freedom, against.freedom))
