"""The workbook that goes out, cell by cell, on the white that the one who opens it sees."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTabBar,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from app.desk.grid import Grid, Shown
from app.desk.lying import CellsWithDrawn
from app.window.house import House
from app.window.theme import SMALL, TEXT, Theme
from inspection.layout.cell_names import letters
from inspection.words.say import word

Index = QModelIndex | QPersistentModelIndex

DISPLAY = int(Qt.ItemDataRole.DisplayRole)
ACCESSIBLE = int(Qt.ItemDataRole.AccessibleTextRole)
CELL = int(Qt.ItemDataRole.UserRole)
NOTHING = Shown("")

#: Logical pixels of a character's width and of a cell's margins, at the usual size of a workbook's text; of a point.
CHARACTER, MARGINS, POINT = 7.0, 5.0, 4 / 3
#: Ten points, the size of the workbook's text, in logical pixels.
CELL_TEXT = 13
PAPER, LINE, BOXED = "#ffffff", "#d9d4c8", "#8b8f93"
#: Over the ground of a cell that a value goes to.
MARKED = QColor(0, 114, 178, 34)


class GridModel(QAbstractTableModel):
    """One sheet of the workbook. It owns no data: it is handed a grid."""

    def __init__(self, parent: Any = None) -> None:
        super().__init__(parent)
        self.grid = Grid("", (), (), ())

    def show_grid(self, grid: Grid) -> None:
        """Show another sheet."""
        self.beginResetModel()
        self.grid = grid
        self.endResetModel()

    def rowCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.grid.rows)

    def columnCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.grid.widths)

    def data(self, index: Index, role: int = DISPLAY) -> Any:
        if not index.isValid():
            return None
        if role in (DISPLAY, ACCESSIBLE):
            return self._cell(index).text
        return self._cell(index) if role == CELL else None

    def _cell(self, index: Index) -> Shown:
        row = self.grid.rows[index.row()]
        return row[index.column()] if index.column() < len(row) else NOTHING

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = DISPLAY) -> Any:
        if role != DISPLAY:
            return None
        return letters(section + 1) if orientation is Qt.Orientation.Horizontal else str(section + 1)


class PaperCell(QStyledItemDelegate):
    """Paints a cell in the file's own look."""

    def __init__(self, house: House, parent: QWidget) -> None:
        super().__init__(parent)
        self._house = house

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        cell, theme = index.data(CELL), self._house.theme
        painter.save()
        rect = QRectF(option.rect)
        painter.fillRect(rect, QColor(cell.ground or PAPER))
        if cell.mark:
            painter.fillRect(rect, MARKED)
        painter.setPen(QColor(BOXED if cell.boxed else LINE))
        edge = rect.adjusted(0, 0, -1, -1)  # within the cell, or the next one's ground covers it
        painter.drawLine(edge.bottomLeft(), edge.bottomRight())
        painter.drawLine(edge.topRight(), edge.bottomRight())
        font = QFont(theme.font(CELL_TEXT, bold=cell.bold))
        font.setStrikeOut(cell.struck)
        painter.setFont(font)
        painter.setPen(QColor(cell.ink or "#000000"))
        inner = rect.adjusted(theme.px(3), theme.px(1), -theme.px(6 if cell.number else 3), 0)
        painter.setClipRect(rect)
        aligned = Qt.AlignmentFlag.AlignRight if cell.number else Qt.AlignmentFlag.AlignLeft
        wrapped = int(Qt.TextFlag.TextWordWrap) if cell.wrapped else 0
        text, wide = cell.text, painter.fontMetrics().horizontalAdvance(cell.text)
        if cell.number and wide > inner.width():
            text = "#" * max(1, int(inner.width() / painter.fontMetrics().horizontalAdvance("#")))
        painter.save()
        if cell.turned:
            inner = self._turn(painter, rect, cell.turned)
        painter.drawText(inner, int(aligned | Qt.AlignmentFlag.AlignTop) | wrapped, text)
        painter.restore()
        view = option.widget
        if not cell.text and isinstance(view, QTableView):
            self._continue(painter, view, rect, index)
        painter.restore()
        if option.state & QStyle.StateFlag.State_Selected and isinstance(view, QWidget) and view.hasFocus():
            painter.setPen(QColor("#0072b2"))
            painter.drawRect(rect.adjusted(0, 0, -1, -1))

    def _turn(self, painter: QPainter, rect: QRectF, turned: int) -> QRectF:
        """Turn the painter for a text that runs upwards (1) or downwards (-1); the room that it has there."""
        painter.translate(rect.bottomLeft() if turned > 0 else rect.topRight())
        painter.rotate(-90 * turned)
        margin = self._house.theme.px(3)
        return QRectF(margin, self._house.theme.px(1), rect.height() - 2 * margin, rect.width())

    def _continue(self, painter: QPainter, view: QTableView, rect: QRectF, index: Index) -> None:
        """In an empty cell paint what a text at its left goes over into it, as every spreadsheet program does."""
        theme, model = self._house.theme, index.model()
        for column in range(index.column() - 1, -1, -1):
            at = model.index(index.row(), column)
            cell: Shown = at.data(CELL)
            if cell.text:
                left = view.columnViewportPosition(column) + theme.px(3)
                painter.setFont(QFont(theme.font(CELL_TEXT, bold=cell.bold)))
                ends = left + painter.fontMetrics().horizontalAdvance(cell.text)
                alone = view.columnSpan(index.row(), column) == 1 == view.rowSpan(index.row(), column)
                if alone and not cell.number and not cell.wrapped and not cell.turned and ends > rect.left():
                    painter.setPen(QColor(cell.ink or "#000000"))
                    inner = QRectF(left, rect.top() + theme.px(1), ends - left + 1, rect.height())
                    painter.drawText(inner, int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop), cell.text)
                return


class WorkbookFace(QWidget):
    """Tabs of the workbook's sheets below the cells, as where it is opened; nothing in it can be changed."""

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.house = house
        self.grids: tuple[Grid, ...] = ()
        self.model = GridModel(self)
        self.table = self._make_table()
        self.tabs = QTabBar(self)
        self.tabs.setAccessibleName(word("desk.tabs"))
        self.tabs.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.tabs.setDrawBase(False)
        self.tabs.setExpanding(False)
        self.tabs.currentChanged.connect(self._show_tab)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.table, 1)
        layout.addWidget(self.tabs)
        self.setFocusProxy(self.table)

    def _make_table(self) -> CellsWithDrawn:
        table = CellsWithDrawn(self.house, self)
        table.setObjectName("workbook")
        table.setModel(self.model)
        table.setAccessibleName(word("desk.face.workbook"))
        table.setItemDelegate(PaperCell(self.house, table))
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setTabKeyNavigation(False)
        table.setShowGrid(False)
        for scroll in (table.setHorizontalScrollMode, table.setVerticalScrollMode):
            scroll(QAbstractItemView.ScrollMode.ScrollPerPixel)
        for header in (table.horizontalHeader(), table.verticalHeader()):
            header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
            header.setHighlightSections(False)
            header.setSectionsClickable(False)
            header.setMinimumSectionSize(1)
        table.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignCenter)
        table.verticalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignCenter)
        return table

    def show_grids(self, grids: tuple[Grid, ...]) -> None:
        """Show another workbook; the tab at hand is kept where there is one of its number."""
        at = max(0, self.tabs.currentIndex())
        self.grids = grids
        self.tabs.blockSignals(True)
        while self.tabs.count():
            self.tabs.removeTab(0)
        for grid in grids:
            self.tabs.addTab(grid.name)
        self.tabs.setCurrentIndex(min(at, len(grids) - 1))
        self.tabs.blockSignals(False)
        self._show_tab(self.tabs.currentIndex())

    def _show_tab(self, tab: int) -> None:
        grid = self.grids[tab] if 0 <= tab < len(self.grids) else Grid("", (), (), ())
        self.table.clearSpans()
        self.model.show_grid(grid)
        for row, column, high, wide in grid.merged:
            self.table.setSpan(row, column, high, wide)
        self._size()
        self.table.show_drawn(grid.drawn)
        if grid.rows:
            self.table.setCurrentIndex(self.model.index(0, 0))

    def _size(self) -> None:
        theme, grid = self.house.theme, self.model.grid
        for column, width in enumerate(grid.widths):
            self.table.setColumnWidth(column, theme.px(width * CHARACTER + MARGINS))
        self.table.verticalHeader().setDefaultSectionSize(theme.px(22))
        for row, height in enumerate(grid.heights):
            if height * POINT > 22:
                self.table.setRowHeight(row, theme.px(height * POINT))

    def turn(self, by: int) -> None:
        """To another sheet of the workbook."""
        if self.grids:
            self.tabs.setCurrentIndex((self.tabs.currentIndex() + by) % len(self.grids))

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self.table.setFont(theme.font(TEXT))
        self.table.horizontalHeader().setFont(theme.font(SMALL))
        self._size()
