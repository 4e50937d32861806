"""An instrument's certificates together, as its page shows them: how the error moved, plotted, and what is advised."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from app.crib.keys import KEYS
from app.parts.marks import Mark
from app.parts.plot import Level, Plot, Point, Stroke
from inspection.instruments.certificate_table import error_text
from inspection.instruments.intervals import used_up
from inspection.instruments.record import Instrument
from inspection.instruments.spelling import amount_text
from inspection.quantity.speaker import nearest
from inspection.quantity.units import UNITS
from inspection.words.say import say, word

if TYPE_CHECKING:
    from inspection.studies.drift import Advice, PointInTime


class Drifting(NamedTuple):
    """What an instrument's certificates found at each point, reckoned on the book's thread, and what that advises."""

    told: tuple[tuple[PointInTime, Fraction | None], ...]
    advice: Advice


class Drift(NamedTuple):
    """What the certificates show together: sentences, and a plot of one point or of all; ``views`` is how many plots
    there are to choose from."""

    said: tuple[str, ...]
    plot: Plot | None = None
    views: int = 1


def drift_of(
    instrument: Instrument, found: Drifting | None, readings: int | None, units: str, view: int = 0
) -> Drift | None:
    """How the error moved over the certificates and what that says of the interval; None without a certificate's table
    and without an interval by use (``readings`` since the certificate).

    Of several points ``view`` 0 plots the one that takes most of its ±E, 1 all of them, and those after it one each.
    """
    said = list(_use_said(instrument, readings))
    if found is None:
        return Drift(tuple(said)) if said else None
    unit = instrument.unit
    for point, a_year in found.told:
        if a_year is not None:
            moves = f"{nearest(round(a_year), unit, 6 if unit == 'in' else 5)} {unit}"
            said.append(word("drift.moves", at=_at(point, unit), by=moves))
    said += [say(reason, units) for reason in found.advice.said]
    if found.advice.months is not None:
        said.append(word("drift.advice", n=found.advice.months))
    points = [point for point, _ in found.told if len(point.found) > 1]
    if not points:
        return Drift(tuple(said))
    views = len(points) + 2 if len(points) > 1 else 1
    head, plot = _view(points, view % views, unit)
    key = (word("drift.views", key=KEYS["plotted"].key),) if views > 1 else ()
    return Drift((" ".join((head, *key)), *said), plot, views)


def _use_said(instrument: Instrument, readings: int | None) -> Iterator[str]:
    if readings is None:
        return
    against = used_up(instrument, readings)
    if against is not None:
        yield say(against)
    else:
        yield word("drift.used", n=readings, most=instrument.every_readings)


def _at(point: PointInTime, unit: str) -> str:
    return word("crib.at", use=point.use.value, size=amount_text(point.size, unit))


# --- the plots ----------------------------------------------------------------------------------------------------


def _view(points: Sequence[PointInTime], view: int, unit: str) -> tuple[str, Plot]:
    """What is plotted, in words and as a plot."""
    if view == 1:
        return word("drift.plotted.all", n=len(points)), _together(points, unit)
    shown = points[view - 2] if view else max(points, key=lambda each: (each.share, len(each.found)))
    error = error_text(shown.found[-1].error, unit)
    said = word("drift.plotted.one" if view else "drift.plotted", at=_at(shown, unit), n=len(shown.found), error=error)
    return said, _alone(shown, unit)


def _alone(shown: PointInTime, unit: str) -> Plot:
    """The error found at a point by each certificate against its day, its U as a stroke, between ±E."""
    reaches = ((each.error - each.expanded, each.error + each.expanded) for each in shown.found)
    points = (spot._replace(reach=reach) for spot, reach in zip(_spots(shown), reaches, strict=True))
    return _against_days(tuple(points), [shown], unit)


def _together(shown: Sequence[PointInTime], unit: str) -> Plot:
    """The errors of several points, each a line with its name; without U, whose strokes would lie over one another."""
    points = tuple(
        spot._replace(series=series, place=f"{_at(each, unit)}, {spot.place}")
        for series, each in enumerate(shown)
        for spot in _spots(each)
    )
    of_one_use = len({each.use for each in shown}) == 1
    names = tuple(amount_text(each.size, unit) if of_one_use else _at(each, unit) for each in shown)
    return _against_days(points, shown, unit)._replace(names=names)


def _spots(shown: PointInTime) -> Iterator[Point]:
    for each in shown.found:
        beyond = shown.limit is not None and abs(each.error) > shown.limit
        yield Point(each.ordinal, each.error, Mark.OUT if beyond else Mark.CONFORMING, each.day)


def _against_days(points: tuple[Point, ...], shown: Sequence[PointInTime], unit: str) -> Plot:
    levels = [Level(0, "", Stroke.CENTRE)]
    for limit in sorted({each.limit for each in shown if each.limit}):
        levels += [Level(limit, word("crib.plot.above")), Level(-limit, word("crib.plot.below"))]
    ticks = tuple(sorted({(each.ordinal, each.day) for point in shown for each in point.found}))
    legend = ((Mark.CONFORMING, word("drift.legend.within")), (Mark.OUT, word("drift.legend.beyond")))
    return Plot(points, tuple(levels), UNITS[unit].kind, unit, ticks=ticks, legend=legend)
