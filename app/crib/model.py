"""The crib as a table model. It owns no data of the book: it is handed lines and shows them."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QAbstractTableModel, Qt

from app.crib.lines import Line
from app.parts.listed import ACCESSIBLE, DISPLAY, MARK, TIP, Index
from inspection.words.say import word

COLUMNS = ("tag", "kind", "name", "range", "resolution", "due", "state", "place", "holder")
STATE = COLUMNS.index("state")
PLACE = COLUMNS.index("place")


class CribModel(QAbstractTableModel):
    """Instruments as lines. With ``merged`` the place column says who has an instrument that is lent out."""

    def __init__(self, parent: Any = None) -> None:
        super().__init__(parent)
        self.lines: tuple[Line, ...] = ()
        self.merged = False

    def show_lines(self, lines: tuple[Line, ...]) -> None:
        """Show these lines instead."""
        self.beginResetModel()
        self.lines = lines
        self.endResetModel()

    def place_of(self, identity: str) -> int:
        """The row of an instrument, -1 if it is not listed."""
        return next((row for row, line in enumerate(self.lines) if line.identity == identity), -1)

    def rowCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.lines)

    def columnCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(COLUMNS)

    def data(self, index: Index, role: int = DISPLAY) -> Any:
        if not index.isValid():
            return None
        line, column = self.lines[index.row()], index.column()
        if role in (DISPLAY, ACCESSIBLE, TIP):
            return line.where if self.merged and column == PLACE else getattr(line, COLUMNS[column])
        if role == MARK and column == STATE:
            return line.mark
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = DISPLAY) -> Any:
        if role == DISPLAY and orientation is Qt.Orientation.Horizontal:
            name = COLUMNS[section]
            return word("crib.column.state") if section == STATE else word(f"crib.field.{name}")
        return None
