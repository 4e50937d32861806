"""The feature table of one piece. It owns no data of the sheet: lines are made when they are looked at."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt

from app.bench.line import Line
from inspection.words.say import word

#: Roles as plain ints: comparing enums costs more than all else in ``data``.
DISPLAY = int(Qt.ItemDataRole.DisplayRole)
ACCESSIBLE = int(Qt.ItemDataRole.AccessibleTextRole)
TIP = int(Qt.ItemDataRole.ToolTipRole)
LINE = int(Qt.ItemDataRole.UserRole)

COLUMNS = ("number", "requirement", "limits", "instrument", "readings", "zone", "verdict", "note")
_READINGS, _ZONE = COLUMNS.index("readings"), COLUMNS.index("zone")

Index = QModelIndex | QPersistentModelIndex


class SheetModel(QAbstractTableModel):
    """Rows of the plan in its order, on the piece shown."""

    def __init__(self, parent: Any = None) -> None:
        super().__init__(parent)
        self._rows: tuple[str, ...] = ()
        self._place: dict[str, int] = {}
        self._make: Callable[[str], Line] | None = None
        self._lines: dict[int, Line] = {}
        self.unit = ""

    def show_rows(self, rows: tuple[str, ...], make: Callable[[str], Line]) -> None:
        """Show these rows instead; ``make`` gives a row as a line."""
        self.beginResetModel()
        self._rows, self._make = rows, make
        self._place = {row: place for place, row in enumerate(rows)}
        self._lines = {}
        self.endResetModel()

    def shows(self, rows: tuple[str, ...]) -> bool:
        """Whether these are the rows shown."""
        return rows == self._rows

    def change_all(self, unit: str) -> None:
        """Every row may look otherwise: another piece, another unit at the head."""
        self.unit = unit
        self._lines = {}
        if self._rows:
            self.dataChanged.emit(self.index(0, 0), self.index(len(self._rows) - 1, len(COLUMNS) - 1))
            self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, len(COLUMNS) - 1)

    def change(self, row: str) -> None:
        """One row looks otherwise."""
        place = self._place[row]
        self._lines.pop(place, None)
        self.dataChanged.emit(self.index(place, 0), self.index(place, len(COLUMNS) - 1))

    def place_of(self, row: str) -> int:
        """Where a row stands, -1 if it is not shown."""
        return self._place.get(row, -1)

    def row_at(self, place: int) -> str:
        """The row that stands at a place, "" if there is none."""
        return self._rows[place] if 0 <= place < len(self._rows) else ""

    def line(self, place: int) -> Line:
        """The row at a place as shown."""
        line = self._lines.get(place)
        if line is None:
            assert self._make is not None
            line = self._lines[place] = self._make(self._rows[place])
        return line

    # --- Qt -------------------------------------------------------------------------------------------------------

    def rowCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(COLUMNS)

    def data(self, index: Index, role: int = DISPLAY) -> Any:
        if not index.isValid() or role not in (DISPLAY, LINE, ACCESSIBLE, TIP):
            return None
        line = self.line(index.row())
        if role == LINE:
            return line
        if role == ACCESSIBLE:
            return line.spoken if index.column() == 0 else _text(line, index.column())
        return _text(line, index.column())

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = DISPLAY) -> Any:
        if role != DISPLAY or orientation is not Qt.Orientation.Horizontal:
            return None
        if COLUMNS[section] == "limits":
            return word("bench.column.limits", unit=self.unit)
        return word(f"bench.column.{COLUMNS[section]}")


def _text(line: Line, column: int) -> str:
    if column == _READINGS:
        return "  ".join(each.text for each in line.readings)
    if column == _ZONE:
        return ""
    return str(getattr(line, COLUMNS[column]))
