"""The charts of a study on standards: bias with how well it is known, how it goes with size, and with time."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction

from inspection.quantity.speaker import shown
from inspection.quantity.units import UNITS
from inspection.studies.conducted import Conducted
from inspection.studies.gauge_results import OnStandards, on_standards
from inspection.studies.standard_study import Line
from inspection.studies.study_charts import Chart, ChartLine, ChartPoint, Shape

#: A band about a line is drawn through so many places.
PLACES = 16
#: Seconds of what time is told in, the longest first, and its symbol.
_TIMES = ((86_400, "d"), (3_600, "h"), (60, "min"), (1, "s"))
#: About so many times stand across.
_TICKS = 6

Named = Callable[[str], str]


def standard_charts(held: Conducted, step: int, named: Named) -> tuple[Chart, ...]:
    """Bias at each standard, linearity where there are several sizes, and stability over time. ``step`` is the
    instrument's smallest one (counts), under half of which no bias is known; ``named`` puts a code into words."""
    found = on_standards(held)
    charts = [_biases(held, found, step), *_linearity(held, found, named), *_stability(held, found, named)]
    return tuple(each for each in charts if any(line.points for line in each.lines))


def _biases(held: Conducted, found: OnStandards, step: int) -> Chart:
    points, ticks = [], []
    for place, (label, bias) in enumerate(found.biases.items(), 1):
        half = round(max(bias.half_width(), step / 2))
        middle = round(bias.bias)
        points.append(ChartPoint(place, middle, (middle - half, middle + half)))
        ticks.append((place, label))
    return Chart("biases", (ChartLine("", tuple(points), joined=False),), (("no_bias", 0),), tuple(ticks))


def _errors(held: Conducted) -> Iterator[tuple[int, int, int, int]]:
    """Of every reading its specimen, the standard's size, the moment (UTC microseconds) and the error (counts)."""
    for place, specimen in enumerate(held.plan.specimens):
        for each in held.of_specimen(place):
            if each.quantity is not None:
                yield place, specimen.size, each.at, each.quantity.count - specimen.size


def _linearity(held: Conducted, found: OnStandards, named: Named) -> Iterator[Chart]:
    if found.linearity is None:
        return
    unit, line = held.plan.configuration.unit, found.linearity.line
    sizes = sorted(found.linearity.at)
    read = tuple(ChartPoint(size, error) for _, size, _, error in _errors(held) if size in found.linearity.at)
    across = [sizes[0] + (sizes[-1] - sizes[0]) * n // PLACES for n in range(PLACES + 1)]
    lines = (*_line_and_band(line, across, named), ChartLine(named("gauge.line.readings"), read, joined=False))
    ticks = tuple((size, shown(size, UNITS[unit].kind, unit)) for size in sizes)
    yield Chart("linearity", lines, (("no_bias", 0),), ticks)


def _line_and_band(line: Line, across: Sequence[int], named: Named) -> Iterator[ChartLine]:
    """The line through the readings, and where it lies at the confidence of every interval here."""
    middle = [(x, float(line.value(x)), line.half_width(x)) for x in across]
    points = tuple(ChartPoint(x, round(y)) for x, y, _ in middle)
    yield ChartLine(named("gauge.line.fitted"), points, shape=Shape.NONE)
    yield ChartLine(
        named("gauge.line.band"), tuple(ChartPoint(x, round(y + h)) for x, y, h in middle), shape=Shape.NONE
    )
    yield ChartLine("", tuple(ChartPoint(x, round(y - h)) for x, y, h in middle), shape=Shape.NONE)


def _stability(held: Conducted, found: OnStandards, named: Named) -> Iterator[Chart]:
    errors = sorted(_errors(held), key=lambda each: each[2])
    if not errors:
        return
    first, span = errors[0][2], (errors[-1][2] - errors[0][2]) // 1_000_000
    lines = [
        ChartLine(
            specimen.label,
            tuple(ChartPoint((at - first) // 1_000_000, error) for which, _, at, error in errors if which == place),
            joined=len(held.plan.specimens) == 1,
        )
        for place, specimen in enumerate(held.plan.specimens)
    ]
    fitted: list[ChartLine] = []
    if found.drift is not None:
        moments = [first + span * 1_000_000 * n // PLACES for n in range(PLACES + 1)]
        for each in _line_and_band(found.drift, moments, named):
            moved = tuple(ChartPoint((point.x - first) // 1_000_000, point.y) for point in each.points)
            fitted.append(ChartLine(each.name, moved, shape=Shape.NONE))
    yield Chart("stability", (*fitted, *lines), (("no_bias", 0),), _times(span))


def _times(span: int) -> tuple[tuple[int, str], ...]:
    """Times since the first reading, as many as tell the span (seconds)."""
    unit, symbol = next((each for each in _TIMES if span >= 2 * each[0]), _TIMES[-1])
    step = max(1, -(-span // unit // _TICKS)) * unit
    return tuple((at, f"{Fraction(at, unit)} {symbol}") for at in range(0, span + 1, step))
