"""What a characteristic in time says: its numbers as decimal strings, each finding as a reason.

Indices are told to two decimals and never better than they are: an index and the lower end of its interval rounded
down, the upper end up.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from math import ceil, floor, isqrt

from msgspec import Struct

from inspection.instruments.record import Instrument
from inspection.measuring.uncertainty_stated import significant
from inspection.quantity.speaker import fewest_decimals, nearest
from inspection.quantity.units import UNITS
from inspection.reasons import Amount, Figure, Part, Reason
from inspection.sheet.report_number import SHORT
from inspection.studies.capability import ENOUGH, LEAST, Capability, Index, Lack, Scatter
from inspection.studies.charts import FEW
from inspection.studies.discrimination import Discrimination
from inspection.studies.groups import Groups
from inspection.studies.history import Result, Series
from inspection.studies.normality import CRITICAL, normality
from inspection.studies.sample import Sample, sample_of
from inspection.studies.trend import Trend, trend_of
from inspection.words.say import word

#: Indices in the order in which they are told.
INDICES = ("cp", "cpk", "pp", "ppk")
#: So many results that wait for an answer are named.
NAMED = 6


class StatedIndex(Struct, frozen=True):
    """An index and the interval that holds the process's own one 95 % of the time, as decimal strings."""

    value: str
    low: str
    high: str


class StatedSeries(Struct, frozen=True):
    """A series' numbers as decimal strings, lengths in ``unit``: of ``n`` values that count among ``results``, ``out``
    of which did not conform, mean and s, the chart's limits, and the indices by name (``INDICES``) of those that are
    told. "" where there is none; ``lack`` says why no index is told. ``waiting`` are no results yet: so many more about
    which a question has no answer.
    """

    unit: str
    results: int
    n: int
    out: int
    waiting: int
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
    return StatedSeries(
        unit,
        len(series.results),
        len(series.values),
        series.out,
        len(series.waiting),
        _size(series, mean),
        "" if sample is None else _deviation(series, sample),
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


def _deviation(series: Series, sample: Sample) -> str:
    unit = UNITS[series.row.requirement.unit].count
    return "" if sample.n < 2 else significant(sample.square / (series.scale * unit) ** 2)


def _amount(series: Series, value: Fraction) -> Figure:
    """A computed difference, as a size, with its unit."""
    return Figure(f"{_size(series, value)} {series.row.requirement.unit}")


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


class StatedGroup(Struct, frozen=True):
    """What one person read, or was read with one instrument: of ``n`` values mean and s as decimal strings."""

    name: str
    n: int
    mean: str
    deviation: str


def stated_groups(series: Series, groups: Groups | None, names: Mapping[str, str]) -> tuple[StatedGroup, ...]:
    """Groups by their means, the smallest first; ``names`` by identity. Nothing where there are no two to compare."""
    if groups is None:
        return ()
    by_mean = sorted(groups.samples.items(), key=lambda pair: pair[1].mean)
    return tuple(
        StatedGroup(names.get(name, name), each.n, _size(series, each.mean), _deviation(series, each))
        for name, each in by_mean
    )


def discrimination_of(series: Series, crib: Mapping[str, Instrument]) -> Discrimination | None:
    """What is seen of the process through the coarsest instrument that read a value, and through half of U, the
    quadratic mean over the values whose U is known; in counts times the series' scale. None without two values."""
    if len(series.values) < 2:
        return None
    used = [crib[name] for name in {series.results[place].instrument for place in series.places} if name in crib]
    step = max((one.resolution for one in used), default=0) * series.scale
    known = [series.results[place].expanded for place in series.places]
    squares = [each * each for each in known if each]
    doubt = Fraction(isqrt(sum(squares) // len(squares)) * series.scale, 2) if squares else Fraction(0)
    return Discrimination(sample_of(series.values), step, doubt)


def findings(series: Series, people: Mapping[str, str], crib: Mapping[str, Instrument]) -> tuple[Reason, ...]:
    """What is to be said of a series; ``people`` are names, ``crib`` instruments, by identity."""
    return tuple(_findings(series, people, crib))


def _findings(series: Series, people: Mapping[str, str], crib: Mapping[str, Instrument]) -> Iterator[Reason]:
    n, left = len(series.values), len(series.results) - len(series.values)
    if series.out:
        yield Reason("history.found.out", {"n": series.out})
    if series.waiting:
        yield Reason("history.found.waiting", {"n": len(series.waiting), "where": _where(series.waiting)})
    suspect = [each for each in series.results if each.suspect]
    if suspect:
        yield Reason("history.found.suspect", {"n": len(suspect), "where": _where(suspect)})
    if left:
        yield Reason("history.found.left", {"n": left})
    found, seen = series.capability, discrimination_of(series, crib)
    if found is None:
        yield Reason("history.found.no_limits" if n else "history.found.none")
    elif found.lack:
        yield Reason(f"history.found.{found.lack.value}", {"n": n, "least": LEAST})
    else:
        yield from _of_indices(found, series, seen)
    yield from _of_chart(series)
    step = 0 if seen is None else seen.step
    yield from _of_trend(series, step)
    yield from _of_groups("people", series.by_person(), people, step)
    yield from _of_groups("instruments", series.by_instrument(), {name: one.tag for name, one in crib.items()}, step)
    if seen is not None:
        yield from _of_discrimination(series, seen)


def _where(results: Sequence[Result]) -> str:
    """On which pieces and sheets results stand."""
    named = [
        word("history.waiting.at", serial=each.serial, sheet=each.sheet[:SHORT], day=each.day)
        for each in results[:NAMED]
    ]
    more = [word("history.waiting.more", n=len(results) - NAMED)] if len(results) > NAMED else []
    return "; ".join((*named, *more))


def _of_indices(found: Capability, series: Series, seen: Discrimination | None) -> Iterator[Reason]:
    """What the indices are worth. A share outside is foretold only of a process that held still: of one that moved,
    mean and overall scatter are those of no process."""
    assert found.lack is Lack.NONE
    n, shape = len(series.values), normality(series.values)
    if found.is_few:
        yield Reason("history.found.few", {"n": n, "enough": ENOUGH})
    if found.is_near_zero:
        yield Reason("history.found.near_zero")
    elif seen is not None and seen.is_hidden_by_step:
        return  # what shape they have nobody sees on so few marks
    elif shape is not None and shape.is_refused:
        told = {"a": Figure(f"{shape.adjusted:.2f}"), "most": Figure(str(CRITICAL))}
        yield Reason("history.found.not_normal", {**told})
    elif not _held_still(series, 0 if seen is None else seen.step):
        yield Reason("history.found.moved")
    elif found.expected is not None:
        yield Reason("history.found.expected", {"share": Figure(_share(100 * found.expected))})


def _held_still(series: Series, step: int) -> bool:
    """Whether neither the chart nor a line through the values tells of a change."""
    return series.chart is not None and series.chart.is_steady and _trend_told(series, step) is None


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


def _of_trend(series: Series, step: int) -> Iterator[Reason]:
    trend = _trend_told(series, step)
    if trend is None:
        return
    parts: dict[str, Part] = {"n": trend.n, "over": _amount(series, abs(trend.over))}
    yield Reason("history.found.rises" if trend.slope > 0 else "history.found.falls", parts)


def _trend_told(series: Series, step: int) -> Trend | None:
    """The trend, told only from as many values as a chart wants, and where the line goes farther than a mark."""
    trend = trend_of(series.values)
    if trend is None or trend.n < FEW or abs(trend.over) <= step or not trend.is_told(step):
        return None
    return trend


def _of_groups(what: str, groups: Groups | None, names: Mapping[str, str], step: int) -> Iterator[Reason]:
    if groups is None or not groups.is_told(step):
        return
    by_mean = sorted(groups.samples, key=lambda name: groups.samples[name].mean)
    least, most = (names.get(name, name) for name in (by_mean[0], by_mean[-1]))
    told: dict[str, Part] = {"least": least, "most": most}
    yield Reason(f"history.found.{what}", told)


def _of_discrimination(series: Series, seen: Discrimination) -> Iterator[Reason]:
    """The step against the scatter, and how much of what is seen the uncertainty accounts for."""
    unit = series.row.requirement.unit
    if seen.is_hidden_by_step:
        step = seen.step // series.scale
        kind, s = series.row.requirement.kind, Figure(f"{_deviation(series, seen.sample)} {unit}")
        yield Reason("history.found.step", {"step": Amount(step, kind, unit), "s": s})
    share = seen.doubt_share
    if share is not None and seen.sample.n >= FEW:
        told: dict[str, Part] = {"percent": Figure(str(min(100, ceil(100 * share)))), "n": seen.categories or 1}
        yield Reason("history.found.doubt" if share < 1 else "history.found.doubt_all", told)
