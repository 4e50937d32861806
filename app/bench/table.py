"""The view of the feature table: one changed row repaints one row."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QModelIndex, QPersistentModelIndex
from PySide6.QtWidgets import QTableView

Index = QModelIndex | QPersistentModelIndex


class SheetTable(QTableView):
    """Qt repaints the whole view for a change of more than one cell; an entry changes one row of a full screen."""

    def dataChanged(self, first: Index, last: Index, roles: Sequence[int] = ()) -> None:
        """Paint the rows that changed."""
        if first.row() != last.row():
            super().dataChanged(first, last, list(roles))
            return
        top, high = self.rowViewportPosition(first.row()), self.rowHeight(first.row())
        self.viewport().update(0, top, self.viewport().width(), high)

    def keep_in_sight(self, row: int) -> None:
        """Show a row with its neighbours. The table stands still while the row moves down, and turns on when it nears
        the edge: then the row stands in the upper third."""
        bar = self.verticalScrollBar()
        shown = max(1, self.viewport().height() // max(1, self.rowHeight(row)))
        first, last = bar.value(), self.model().rowCount() - 1
        above, below = max(row - 1, 0), min(row + min(2, shown // 3), last)
        if above < first or below > first + shown - 1:
            bar.setValue(max(0, row - shown // 3))
