"""The crib as a table model. It owns no data of the book: it is handed lines and shows them."""

from __future__ import annotations

from typing import Any

from app.crib.lines import Line
from app.parts.listed import ACCESSIBLE, DISPLAY, MARK, TIP, Index, LinesModel
from inspection.words.say import word

COLUMNS = ("tag", "kind", "name", "range", "resolution", "due", "state", "place", "holder")
STATE = COLUMNS.index("state")
PLACE = COLUMNS.index("place")


class CribModel(LinesModel):
    """Instruments as lines. With ``merged`` the place column says who has an instrument that is lent out."""

    def __init__(self, parent: Any = None) -> None:
        super().__init__(COLUMNS, "crib.field", parent)
        self.lines: tuple[Line, ...] = ()
        self.merged = False

    def place_of(self, identity: str) -> int:
        """The row of an instrument, -1 if it is not listed."""
        return next((row for row, line in enumerate(self.lines) if line.identity == identity), -1)

    def data(self, index: Index, role: int = DISPLAY) -> Any:
        if not index.isValid():
            return None
        line, column = self.lines[index.row()], index.column()
        if role in (DISPLAY, ACCESSIBLE, TIP):
            return line.where if self.merged and column == PLACE else getattr(line, COLUMNS[column])
        if role == MARK and column == STATE:
            return line.mark
        return None

    def head(self, column: str) -> str:
        """The head of a column."""
        return word("crib.column.state") if column == "state" else super().head(column)
