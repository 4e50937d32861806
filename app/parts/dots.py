"""A row of results to scale between the limits: one small mark each, the newest painted last."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter, QPen

from app.parts.marks import Mark, paint_mark
from app.parts.zone import MARGIN, Zone, ends, place
from app.window.theme import Theme


class Dot(NamedTuple):
    """One result: ``value`` over ``of`` in counts of the row's kind, and the mark of its verdict."""

    value: int
    of: int
    mark: Mark


def paint_dots(painter: QPainter, rect: QRectF, zone: Zone, dots: Iterable[Dot], theme: Theme) -> None:
    """Paint ``dots`` (the newest first) into ``rect`` within the limits of ``zone``; what lies far out sits at the
    edge. Without limits there is nothing to paint."""
    between = ends(zone)
    if between is None:
        return
    inset = theme.px(5)
    strip = rect.adjusted(inset, 0, -inset, 0)
    left, right = strip.left() + strip.width() * MARGIN, strip.right() - strip.width() * MARGIN
    painter.save()
    band = QRectF(left, strip.center().y() - theme.px(3), right - left, theme.px(6))
    painter.fillRect(band, theme.color("band"))
    painter.setPen(QPen(theme.color("ink"), theme.px(1)))
    for limit, x in ((between.low_limit, left), (between.high_limit, right)):
        if limit:
            painter.drawLine(QPointF(x, strip.top()), QPointF(x, strip.bottom()))
    painter.restore()
    for dot in reversed(tuple(dots)):
        x, _ = place(dot.value, dot.of, between, strip.left(), strip.width())
        paint_mark(painter, QPointF(x, strip.center().y()), theme.px(8), dot.mark, theme)
