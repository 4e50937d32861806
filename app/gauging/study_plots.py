"""The charts of a gauge study as plots of the window."""

from __future__ import annotations

from app.parts.marks import Mark
from app.parts.plot import Level, Plot, Point, Stroke, Upright
from inspection.quantity.units import Kind
from inspection.studies.study_charts import Chart, ChartPoint, Shape
from inspection.words.say import word

#: How the lines of several people or standards are told apart: by mark, and all but the first by dashes. That of what
#: is out comes last: nobody here is.
_PEOPLE = (Mark.CONFORMING, Mark.OPEN, Mark.MARGINAL, Mark.DOUBT_INSIDE, Mark.NOT_JUDGED, Mark.OUT)
_SHAPES: dict[Shape, Mark | None] = {Shape.GOOD: Mark.CONFORMING, Shape.BAD: Mark.OUT, Shape.NONE: None}
#: Points that are not joined are a series each, beyond those of the lines.
ALONE = 1_000
_STROKES = {"mean": Stroke.CENTRE, "range_mean": Stroke.CENTRE}


def plot_of(chart: Chart, kind: Kind, unit: str) -> Plot:
    """One chart as a plot. Of people side by side each part begins at an upright with the name; points of ranges beyond
    their limit are marked."""
    above = max((count for code, count in chart.levels if code.endswith("above")), default=None)
    named = not chart.parted and len(chart.lines) > 1
    points, legend, names = [], [], [""] * len(chart.lines)
    for place, line in enumerate(chart.lines):
        before = sum(each.shape is Shape.OWN for each in chart.lines[:place])
        own = _PEOPLE[before % len(_PEOPLE)] if named else Mark.CONFORMING
        mark = own if line.shape is Shape.OWN else _SHAPES[line.shape]
        if named and mark is not None and line.name:
            legend.append((mark, line.name))
        if mark is None and line.name:
            names[place] = line.name
        for at, point in enumerate(line.points):
            out = chart.judged and above is not None and point.y > above
            points.append(_point(point, Mark.OUT if out else mark, place if line.joined else ALONE * (place + 1) + at))
    return Plot(
        tuple(points),
        tuple(Level(y, word(f"gauge.level.{code}"), _STROKES.get(code, Stroke.SCATTER)) for code, y in chart.levels),
        kind,
        unit,
        ticks=tuple((2 * x, name) for x, name in chart.ticks),
        legend=tuple(legend),
        names=tuple(names),
        ups=chart.ups,
        uprights=tuple(Upright(2 * x - 1, name) for x, name in chart.parted),
    )


def _point(point: ChartPoint, mark: Mark | None, series: int) -> Point:
    """Every second place across holds a point: a name stands between two people's."""
    return Point(2 * point.x, point.y, mark, reach=point.reach, series=series, said=point.said)
