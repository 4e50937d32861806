"""A row in time as plots: every result beside the limits as they were, the moving ranges below, and the histogram."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from app.parts.histogram import Bars
from app.parts.marks import Mark, mark_of
from app.parts.plot import Hatch, Level, Plot, Point, Stroke, Upright
from inspection.drawing.plan import Plan
from inspection.studies.distribution import histogram
from inspection.studies.history import Series, Span, limits_of
from inspection.words.say import word

#: So many results are shown, the last ones: more do not part on a screen.
MOST_SHOWN = 150


def shown_places(series: Series) -> tuple[int, ...]:
    """The places of the results that the plots show, in time; their place across is 1, 2, 3 …"""
    return tuple(place for place in range(len(series.results)) if series.met(place) is not None)[-MOST_SHOWN:]


def time_plot(series: Series, plans: Mapping[str, Plan]) -> Plot:
    """Every result with its verdict's mark beside the limits and guard bands as they were, and over those values that
    count the mean and the limits of the chart, with a circle around what lies beyond those; where the revision
    changed, a line."""
    asked, places = series.row.requirement, shown_places(series)
    across = {place: x for x, place in enumerate(places, 1)}
    points = [_point(series, place, x) for place, x in across.items()]
    beyond = [series.places[at] for at in series.chart.beyond] if series.chart is not None else []
    rings = [place for place in beyond if place in across]
    points += [
        Point(across[place], _count(series, place), Mark.OPEN, series=ring) for ring, place in enumerate(rings, 1)
    ]
    met = dict.fromkeys(series.results[place].verdict for place in places)
    legend = [(mark_of(verdict), word(f"verdict.{verdict.name.lower()}")) for verdict in met]
    legend += [(Mark.OPEN, word("ledger.rows.beyond"))] if rings else []
    days = tuple((x, series.results[place].day) for place, x in across.items() if series.results[place].day)
    return Plot(
        tuple(points),
        (*_limits(series, across), *_of_chart(series, across)),
        asked.kind,
        asked.unit,
        least=asked.band or 0,
        ticks=days,
        legend=tuple(legend),
        uprights=tuple(_revisions(series, across, plans)),
        hatches=tuple(_guards(series, across)),
    )


def range_plot(series: Series) -> Plot:
    """How far each value that counts lies from the one before it, with mean and upper limit, at the same places across
    as in ``time_plot``."""
    asked, chart, places = series.row.requirement, series.chart, shown_places(series)
    across = {place: x for x, place in enumerate(places, 1)}
    if chart is None:
        return Plot()
    leaps = set(chart.leaps)
    points = [
        Point(across[place], round(each / series.scale), Mark.QUESTION if at in leaps else Mark.NOT_JUDGED)
        for at, (place, each) in enumerate(zip(series.places[1:], chart.ranges, strict=True), 1)
        if place in across
    ]
    mean, upper = (round(value / series.scale) for value in (chart.range_mean, chart.range_upper))
    levels = (
        Level(mean, word("ledger.rows.range_mean"), Stroke.CENTRE),
        Level(upper, word("ledger.rows.range_upper"), Stroke.SCATTER),
    )
    return Plot(tuple(points), levels, asked.kind, asked.unit, begin=1, end=max(len(places), 1), ticks=((0, ""),))


def bars_of(series: Series, step: int, *, normal: bool) -> Bars | None:
    """How often which value came, in cells of whole steps of the instrument, with the newest limits and, where it may
    be, the normal distribution of the same mean and scatter. None without values."""
    found, asked = series.capability, series.row.requirement
    cells = histogram(series.values, max(1, step * series.scale))
    if cells is None:
        return None
    levels = [
        Level(round(end * series.scale), word(f"ledger.rows.{name}"))
        for name, end in zip(("lower", "upper"), limits_of(asked), strict=True)
        if end is not None
    ]
    sample = found.sample if found is not None else None
    curve = None
    if normal and sample is not None and sample.squares:
        curve = (float(sample.mean), sample.deviation)
    return Bars(cells.edges, cells.counts, tuple(levels), asked.unit, series.scale, curve)


def _point(series: Series, place: int, x: int) -> Point:
    result = series.results[place]
    ends = result.ends(result.of)
    reach = None
    if ends is not None and ends[0] != ends[1]:
        reach = (round(ends[0] / result.of), round(ends[1] / result.of))
    return Point(x, _count(series, place), mark_of(result.verdict), reach=reach)


def _count(series: Series, place: int) -> int:
    value = series.met(place)
    assert value is not None, "only numbers are shown"
    return round(value)


def _limits(series: Series, across: Mapping[int, int]) -> Iterator[Level]:
    """The limits as they were; those of the newest results have names."""
    if not across:
        return
    for begin, end, span in _stretches(series.spans(), across):
        newest = end == len(across)
        for name, count in zip(("lower", "upper"), _ends(span), strict=True):
            if count is not None:
                label = word(f"ledger.rows.{name}") if newest else ""
                yield Level(count, label, Stroke.LIMIT, begin if begin > 1 else None, None if newest else end)


def _guards(series: Series, across: Mapping[int, int]) -> Iterator[Hatch]:
    for begin, end, span in _stretches(series.spans(guarded=True), across):
        lower, upper = _ends(span)
        if span.guard and lower is not None:
            yield Hatch(begin, end, lower, lower + span.guard)
        if span.guard and upper is not None:
            yield Hatch(begin, end, upper - span.guard, upper)


def _ends(span: Span) -> tuple[int | None, int | None]:
    return (None, None) if span.row is None else limits_of(span.row.requirement)


def _stretches(spans: Iterable[Span], across: Mapping[int, int]) -> Iterator[tuple[int, int, Span]]:
    """The first and last place across of each span that is shown."""
    for span in spans:
        held = [x for place, x in across.items() if span.first <= place <= span.last]
        if held:
            yield held[0], held[-1], span


def _of_chart(series: Series, across: Mapping[int, int]) -> Iterator[Level]:
    """Mean and limits of the chart over the values that it is reckoned from."""
    chart, shown = series.chart, [across[place] for place in series.places if place in across]
    if chart is None or not shown:
        return
    begin, end = (shown[0] if shown[0] > 1 else None), (shown[-1] if shown[-1] < len(across) else None)
    for name, value, stroke in (
        ("mean", chart.mean, Stroke.CENTRE),
        ("chart_lower", chart.lower, Stroke.SCATTER),
        ("chart_upper", chart.upper, Stroke.SCATTER),
    ):
        yield Level(round(value / series.scale), word(f"ledger.rows.{name}"), stroke, begin, end)


def _revisions(series: Series, across: Mapping[int, int], plans: Mapping[str, Plan]) -> Iterator[Upright]:
    """Where results of another revision begin."""
    before = ""
    for place, x in across.items():
        plan = plans.get(series.results[place].plan)
        revision = plan.part.revision if plan is not None else before
        if before and revision != before:
            yield Upright(x, word("ledger.rows.revision", revision=revision))
        before = revision
