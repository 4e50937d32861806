"""The plots of a row as a picture file."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QWidget

from app.background.worker import Failure
from app.ledger.back.shown import RowShown
from app.parts.exporting import asked_path, keep_bytes
from app.parts.histogram import paint_bars
from app.parts.picture import FILES, Paint, picture_bytes
from app.parts.plot import Plot, in_line, paint_plot
from app.window.house import House
from app.window.theme import Theme
from inspection.reasons import Refused
from inspection.sheet.figures import between, limits
from inspection.words.say import say, word


def save_picture(parent: QWidget, house: House, shown: RowShown, part: str, name: str) -> None:
    """Ask where to, and save what is shown there: charts in time, or the histogram."""
    looked = shown.looked
    if looked is None or not shown.places:
        house.notice(word("picture.nothing"))
        return
    path = asked_path(parent, house, name, FILES, "picture")
    if path is None:
        return
    row = looked.series.row
    title = f"{part}   {word('ledger.rows.line', number=row.number, requirement=row.requirement.written)}"
    about = between(*limits(row.requirement))
    below = "   ".join(filter(None, (f"{about} {row.requirement.unit}" if about else "", *_first(shown))))
    try:
        made = picture_bytes(path.suffix, title, below, _paints(shown), house.theme.family)
    except Refused as refused:
        house.fail(Failure(refused.reasons))
    else:
        keep_bytes(house, made, path)


def _first(shown: RowShown) -> list[str]:
    """What is said of the row first, as much as a line holds."""
    assert shown.looked is not None
    said = [say(each) for each in shown.looked.told.findings]
    return said[:1]


def _paints(shown: RowShown) -> list[tuple[float, Paint]]:
    if shown.spread:
        bars = shown.histogram.shown()
        return [(1.0, lambda painter, rect, theme: paint_bars(painter, rect, bars, theme))]
    plots = [plot.shown() for plot in (shown.plot, shown.ranges) if plot.shown().points]
    return [(share, partial(_paint, plot, plots)) for share, plot in zip((5.0, 2.0), plots, strict=False)]


def _paint(plot: Plot, plots: list[Plot], painter: QPainter, rect: QRectF, theme: Theme) -> None:
    paint_plot(painter, rect, plot, theme, sides=in_line(plots, theme))
