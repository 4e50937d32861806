"""The list of sheets: as many columns as have room, the least needed folded first."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QWidget

from app.ledger.line import COLUMNS, Line
from app.ledger.model import SheetsModel
from app.parts.listed import ListTable
from app.window.house import House
from app.window.theme import ROW, Theme
from inspection.words.say import word

#: Widths of the columns in logical pixels; ``state`` takes what is left.
WIDTHS = {"part": 116, "revision": 40, "name": 150, "serials": 130, "customer": 164, "order": 96, "made": 100}
LEAST_STATE = 190
#: What is folded first where the list is narrow; what lies in the part's own list folds before all.
FOLDED = ("order", "customer", "name", "made", "revision")
OF_PART = ("part", "name")
#: The next page is read when so few rows are left below.
SOON = 12


class SheetsTable(ListTable):
    """Shows lines; ``ran_low`` says that the last of them is in sight."""

    ran_low = Signal()

    def __init__(self, house: House, parent: QWidget) -> None:
        self.sheets = SheetsModel()
        self.of_part = False
        super().__init__(
            house,
            self.sheets,
            COLUMNS,
            stretched="state",
            marked="state",
            least=LEAST_STATE,
            folded=FOLDED,
            name=word("ledger.table"),
            parent=parent,
        )
        self.sheets.setParent(self)
        self.verticalScrollBar().valueChanged.connect(self.look_down)

    def line(self) -> Line | None:
        """The line that is chosen."""
        chosen: Line | None = super().line()
        return chosen

    def show_lines(self, lines: tuple[Line, ...], chosen: str) -> None:
        """Show these lines with this sheet chosen, or the first."""
        if lines != self.sheets.lines:
            self.sheets.show_lines(lines)
        if lines:
            self.selectRow(max(self.sheets.place_of(chosen), 0))

    def look_down(self) -> None:
        """Say so if few rows are left below those in sight."""
        last = self.rowAt(self.viewport().height() - 1)
        if last < 0 or last >= len(self.sheets.lines) - SOON:
            self.ran_low.emit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.look_down()

    def widths(self) -> dict[str, int]:
        """In the list of one part its number and name are in the heading."""
        return {name: self._theme.px(width) for name, width in WIDTHS.items() if not (self.of_part and name in OF_PART)}

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self.setFont(theme.font(ROW))
        super().take_theme(theme)
