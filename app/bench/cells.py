"""How the cells of the feature table are painted: balloon, requirement, zone strip, readings, mark and word."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem

from app.bench.line import Line, Taken
from app.bench.model import COLUMNS, LINE
from app.bench.table import SheetTable
from app.parts.balloon import paint_balloon
from app.parts.callout import callout_width, paint_callout
from app.parts.marks import color_of, paint_mark
from app.parts.wrapped import paint_wrapped, wrapped
from app.parts.zone import paint_zone
from app.window.house import House
from app.window.theme import ROW, SMALL, TEXT, Theme
from inspection.instruments.method import Fitness

_MIDDLE = Qt.AlignmentFlag.AlignVCenter
#: Set after an instrument that is marginal, as on the drawing board: "about".
MARGINAL_SIGN = "≈"


class RowCell(QStyledItemDelegate):
    """Paints every column of the table from the row's line."""

    def __init__(self, house: House, table: SheetTable) -> None:
        super().__init__(table)
        self._house, self._table = house, table
        self._painters = tuple(getattr(self, f"_{name}") for name in COLUMNS)

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        theme = self._house.theme
        rect = QRectF(option.rect)
        current = index.row() == self._table.current
        if current:
            painter.fillRect(rect, theme.color("row"))
        painter.fillRect(QRectF(rect.left(), rect.bottom(), rect.width(), 1), theme.color("rule"))
        painter.save()
        painter.setClipRect(rect)
        line: Line = index.data(LINE)
        self._painters[index.column()](painter, rect, line, theme, current)
        painter.restore()

    # --- one function a column --------------------------------------------------------------------------------------

    def _number(self, painter: QPainter, rect: QRectF, line: Line, theme: Theme, current: bool) -> None:
        if current:
            painter.fillRect(QRectF(rect.left(), rect.top(), theme.px(3), rect.height()), theme.color("accent"))
        centre = QPointF(rect.left() + rect.width() / 2 + theme.px(2), rect.center().y())
        paint_balloon(painter, centre, theme.px(24), line.number, theme, current=current)

    def _requirement(self, painter: QPainter, rect: QRectF, line: Line, theme: Theme, current: bool) -> None:
        box = rect.adjusted(theme.px(4), 0, -theme.px(6), 0)
        if line.follows:
            _words(painter, box.adjusted(theme.px(14), 0, 0, 0), line.place, theme, bold=current)
            return
        wide = {size: callout_width(line.requirement, theme, size, bold=current) for size in (ROW, TEXT)}
        if wide[TEXT] > box.width():
            _fill(painter, box, line.requirement, theme, "ink", bold=current)
            return
        size = ROW if wide[ROW] <= box.width() else TEXT
        paint_callout(painter, box, line.requirement, theme, size=size, bold=current)
        beside = line.place or line.name
        if beside and box.width() - wide[size] > theme.px(52):
            _fill(painter, box.adjusted(wide[size] + theme.px(14), 0, 0, 0), beside, theme, "quiet")

    def _limits(self, painter: QPainter, rect: QRectF, line: Line, theme: Theme, current: bool) -> None:
        _words(painter, rect.adjusted(theme.px(4), 0, -theme.px(4), 0), line.limits, theme, color="quiet")

    def _instrument(self, painter: QPainter, rect: QRectF, line: Line, theme: Theme, current: bool) -> None:
        box = rect.adjusted(theme.px(4), 0, -theme.px(6), 0)
        if line.fitness is None:
            _words(painter, box, line.instrument, theme, color="out", size=TEXT)
            return
        sign = f" {MARGINAL_SIGN}" if line.fitness is Fitness.MARGINAL else ""
        room = QFontMetricsF(theme.font(ROW, bold=True)).horizontalAdvance(sign)
        place = box.adjusted(0, 0, -room, 0)
        used = _instrument_words(painter, place, line.instruments, theme)
        if sign:
            _words(painter, box.adjusted(used, 0, 0, 0), sign, theme, color="doubt", bold=True)

    def _readings(self, painter: QPainter, rect: QRectF, line: Line, theme: Theme, current: bool) -> None:
        paint_readings(painter, rect.adjusted(theme.px(4), 0, -theme.px(6), 0), line.readings, theme)

    def _zone(self, painter: QPainter, rect: QRectF, line: Line, theme: Theme, current: bool) -> None:
        height = theme.px(20)
        strip = QRectF(rect.left(), rect.center().y() - height / 2, rect.width(), height)
        paint_zone(painter, strip, line.zone, theme)

    def _verdict(self, painter: QPainter, rect: QRectF, line: Line, theme: Theme, current: bool) -> None:
        paint_mark(painter, QPointF(rect.left() + theme.px(14), rect.center().y()), theme.px(12), line.mark, theme)
        color = line.look or color_of(line.mark)
        plain = color in ("good", "quiet")
        box = rect.adjusted(theme.px(28), 0, -theme.px(4), 0)
        _words(painter, box, line.verdict, theme, color="ink" if color == "good" else color, bold=not plain)

    def _note(self, painter: QPainter, rect: QRectF, line: Line, theme: Theme, current: bool) -> None:
        box = rect.adjusted(theme.px(4), 0, -theme.px(4), 0)
        _fill(painter, box, line.note, theme, "quiet")


def _fill(painter: QPainter, box: QRectF, text: str, theme: Theme, color: str, *, bold: bool = False) -> None:
    """Words on one line, or where there is no room for them on two lines in the small size."""
    if QFontMetricsF(theme.font(TEXT, bold=bold)).horizontalAdvance(text) <= box.width():
        _words(painter, box, text, theme, color=color, size=TEXT, bold=bold)
    else:
        paint_wrapped(painter, box, text, theme.font(SMALL, bold=bold), theme.color(color), 2)


def _instrument_words(painter: QPainter, box: QRectF, forms: tuple[str, ...], theme: Theme) -> float:
    """An instrument as told on one line, without its class if need be, else on two small lines; how wide it is."""
    metrics = QFontMetricsF(theme.font(TEXT))
    one_line = next((form for form in forms[:-1][:2] if metrics.horizontalAdvance(form) <= box.width()), "")
    if one_line:
        return _words(painter, box, one_line, theme, size=TEXT)
    small = theme.font(SMALL)
    form = next((form for form in forms if not wrapped(form, small, box.width(), 2)[-1].endswith("…")), forms[-1])
    lines = wrapped(form, small, box.width(), 2)
    paint_wrapped(painter, box, form, small, theme.color("ink"), 2)
    return max(QFontMetricsF(small).horizontalAdvance(line) for line in lines)


def _words(
    painter: QPainter,
    box: QRectF,
    text: str,
    theme: Theme,
    *,
    color: str = "ink",
    size: float = ROW,
    bold: bool = False,
) -> float:
    """Words from the left, too long ones ended by "…"; how wide they came out."""
    if not text:
        return 0.0
    font = theme.font(size, bold=bold)
    metrics = QFontMetricsF(font)
    for smaller in (TEXT, SMALL):
        if size > smaller and metrics.horizontalAdvance(text) > box.width():
            font = theme.font(smaller, bold=bold)
            metrics = QFontMetricsF(font)
    shown = metrics.elidedText(text, Qt.TextElideMode.ElideRight, box.width())
    painter.setFont(font)
    painter.setPen(theme.color(color))
    painter.drawText(box, _MIDDLE, shown)
    return metrics.horizontalAdvance(shown)


def paint_readings(painter: QPainter, box: QRectF, readings: tuple[Taken, ...], theme: Theme) -> None:
    """Readings from the left in the order taken; where there is no room for all, the last ones after "…". One that
    counts no longer is struck through and stays legible, an indication stands in brackets."""
    gap = theme.px(8)
    gaps = gap * (len(readings) - 1)
    size = next(
        (s for s in (ROW, TEXT) if sum(_reading_width(each, theme, s) for each in readings) + gaps <= box.width()),
        SMALL,
    )
    room, shown = box.width(), 0
    for each in reversed(readings):
        room -= _reading_width(each, theme, size) + (gap if shown else 0)
        if room < 0 and shown:
            break
        shown += 1
    x = box.left()
    if shown < len(readings):
        x += _words(painter, box, "…", theme, color="quiet", size=size)
    for each in readings[len(readings) - shown :]:
        x += _paint_reading(painter, QRectF(x, box.top(), box.right() - x, box.height()), each, theme, size) + gap


def _reading_text(each: Taken) -> str:
    return f"({each.text})" if each.indication else each.text


def _reading_width(each: Taken, theme: Theme, size: float) -> float:
    return QFontMetricsF(theme.font(size, bold=not each.struck)).horizontalAdvance(_reading_text(each))


def _paint_reading(painter: QPainter, box: QRectF, each: Taken, theme: Theme, size: float) -> float:
    quiet = each.struck or each.indication
    width = _words(
        painter, box, _reading_text(each), theme, color="quiet" if quiet else "ink", size=size, bold=not each.struck
    )
    if each.struck:
        painter.setPen(QPen(theme.color("quiet"), max(1, theme.px(1.2))))
        painter.drawLine(QPointF(box.left(), box.center().y()), QPointF(box.left() + width, box.center().y()))
    return width
