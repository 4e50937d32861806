"""Drawing what stands on a page with reportlab: text, balloons, zone strips, hairlines.

Places are points from the left margin and down from the top of the page's body.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import singledispatch

from msgspec import Struct
from reportlab import rl_config
from reportlab.lib.colors import Color, HexColor
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.textobject import PDFTextObject

from storage.dispatch.blocks import Balloon, Band, Beside, Cell, Strip
from storage.dispatch.setting import LEADING, Run, TextLine, face, measure, run_width
from storage.dispatch.style import palette

# Pages go into the file as they are compressed: written as letters (ISO 32000-1, 7.4.3) they are a quarter larger.
rl_config.useA85 = 0
#: The baseline lies this part of a line's height under its top.
BASELINE = 0.78
HAIRLINE = 0.5
#: A reading beyond the limits is drawn at most this far outside the strip's zone, as a part of it.
FARTHEST = 0.16
#: The lines of guard bands: the name they are kept under, how far they reach, and from one to the next.
HATCH, HATCHED, HATCH_HEIGHT, HATCH_STEP = "guard-band", 60.0, 10.0, 2.4
#: The zone takes this part of a strip's width, in the middle.
ZONE = 0.7


class Brush(Struct, frozen=True):
    """A canvas with the left margin and the top of the body; one brush draws a page. ``inked`` keeps the colour that
    the page is being filled in, which is told to the file only where it changes."""

    canvas: Canvas
    left: float
    top: float
    inked: dict[str, str] = {}

    def text(self, run: Run, x: float, down: float) -> float:
        """Draw a run with its baseline ``down`` below the top; returns its right end."""
        return self.runs((run,), x, down)

    def runs(self, runs: Sequence[Run], x: float, down: float) -> float:
        """Draw runs one behind the other, as one text object of the file; returns the right end."""
        told = self.canvas.beginText(self.left + x, self.top - down)
        for run in runs:
            self._fill_in(told, run.colour)
            told.setFont(face(run.bold), run.size)
            told.textOut(run.text)
        self.canvas.drawText(told)
        for run in runs:
            end = x + run_width(run)
            if run.struck:
                self.line(x - 1, down - run.size * 0.27, end + 1, down - run.size * 0.27, "ink", 0.7)
            x = end
        return x

    def _fill_in(self, told: Canvas | PDFTextObject, colour: str) -> None:
        if self.inked.get("fill") != colour:
            told.setFillColor(ink(colour))
            self.inked["fill"] = colour

    def line(self, x1: float, down1: float, x2: float, down2: float, colour: str, width: float = HAIRLINE) -> None:
        """Draw a straight line."""
        self.canvas.setStrokeColor(ink(colour))
        self.canvas.setLineWidth(width)
        self.canvas.line(self.left + x1, self.top - down1, self.left + x2, self.top - down2)

    def box(self, x: float, down: float, width: float, height: float, colour: str, radius: float = 0) -> None:
        """Fill a box whose upper left corner is given."""
        self._fill_in(self.canvas, colour)
        left, low = self.left + x, self.top - down - height
        if radius:
            self.canvas.roundRect(left, low, width, height, radius, stroke=0, fill=1)
        else:
            self.canvas.rect(left, low, width, height, stroke=0, fill=1)

    def ring(self, x: float, down: float, width: float, height: float, colour: str) -> None:
        """Draw a box with round ends."""
        self.canvas.setStrokeColor(ink(colour))
        self.canvas.setLineWidth(0.8)
        radius = min(width, height, 16) / 2
        self.canvas.roundRect(self.left + x, self.top - down - height, width, height, radius, stroke=1, fill=0)

    def hatched(self, x: float, down: float, width: float, height: float) -> None:
        """Fill a box of a guard band: its ground, and lines over it that show in grey too."""
        canvas, left, low = self.canvas, self.left + x, self.top - down - height
        canvas.saveState()
        box = canvas.beginPath()
        box.rect(left, low, width, height)
        canvas.setFillColor(ink("guard"))
        canvas.clipPath(box, stroke=0, fill=1)
        canvas.translate(left, low)
        canvas.doForm(HATCH)
        canvas.restoreState()

    def diamond(self, x: float, down: float, reach: float, colour: str) -> None:
        """Fill a diamond about its middle."""
        path = self.canvas.beginPath()
        x, y = self.left + x, self.top - down
        path.moveTo(x, y + reach)
        for across, up in ((reach, 0), (0, -reach), (-reach, 0)):
            path.lineTo(x + across, y + up)
        path.close()
        self._fill_in(self.canvas, colour)
        self.canvas.drawPath(path, stroke=0, fill=1)


def ink(colour: str) -> Color:
    """A colour of the printed palette."""
    found = _INKS.get(colour)
    if found is None:
        found = _INKS[colour] = HexColor(palette()[colour])
    return found


_INKS: dict[str, Color] = {}


def define_hatch(canvas: Canvas) -> None:
    """Keep the lines of a guard band in the file, once for all strips: slanting lines over more than a strip's size."""
    canvas.beginForm(HATCH, 0, 0, HATCHED, HATCH_HEIGHT)
    canvas.setStrokeColor(ink("doubt"))
    canvas.setLineWidth(0.45)
    steps = int((HATCHED + HATCH_HEIGHT) / HATCH_STEP)
    starts = [step * HATCH_STEP - HATCH_HEIGHT for step in range(steps)]
    canvas.lines([(start, 0, start + HATCH_HEIGHT, HATCH_HEIGHT) for start in starts])
    canvas.endForm()


def draw_band(brush: Brush, band: Band, down: float) -> None:
    """Draw the cells of a band whose top lies ``down`` below the top of the body."""
    for cell in band.cells:
        at = down + band.pad
        for item in cell.items:
            draw(item, brush, cell, at)
            at += item.height


@singledispatch
def draw(item: object, brush: Brush, cell: Cell, down: float) -> None:
    """Draw an item of a cell, its top ``down`` below the top of the body."""
    raise TypeError(f"{type(item).__name__} cannot be drawn")


@draw.register
def _(item: TextLine, brush: Brush, cell: Cell, down: float) -> None:
    x = cell.left
    if item.centred:
        x += (cell.width - sum(map(run_width, item.runs))) / 2
    brush.runs(item.runs, x, down + item.height * BASELINE)


@draw.register
def _(item: Balloon, brush: Brush, cell: Cell, down: float) -> None:
    widest = max((measure(line, item.size, True) for line in item.lines), default=0)
    height = item.height - 1.5
    width = max(widest + 7, height)
    left = cell.left + (cell.width - width) / 2
    brush.ring(left, down - 1, width, height, "quiet")
    step = item.size * LEADING
    at = down - 1 + (height - step * len(item.lines)) / 2 + step * BASELINE
    for line in item.lines:
        brush.text(Run(line, item.size, bold=True), left + (width - measure(line, item.size, True)) / 2, at)
        at += step


@draw.register
def _(item: Strip, brush: Brush, cell: Cell, down: float) -> None:
    zone = cell.width * ZONE
    left = cell.left + (cell.width - zone) / 2
    top, bottom = down + 1, down + 11
    brush.box(left, top + 1, zone, 8, "zone")
    for low, high in _guards(item.guard):
        brush.hatched(left + zone * low, top + 1, zone * (high - low), 8)
    brush.line(left + zone / 2, top + 1, left + zone / 2, bottom - 1, "quiet", 0.3)
    for edge in (left, left + zone):
        brush.line(edge, top, edge, bottom, "ink", 0.9)
    for place in item.ticks:
        x = left + zone * _held(place)
        brush.line(x, top + 2, x, bottom - 2, "ink", 0.8)
    for place, colour in item.results:
        brush.diamond(left + zone * _held(place), (top + bottom) / 2, 3.2, colour)


def _guards(guard: float) -> tuple[tuple[float, float], ...]:
    """Where guard bands lie: about each limit, as far as the strip shows what lies outside."""
    if guard <= 0:
        return ()
    if guard >= 0.5:
        return ((_held(-guard), _held(1 + guard)),)
    return ((_held(-guard), guard), (1 - guard, _held(1 + guard)))


def _held(place: float) -> float:
    return min(max(place, -FARTHEST), 1 + FARTHEST)


@draw.register
def _(item: Beside, brush: Brush, cell: Cell, down: float) -> None:
    for left, stack in item.stacks:
        at = down
        for line in stack:
            draw(line, brush, Cell(cell.left + left, cell.width, ()), at)
            at += line.height
