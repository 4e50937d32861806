"""Cells of the crib's lists: plain text, and a state with its mark and the words beside it."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetrics, QFontMetricsF, QPainter
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from app.crib.model import DISPLAY, MARK
from app.parts.marks import color_of, paint_mark
from app.window.house import House
from app.window.theme import ROW


class RowCell(QStyledItemDelegate):
    """Text in the size of rows, whatever the style sheet gives to tables."""

    def __init__(self, house: House, parent: QWidget) -> None:
        super().__init__(parent)
        self._house = house

    def initStyleOption(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> None:
        super().initStyleOption(option, index)
        option.font = self._house.theme.font(ROW)
        option.fontMetrics = QFontMetrics(option.font)


class MarkedCell(QStyledItemDelegate):
    """Paints mark and words; the words take the mark's colour only beside its shape."""

    def __init__(self, house: House, parent: QWidget) -> None:
        super().__init__(parent)
        self._house = house

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        theme = self._house.theme
        rect = QRectF(option.rect)
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(rect, theme.color("row"))
        painter.fillRect(QRectF(rect.left(), rect.bottom() - 1, rect.width(), 1), theme.color("rule"))
        mark = index.data(MARK)
        paint_mark(painter, QPointF(rect.left() + theme.px(10), rect.center().y()), theme.px(11), mark, theme)
        words = rect.adjusted(theme.px(22), 0, -theme.px(4), 0)
        font = theme.font(ROW)
        painter.save()
        painter.setFont(font)
        painter.setPen(theme.color(color_of(mark)))
        text = QFontMetricsF(font).elidedText(index.data(DISPLAY), Qt.TextElideMode.ElideRight, words.width())
        painter.drawText(words, Qt.AlignmentFlag.AlignVCenter, text)
        painter.restore()
