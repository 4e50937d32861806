"""The list of sheets as a table. It holds the pages that were read so far."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QModelIndex

from app.ledger.line import COLUMNS, Line
from app.parts.listed import ACCESSIBLE, DISPLAY, MARK, Index, LinesModel

STATE = COLUMNS.index("state")


class SheetsModel(LinesModel):
    """Sheets, newest first."""

    def __init__(self, parent: Any = None) -> None:
        super().__init__(COLUMNS, "ledger.column", parent)
        self.lines: tuple[Line, ...] = ()

    def append(self, lines: tuple[Line, ...]) -> None:
        """Show these lines below the others."""
        if lines:
            first = len(self.lines)
            self.beginInsertRows(QModelIndex(), first, first + len(lines) - 1)
            self.lines += lines
            self.endInsertRows()

    def place_of(self, sheet: str) -> int:
        """Where a sheet stands, -1 if it is not shown."""
        return next((place for place, line in enumerate(self.lines) if line.sheet == sheet), -1)

    def data(self, index: Index, role: int = DISPLAY) -> Any:
        if not index.isValid():
            return None
        if role in (DISPLAY, ACCESSIBLE):
            return getattr(self.lines[index.row()], COLUMNS[index.column()])
        if role == MARK and index.column() == STATE:
            return self.lines[index.row()].mark
        return None
