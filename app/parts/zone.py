"""The zone strip: limits with their guard bands, every reading and the result of one cell, drawn to scale."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QLinearGradient, QPainter, QPen, QPolygonF

from app.parts.marks import Mark, color_of
from app.window.theme import Theme

#: The share of the strip's width left free outside each limit, for what lies out of the zone.
MARGIN = 0.12
#: Logical pixels between two lines of a guard band's hatching and their width; the share of the strip's height that its
#: limits stand out above and below the band.
_HATCH, _HATCH_WIDTH, _EDGE = 4, 1.2, 0.16


class Zone(NamedTuple):
    """What a strip shows, all in counts of the row's kind (pm or µas).

    A missing limit is an open side; ``band`` is then the width drawn from the other limit. With neither limit there
    is no zone and nothing is painted. ``readings`` become ticks, ``results`` diamonds (smallest and largest, or one);
    a mean of n is ``results`` = (its sum,) with ``of`` = n. ``raw`` are the same results before known errors were taken
    off, hollow diamonds where they differ. ``guard`` is the width of the guard band inside each limit that is guarded:
    every limit but one at a natural zero (``zero``), below which nothing lies.
    """

    lower: int | None = None
    upper: int | None = None
    nominal: int | None = None
    band: int | None = None
    readings: tuple[int, ...] = ()
    results: tuple[int, ...] = ()
    of: int = 1
    mark: Mark = Mark.OPEN
    raw: tuple[int, ...] = ()
    guard: int = 0
    zero: bool = False


class Ends(NamedTuple):
    """The two values at which a strip's zone begins and ends, and whether each is a limit (else an open side)."""

    low: int
    high: int
    low_limit: bool
    high_limit: bool


def ends(zone: Zone) -> Ends | None:
    """Where the zone begins and ends; None if it has no limit or no width to draw."""
    if zone.lower is not None and zone.upper is not None:
        return Ends(zone.lower, zone.upper, True, True) if zone.upper > zone.lower else None
    width = zone.band or abs(zone.nominal or 0) // 100
    if not width:
        return None
    if zone.upper is not None:
        return Ends(zone.upper - width, zone.upper, False, True)
    if zone.lower is not None:
        return Ends(zone.lower, zone.lower + width, True, False)
    return None


def place(value: int, of: int, between: Ends, left: float, width: float) -> tuple[float, int]:
    """Where ``value``/``of`` lies on a strip ``width`` pixels wide, and to which side it was clipped (−1, 0 or 1).

    Integers until the last step: a value on the limit is drawn on the limit.
    """
    share = (value - between.low * of) / ((between.high - between.low) * of)
    at = MARGIN + share * (1 - 2 * MARGIN)
    side = -1 if at < 0 else 1 if at > 1 else 0
    return left + min(max(at, 0.0), 1.0) * width, side


def paint_zone(painter: QPainter, rect: QRectF, zone: Zone, theme: Theme, *, large: bool = False) -> None:
    """Paint the strip into ``rect``: band, guard bands, limits, nominal, a tick for each reading, a diamond for each
    result, hollow where it was corrected.

    What lies far outside is clipped to the edge and gets an arrow. ``large`` is the strip of the measuring card.
    """
    between = ends(zone)
    if between is None:
        return
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    inset = theme.px(12 if large else 6)
    strip = rect.adjusted(inset, 0, -inset, 0)
    _paint_ground(painter, strip, between, theme, large)
    for limit, inner in guarded(zone, between, strip.left(), strip.width()):
        _paint_guard(painter, strip, limit, inner, theme)
    _paint_limits(painter, strip, between, theme, large)
    if zone.nominal is not None and between.low < zone.nominal < between.high:
        _paint_nominal(painter, strip, place(zone.nominal, 1, between, strip.left(), strip.width())[0], theme)
    for value in zone.readings:
        _paint_tick(painter, strip, place(value, 1, between, strip.left(), strip.width()), theme, large)
    for value in dict.fromkeys(each for each in zone.raw if each not in zone.results):
        spot = place(value, zone.of, between, strip.left(), strip.width())
        _paint_result(painter, strip, spot, "ink", theme, large=large, hollow=True)
    for value in zone.results:
        spot = place(value, zone.of, between, strip.left(), strip.width())
        _paint_result(painter, strip, spot, color_of(zone.mark), theme, large=large)
    painter.restore()


def guarded(zone: Zone, between: Ends, left: float, width: float) -> tuple[tuple[float, float], ...]:
    """Each guard band from its limit to its inner end, on a strip ``width`` pixels wide; none at an open side or a
    natural zero. Where they would meet, no result inside shows conformity, and each ends in the middle."""
    if not zone.guard:
        return ()
    low, high = between.low_limit and not zone.zero, between.high_limit
    room = between.high - between.low
    reach = min(zone.guard, (room + 1) // 2 if low and high else room)
    ends_of = ((low, between.low, between.low + reach), (high, between.high, between.high - reach))
    return tuple(
        (place(limit, 1, between, left, width)[0], place(inner, 1, between, left, width)[0])
        for is_guarded, limit, inner in ends_of
        if is_guarded
    )


def _paint_ground(painter: QPainter, strip: QRectF, between: Ends, theme: Theme, large: bool) -> None:
    """The band; an open side fades away."""
    left, right = _edges(strip, between)
    inner = _inside(QRectF(left, strip.top(), right - left, strip.height()))
    solid = theme.color("band")
    if between.low_limit and between.high_limit:
        painter.fillRect(inner, solid)
        return
    fill = QLinearGradient(inner.topLeft(), inner.topRight())
    clear = QColor(solid)
    clear.setAlpha(0)
    fill.setColorAt(0.0, solid if between.low_limit else clear)
    fill.setColorAt(0.35, solid)
    fill.setColorAt(0.65, solid)
    fill.setColorAt(1.0, solid if between.high_limit else clear)
    painter.fillRect(inner, fill)


def _edges(strip: QRectF, between: Ends) -> tuple[float, float]:
    """Where the band begins and ends: at a limit, or with an open side at the strip's own end."""
    return (
        strip.left() + strip.width() * (MARGIN if between.low_limit else 0),
        strip.right() - strip.width() * (MARGIN if between.high_limit else 0),
    )


def _inside(rect: QRectF) -> QRectF:
    """The band's height within the strip's."""
    return rect.adjusted(0, rect.height() * _EDGE, 0, -rect.height() * _EDGE)


def _paint_limits(painter: QPainter, strip: QRectF, between: Ends, theme: Theme, large: bool) -> None:
    """A line at each limit; an open side has none."""
    painter.setPen(QPen(theme.color("ink"), theme.px(2 if large else 1.4)))
    limits = (between.low_limit, between.high_limit)
    for x, is_limit in zip(_edges(strip, between), limits, strict=True):
        if is_limit:
            painter.drawLine(QPointF(x, strip.top()), QPointF(x, strip.bottom()))


def _paint_guard(painter: QPainter, strip: QRectF, limit: float, inner: float, theme: Theme) -> None:
    """A guard band: hatched, with a line where it ends, so that it tells itself from the band without its colour."""
    box = _inside(QRectF(min(limit, inner), strip.top(), abs(limit - inner), strip.height()))
    step = theme.px(_HATCH)
    painter.save()
    painter.setClipRect(box, Qt.ClipOperation.IntersectClip)
    painter.setPen(QPen(theme.color("doubt"), _HATCH_WIDTH * theme.scale / 100))
    x = box.left() - box.height() - box.left() % step  # the lines of one column of strips lie alike
    while x < box.right():
        painter.drawLine(QPointF(x, box.bottom()), QPointF(x + box.height(), box.top()))
        x += step
    painter.restore()
    painter.setPen(QPen(theme.color("doubt"), theme.px(1)))
    painter.drawLine(QPointF(inner, box.top()), QPointF(inner, box.bottom()))


def _paint_nominal(painter: QPainter, strip: QRectF, x: float, theme: Theme) -> None:
    painter.setPen(QPen(theme.color("quiet"), theme.px(1), Qt.PenStyle.DotLine))
    painter.drawLine(
        QPointF(x, strip.top() + strip.height() * 0.16), QPointF(x, strip.bottom() - strip.height() * 0.16)
    )


def _paint_tick(painter: QPainter, strip: QRectF, spot: tuple[float, int], theme: Theme, large: bool) -> None:
    x, side = spot
    if side:
        _paint_arrow(painter, strip, x, side=side, size=theme.px(5 if large else 4), theme=theme, color="ink")
        return
    painter.setPen(QPen(theme.color("ink"), theme.px(2 if large else 1.2)))
    painter.drawLine(QPointF(x, strip.top() + strip.height() * 0.2), QPointF(x, strip.bottom() - strip.height() * 0.2))


def _paint_result(
    painter: QPainter,
    strip: QRectF,
    spot: tuple[float, int],
    color: str,
    theme: Theme,
    *,
    large: bool,
    hollow: bool = False,
) -> None:
    x, side = spot
    half = theme.px(9 if large else 5.5)
    if side:
        _paint_arrow(painter, strip, x, side=side, size=half, theme=theme, color=color)
        return
    middle = strip.center().y()
    painter.setPen(QPen(theme.color(color if hollow else "card"), theme.px(1.4) if hollow else 1))
    painter.setBrush(theme.color("card" if hollow else color))
    corners = ((x, middle - half), (x + half, middle), (x, middle + half), (x - half, middle))
    painter.drawPolygon(QPolygonF([QPointF(*corner) for corner in corners]))


def _paint_arrow(
    painter: QPainter, strip: QRectF, x: float, *, side: int, size: float, theme: Theme, color: str
) -> None:
    """A chevron that says the value lies further out on this side than the strip shows."""
    middle = strip.center().y()
    pen = QPen(theme.color(color), max(1.6, size / 3), Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    tip = QPointF(x, middle)
    painter.drawPolyline(
        QPolygonF([QPointF(x - side * size, middle - size), tip, QPointF(x - side * size, middle + size)])
    )
