"""Points of runs: one number over and over on a row, the same distance from nominal from row to row, all nominal.

What runs are improbable follows from the instruments' steps and the bands, see ``inspection.studies.chance``: with a
caliper of .0005 in it takes some twenty numbers, with a rule no run says anything. All of it is common practice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise

from inspection.reasons import Amount
from inspection.sheet.points_chance import Chances, off_nominal
from inspection.sheet.points_look import Look, Number
from inspection.sheet.points_table import Point
from inspection.sheet.state import family
from inspection.studies.chance import needed

_Run = list[Number]


def of_runs(look: Look, chances: Chances) -> Iterator[Point]:
    """A point for each run that honest readings would give rise to on fewer than one sheet in a thousand; what lies
    within a run that is told already is not told again."""
    in_time = sorted(look.numbers, key=lambda number: number.reading.taken)
    limit, told = needed(len(in_time)), set[str]()
    for run in _runs(in_time, off_nominal):
        nominal, several = off_nominal(run[0]) == 0, len({family(each.at.row) for each in run}) > 1
        if (nominal or several) and _says(run, chances, whole=nominal) > limit:
            told |= _names(run)
            yield _nominal(look, run) if nominal else _apart(look, run)
    for same in _by_row(in_time).values():
        for run in _runs(same, lambda number: number.value):
            if _says(run, chances, whole=False) > limit and not _names(run) <= told:
                yield _alike(look, run)


def _runs(numbers: Iterable[Number], of: Callable[[Number], int | None]) -> Iterator[_Run]:
    """Two or more neighbours that agree in what is asked of them; those that have no answer are passed over."""
    run: _Run = []
    for number in numbers:
        if of(number) is None:
            continue
        if run and of(run[-1]) != of(number):
            if len(run) > 1:
                yield run
            run = []
        run.append(number)
    if len(run) > 1:
        yield run


def _by_row(in_time: Sequence[Number]) -> dict[tuple[str, str], _Run]:
    """The numbers of each requirement at each of its declared places, over its holes, repeats and pieces."""
    rows: dict[tuple[str, str], _Run] = {}
    for number in in_time:
        rows.setdefault((family(number.at.row), number.reading.slot.place), []).append(number)
    return rows


def _says(run: _Run, chances: Chances, *, whole: bool) -> int:
    """How improbable a run is, in thousandths of a bit: that each number agrees with the one before it, and (``whole``)
    that the first agrees with something that stood before it was read."""
    first = chances.of(run[0]).apart if whole else 0
    return first + sum(_step(before, number, chances) for before, number in pairwise(run))


def _step(before: Number, number: Number, chances: Chances) -> int:
    says = chances.of(number)
    if before.at.cell == number.at.cell and before.reading.slot.place == number.reading.slot.place:
        return says.still
    return says.alike if family(before.at.row) == family(number.at.row) else says.apart


def _names(run: _Run) -> set[str]:
    return {number.reading.identity for number in run}


# --- told -----------------------------------------------------------------------------------------------------------


def _nominal(look: Look, run: _Run) -> Point:
    cells, names = [number.at.cell for number in run], [number.reading.identity for number in run]
    return look.point("all_nominal", cells, names, count=len(run), tags=_tags(look, run))


def _apart(look: Look, run: _Run) -> Point:
    cells, names = [number.at.cell for number in run], [number.reading.identity for number in run]
    off, requirement = off_nominal(run[0]) or 0, run[0].at.row.requirement
    told = Amount(abs(off), requirement.kind, requirement.unit, requirement.decimals)
    said = "identical_over" if off > 0 else "identical_under"
    return look.point("identical", cells, names, said=said, count=len(run), off=told, tags=_tags(look, run))


def _alike(look: Look, run: _Run) -> Point:
    cells, names = [number.at.cell for number in run], [number.reading.identity for number in run]
    reading = run[0].reading
    value = Amount(run[0].value, reading.kind, reading.unit, reading.decimals)
    return look.point("identical", cells, names, count=len(run), value=value, tags=_tags(look, run))


def _tags(look: Look, run: _Run) -> str:
    return ", ".join(dict.fromkeys(look.tags(number.reading) for number in run))
