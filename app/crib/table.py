"""The list of instruments: as many columns as have room, the least needed folded first."""

from __future__ import annotations

from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QWidget

from app.crib.lines import Line
from app.crib.model import COLUMNS, CribModel
from app.parts.listed import ListTable
from app.window.house import House
from app.window.theme import ROW, Theme
from inspection.words.say import word

#: Least and most widths of the columns in logical pixels; between them a column is as wide as what stands in it.
#: ``name`` takes what is left.
WIDTHS = {
    "tag": (66, 90), "kind": (90, 180), "range": (80, 140), "resolution": (86, 110), "due": (100, 110),
    "state": (110, 190), "place": (80, 190), "holder": (80, 150),
}  # fmt: skip
LEAST_NAME = 240
#: What a cell leaves free beside its text, and the room of a mark before it, in logical pixels.
FREE, MARK_ROOM = 12, 20
#: The longest texts of a column are measured, by their letters: of 5,000 instruments these few.
MEASURED = 12
#: What is folded first where the list is narrow.
FOLDED = ("kind", "holder", "resolution", "range", "place", "due")
#: What no template has.
OF_ONE = ("due", "state", "place", "holder")


class CribTable(ListTable):
    """Shows lines; ``picking`` says that they are templates."""

    def __init__(self, house: House, parent: QWidget) -> None:
        self.lines = CribModel()
        self.picking = False
        self._widest: dict[str, int] = {}
        super().__init__(
            house,
            self.lines,
            COLUMNS,
            stretched="name",
            marked="state",
            least=LEAST_NAME,
            folded=FOLDED,
            name=word("crib.table"),
            parent=parent,
        )
        self.lines.setParent(self)

    def line(self) -> Line | None:
        """The line that is chosen."""
        chosen: Line | None = super().line()
        return chosen

    def show_lines(self, lines: tuple[Line, ...], chosen: str) -> bool:
        """Show these lines with the one of this identity chosen, or the first; whether it was among them."""
        if lines != self.lines.lines:
            self.lines.show_lines(lines)
            self._measure()
            self.fold()
        row = self.lines.place_of(chosen)
        if lines:
            self.selectRow(max(row, 0))
        return row >= 0

    def choose(self, identity: str) -> bool:
        """Choose an instrument; whether it is listed."""
        row = self.lines.place_of(identity)
        if row >= 0:
            self.selectRow(row)
        return row >= 0

    def pick(self, *, picking: bool) -> None:
        """Show the columns of templates, or those of instruments."""
        self.picking = picking
        self.fold()

    def _measure(self) -> None:
        """How wide the columns would be. They only grow, so that a search does not push them to and fro."""
        metrics = QFontMetrics(self._theme.font(ROW))
        for name in WIDTHS:
            texts = {line.where if name == "place" else getattr(line, name) for line in self.lines.lines}
            longest = sorted(texts, key=len)[-MEASURED:]
            widest = max(map(metrics.horizontalAdvance, longest), default=0)
            wanted = widest + self._theme.px(FREE + (MARK_ROOM if name == "state" else 0))
            self._widest[name] = max(self._widest.get(name, 0), wanted)

    def _width(self, name: str) -> int:
        least, most = map(self._theme.px, WIDTHS[name])
        return min(max(self._widest.get(name, 0), least), most)

    def widths(self) -> dict[str, int]:
        """As wide as what stands in them; templates lack what only an instrument has."""
        return {name: self._width(name) for name in WIDTHS if not (self.picking and name in OF_ONE)}

    def fold(self) -> frozenset[str]:
        """Who has an instrument stands with its place where the holders have no column."""
        shown = super().fold()
        self.lines.merged = "holder" not in shown
        return shown

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._theme = theme
        self._widest.clear()
        self._measure()
        super().take_theme(theme)
