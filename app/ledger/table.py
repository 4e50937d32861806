"""The list of sheets: as many columns as have room, the least needed folded first."""

from __future__ import annotations

from math import ceil

from PySide6.QtCore import Signal
from PySide6.QtGui import QFontMetricsF, QResizeEvent
from PySide6.QtWidgets import QWidget

from app.ledger.line import COLUMNS, Line
from app.ledger.model import SheetsModel
from app.parts.listed import ListTable
from app.window.house import House
from app.window.theme import ROW, Theme
from inspection.words.say import word

#: The most that columns take, in logical pixels; one whose texts are shorter takes less, and ``state`` what is left.
WIDTHS = {"part": 116, "revision": 40, "name": 150, "serials": 130, "customer": 164, "order": 96, "made": 100}
#: Of what is left, ``state`` takes at least so much; more, up to so much, where its texts need it to stand in one line.
LEAST_STATE, MOST_STATE = 190, 290
#: Beside the words of a cell: its margins, and the mark of a state.
MARGIN, MARK = 16, 30
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
        self._content: dict[str, float] = {}
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
            self._content = {}
            self._measure(lines)
        if lines:
            self.selectRow(max(self.sheets.place_of(chosen), 0))

    def append(self, lines: tuple[Line, ...]) -> None:
        """Show these lines below the others."""
        self.sheets.append(lines)
        self._measure(lines)

    def _measure(self, lines: tuple[Line, ...]) -> None:
        """Know how wide the texts of these lines are, and give the columns what they need."""
        metrics = QFontMetricsF(self._theme.font(ROW))
        for name in COLUMNS:
            texts = [self.sheets.head(name), *{getattr(line, name) for line in lines}]
            widest = max(metrics.horizontalAdvance(text) for text in texts)
            self._content[name] = max(widest, self._content.get(name, 0))
        self.fold()

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
        shown = [name for name in WIDTHS if not (self.of_part and name in OF_PART)]
        return {name: self._needed(name, WIDTHS[name], MARGIN) for name in shown}

    def least(self) -> int:
        return max(self._theme.px(LEAST_STATE), self._needed("state", MOST_STATE, MARK))

    def _needed(self, name: str, most: int, beside: int) -> int:
        """What the texts of a column take, or the most that it may, in pixels."""
        texts = self._content.get(name)
        whole = self._theme.px(most)
        return whole if texts is None else min(whole, ceil(texts) + self._theme.px(beside))

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self.setFont(theme.font(ROW))
        super().take_theme(theme)
        self._content = {}
        self._measure(self.sheets.lines)
