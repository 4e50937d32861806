"""The list of sheets as a table model. It owns no data of the book: it is handed lines and shows them."""

from __future__ import annotations

from typing import Any, NamedTuple

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt

from app.parts.marks import Mark
from inspection.words.say import word

#: Roles as plain ints: comparing enums costs more than all else in ``data``.
DISPLAY = int(Qt.ItemDataRole.DisplayRole)
ACCESSIBLE = int(Qt.ItemDataRole.AccessibleTextRole)
MARK = int(Qt.ItemDataRole.UserRole)

COLUMNS = ("part", "revision", "name", "serials", "customer", "made", "state")
STATE = COLUMNS.index("state")


class Line(NamedTuple):
    """One sheet as listed; every field as shown."""

    sheet: str
    part: str
    revision: str
    name: str
    serials: str
    customer: str
    made: str
    state: str
    mark: Mark
    sealed: bool
    open: int  # cells that still need a reading


class SheetsModel(QAbstractTableModel):
    """Sheets, newest first."""

    def __init__(self, parent: Any = None) -> None:
        super().__init__(parent)
        self.lines: tuple[Line, ...] = ()

    def show_lines(self, lines: tuple[Line, ...]) -> None:
        """Show these lines instead."""
        self.beginResetModel()
        self.lines = lines
        self.endResetModel()

    def rowCount(self, parent: QModelIndex | QPersistentModelIndex | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.lines)

    def columnCount(self, parent: QModelIndex | QPersistentModelIndex | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(COLUMNS)

    def data(self, index: QModelIndex | QPersistentModelIndex, role: int = DISPLAY) -> Any:
        if not index.isValid():
            return None
        if role in (DISPLAY, ACCESSIBLE):
            return getattr(self.lines[index.row()], COLUMNS[index.column()])
        if role == MARK and index.column() == STATE:
            return self.lines[index.row()].mark
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = DISPLAY) -> Any:
        if role == DISPLAY and orientation is Qt.Orientation.Horizontal:
            return word(f"shelf.column.{COLUMNS[section]}")
        return None
