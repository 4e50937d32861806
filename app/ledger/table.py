"""The list of sheets: as many columns as have room, the least needed folded first."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRectF, Qt, Signal
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

from app.ledger.line import Line
from app.ledger.model import COLUMNS, DISPLAY, MARK, STATE, SheetsModel
from app.parts.marks import color_of, paint_mark
from app.parts.wrapped import paint_wrapped
from app.window.house import House
from app.window.theme import ROW, SMALL, Theme
from inspection.words.say import word

#: Widths of the columns in logical pixels; ``state`` takes what is left.
WIDTHS = {"part": 116, "revision": 40, "name": 150, "serials": 130, "customer": 164, "order": 96, "made": 100}
LEAST_STATE = 190
#: What is folded first where the list is narrow; what lies in the part's own list folds before all.
FOLDED = ("order", "customer", "name", "made", "revision")
OF_PART = ("part", "name")
#: The next page is read when so few rows are left below.
SOON = 12


class RowCell(QStyledItemDelegate):
    """Text in the size of rows, whatever the style sheet gives to tables."""

    def __init__(self, house: House, parent: QWidget) -> None:
        super().__init__(parent)
        self._house = house

    def initStyleOption(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> None:
        super().initStyleOption(option, index)
        option.font = self._house.theme.font(ROW)
        option.fontMetrics = QFontMetrics(option.font)


class StateCell(RowCell):
    """Paints mark and words; the words take the mark's colour only beside its shape."""

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
        text = index.data(DISPLAY)
        whole = QFontMetricsF(theme.font(ROW)).horizontalAdvance(text) <= words.width()
        font = theme.font(ROW if whole else SMALL)
        painter.save()
        paint_wrapped(painter, words, text, font, theme.color(color_of(mark)), 1 if whole else 2)
        painter.restore()


class SheetsTable(QTableView):
    """Shows lines; ``ran_low`` says that the last of them is in sight."""

    ran_low = Signal()

    def __init__(self, house: House, parent: QWidget) -> None:
        super().__init__(parent)
        self.sheets = SheetsModel(self)
        self.of_part = False
        self._theme = house.theme
        self.setModel(self.sheets)
        self.setAccessibleName(word("ledger.table"))
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)  # Tab leaves the table
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.horizontalHeader().setHighlightSections(False)
        self.horizontalHeader().setSectionResizeMode(STATE, QHeaderView.ResizeMode.Stretch)
        self.setItemDelegate(RowCell(house, self))
        self.setItemDelegateForColumn(STATE, StateCell(house, self))
        self.verticalScrollBar().valueChanged.connect(self.look_down)

    def line(self) -> Line | None:
        """The line that is chosen."""
        row = self.currentIndex().row()
        return self.sheets.lines[row] if 0 <= row < len(self.sheets.lines) else None

    def show_lines(self, lines: tuple[Line, ...], chosen: str) -> None:
        """Show these lines with this sheet chosen, or the first."""
        if lines != self.sheets.lines:
            self.sheets.show_lines(lines)
        if lines:
            self.selectRow(max(self.sheets.place_of(chosen), 0))

    def move_by(self, key: Qt.Key) -> None:
        """Move as Up, Down or a page key does, whoever has the focus."""
        page = max(1, self.viewport().height() // max(1, self.verticalHeader().defaultSectionSize()) - 1)
        step = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1, Qt.Key.Key_PageUp: -page, Qt.Key.Key_PageDown: page}[key]
        if self.sheets.lines:
            row = self.currentIndex().row() + step
            self.selectRow(min(max(row, 0), len(self.sheets.lines) - 1))

    def look_down(self) -> None:
        """Say so if few rows are left below those in sight."""
        last = self.rowAt(self.viewport().height() - 1)
        if last < 0 or last >= len(self.sheets.lines) - SOON:
            self.ran_low.emit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.fold()
        self.look_down()

    def fold(self) -> None:
        """Hide the columns that there is no room for, and give the others theirs."""
        theme = self._theme
        left = self.width() - self.verticalScrollBar().sizeHint().width() - theme.px(LEAST_STATE)
        widths = {name: theme.px(width) for name, width in WIDTHS.items() if not (self.of_part and name in OF_PART)}
        for name in FOLDED:
            if name in widths and sum(widths.values()) > left:
                del widths[name]
        for place, name in enumerate(COLUMNS):
            self.setColumnHidden(place, name != "state" and name not in widths)
            if name in widths:
                self.setColumnWidth(place, widths[name])

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._theme = theme
        self.setFont(theme.font(ROW))
        self.verticalHeader().setDefaultSectionSize(theme.px(34))
        self.fold()
