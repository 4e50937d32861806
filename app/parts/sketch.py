"""Sketches beside the lines of a check before use, drawn with few strokes; without one the place is empty."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from math import atan2, copysign, cos, degrees, pi, radians, sin
from pathlib import Path
from typing import Any, NamedTuple

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

import resources
from app.window.theme import SMALL, Theme

#: The box that every sketch is drawn in.
WIDTH, HEIGHT = 120, 80
#: The pen of strokes in that box; thin strokes have half of it.
PEN = 2.0
#: Square corners are pointed, sharper ones blunt (how far a corner may stand out, in pens).
BLUNT = 0.8
#: The height of a capital as a part of the em of the program's own face.
CAPITAL = 0.668
#: The head of an arrow: its length, and half its width.
HEAD, HALF_HEAD = 9.0, 4.5

Drawn = dict[str, Any]
_FILE = Path(resources.__path__[0]) / "symbols" / "sketches.toml"


@cache
def sketches() -> dict[tuple[str, str], Drawn]:
    """The sketches of ``resources/symbols/sketches.toml`` by the line that each belongs to and the kind of instrument
    that it is drawn for ("": all that have none of their own), with the shapes that lie under them."""
    table = tomllib.loads(_FILE.read_text(encoding="utf-8"))
    shapes = {shape["name"]: shape for shape in table["shape"]}
    return {
        (sketch["line"], kind): _whole(sketch, shapes)
        for sketch in table["sketch"]
        for kind in sketch.get("kinds", ("",))
    }


def sketch_for(line: str, kind: str = "") -> Drawn | None:
    """The sketch of a line on an instrument of this kind; None where none is drawn."""
    return sketches().get((line, kind)) or sketches().get((line, ""))


def _whole(sketch: Drawn, shapes: dict[str, Drawn]) -> Drawn:
    layers = [*(shapes[name] for name in sketch.get("shapes", ())), sketch]
    return {part: [each for layer in layers for each in layer.get(part, ())] for part in _PAINTERS}


# --- painting ---------------------------------------------------------------------------------------------------


class _Brush(NamedTuple):
    """What a sketch is painted with, in pixels of the screen; ``left`` and ``foot`` are where its box begins. Corners
    are set onto the pixels, so that upright and level strokes stay sharp at every scale."""

    painter: QPainter
    theme: Theme
    left: float
    foot: float
    scale: float
    least_letter: float

    def pen(self, thickness: float) -> int:
        return max(1, round(thickness * self.scale))

    def point(self, x: float, y: float) -> QPointF:
        return QPointF(self.left + x * self.scale, self.foot - y * self.scale)

    def points(self, numbers: Sequence[float], pen: int) -> Iterator[QPointF]:
        half = (pen % 2) / 2
        for x, y in zip(numbers[::2], numbers[1::2], strict=True):
            at = self.point(x, y)
            yield QPointF(round(at.x() - half) + half, round(at.y() - half) + half)

    def square(self, x: float, y: float, radius: float) -> QRectF:
        at, reach = self.point(x, y), radius * self.scale
        return QRectF(at.x() - reach, at.y() - reach, 2 * reach, 2 * reach)

    def draw_with(self, color: str, pen: int = 0, fill: str = "") -> None:
        """Take up a pen of a colour (0: none), and a colour to fill with."""
        line = QPen(self.theme.color(color), pen)
        line.setCapStyle(Qt.PenCapStyle.FlatCap)
        line.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
        line.setMiterLimit(BLUNT)
        self.painter.setPen(line if pen else Qt.PenStyle.NoPen)
        self.painter.setBrush(self.theme.color(fill) if fill else Qt.BrushStyle.NoBrush)


def paint_sketch(painter: QPainter, box: QRectF, line: str, theme: Theme, *, kind: str = "") -> None:
    """Paint the sketch of a line on an instrument of this kind, as large as ``box`` allows and in its middle."""
    sketch = sketch_for(line, kind)
    if sketch is None:
        return
    ratio = painter.device().devicePixelRatioF()
    scale = min(box.width() / WIDTH, box.height() / HEIGHT) * ratio
    left = round(box.center().x() * ratio - WIDTH * scale / 2)
    foot = round(box.center().y() * ratio + HEIGHT * scale / 2)
    painter.save()
    painter.scale(1 / ratio, 1 / ratio)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    brush = _Brush(painter, theme, left, foot, scale, theme.px(SMALL) * ratio)
    for name, paint in _PAINTERS.items():
        for part in sketch[name]:
            paint(brush, part)
    painter.restore()


def _solid(brush: _Brush, part: Drawn) -> None:
    pen = brush.pen(PEN)
    brush.draw_with("ink", pen, fill="band")
    brush.painter.drawPath(_outline(brush, part, pen))


def _stroke(brush: _Brush, part: Drawn) -> None:
    pen = brush.pen(PEN)
    brush.draw_with("ink", pen)
    brush.painter.drawPath(_outline(brush, part, pen))


def _thin(brush: _Brush, part: Drawn) -> None:
    pen = brush.pen(PEN / 2)
    brush.draw_with("ink", pen)
    brush.painter.drawPath(_outline(brush, part, pen))


def _fill(brush: _Brush, part: Drawn) -> None:
    brush.draw_with("ink", fill="ink")
    brush.painter.drawPath(_outline(brush, part, 0))


def _outline(brush: _Brush, part: Drawn, pen: int) -> QPainterPath:
    ((kind, numbers),) = part.items()
    path = QPainterPath()
    if kind in ("circle", "disc"):
        path.addEllipse(brush.square(*numbers))
    elif kind == "arc":
        x, y, radius, start, end = numbers
        path.arcMoveTo(brush.square(x, y, radius), start)
        path.arcTo(brush.square(x, y, radius), start, end - start)
    else:
        path.addPolygon(QPolygonF(list(brush.points(numbers, pen))))
        if kind != "line":
            path.closeSubpath()
    return path


def _arrow(brush: _Brush, numbers: Sequence[float]) -> None:
    x1, y1, x2, y2 = numbers
    start, end = brush.point(x1, y1), brush.point(x2, y2)
    along = atan2(end.y() - start.y(), end.x() - start.x())
    neck = end - QPointF(cos(along), sin(along)) * (HEAD * brush.scale)
    brush.draw_with("accent", brush.pen(PEN))
    brush.painter.drawLine(start, neck)
    _head(brush, end, along)


def _turn(brush: _Brush, numbers: Sequence[float]) -> None:
    x, y, radius, start, end = numbers
    onward = copysign(1, end - start)
    neck = end - onward * degrees(HEAD / radius)
    brush.draw_with("accent", brush.pen(PEN))
    path = QPainterPath()
    path.arcMoveTo(brush.square(x, y, radius), start)
    path.arcTo(brush.square(x, y, radius), start, neck - start)
    brush.painter.drawPath(path)
    tip = brush.point(x + radius * cos(radians(end)), y + radius * sin(radians(end)))
    # the head lies along the chord from neck to tip, so that it sits on the arc
    _head(brush, tip, -radians((end + neck) / 2) - onward * pi / 2)


def _head(brush: _Brush, tip: QPointF, along: float) -> None:
    neck = tip - QPointF(cos(along), sin(along)) * (HEAD * brush.scale)
    aside = QPointF(-sin(along), cos(along)) * (HALF_HEAD * brush.scale)
    brush.draw_with("accent", fill="accent")
    brush.painter.drawPolygon(QPolygonF([tip, neck + aside, neck - aside]))


def _letters(brush: _Brush, part: tuple[str, float, float, float]) -> None:
    """Letters about the middle of their foot; left out where they would be smaller than the smallest text."""
    text, x, y, height = part
    size = round(height * brush.scale / CAPITAL)
    if size < brush.least_letter:
        return
    font = QFont(brush.theme.font(bold=True))
    font.setPixelSize(size)
    brush.draw_with("ink", 1)
    brush.painter.setFont(font)
    foot = brush.point(x, y)
    wide = brush.painter.fontMetrics().horizontalAdvance(text)
    brush.painter.drawText(QPointF(round(foot.x() - wide / 2), round(foot.y())), text)


#: The parts of a sketch in the order in which they are laid on each other.
_PAINTERS: dict[str, Callable[[_Brush, Any], None]] = {
    "solid": _solid,
    "stroke": _stroke,
    "thin": _thin,
    "fill": _fill,
    "arrow": _arrow,
    "turn": _turn,
    "letters": _letters,
}


class Sketch(QWidget):
    """One sketch; what its line asks is its name for screen readers. ``wide`` is its width in logical pixels."""

    def __init__(self, theme: Theme, wide: float, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._wide, self._line, self._kind = theme, wide, "", ""
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def show_line(self, line: str, kind: str, asked: str) -> None:
        """Show the sketch of a line, which asks ``asked``, on an instrument of this kind."""
        self._line, self._kind = line, kind
        self.setAccessibleName(asked)
        self.update()

    def set_wide(self, wide: float) -> None:
        """Be as wide as this, in logical pixels."""
        if wide != self._wide:
            self._wide = wide
            self.updateGeometry()

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(self._theme.px(self._wide), self._theme.px(self._wide * HEIGHT / WIDTH))

    def paintEvent(self, event: QPaintEvent) -> None:
        paint_sketch(QPainter(self), QRectF(self.rect()), self._line, self._theme, kind=self._kind)
