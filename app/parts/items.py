"""Lists of sentences by key: each with its mark or its box to tick, what stands below it, and a word at its right."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QPointF,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFocusEvent, QFont, QFontMetricsF, QKeyEvent, QMouseEvent, QPainter, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from app.parts.marks import Mark, color_of, paint_mark
from app.parts.wrapped import wrapped
from app.window.theme import ROW, SMALL, Theme

Index = QModelIndex | QPersistentModelIndex

DISPLAY = int(Qt.ItemDataRole.DisplayRole)
ACCESSIBLE = int(Qt.ItemDataRole.AccessibleTextRole)
ITEM = int(Qt.ItemDataRole.UserRole)
#: In a list narrower than this, in logical pixels, the word at the right stands below the sentence.
BESIDE = 340
#: The least height of a list that gives way, in logical pixels.
LEAST = 64
#: A sentence is broken over as many lines as it needs; this is more than any has.
MOST_LINES = 40


class Item(NamedTuple):
    """One line: its sentence, what is told below it in small, a word at its right, its mark, whose place the box takes
    where there is something to tick (``ticked`` is not None)."""

    text: str
    mark: Mark | None = None
    told: tuple[str, ...] = ()
    side: str = ""
    ticked: bool | None = None

    def spoken(self) -> str:
        """The whole line, for whoever is read to."""
        return ", ".join(filter(None, (self.text, self.side, *self.told)))


class ItemsModel(QAbstractListModel):
    """Items that are handed over. It owns nothing."""

    def __init__(self, parent: Any = None) -> None:
        super().__init__(parent)
        self.items: Sequence[Item] = ()

    def show_items(self, items: Sequence[Item]) -> None:
        """Show these instead."""
        self.beginResetModel()
        self.items = items
        self.endResetModel()

    def change(self, row: int, item: Item) -> None:
        """One line is another one now."""
        self.items = (*self.items[:row], item, *self.items[row + 1 :])
        self.dataChanged.emit(self.index(row), self.index(row))

    def rowCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.items)

    def data(self, index: Index, role: int = DISPLAY) -> Any:
        if not index.isValid():
            return None
        item = self.items[index.row()]
        if role == ITEM:
            return item
        return item.spoken() if role in (DISPLAY, ACCESSIBLE) else None


class ItemCell(QStyledItemDelegate):
    """Paints one line, as high as its sentences need at the width there is."""

    def __init__(self, theme: Theme, view: ItemsView) -> None:
        super().__init__(view)
        self.theme, self._view = theme, view

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return QSize(self.theme.px(100), self.high(index.data(ITEM), self._view.viewport().width()))

    def high(self, item: Item, wide: int) -> int:
        """The height of a line where there is this width."""
        if self._view.one_line:
            return self.theme.px(30)
        step, small = QFontMetricsF(self.theme.font(ROW)).height(), QFontMetricsF(self.theme.font(SMALL)).height()
        high = len(self._text_lines(item, wide)) * step + len(self._told_lines(item, wide)) * small
        return round(high) + self.theme.px(12)

    def _left(self, item: Item) -> int:
        return self.theme.px(34 if item.mark is not None or item.ticked is not None else 10)

    def _side(self, item: Item, wide: int) -> float:
        """The width that the word at the right takes; 0 where it stands below."""
        if not item.side or (wide < self.theme.px(BESIDE) and not self._view.one_line):
            return 0
        return QFontMetricsF(self.theme.font(SMALL)).horizontalAdvance(item.side) + self.theme.px(10)

    def _text_lines(self, item: Item, wide: int) -> tuple[str, ...]:
        room = wide - self._left(item) - self.theme.px(10) - self._side(item, wide)
        return wrapped(item.text, self.theme.font(ROW), max(room, 40), MOST_LINES)

    def _told_lines(self, item: Item, wide: int) -> list[str]:
        room = max(wide - self._left(item) - self.theme.px(10), 40)
        below = (item.side, *item.told) if item.side and not self._side(item, wide) else item.told
        return [line for text in below for line in wrapped(text, self.theme.font(SMALL), room, MOST_LINES)]

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        theme, item = self.theme, index.data(ITEM)
        painter.save()
        rect = QRectF(option.rect)
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(rect, theme.color("row"))
            if self._view.hasFocus():
                painter.fillRect(QRectF(rect.left(), rect.top(), theme.px(3), rect.height()), theme.color("accent"))
        painter.fillRect(QRectF(rect.left(), rect.bottom() - 1, rect.width(), 1), theme.color("rule"))
        self._paint_sign(painter, rect, item)
        self._paint_words(painter, rect, item)
        painter.restore()

    def _paint_sign(self, painter: QPainter, rect: QRectF, item: Item) -> None:
        theme, px = self.theme, self.theme.px
        middle = rect.center().y() if self._view.one_line else rect.top() + px(17)
        centre = QPointF(rect.left() + px(18), middle)
        if item.ticked is not None:
            self._paint_box(painter, centre, ticked=item.ticked)
        elif item.mark is not None:
            paint_mark(painter, centre, px(12), item.mark, theme)

    def _paint_box(self, painter: QPainter, centre: QPointF, *, ticked: bool) -> None:
        half = self.theme.px(7)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(self.theme.color("edge"), max(1.2, half / 5)))
        painter.setBrush(self.theme.color("accent" if ticked else "field"))
        painter.drawRect(QRectF(centre.x() - half, centre.y() - half, 2 * half, 2 * half))
        if ticked:
            painter.setPen(QPen(self.theme.color("on_accent"), max(1.6, half / 3)))
            x, y = centre.x(), centre.y()
            points = (QPointF(x - half * 0.55, y), QPointF(x - half * 0.1, y + half * 0.45))
            painter.drawLine(*points)
            painter.drawLine(points[1], QPointF(x + half * 0.6, y - half * 0.5))

    def _paint_words(self, painter: QPainter, rect: QRectF, item: Item) -> None:
        theme, px, wide = self.theme, self.theme.px, int(rect.width())
        left, top = rect.left() + self._left(item), rect.top() + px(6)
        row, small = theme.font(ROW), theme.font(SMALL)
        lines = [item.text] if self._view.one_line else self._text_lines(item, wide)
        side = self._side(item, wide)
        room = wide - self._left(item) - px(10) - side
        top = self._paint_lines(painter, lines, row, "ink", QRectF(left, top, room, 0))
        if not self._view.one_line:
            told = self._told_lines(item, wide)
            self._paint_lines(painter, told, small, "quiet", QRectF(left, top, wide - self._left(item) - px(10), 0))
        if side:
            painter.setFont(small)
            painter.setPen(theme.color(color_of(item.mark) if item.mark is not None else "quiet"))
            high = QFontMetricsF(row).height()
            box = QRectF(rect.right() - side, rect.top() + px(6), side - px(8), high)
            painter.drawText(box, int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter), item.side)

    def _paint_lines(self, painter: QPainter, lines: Sequence[str], font: QFont, color: str, box: QRectF) -> float:
        """The lines from the top of ``box`` on; where they end."""
        painter.setFont(font)
        painter.setPen(self.theme.color(color))
        metrics, top = QFontMetricsF(font), box.top()
        for line in lines:
            shown = metrics.elidedText(line, Qt.TextElideMode.ElideRight, box.width() + 1)
            at = QRectF(box.left(), top, box.width() + 2, metrics.height())
            painter.drawText(at, int(Qt.AlignmentFlag.AlignVCenter), shown)
            top += metrics.height()
        return top


class ItemsView(QListView):
    """Arrows move; ``entered`` follows Enter, ``ticked`` Space where there is something to tick, ``moved`` another line
    at hand; each carries the row. ``one_line`` is for long lists: every line equally high."""

    entered = Signal(int)
    ticked = Signal(int)
    moved = Signal(int)

    def __init__(self, theme: Theme, name: str, parent: QWidget | None = None, *, one_line: bool = False) -> None:
        super().__init__(parent)
        self.one_line = one_line
        self._prefers = 0
        self.items_model = ItemsModel(self)
        self.setModel(self.items_model)
        self._cell = ItemCell(theme, self)
        self.setItemDelegate(self._cell)
        self.setAccessibleName(name)
        self.setUniformItemSizes(one_line)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.selectionModel().currentChanged.connect(self._current_changed)

    @property
    def items(self) -> Sequence[Item]:
        """What is shown."""
        return self.items_model.items

    def show_items(self, items: Sequence[Item], at: int = -1) -> None:
        """Show these lines, with the one ``at`` hand; -1: as far down as before."""
        row = max(self.row(), 0) if at < 0 else at
        if tuple(items) != tuple(self.items):
            self.items_model.show_items(tuple(items))
        self.go(row)

    def row(self) -> int:
        """The line at hand, -1 if there is none."""
        return self.currentIndex().row()

    def go(self, row: int) -> None:
        """Put the mark on a line, as near as there is one."""
        if self.items:
            self.setCurrentIndex(self.items_model.index(min(max(row, 0), len(self.items) - 1)))

    def fit(self, wide: int, most: int) -> None:
        """Be as high as the lines are at this width, up to ``most`` pixels, and less where there is no room."""
        self.prefer(min(max(sum(self._cell.high(item, wide) for item in self.items), 1), most))
        self.setMaximumHeight(self._prefers)

    def prefer(self, high: int) -> None:
        """Take this height where there is room for it."""
        self._prefers = high
        self.setMinimumHeight(min(high, self._cell.theme.px(LEAST)))
        self.updateGeometry()

    def sizeHint(self) -> QSize:
        hint = super().sizeHint()
        return QSize(hint.width(), self._prefers or hint.height())

    def move_by(self, key: Qt.Key) -> None:
        """Move as Up, Down or a page key does, whoever has the focus."""
        page = max(1, self.viewport().height() // max(1, self.sizeHintForRow(max(self.row(), 0))) - 1)
        step = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1, Qt.Key.Key_PageUp: -page, Qt.Key.Key_PageDown: page}[key]
        self.go(max(self.row(), 0) + step)

    def _current_changed(self, now: QModelIndex, _before: QModelIndex) -> None:
        self.moved.emit(now.row())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, row = event.key(), self.row()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and row >= 0 and not event.modifiers() & ~_KEYPAD:
            self.entered.emit(row)
        elif key == Qt.Key.Key_Space and row >= 0 and self.items[row].ticked is not None:
            self.ticked.emit(row)
        elif key == Qt.Key.Key_Escape or (event.text() and event.text().isprintable()):
            event.ignore()  # Esc is for whatever holds the list; letters look for nothing here
        else:
            super().keyPressEvent(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """As Enter."""
        super().mouseDoubleClickEvent(event)
        if self.row() >= 0:
            self.entered.emit(self.row())

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        if self.row() < 0:
            self.go(0)
        self.viewport().update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.viewport().update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if not self.one_line:
            self.scheduleDelayedItemsLayout()

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._cell.theme = theme
        self.scheduleDelayedItemsLayout()
        self.viewport().update()


_KEYPAD = Qt.KeyboardModifier.KeypadModifier
