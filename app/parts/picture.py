"""What is painted on a screen as a picture file: .png, .svg or .pdf, always on light ground, as paper is."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QBuffer, QIODevice, QMarginsF, QRectF, QSize, QSizeF
from PySide6.QtGui import QFontMetricsF, QImage, QPageSize, QPaintDevice, QPainter, QPdfWriter

from app.window.theme import HEAD, TEXT, Theme, load
from inspection.reasons import Reason, Refused

Paint = Callable[[QPainter, QRectF, Theme], None]

#: A picture's size in logical pixels, its margin, and how many pixels of a .png one of them is.
WIDE, HIGH, EDGE, FINE = 1200, 720, 28, 2
FILES = "*.png *.svg *.pdf"


def picture_bytes(ending: str, title: str, below: str, paints: Sequence[tuple[float, Paint]], family: str) -> bytes:
    """A picture as the bytes of a file with this ending: a title, what is said below it, and each of ``paints`` in its
    share of the height. Raises Refused for another ending."""
    make = {".png": _png, ".svg": _svg, ".pdf": _pdf}.get(ending.casefold())
    if make is None:
        raise Refused(Reason("picture.ending", {"ending": ending[:20], "known": ".png, .svg, .pdf"}))
    theme = load("light", 100, family)

    def draw(device: QPaintDevice, scale: float) -> None:
        painter = QPainter(device)
        painter.scale(scale, scale)
        _draw(painter, title, below, paints, theme)
        painter.end()

    return make(title, draw)


Draw = Callable[[QPaintDevice, float], None]


def _draw(painter: QPainter, title: str, below: str, paints: Sequence[tuple[float, Paint]], theme: Theme) -> None:
    painter.fillRect(QRectF(0, 0, WIDE, HIGH), theme.color("card"))
    top = float(EDGE)
    for text, size, bold, color in ((title, HEAD, True, "ink"), (below, TEXT, False, "quiet")):
        font = theme.font(size, bold=bold)
        metrics = QFontMetricsF(font)
        painter.setFont(font)
        painter.setPen(theme.color(color))
        painter.drawText(QRectF(EDGE, top, WIDE - 2 * EDGE, metrics.height()), text)
        top += metrics.height() * 1.3
    whole, room = sum(share for share, _ in paints), HIGH - EDGE - top
    for share, paint in paints:
        high = room * share / whole
        paint(painter, QRectF(EDGE, top, WIDE - 2 * EDGE, high), theme)
        top += high


def _png(_title: str, draw: Draw) -> bytes:
    image = QImage(WIDE * FINE, HIGH * FINE, QImage.Format.Format_RGB32)
    draw(image, FINE)
    buffer = _buffer()
    image.save(buffer, "PNG")  # type: ignore[call-overload]
    return bytes(buffer.data().data())


def _svg(title: str, draw: Draw) -> bytes:
    from PySide6.QtSvg import QSvgGenerator

    buffer, made = _buffer(), QSvgGenerator()
    made.setOutputDevice(buffer)
    made.setTitle(title)
    made.setSize(QSize(WIDE, HIGH))
    made.setViewBox(QRectF(0, 0, WIDE, HIGH))
    draw(made, 1)
    return bytes(buffer.data().data())


def _pdf(title: str, draw: Draw) -> bytes:
    buffer = _buffer()
    made = QPdfWriter(buffer)
    made.setTitle(title)
    made.setCreator("Tenthwright")
    made.setPageSize(QPageSize(QSizeF(WIDE * 0.6, HIGH * 0.6), QPageSize.Unit.Point))
    made.setPageMargins(QMarginsF())
    made.setResolution(720)
    draw(made, made.width() / WIDE)
    return bytes(buffer.data().data())


def _buffer() -> QBuffer:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    return buffer
