"""How much a cell shows: the room of its column against what it holds, in widths of a digit.

Widths are those of ISO/IEC 29500-1, 18.3.1.13 (col) and 18.3.1.81 (sheetFormatPr). What a text takes is reckoned by
kinds of letters of a usual typeface, for the customer's own is not at hand.
"""

from __future__ import annotations

from functools import cached_property

from storage.dispatch.customer_form.references import Area, area_of
from storage.dispatch.customer_form.sheet import Cells

#: What a column shows where the workbook does not say, and what of a width is margin.
USUAL, MARGIN = 8.43, 0.71
#: The size that widths are told for.
_SIZE = 11.0
_SLIM, _WIDE = frozenset(" .,:;'|!()[]-/ijlftrI"), frozenset("mwMW%@…—±⌀")
_WIDEST = 1.5
#: A text may take so much more before it is said to be cut, as nobody knows its letters.
_SPARE = 1.1


class Room:
    """The room of the cells of one worksheet."""

    def __init__(self, cells: Cells) -> None:
        self.cells = cells
        self._rooms: dict[tuple[int, str], float] = {}

    def width(self, area: Area) -> float:
        """How many digits an area shows side by side."""
        return sum(self._widths.get(column, self._usual) for column in range(area.left, area.right + 1))

    def area(self, row: int, column: int) -> Area:
        """The cell with all that is merged to it."""
        return self._merged.get((row, column)) or Area(self.cells.name, row, column, row, column)

    def surely_shows(self, row: int, column: int, length: int, *, number: bool) -> bool:
        """Whether a cell shows all of any text of so many signs, and any like it in its column."""
        look = self.cells.book.style(self.cells.style_of(row, column))
        room = self.width(self.area(row, column)) * _SIZE / look.size
        return look.flows or length * (1.0 if number else _WIDEST) <= room

    def wraps(self, row: int, column: int) -> bool:
        """Whether a text is broken into lines there."""
        return self.cells.book.style(self.cells.style_of(row, column)).wraps

    def shows(self, row: int, column: int, text: str) -> bool:
        """Whether a cell that was filled shows all of its text. A number never goes over its edge; a text does, as long
        as nothing stands beside it."""
        cells = self.cells.of_row(row)
        cell, area = cells.get(column), self._merged.get((row, column))
        number = cell is not None and cell.get("t") != "inlineStr"
        if not number and area is None and (column + 1 not in cells or not self.cells.text_in(cells[column + 1])):
            return True
        style = cell.get("s", "0") if cell is not None else self.cells.style_of(row, column)
        room = self._of_column(column, style) if area is None else self._of_area(area, style)
        return room <= 0 or taken(text) <= room * (1 if number else _SPARE)

    def _of_area(self, area: Area, style: str) -> float:
        """How many digits a cell of a style shows; 0 where its text is broken or made smaller, or its column hidden."""
        look = self.cells.book.style(style)
        return 0.0 if look.flows else self.width(area) * _SIZE / look.size

    def _of_column(self, column: int, style: str) -> float:
        held = self._rooms.get((column, style))
        if held is None:
            area = Area(self.cells.name, 1, column, 1, column)
            held = self._rooms[column, style] = self._of_area(area, style)
        return held

    @cached_property
    def _usual(self) -> float:
        found = self.cells.root.find(self.cells.book.tag("sheetFormatPr"))
        told = found.get("defaultColWidth") if found is not None else None
        return float(told) - MARGIN if told else USUAL

    @cached_property
    def _widths(self) -> dict[int, float]:
        found: dict[int, float] = {}
        for each in self.cells.root.iter(self.cells.book.tag("col")):
            hidden = each.get("hidden") in ("1", "true")
            told = each.get("width")
            width = 0.0 if hidden else float(told) - MARGIN if told else self._usual
            for column in range(int(each.get("min", "1")), min(int(each.get("max", "0")), 1_000) + 1):
                found[column] = width
        return found

    @cached_property
    def _merged(self) -> dict[tuple[int, int], Area]:
        found = (
            area_of(each.get("ref", ""), self.cells.name)
            for each in self.cells.root.iter(self.cells.book.tag("mergeCell"))
        )
        return {(area.top, area.left): area for area in found if area is not None}


def taken(text: str) -> float:
    """How many digits a text is wide; of several lines the longest.

    >>> taken("0.5000"), taken("12.7")
    (5.55, 3.55)
    """
    return max((round(sum(map(_width, line)), 2) for line in text.splitlines()), default=0.0)


def _width(letter: str) -> float:
    if letter in _SLIM:
        return 0.55
    if letter in _WIDE:
        return _WIDEST
    return 1.15 if letter.isupper() else 1.0
