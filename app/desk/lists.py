"""The two lists of the Desk's left side: sheets to choose from, and what a sheet lacks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QAbstractListModel, QModelIndex, QPersistentModelIndex, QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QFontMetricsF, QPainter, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from app.parts.marks import Mark, paint_mark
from app.window.house import House
from app.window.theme import ROW, SMALL, TEXT
from inspection.words.say import word

Index = QModelIndex | QPersistentModelIndex

#: Roles as plain ints: comparing enums costs more than all else in ``data``.
DISPLAY = int(Qt.ItemDataRole.DisplayRole)
ACCESSIBLE = int(Qt.ItemDataRole.AccessibleTextRole)
ITEM = int(Qt.ItemDataRole.UserRole)
HEADING = 26
_HEADINGS = {True: "desk.lacking.stops", False: "desk.lacking.minds"}
WRAP = int(Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignTop)


class ItemsModel(QAbstractListModel):
    """Items that are handed over, each a tuple whose ``title`` or first text is read aloud. It owns nothing."""

    def __init__(self, parent: Any = None) -> None:
        super().__init__(parent)
        self.items: Sequence[Any] = ()

    def show_items(self, items: Sequence[Any]) -> None:
        """Show these instead."""
        self.beginResetModel()
        self.items = items
        self.endResetModel()

    def rowCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.items)

    def data(self, index: Index, role: int = DISPLAY) -> Any:
        if not index.isValid():
            return None
        item = self.items[index.row()]
        if role == ITEM:
            return item
        return item.spoken() if role in (DISPLAY, ACCESSIBLE) else None


class ItemsView(QListView):
    """A list by key: arrows move, Enter chooses; what does not fit is wrapped anew at each width."""

    def __init__(self, model: ItemsModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setModel(model)
        self.items = model
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)

    def chosen(self) -> Any:
        """The item at hand, None if there is none."""
        row = self.currentIndex().row()
        return self.items.items[row] if 0 <= row < len(self.items.items) else None

    def go(self, row: int) -> None:
        """Put the mark on a row, as near as there is one."""
        last = len(self.items.items) - 1
        if last >= 0:
            self.setCurrentIndex(self.items.index(min(max(row, 0), last)))

    def step(self, by: int) -> None:
        """Move by some rows."""
        self.go(self.currentIndex().row() + by)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.scheduleDelayedItemsLayout()


def _ground(painter: QPainter, option: QStyleOptionViewItem, house: House) -> QRectF:
    """The ground of one item: chosen, focused or plain, a hairline below."""
    theme, rect = house.theme, QRectF(option.rect)
    if option.state & QStyle.StateFlag.State_Selected:
        painter.fillRect(rect, theme.color("row"))
        view = option.widget
        if isinstance(view, QWidget) and view.hasFocus():
            painter.fillRect(QRectF(rect.left(), rect.top(), theme.px(3), rect.height()), theme.color("accent"))
    painter.fillRect(QRectF(rect.left(), rect.bottom() - 1, rect.width(), 1), theme.color("rule"))
    return rect


class FoundCell(QStyledItemDelegate):
    """One sheet in two lines: part and state, then pieces, customer and day."""

    def __init__(self, house: House, parent: QWidget) -> None:
        super().__init__(parent)
        self._house = house

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return QSize(self._house.theme.px(100), self._house.theme.px(50))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        theme, item = self._house.theme, index.data(ITEM)
        painter.save()
        rect = _ground(painter, option, self._house)
        mark = Mark(item.mark)
        paint_mark(painter, QPointF(rect.left() + theme.px(18), rect.top() + theme.px(17)), theme.px(10), mark, theme)
        inner = rect.adjusted(theme.px(34), theme.px(6), -theme.px(8), -theme.px(6))
        small = QFontMetricsF(theme.font(SMALL))
        state = small.horizontalAdvance(item.state)
        self._line(painter, inner.adjusted(0, 0, -state - theme.px(8), 0), item.title, ROW, "ink", bold=True)
        painter.setFont(theme.font(SMALL))
        painter.setPen(theme.color("quiet"))
        painter.drawText(inner.adjusted(0, theme.px(3), 0, 0), Qt.AlignmentFlag.AlignRight, item.state)
        self._line(painter, inner.adjusted(0, theme.px(22), 0, 0), item.below, SMALL, "quiet")
        painter.restore()

    def _line(self, painter: QPainter, box: QRectF, text: str, size: int, color: str, *, bold: bool = False) -> None:
        font = self._house.theme.font(size, bold=bold)
        painter.setFont(font)
        painter.setPen(self._house.theme.color(color))
        shown = QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideRight, box.width())
        painter.drawText(box, Qt.AlignmentFlag.AlignTop, shown)


class LackCell(QStyledItemDelegate):
    """One thing that is missing: a mark for what stops, and the sentence whole over as many lines as it needs; above
    the first that stops the sheet, and the first that does not, a heading says so."""

    def __init__(self, house: House, parent: QWidget) -> None:
        super().__init__(parent)
        self._house = house

    def _inner(self, rect: QRect) -> QRect:
        px = self._house.theme.px
        return rect.adjusted(px(34), px(7), -px(8), -px(7))

    def _heading(self, index: Index) -> int:
        """The height of the heading above an item, 0 where it has none."""
        row, model = index.row(), index.model()
        first = row == 0 or index.data(ITEM).stops != model.index(row - 1, 0).data(ITEM).stops
        return self._house.theme.px(HEADING) if first else 0

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        view = self.parent()
        width = view.viewport().width() if isinstance(view, QListView) else option.rect.width()
        inner = self._inner(QRect(0, 0, width, 9999))
        metrics = QFontMetrics(self._house.theme.font(TEXT))
        needed = metrics.boundingRect(QRect(0, 0, inner.width(), 9999), WRAP, index.data(ITEM).text)
        return QSize(width, needed.height() + 2 * self._house.theme.px(7) + self._heading(index))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        theme, item, heading = self._house.theme, index.data(ITEM), self._heading(index)
        painter.save()
        if heading:
            box = QRect(option.rect).adjusted(theme.px(8), 0, 0, -theme.px(3))
            box.setHeight(heading - theme.px(3))
            painter.setFont(theme.font(SMALL, bold=True))
            painter.setPen(theme.color("out" if item.stops else "quiet"))
            painter.drawText(box, int(Qt.AlignmentFlag.AlignBottom), word(_HEADINGS[item.stops]))
        option.rect = QRect(option.rect).adjusted(0, heading, 0, 0)
        rect = _ground(painter, option, self._house)
        mark = Mark.OUT if item.stops else Mark.OPEN
        paint_mark(painter, QPointF(rect.left() + theme.px(18), rect.top() + theme.px(16)), theme.px(10), mark, theme)
        painter.setFont(theme.font(TEXT))
        painter.setPen(theme.color("ink"))
        painter.drawText(self._inner(option.rect), WRAP, item.text)
        painter.restore()
