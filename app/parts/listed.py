"""Lists of lines: their cells, and a table that folds away the columns it has no room for."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetrics, QFontMetricsF, QPainter, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from app.parts.marks import color_of, paint_mark
from app.parts.wrapped import paint_wrapped
from app.window.house import House
from app.window.theme import ROW, SMALL, Theme
from inspection.words.say import word

#: Roles as plain ints: comparing enums costs more than all else in ``data``.
DISPLAY = int(Qt.ItemDataRole.DisplayRole)
ACCESSIBLE = int(Qt.ItemDataRole.AccessibleTextRole)
TIP = int(Qt.ItemDataRole.ToolTipRole)
MARK = int(Qt.ItemDataRole.UserRole)

Index = QModelIndex | QPersistentModelIndex


class LinesModel(QAbstractTableModel):
    """Lines in ``columns``, as they are handed in; the head of a column is the word ``<heads>.<column>``."""

    def __init__(self, columns: tuple[str, ...], heads: str, parent: Any = None) -> None:
        super().__init__(parent)
        self.columns, self._heads = columns, heads
        self.lines: tuple[Any, ...] = ()

    def show_lines(self, lines: tuple[Any, ...]) -> None:
        """Show these lines instead."""
        self.beginResetModel()
        self.lines = lines
        self.endResetModel()

    def rowCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.lines)

    def columnCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.columns)

    def head(self, column: str) -> str:
        """The head of a column."""
        return word(f"{self._heads}.{column}")

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = DISPLAY) -> Any:
        if role == DISPLAY and orientation is Qt.Orientation.Horizontal:
            return self.head(self.columns[section])
        return None


class RowCell(QStyledItemDelegate):
    """Text in the size of rows, whatever the style sheet gives to tables."""

    def __init__(self, house: House, parent: QWidget) -> None:
        super().__init__(parent)
        self._house = house

    def initStyleOption(self, option: QStyleOptionViewItem, index: Index) -> None:
        super().initStyleOption(option, index)
        option.font = self._house.theme.font(ROW)
        option.fontMetrics = QFontMetrics(option.font)


class WrappedCell(RowCell):
    """Text that takes two lines in small where one does not hold it."""

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        theme, rect = self._house.theme, QRectF(option.rect)
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(rect, theme.color("row"))
        painter.fillRect(QRectF(rect.left(), rect.bottom() - 1, rect.width(), 1), theme.color("rule"))
        text, words = index.data(DISPLAY), rect.adjusted(theme.px(4), 0, -theme.px(4), 0)
        whole = QFontMetricsF(theme.font(ROW)).horizontalAdvance(text) <= words.width()
        painter.save()
        font = theme.font(ROW if whole else SMALL)
        paint_wrapped(painter, words, text, font, theme.color("ink"), 1 if whole else 2)
        painter.restore()


class MarkedCell(RowCell):
    """Paints mark and words; the words take the mark's colour only beside its shape, and two lines where one does not
    hold them."""

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        theme = self._house.theme
        rect = QRectF(option.rect)
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(rect, theme.color("row"))
        painter.fillRect(QRectF(rect.left(), rect.bottom() - 1, rect.width(), 1), theme.color("rule"))
        mark = index.data(MARK)
        paint_mark(painter, QPointF(rect.left() + theme.px(10), rect.center().y()), theme.px(11), mark, theme)
        words = rect.adjusted(theme.px(22), 0, -theme.px(4), 0)
        text = index.data(DISPLAY)
        whole = QFontMetricsF(theme.font(ROW)).horizontalAdvance(text) <= words.width()
        font = theme.font(ROW if whole else SMALL)
        painter.save()
        paint_wrapped(painter, words, text, font, theme.color(color_of(mark)), 1 if whole else 2)
        painter.restore()


class ListTable(QTableView):
    """A list of lines (``model.lines``), one of them chosen, moved through by key.

    ``columns`` names them in the model's order; ``stretched`` takes what is left, ``marked`` shows the mark (empty:
    none does). ``folded`` are those that give way where the list is narrow, the least needed first, and ``least`` is
    what the stretched one needs, in logical pixels.
    """

    def __init__(
        self,
        house: House,
        model: QAbstractTableModel,
        columns: tuple[str, ...],
        *,
        stretched: str,
        marked: str,
        least: int,
        folded: tuple[str, ...],
        name: str,
        parent: QWidget,
    ) -> None:
        super().__init__(parent)
        self._theme = house.theme
        self._columns, self._stretched, self._least, self._folded = columns, stretched, least, folded
        self._listed: Any = model
        self.setModel(model)
        self.setAccessibleName(name)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)  # Tab leaves the table
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        heads = self.horizontalHeader()
        heads.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        heads.setHighlightSections(False)
        heads.setSectionResizeMode(columns.index(stretched), QHeaderView.ResizeMode.Stretch)
        self.setItemDelegate(RowCell(house, self))
        if marked:
            self.setItemDelegateForColumn(columns.index(marked), MarkedCell(house, self))

    def line(self) -> Any:
        """The line that is chosen, None if there is none."""
        row, lines = self.currentIndex().row(), self._listed.lines
        return lines[row] if 0 <= row < len(lines) else None

    def move_by(self, key: Qt.Key) -> None:
        """Move as Up, Down or a page key does, whoever has the focus."""
        page = max(1, self.viewport().height() // max(1, self.verticalHeader().defaultSectionSize()) - 1)
        step = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1, Qt.Key.Key_PageUp: -page, Qt.Key.Key_PageDown: page}[key]
        if self._listed.lines:
            row = self.currentIndex().row() + step
            self.selectRow(min(max(row, 0), len(self._listed.lines) - 1))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.fold()

    def widths(self) -> dict[str, int]:
        """The widths of the columns that there may be, but the stretched one, in pixels; for whoever builds on this."""
        raise NotImplementedError

    def least(self) -> int:
        """What the stretched column needs at least, in pixels."""
        return self._theme.px(self._least)

    def fold(self) -> frozenset[str]:
        """Hide the columns that there is no room for, and give the others theirs; those that are shown."""
        left = self.width() - self.verticalScrollBar().sizeHint().width() - self.least()
        widths = self.widths()
        for name in self._folded:
            if name in widths and sum(widths.values()) > left:
                del widths[name]
        for place, name in enumerate(self._columns):
            self.setColumnHidden(place, name != self._stretched and name not in widths)
            if name in widths:
                self.setColumnWidth(place, widths[name])
        return frozenset((*widths, self._stretched))

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._theme = theme
        self.verticalHeader().setDefaultSectionSize(theme.px(34))
        self.fold()
