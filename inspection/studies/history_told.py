"""What a characteristic in time says: its numbers as decimal strings, each finding as a reason.

Indices are told to two decimals and never better than they are: an index and the lower end of its interval rounded
down, the upper end up.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from math import ceil, floor

from msgspec import Struct

from inspection.measuring.uncertainty_stated import significant
from inspection.quantity.speaker import fewest_decimals, nearest
from inspection.quantity.units import UNITS
from inspection.reasons import Figure, Part, Reason
from inspection.studies.capability import ENOUGH, LEAST, Capability, Index, Lack, Scatter
from inspection.studies.charts import FEW
from inspection.studies.groups import Groups
from inspection.studies.history import Series

#: Indices in the order in which they are told.
INDICES = ("cp", "cpk", "pp", "ppk")


class StatedIndex(Struct, frozen=True):
    """An index and the interval that holds the process's own one 95 % of the time, as decimal strings."""

    value: str
    low: str
    high: str


class StatedSeries(Struct, frozen=True):
    """A series' numbers as decimal strings, lengths in ``unit``: of ``n`` values that count among ``results``, ``out``
    of which did not conform, mean and s, the chart's limits, and the indices by name (``INDICES``) of those that are
    told. "" where there is none; ``lack`` says why no index is told."""

    unit: str
    results: int
    n: int
    out: int
    mean: str
    deviation: str
    chart_lower: str
    chart_upper: str
    indices: Mapping[str, StatedIndex]
    lack: str


def stated(series: Series) -> StatedSeries:
    """The numbers of a series for a script or a list."""
    unit, found, chart = series.row.requirement.unit, series.capability, series.chart
    sample = found.sample if found is not None else None
    mean = sample.mean if sample is not None else chart.mean if chart is not None else None
    s = "" if sample is None or sample.n < 2 else significant(sample.square / (series.scale * UNITS[unit].count) ** 2)
    return StatedSeries(
        unit,
        len(series.results),
        len(series.values),
        series.out,
        _size(series, mean),
        s,
        _size(series, None if chart is None else chart.lower),
        _size(series, None if chart is None else chart.upper),
        _indices(found),
        found.lack.value if found is not None else "",
    )


def finest(series: Series) -> int:
    """The decimals of the finest result in the row's unit, so that results listed stand in line."""
    unit = series.row.requirement.unit
    ends = [(end, each.of) for each in series.results for end in (each.smallest, each.largest) if end is not None]
    return max((fewest_decimals(end, unit, of) or 0 for end, of in ends), default=0)


def _size(series: Series, value: Fraction | None) -> str:
    """A computed size, one place past the limits and never fewer than four digits past an inch's point."""
    if value is None:
        return ""
    asked = series.row.requirement
    return nearest(value.numerator, asked.unit, asked.decimals + 2, value.denominator * series.scale)


def _indices(found: Capability | None) -> dict[str, StatedIndex]:
    if found is None or found.within is None or found.overall is None:
        return {}
    told = {**_of_scatter("c", found.within), **_of_scatter("p", found.overall)}
    return {name: told[name] for name in INDICES if name in told}


def _of_scatter(letter: str, scatter: Scatter) -> dict[str, StatedIndex]:
    room = {} if scatter.room is None else {f"{letter}p": _index(scatter.room)}
    return {**room, f"{letter}pk": _index(scatter.least)}


def _index(index: Index) -> StatedIndex:
    low, value = (f"{floor(each * 100) / 100:.2f}" for each in (index.low, index.value))
    return StatedIndex(value, low, f"{ceil(index.high * 100) / 100:.2f}")


def findings(series: Series, people: Mapping[str, str], tags: Mapping[str, str]) -> tuple[Reason, ...]:
    """What is to be said of a series; ``people`` are names and ``tags`` those of instruments, by identity."""
    return tuple(_findings(series, people, tags))


def _findings(series: Series, people: Mapping[str, str], tags: Mapping[str, str]) -> Iterator[Reason]:
    n, left = len(series.values), len(series.results) - len(series.values)
    if series.out:
        yield Reason("history.found.out", {"n": series.out})
    if left:
        yield Reason("history.found.left", {"n": left})
    found = series.capability
    if found is None:
        yield Reason("history.found.no_limits" if n else "history.found.none")
    elif found.lack:
        yield Reason(f"history.found.{found.lack.value}", {"n": n, "least": LEAST})
    else:
        yield from _of_indices(found, n)
    yield from _of_chart(series)
    yield from _of_groups("people", series.by_person(), people)
    yield from _of_groups("instruments", series.by_instrument(), tags)


def _of_indices(found: Capability, n: int) -> Iterator[Reason]:
    assert found.lack is Lack.NONE
    if found.is_few:
        yield Reason("history.found.few", {"n": n, "enough": ENOUGH})
    if found.is_near_zero:
        yield Reason("history.found.near_zero")
    elif found.expected is not None:
        yield Reason("history.found.expected", {"share": Figure(_share(100 * found.expected))})


def _share(percent: float) -> str:
    return "< 0.001" if percent < 0.001 else f"{percent:.3f}"


def _of_chart(series: Series) -> Iterator[Reason]:
    chart = series.chart
    if chart is None:
        return
    if len(series.values) < FEW:
        yield Reason("history.found.short_chart", {"n": len(series.values), "few": FEW})
        return
    if chart.is_steady:
        yield Reason("history.found.steady")
    for name, places in (("beyond", chart.beyond), ("leaps", chart.leaps), ("runs", chart.runs)):
        if places:
            yield Reason(f"history.found.{name}", {"n": len(places)})


def _of_groups(what: str, groups: Groups | None, names: Mapping[str, str]) -> Iterator[Reason]:
    if groups is None or not groups.is_told():
        return
    by_mean = sorted(groups.samples, key=lambda name: groups.samples[name].mean)
    least, most = (names.get(name, name) for name in (by_mean[0], by_mean[-1]))
    told: dict[str, Part] = {"least": least, "most": most}
    yield Reason(f"history.found.{what}", told)
