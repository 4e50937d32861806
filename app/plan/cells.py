"""How the cells of the plan's table are painted: balloon, requirement, what it reads as, and what is at fault."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem

from app.parts.balloon import paint_balloon
from app.parts.callout import callout_width, paint_callout
from app.plan.columns import COLUMNS, NUMBER, READ_BACK, REQUIREMENT
from app.plan.model import LINE, text_of
from app.plan.table import HEAD_HIGH, PlanTable
from app.plan.told import Line
from app.window.house import House
from app.window.theme import ROW, SMALL, TEXT, Theme
from inspection.words.say import word

_MIDDLE = Qt.AlignmentFlag.AlignVCenter
#: Stands before what is wrong with a row.
WRONG = "✕"


class PlanCell(QStyledItemDelegate):
    """Paints every column from the row's line."""

    def __init__(self, house: House, table: PlanTable) -> None:
        super().__init__(table)
        self._house, self._table = house, table

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        theme, column = self._house.theme, index.column()
        whole = QRectF(option.rect)
        line: Line = index.data(LINE)
        rect = self._below_head(whole, line, theme)
        here = index.row() == self._table.at.row
        painter.save()
        painter.setClipRect(whole)
        if self._table.chosen(index.row(), column) or here:
            painter.fillRect(rect, theme.color("row"))
        painter.fillRect(QRectF(rect.left(), rect.bottom() - 1, rect.width(), 1), theme.color("rule"))
        if column == NUMBER:
            self._number(painter, rect, line, theme, here)
        elif column == READ_BACK:
            self._reads(painter, rect, line, theme)
        else:
            self._text(painter, rect, line, column, theme, here)
        self._frame(painter, rect, index.row(), column, theme)
        painter.restore()
        if line.head is not None and column == NUMBER:
            self._head(painter, whole, line.head, theme)

    def _below_head(self, rect: QRectF, line: Line, theme: Theme) -> QRectF:
        return rect if line.head is None else rect.adjusted(0, theme.px(HEAD_HIGH), 0, 0)

    def _head(self, painter: QPainter, rect: QRectF, head: str, theme: Theme) -> None:
        """The set-up over its rows, across the whole table."""
        wide = QRectF(rect.left() + theme.px(4), rect.top(), self._table.viewport().width(), theme.px(HEAD_HIGH))
        painter.setFont(theme.font(TEXT, bold=True))
        painter.setPen(theme.color("ink" if head else "quiet"))
        bottom = wide.adjusted(0, 0, 0, -theme.px(4))
        painter.drawText(bottom, Qt.AlignmentFlag.AlignBottom, head or word("plan.no_set_up"))
        painter.fillRect(QRectF(rect.left(), wide.bottom() - 1, wide.width(), 1), theme.color("edge"))

    def _number(self, painter: QPainter, rect: QRectF, line: Line, theme: Theme, here: bool) -> None:
        if here:
            painter.fillRect(QRectF(rect.left(), rect.top(), theme.px(3), rect.height()), theme.color("accent"))
        number = line.row.text("number").strip()
        if number:
            centre = QPointF(rect.center().x(), rect.center().y())
            paint_balloon(painter, centre, min(theme.px(24), rect.height() - 2), number, theme, current=here)
        if "number" in line.faults:
            self._mark(painter, rect, theme)

    def _reads(self, painter: QPainter, rect: QRectF, line: Line, theme: Theme) -> None:
        box = rect.adjusted(theme.px(4), 0, -theme.px(6), 0)
        if line.faults:
            _words(painter, box, f"{WRONG} {next(iter(line.faults.values()))}", theme, color="out", size=TEXT)
        else:
            _words(painter, box, line.reads, theme, color="quiet")

    def _text(self, painter: QPainter, rect: QRectF, line: Line, column: int, theme: Theme, here: bool) -> None:
        name = COLUMNS[column]
        box = rect.adjusted(theme.px(4), 0, -theme.px(6), 0)
        wrong = name in line.faults
        text = " ".join(text_of(line, name).split())
        if column == REQUIREMENT and text and not wrong:
            size = ROW if callout_width(text, theme, bold=here) <= box.width() else TEXT
            paint_callout(painter, box, text, theme, size=size, bold=here)
        else:
            color = "out" if wrong else "ink" if column <= READ_BACK else "quiet"
            _words(painter, box, text, theme, color=color, size=ROW if column == REQUIREMENT else TEXT, bold=wrong)
        if wrong:
            self._mark(painter, rect, theme)

    def _mark(self, painter: QPainter, rect: QRectF, theme: Theme) -> None:
        """A cell at fault is underlined, so that colour is not the only sign."""
        pen = QPen(theme.color("out"), max(2, theme.px(2)), Qt.PenStyle.DotLine)
        painter.setPen(pen)
        low = rect.bottom() - theme.px(3)
        painter.drawLine(QPointF(rect.left() + theme.px(5), low), QPointF(rect.right() - theme.px(5), low))

    def _frame(self, painter: QPainter, rect: QRectF, place: int, column: int, theme: Theme) -> None:
        """The cell at hand has a frame, and what is chosen around it a wash."""
        if self._table.chosen(place, column) and self._table.several:
            wash = theme.color("accent")
            painter.setOpacity(0.14)
            painter.fillRect(rect, wash)
            painter.setOpacity(1)
        if (place, column) == self._table.at and self._table.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(theme.color("accent"), max(2, theme.px(2)), j=Qt.PenJoinStyle.MiterJoin))
            painter.drawRect(rect.adjusted(1, 1, -1, -1))


def _words(
    painter: QPainter,
    box: QRectF,
    text: str,
    theme: Theme,
    *,
    color: str = "ink",
    size: float = ROW,
    bold: bool = False,
) -> None:
    """Words from the left, too long ones smaller, then ended by "…"."""
    if not text:
        return
    font = theme.font(size, bold=bold)
    metrics = QFontMetricsF(font)
    for smaller in (TEXT, SMALL):
        if metrics.horizontalAdvance(text) <= box.width() or smaller >= size:
            break
        font = theme.font(smaller, bold=bold)
        metrics = QFontMetricsF(font)
    painter.setFont(font)
    painter.setPen(theme.color(color))
    painter.drawText(box, _MIDDLE, metrics.elidedText(text, Qt.TextElideMode.ElideRight, box.width()))
