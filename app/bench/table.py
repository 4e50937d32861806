"""The view of the feature table: one changed row repaints one row."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, Signal
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QTableView, QWidget

Index = QModelIndex | QPersistentModelIndex


class SheetTable(QTableView):
    """Qt repaints the whole view for a change of more than one cell; an entry changes one row of a full screen.

    ``current`` is the place of the row at hand, which only ``show_current`` changes: what is pointed at is told by
    ``pointed_at``, and whether the entry goes there is not the table's to say.
    """

    pointed_at = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.current = -1

    def show_current(self, row: int) -> None:
        """Another row is at hand."""
        if row == self.current:
            return
        before, self.current = self.current, row
        self.setCurrentIndex(self.model().index(row, 0))  # for whoever is read to
        for each in (before, row):
            self._update_row(each)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        row = self.rowAt(event.position().toPoint().y())
        if row >= 0:
            self.pointed_at.emit(row)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drawing the pointer over rows chooses none."""

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """The same as pointing once."""

    def dataChanged(self, first: Index, last: Index, roles: Sequence[int] = ()) -> None:
        """Paint the rows that changed."""
        if first.row() != last.row():
            super().dataChanged(first, last, list(roles))
            return
        self._update_row(first.row())

    def _update_row(self, row: int) -> None:
        self.viewport().update(0, self.rowViewportPosition(row), self.viewport().width(), self.rowHeight(row))

    def keep_in_sight(self, row: int) -> None:
        """Show a row with its neighbours. The table stands still while the row moves down, and turns on when it nears
        the edge: then the row stands in the upper third."""
        bar = self.verticalScrollBar()
        shown = max(1, self.viewport().height() // max(1, self.rowHeight(row)))
        first, last = bar.value(), self.model().rowCount() - 1
        above, below = max(row - 1, 0), min(row + min(2, shown // 3), last)
        if above < first or below > first + shown - 1:
            bar.setValue(max(0, row - shown // 3))
