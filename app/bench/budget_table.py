"""A budget as a table: part, estimate, distribution, divisor, u, sensitivity, ν, contribution, and share as a bar."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from app.bench.why_told import COLUMNS, cells_of
from app.parts.wrapped import paint_wrapped, wrapped
from app.window.theme import TEXT, Theme
from inspection.sheet.report import Budget
from inspection.words.say import word

Index = QModelIndex | QPersistentModelIndex
_DISPLAY, _ACCESSIBLE = int(Qt.ItemDataRole.DisplayRole), int(Qt.ItemDataRole.AccessibleTextRole)
#: Columns that are words, stand at the left and are broken; all others are numbers at the right.
WORDS = ("what", "estimate", "distribution")
#: What is left out first where there is no room; the text that is copied holds all.
LEFT_OUT = ("distribution", "divisor", "freedom", "sensitivity", "estimate")
#: Least widths of the columns of words, and of the bar beside a share, in logical pixels.
LEAST, BAR = {"what": 210, "estimate": 150, "distribution": 96}, 64
#: Logical pixels beside a cell's text, and before that of a head; lines that words may take.
_PAD, _HEAD, _LINES = 8, 3, 3


class BudgetModel(QAbstractTableModel):
    """The lines of one budget."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.cells: tuple[tuple[str, ...], ...] = ()
        self.shares: tuple[int, ...] = ()

    def show_budget(self, budget: Budget | None) -> None:
        """Show another budget, None for none."""
        self.beginResetModel()
        lines = budget.lines if budget is not None else ()
        self.cells = tuple(cells_of(line, budget) for line in lines if budget is not None)
        self.shares = tuple(int(line.share) for line in lines)
        self.endResetModel()

    def rowCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.cells)

    def columnCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(COLUMNS)

    def data(self, index: Index, role: int = _DISPLAY) -> Any:
        if not index.isValid() or role not in (_DISPLAY, _ACCESSIBLE):
            return None
        text = self.cells[index.row()][index.column()]
        return text if role == _DISPLAY else f"{_head(index.column())}: {text}"

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _DISPLAY) -> Any:
        if role == int(Qt.ItemDataRole.TextAlignmentRole) and orientation is Qt.Orientation.Horizontal:
            side = Qt.AlignmentFlag.AlignLeft if COLUMNS[section] in WORDS else Qt.AlignmentFlag.AlignRight
            return int(side | Qt.AlignmentFlag.AlignVCenter)
        if role != _DISPLAY or orientation is not Qt.Orientation.Horizontal:
            return None
        return _head(section)


def _head(column: int) -> str:
    return word(f"help.column.{COLUMNS[column]}")


class BudgetCell(QStyledItemDelegate):
    """Words broken in their column, numbers at the right, and a bar before a share."""

    def __init__(self, theme: Theme, table: BudgetTable) -> None:
        super().__init__(table)
        self._theme, self._table = theme, table

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        theme, name = self._theme, COLUMNS[index.column()]
        rect = QRectF(option.rect)
        painter.save()
        if index.row() == self._table.currentIndex().row() and self._table.hasFocus():
            painter.fillRect(rect, theme.color("row"))
        painter.fillRect(QRectF(rect.left(), rect.bottom(), rect.width(), 1), theme.color("rule"))
        box = rect.adjusted(theme.px(_HEAD if name in WORDS else _PAD), 0, -theme.px(_PAD), 0)
        text = str(index.data())
        if name == "share":
            box = self._paint_bar(painter, box, self._table.model_of.shares[index.row()])
        if name in WORDS:
            color = theme.color("ink" if name == "what" else "quiet")
            paint_wrapped(painter, box, text, theme.font(TEXT), color, _LINES)
        else:
            painter.setFont(theme.font(TEXT, bold=name == "share"))
            painter.setPen(theme.color("ink"))
            painter.drawText(box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, text)
        painter.restore()

    def _paint_bar(self, painter: QPainter, box: QRectF, share: int) -> QRectF:
        """The share of the whole as the length of a bar; where the number then stands."""
        theme = self._theme
        whole = QRectF(box.left(), box.center().y() - theme.px(4), theme.px(BAR), theme.px(8))
        painter.fillRect(whole, theme.color("band"))
        painter.fillRect(
            QRectF(whole.left(), whole.top(), whole.width() * share / 100, whole.height()), theme.color("accent")
        )
        return box.adjusted(theme.px(BAR), 0, 0, 0)


class BudgetTable(QTableView):
    """As many columns as have room; the words share what the numbers leave."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self.model_of = theme, BudgetModel(self)
        self.setModel(self.model_of)
        self.setAccessibleName(word("bench.budget.table"))
        self.setItemDelegate(BudgetCell(theme, self))
        self.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.horizontalHeader().setHighlightSections(False)
        self.horizontalHeader().setSectionsClickable(False)

    def show_budget(self, budget: Budget | None) -> None:
        """Show another budget."""
        self.model_of.show_budget(budget)
        self._fold()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def _fold(self) -> None:
        """Leave out what there is no room for, and give every row the lines that its words need."""
        own = {name: self._own(place) for place, name in enumerate(COLUMNS)}
        shown, room = list(COLUMNS), self.viewport().width()
        for name in LEFT_OUT:
            if sum(own[each] for each in shown) <= room:
                break
            shown.remove(name)
        beyond = max(0, room - sum(own[each] for each in shown))
        shares = {"what": 3, "estimate": 2} if "estimate" in shown else {"what": 1}
        for place, name in enumerate(COLUMNS):
            self.setColumnHidden(place, name not in shown)
            self.setColumnWidth(place, int(own[name] + beyond * shares.get(name, 0) / sum(shares.values())))
        rows = [self._high(row) for row in range(self.model_of.rowCount())]
        for row, high in enumerate(rows):
            self.setRowHeight(row, high)
        self.setMaximumHeight(sum(rows) + self.horizontalHeader().sizeHint().height() + self._theme.px(4))

    def _own(self, column: int) -> int:
        """The least width of a column: of words a fixed one, of numbers that of the widest."""
        name, px = COLUMNS[column], self._theme.px
        if name in LEAST:
            return px(LEAST[name])
        bold = QFontMetricsF(self._theme.font(TEXT, bold=True))
        texts = [_head(column), *(cells[column] for cells in self.model_of.cells)]
        return int(max(map(bold.horizontalAdvance, texts)) + px(2 * _PAD) + (px(BAR) if name == "share" else 0)) + 1

    def _high(self, row: int) -> int:
        font, px = self._theme.font(TEXT), self._theme.px
        lines = max(
            len(wrapped(self.model_of.cells[row][place], font, self.columnWidth(place) - px(2 * _PAD), _LINES))
            for place, name in enumerate(COLUMNS)
            if name in WORDS and not self.isColumnHidden(place)
        )
        return int(lines * QFontMetricsF(font).lineSpacing()) + px(10)
