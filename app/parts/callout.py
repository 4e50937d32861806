"""A requirement as drawn: plain text, or the boxes of a feature control frame."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPen

from app.window.theme import ROW, Theme

#: The signs that open a feature control frame, ISO 1101:2017 table 3 and ASME Y14.5-2018 table 6.
FRAME_SIGNS = "⌖⏤⏥○⌭⌒⌓∠⊥⟂∥⫽◎⌯↗⌰"


def cells(written: str) -> tuple[str, ...]:
    """The boxes of a feature control frame as written, ``("⌖", "⌀.010Ⓜ", "A", "B")``; one cell for anything else.

    Cells are parted by bars, or, where none are written, by blanks after a sign that opens a frame.
    """
    text = written.strip()
    if "|" in text:
        return tuple(part for part in (piece.strip() for piece in text.split("|")) if part)
    if not text or text[0] not in FRAME_SIGNS:
        return (text,)
    parts = text[1:].split()
    joined: list[str] = []
    for part in parts:
        if joined and part in ("Ⓜ", "Ⓛ", "Ⓟ", "Ⓕ", "Ⓣ", "Ⓤ"):
            joined[-1] += part
        else:
            joined.append(part)
    return (text[0], *joined)


def callout_width(written: str, theme: Theme, size: float = ROW, *, bold: bool = False) -> float:
    """The width in pixels that a requirement needs."""
    metrics = QFontMetricsF(theme.font(size, bold=bold))
    parts = cells(written)
    if len(parts) == 1:
        return metrics.horizontalAdvance(parts[0])
    return sum(_cell_width(part, metrics, theme) for part in parts)


def _cell_width(part: str, metrics: QFontMetricsF, theme: Theme) -> float:
    return metrics.horizontalAdvance(part) + 2 * theme.px(5)


def paint_callout(
    painter: QPainter,
    rect: QRectF,
    written: str,
    theme: Theme,
    *,
    size: float = ROW,
    bold: bool = False,
    color: str = "ink",
) -> None:
    """Paint a requirement from the left of ``rect``, centred in its height; text too long for it ends in "…"."""
    parts = cells(written)
    font = theme.font(size, bold=bold)
    painter.save()
    painter.setFont(font)
    painter.setPen(theme.color(color))
    if len(parts) == 1:
        shown = QFontMetricsF(font).elidedText(parts[0], Qt.TextElideMode.ElideRight, rect.width())
        painter.drawText(rect, Qt.AlignmentFlag.AlignVCenter, shown)
    else:
        _paint_frame(painter, rect, parts, theme, font=font, color=color)
    painter.restore()


def _paint_frame(
    painter: QPainter, rect: QRectF, parts: tuple[str, ...], theme: Theme, *, font: QFont, color: str
) -> None:
    metrics = QFontMetricsF(font)
    height = min(rect.height() - 2, metrics.height() + theme.px(2))
    top = rect.center().y() - height / 2
    x = rect.left() + 1
    painter.setPen(QPen(theme.color(color), theme.px(1)))
    for part in parts:
        width = _cell_width(part, metrics, theme)
        box = QRectF(x, top, width, height)
        painter.drawRect(box)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, part)
        x += width
    painter.drawLine(QPointF(x, top), QPointF(x, top + height))
