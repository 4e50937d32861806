"""What a characteristic came to in time, through all revisions, and what that says of the process.

A result carries the plan issue that it was read by, so that it stands beside the limits as they were. What is reckoned
holds only results that were held against the very size and limits of the newest issue.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from math import lcm
from operator import attrgetter

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.plan import Plan
from inspection.drawing.requirement import Requirement
from inspection.measuring.verdict import Verdict
from inspection.studies.capability import Capability, capability
from inspection.studies.charts import Individuals, individuals
from inspection.studies.groups import Groups, groups_of


class Result(Struct, frozen=True):
    """What one piece of a sheet came to on one characteristic: the ``day`` (ISO) and moment ``at`` (UTC µs) it was last
    read, its ``serial``, the verdict.

    ``smallest`` and ``largest`` are the results in counts, None where no number was read; of a mean of n they are the
    sum, with ``of`` = n. ``expanded`` is U then (counts), ``plan`` the issue read by, ``by`` the person,
    ``instrument`` and ``issue`` what was read with; empty where the book does not say. ``guard`` is the guard band g
    (counts), None where the verdict was reached without one. ``waits`` is whether a slip question about it was never
    answered: what was read may be a slip. ``suspect`` is whether a check that failed later put its reading in question:
    its verdict stands until somebody acts.
    """

    characteristic: str
    sheet: str
    serial: str
    day: str
    at: int
    verdict: Verdict
    smallest: int | None
    largest: int | None
    of: int = 1
    expanded: int | None = None
    plan: str = ""
    by: str = ""
    instrument: str = ""
    issue: int = 0
    guard: int | None = None
    waits: bool = False
    suspect: bool = False

    def ends(self, scale: int) -> tuple[int, int] | None:
        """The smallest and largest result times ``scale``, a multiple of ``of``; None where no number was read."""
        if self.smallest is None or self.largest is None:
            return None
        return self.smallest * (scale // self.of), self.largest * (scale // self.of)


class Span(Struct, frozen=True):
    """Results one after another that met the same limits: the ``first`` and ``last`` place, the row as it was (None
    where the plan did not have it), and the guard band g (counts; None without one, or where they are not asked for).
    """

    first: int
    last: int
    row: Characteristic | None
    guard: int | None = None


class Series(Struct, frozen=True):
    """A characteristic in time: its newest ``row``, the ``results`` with the row as it was ``then`` for each (None
    where the plan did not have it), oldest first.

    ``values`` are the results that were held against the newest size and limits, times ``scale`` (so that means stay
    whole), one a result: of several places that which lies farther towards a limit; ``places`` are those of the values
    in ``results``. ``capability`` and ``chart`` are reckoned with the values and limits times ``scale``. ``waiting``
    are further results, oldest first, that are no results yet: a slip question about each has no answer.
    """

    row: Characteristic
    results: tuple[Result, ...]
    then: tuple[Characteristic | None, ...]
    scale: int
    values: tuple[int, ...]
    places: tuple[int, ...]
    capability: Capability | None
    chart: Individuals | None
    waiting: tuple[Result, ...] = ()

    def spans(self, *, guarded: bool = False) -> tuple[Span, ...]:
        """The results by the limits that they met, in time; ``guarded`` by their guard bands too."""
        found: list[Span] = []
        for place, (each, was) in enumerate(zip(self.results, self.then, strict=True)):
            last, guard = found[-1] if found else None, each.guard if guarded else None
            if last is not None and last.guard == guard and _same_row(last.row, was):
                found[-1] = Span(last.first, place, was, guard)
            else:
                found.append(Span(place, place, was, guard))
        return tuple(found)

    def met(self, place: int) -> Fraction | None:
        """What a result is shown by (counts): of several places that which lies farther towards a limit as it was then;
        None where no number of the row's kind was read."""
        result, was = self.results[place], self.then[place] or self.row
        if result.smallest is None or was.requirement.kind is not self.row.requirement.kind:
            return None
        lower, upper = (None if end is None else end * result.of for end in limits_of(was.requirement))
        return Fraction(_value(result, result.of, lower, upper), result.of)

    @property
    def out(self) -> int:
        """How many results did not conform."""
        return sum(each.verdict is Verdict.NOT_CONFORMING for each in self.results)

    @property
    def tightest(self) -> Fraction | None:
        """The least room that a value left to its nearer limit, in halves of the band: 1 in the middle, 0 on a limit,
        under 0 outside; towards an open side everything is room. None without a value or a band."""
        asked = self.row.requirement
        lower, upper = limits_of(asked)
        band = asked.band or (upper - lower if upper is not None and lower is not None else None)
        if not band or not self.values:
            return None
        rooms = [
            *([min(self.values) - lower * self.scale] if lower is not None else []),
            *([upper * self.scale - max(self.values)] if upper is not None else []),
        ]
        return Fraction(2 * min(rooms), band * self.scale) if rooms else None

    @property
    def room(self) -> float | None:
        """The room that the process leaves to the nearer limit, in halves of the band: what x̄ ± 3 s leaves where an
        index is told, and what the nearest value left where there are too few. None without a value or a band."""
        tightest, found = self.tightest, self.capability
        if tightest is None or found is None or found.overall is None:
            return None if tightest is None else float(tightest)
        lower, upper = limits_of(self.row.requirement)
        band = self.row.requirement.band or (upper - lower if upper is not None and lower is not None else 0)
        left = (found.overall.least.value - 1) * 3 * found.overall.sigma
        return min(float(tightest), 2 * left / (band * self.scale))

    def by_name(self, names: Sequence[str]) -> Groups | None:
        """The values parted by a name for each result (its person, its instrument); None under two such groups."""
        parted: dict[str, list[int]] = {}
        for place, value in zip(self.places, self.values, strict=True):
            if names[place]:
                parted.setdefault(names[place], []).append(value)
        return groups_of(parted)

    def by_person(self) -> Groups | None:
        """The values by who read them."""
        return self.by_name([each.by for each in self.results])

    def by_instrument(self) -> Groups | None:
        """The values by what they were read with."""
        return self.by_name([each.instrument for each in self.results])


def limits_of(requirement: Requirement) -> tuple[int | None, int | None]:
    """Both limits (counts) as results meet them; a natural zero is none."""
    return None if requirement.natural_zero else requirement.lower, requirement.upper


def series_of(row: Characteristic, results: Iterable[Result], plans: Mapping[str, Plan]) -> Series:
    """The series of a characteristic as its newest issue has it, from its results (in any order) and the part's plan
    issues by identity."""
    every = sorted(results, key=attrgetter("at", "serial"))
    told = tuple(each for each in every if not each.waits)
    rows = {
        name: next((each for each in plan.characteristics if each.identity == row.identity), None)
        for name, plan in plans.items()
    }
    then = tuple(rows.get(each.plan) for each in told)
    asked = row.requirement
    alike = {name for name, was in rows.items() if was is not None and _same(was.requirement, asked)}
    same = [place for place, each in enumerate(told) if each.smallest is not None and each.plan in alike]
    scale = lcm(*{told[place].of for place in same})
    lower, upper = (None if end is None else end * scale for end in limits_of(asked))
    values = tuple(_value(told[place], scale, lower, upper) for place in same)
    judged = lower is not None or upper is not None
    chart = individuals(values)
    return Series(
        row,
        told,
        then,
        scale,
        values,
        tuple(same),
        capability(values, lower, upper, natural_zero=asked.natural_zero, chart=chart) if judged else None,
        chart,
        tuple(each for each in every if each.waits),
    )


def _same_row(one: Characteristic | None, other: Characteristic | None) -> bool:
    if one is None or other is None:
        return one is other
    return _same(one.requirement, other.requirement)


def _same(was: Requirement, asked: Requirement) -> bool:
    return (was.kind, was.nominal, *limits_of(was)) == (asked.kind, asked.nominal, *limits_of(asked))


def _value(result: Result, scale: int, lower: int | None, upper: int | None) -> int:
    assert result.smallest is not None and result.largest is not None
    small = result.smallest * (scale // result.of)
    if result.smallest == result.largest:
        return small
    large = result.largest * (scale // result.of)
    below = small - lower if lower is not None else None
    above = upper - large if upper is not None else None
    if above is None or (below is not None and below < above):
        return small
    return large


def worst_first(series: Iterable[Series]) -> list[Series]:
    """Series in the order in which they want to be looked at: those that were ever out, then by the room that is left
    (``room``); those without a band or a number behind them, those without any result last. Equals keep their order."""
    return sorted(series, key=_rank)


def _rank(series: Series) -> tuple[int, float]:
    if not series.results:
        return 3, 0.0
    room = series.room
    if room is None:
        return 0 if series.out else 2, 0.0
    return 0 if series.out else 1, room
