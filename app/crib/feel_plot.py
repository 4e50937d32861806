"""A trial as a plot: the readings in their order, the block, ±E and twice the scatter."""

from __future__ import annotations

from collections.abc import Iterator

from app.parts.marks import Mark
from app.parts.plot import Level, Plot, Point, Stroke
from inspection.quantity.units import UNITS
from inspection.studies.feel import Feel, Should, Trial
from inspection.words.say import word

#: Places that a trial's plot begins with; it grows beyond them.
PLACES = 12


def plot_of(trial: Trial, should: Should, feel: Feel | None, unit: str) -> Plot:
    """The plot of a trial in the unit shown; without readings its block and limits alone."""
    error = should.error
    counts = [take.quantity.count for take in trial.takes]
    points = tuple(Point(n, count, _mark(count - trial.size, error)) for n, count in enumerate(counts, 1))
    return Plot(
        points,
        (*_limits(trial, error), Level(trial.size, word("feel.level.block"), Stroke.CENTRE), *_scatter(feel)),
        UNITS[unit].kind,
        unit,
        begin=1,
        end=max(PLACES, len(points)),
        least=4 * should.step,
        across=word("feel.across"),
        legend=_LEGEND if error is not None else _UNJUDGED,
    )


def _mark(off: int, error: int | None) -> Mark:
    if error is None:
        return Mark.OPEN
    return Mark.OUT if abs(off) > error else Mark.CONFORMING


_LEGEND = ((Mark.CONFORMING, word("feel.legend.within")), (Mark.OUT, word("feel.legend.beyond")))
_UNJUDGED = ((Mark.OPEN, word("feel.legend.read")),)


def _limits(trial: Trial, error: int | None) -> Iterator[Level]:
    if error is not None:
        yield Level(trial.size + error, word("feel.level.above"))
        yield Level(trial.size - error, word("feel.level.below"))


def _scatter(feel: Feel | None) -> Iterator[Level]:
    """Mean ± 2s, to the nearest count; none where no scatter shows."""
    if feel is None or feel.spread is None:
        return
    mean = feel.read.bias + feel.read.size
    twice = 2 * float(feel.spread.square) ** 0.5  # for the eye alone
    yield Level(round(mean + round(twice)), word("feel.level.scatter_above"), Stroke.SCATTER)
    yield Level(round(mean - round(twice)), word("feel.level.scatter_below"), Stroke.SCATTER)
