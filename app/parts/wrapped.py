"""Words over a few lines of a narrow place."""

from __future__ import annotations

from functools import lru_cache

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QTextLayout, QTextOption


def paint_wrapped(painter: QPainter, box: QRectF, text: str, font: QFont, color: QColor, most: int) -> None:
    """Paint ``text`` in the middle of ``box`` over up to ``most`` lines; where they do not hold it, the last ends in
    "…"."""
    painter.setFont(font)
    painter.setPen(color)
    step = QFontMetricsF(font).height()
    lines = wrapped(text, font, box.width(), most)
    top = box.center().y() - step * len(lines) / 2
    for place, line in enumerate(lines):
        place_of = QRectF(box.left(), top + place * step, box.width(), step)
        painter.drawText(place_of, Qt.AlignmentFlag.AlignVCenter, line)


@lru_cache(maxsize=256)
def wrapped(text: str, font: QFont, width: float, most: int) -> tuple[str, ...]:
    """``text`` as up to ``most`` lines no wider than ``width`` pixels, broken between words, and inside one only where
    it is longer than a line."""
    layout = QTextLayout(text, font)
    option = QTextOption()
    option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
    layout.setTextOption(option)
    layout.beginLayout()
    starts: list[int] = []
    while (line := layout.createLine()).isValid():
        line.setLineWidth(width)
        starts.append(line.textStart())
    layout.endLayout()
    kept = starts[:most]
    lines = [text[start:end].strip() for start, end in zip(kept, [*starts[1:], None], strict=False)]
    if len(starts) > most:
        rest = text[kept[-1] :]
        lines[-1] = QFontMetricsF(font).elidedText(rest, Qt.TextElideMode.ElideRight, width)
    return tuple(lines)
