"""Verdict marks: a shape for each, painted, so that none rests on colour and none is missing from a font."""

from __future__ import annotations

from enum import Enum

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QPainter, QPen, QPolygonF

from app.window.theme import SMALL, Theme


class Mark(Enum):
    """What a mark says; the value is the word of the catalogue that stands beside it (``mark.…``)."""

    OPEN = "open"
    CONFORMING = "conforming"
    MARGINAL = "marginal"
    DOUBT_INSIDE = "doubt_inside"
    DOUBT_OUTSIDE = "doubt_outside"
    OUT = "out"
    NOT_JUDGED = "not_judged"
    WRITING = "writing"
    QUESTION = "question"


#: The mark of each verdict by its value.
_BY_VERDICT = {
    "open": Mark.OPEN,
    "conforming": Mark.CONFORMING,
    "conforming, instrument marginal": Mark.MARGINAL,
    "in doubt, measured inside": Mark.DOUBT_INSIDE,
    "in doubt, measured outside": Mark.DOUBT_OUTSIDE,
    "not conforming": Mark.OUT,
    "not judged": Mark.NOT_JUDGED,
}

_COLORS = {
    Mark.OPEN: "quiet",
    Mark.CONFORMING: "good",
    Mark.MARGINAL: "doubt",
    Mark.DOUBT_INSIDE: "doubt",
    Mark.DOUBT_OUTSIDE: "doubt",
    Mark.OUT: "out",
    Mark.NOT_JUDGED: "quiet",
    Mark.WRITING: "quiet",
    Mark.QUESTION: "doubt",
}


#: Qt counts angles in sixteenths of a degree.
_DEGREE = 16


def mark_of(verdict: str) -> Mark:
    """The mark of a verdict (a ``Verdict`` or its value); KeyError if there is none."""
    return _BY_VERDICT[str(verdict)]


def color_of(mark: Mark) -> str:
    """The palette's name for a mark's colour, also used for the word beside it."""
    return _COLORS[mark]


def paint_mark(painter: QPainter, centre: QPointF, size: float, mark: Mark, theme: Theme) -> None:
    """Paint a mark of ``size`` pixels across, centred: ● conforming, ◐ marginal, ⊖ in doubt inside, ⊗ in doubt
    outside, ▲ out, ○ open, – not judged, … writing, ? a question stands. Verdicts are printed with the same shapes."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    color = theme.color(_COLORS[mark])
    stroke = max(1.2, size / 6)
    painter.setPen(QPen(color, stroke, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    _PAINTERS[mark](painter, centre, size / 2, theme)
    painter.restore()


def _filled(painter: QPainter, centre: QPointF, half: float, theme: Theme) -> None:
    painter.setBrush(painter.pen().color())
    painter.setPen(Qt.PenStyle.NoPen)
    painter.drawEllipse(centre, half, half)


def _triangle(painter: QPainter, centre: QPointF, half: float, theme: Theme) -> None:
    painter.setBrush(painter.pen().color())
    painter.setPen(Qt.PenStyle.NoPen)
    top = QPointF(centre.x(), centre.y() - half * 1.1)
    left = QPointF(centre.x() - half * 1.15, centre.y() + half * 0.9)
    right = QPointF(centre.x() + half * 1.15, centre.y() + half * 0.9)
    painter.drawPolygon(QPolygonF([top, right, left]))


def _half_filled(painter: QPainter, centre: QPointF, half: float, theme: Theme) -> None:
    ring = half - painter.pen().widthF() / 2
    painter.drawEllipse(centre, ring, ring)
    painter.setBrush(painter.pen().color())
    box = QRectF(centre.x() - ring, centre.y() - ring, 2 * ring, 2 * ring)
    painter.drawPie(box, 90 * _DEGREE, 180 * _DEGREE)


def _barred(painter: QPainter, centre: QPointF, half: float, theme: Theme) -> None:
    ring = half - painter.pen().widthF() / 2
    painter.drawEllipse(centre, ring, ring)
    painter.drawLine(QPointF(centre.x() - ring, centre.y()), QPointF(centre.x() + ring, centre.y()))


def _crossed(painter: QPainter, centre: QPointF, half: float, theme: Theme) -> None:
    ring = half - painter.pen().widthF() / 2
    painter.drawEllipse(centre, ring, ring)
    reach = ring * 0.7
    for up in (-reach, reach):
        painter.drawLine(QPointF(centre.x() - reach, centre.y() - up), QPointF(centre.x() + reach, centre.y() + up))


def _ring(painter: QPainter, centre: QPointF, half: float, theme: Theme) -> None:
    ring = half * 0.75 - painter.pen().widthF() / 2
    painter.drawEllipse(centre, ring, ring)


def _dash(painter: QPainter, centre: QPointF, half: float, theme: Theme) -> None:
    painter.drawLine(QPointF(centre.x() - half * 0.7, centre.y()), QPointF(centre.x() + half * 0.7, centre.y()))


def _dots(painter: QPainter, centre: QPointF, half: float, theme: Theme) -> None:
    painter.setBrush(painter.pen().color())
    painter.setPen(Qt.PenStyle.NoPen)
    for step in (-0.8, 0.0, 0.8):
        painter.drawEllipse(QPointF(centre.x() + step * half, centre.y()), half / 4, half / 4)


def _question(painter: QPainter, centre: QPointF, half: float, theme: Theme) -> None:
    font = QFont(theme.font(bold=True))
    font.setPixelSize(max(theme.px(SMALL), round(half * 2.3)))
    painter.setFont(font)
    painter.drawText(
        QRectF(centre.x() - half * 2, centre.y() - half * 2, half * 4, half * 4), Qt.AlignmentFlag.AlignCenter, "?"
    )


_PAINTERS = {
    Mark.OPEN: _ring,
    Mark.CONFORMING: _filled,
    Mark.MARGINAL: _half_filled,
    Mark.DOUBT_INSIDE: _barred,
    Mark.DOUBT_OUTSIDE: _crossed,
    Mark.OUT: _triangle,
    Mark.NOT_JUDGED: _dash,
    Mark.WRITING: _dots,
    Mark.QUESTION: _question,
}
