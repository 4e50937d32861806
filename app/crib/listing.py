"""A list beside the crib's: heading, what stands below it, and lines of which Enter opens one."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QLabel, QTableView, QVBoxLayout, QWidget

from app.parts.listed import ACCESSIBLE, DISPLAY, MARK, TIP, MarkedCell, RowCell
from app.window.house import House
from app.window.theme import Theme
from inspection.words.say import word

#: The column that shows a line's mark beside its words.
MARKED = "state"


class ListModel(QAbstractTableModel):
    """Lines with a text for each column by its name, and a ``mark``; heads are words by ``code`` and column."""

    def __init__(self, columns: tuple[str, ...], code: str, parent: Any = None) -> None:
        super().__init__(parent)
        self.columns, self._code = columns, code
        self.lines: tuple[Any, ...] = ()

    def show_lines(self, lines: tuple[Any, ...]) -> None:
        """Show these lines instead."""
        self.beginResetModel()
        self.lines = lines
        self.endResetModel()

    def rowCount(self, parent: QModelIndex | QPersistentModelIndex | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.lines)

    def columnCount(self, parent: QModelIndex | QPersistentModelIndex | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.columns)

    def data(self, index: QModelIndex | QPersistentModelIndex, role: int = DISPLAY) -> Any:
        if not index.isValid():
            return None
        line, column = self.lines[index.row()], self.columns[index.column()]
        if role in (DISPLAY, ACCESSIBLE, TIP):
            return getattr(line, column)
        return line.mark if role == MARK and column == MARKED else None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = DISPLAY) -> Any:
        if role == DISPLAY and orientation is Qt.Orientation.Horizontal:
            return word(f"{self._code}.{self.columns[section]}")
        return None


class ListPage(QWidget):
    """``chosen`` carries the line that Enter opens, ``left`` leaves the page. ``widths`` are those of the columns in
    logical pixels; the last one takes what is left."""

    chosen = Signal(object)
    left = Signal()

    def __init__(
        self, house: House, model: ListModel, name: str, widths: tuple[int, ...], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.model, self._widths = model, widths
        model.setParent(self)
        self.title, self.text = QLabel(self), QLabel(self)
        self.title.setProperty("look", "head")
        self.text.setProperty("look", "soft")
        for label in (self.title, self.text):
            label.setTextFormat(Qt.TextFormat.PlainText)
            label.setWordWrap(True)
        self.table = self._make_table(house, name)
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        for part in (self.title, self.text):
            self._layout.addWidget(part)
        self._layout.addWidget(self.table, 1000)
        self._layout.addStretch(1)
        self.take_theme(house.theme)

    def _make_table(self, house: House, name: str) -> QTableView:
        table = QTableView(self)
        table.setModel(self.model)
        table.setAccessibleName(name)
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setTabKeyNavigation(False)
        table.setShowGrid(False)
        table.verticalHeader().hide()
        heads = table.horizontalHeader()
        heads.setStretchLastSection(True)
        heads.setHighlightSections(False)
        heads.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        heads.setSectionResizeMode(0, QHeaderView.ResizeMode.Interactive)
        table.setItemDelegate(RowCell(house, table))
        table.setItemDelegateForColumn(self.model.columns.index(MARKED), MarkedCell(house, table))
        return table

    def show_list(self, title: str, text: str, lines: tuple[Any, ...]) -> None:
        """Show these lines under a heading, the focus in the list."""
        self.title.setText(title)
        self.text.setText(text)
        self.model.show_lines(lines)
        self.table.setVisible(bool(lines))
        if lines:
            self.table.selectRow(0)
            self.table.setFocus()
        else:
            self.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter opens the chosen line; Esc goes back to the record."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            row = self.table.currentIndex().row()
            if 0 <= row < len(self.model.lines):
                self.chosen.emit(self.model.lines[row])
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._layout.setSpacing(theme.px(10))
        self.table.verticalHeader().setDefaultSectionSize(theme.px(34))
        for column, width in enumerate(self._widths):
            self.table.setColumnWidth(column, theme.px(width))
