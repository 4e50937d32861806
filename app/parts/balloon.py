"""The balloon: a circle with the number of its row, filled when the row is the current one."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPen

from app.window.theme import Theme


def paint_balloon(
    painter: QPainter, centre: QPointF, diameter: float, number: str, theme: Theme, *, current: bool = False
) -> None:
    """Paint a balloon of ``diameter`` pixels. A long number widens it into a capsule rather than shrinks below 12
    logical pixels: what it stands for is read from a step away."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    font = QFont(theme.font(bold=True))
    font.setPixelSize(max(theme.px(12), round(diameter * (0.5 if len(number) < 3 else 0.4))))
    stroke = max(1.3, diameter / 18)
    width = balloon_width(diameter, number, theme)
    box = QRectF(centre.x() - width / 2, centre.y() - diameter / 2, width, diameter)
    painter.setPen(Qt.PenStyle.NoPen if current else QPen(theme.color("edge"), stroke))
    painter.setBrush(theme.color("accent" if current else "card"))
    inner = box.adjusted(stroke / 2, stroke / 2, -stroke / 2, -stroke / 2)
    painter.drawRoundedRect(inner, inner.height() / 2, inner.height() / 2)
    painter.setFont(font)
    painter.setPen(theme.color("on_accent" if current else "ink"))
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, number)
    painter.restore()


def balloon_width(diameter: float, number: str, theme: Theme) -> float:
    """The width in pixels that a balloon of this diameter needs for its number."""
    font = QFont(theme.font(bold=True))
    font.setPixelSize(max(theme.px(12), round(diameter * (0.5 if len(number) < 3 else 0.4))))
    return max(diameter, QFontMetricsF(font).horizontalAdvance(number) + diameter * 0.3)
