"""A blank form as a person sees it: texts with their places, merged cells, borders, and which cells a value fits."""

from __future__ import annotations

from functools import cached_property

from lxml import etree

from storage.dispatch.customer_form.form import Workbook, Worksheet
from storage.dispatch.customer_form.references import Area, area_of
from storage.dispatch.customer_form.room import Room
from storage.dispatch.customer_form.sheet import Cells

#: Nobody reads a form beyond these.
MOST_ROWS, MOST_COLUMNS = 3_000, 80
#: So many boxes below each other are a list.
LIST = 3
#: Columns that a label may run over.
_FURTHER = 3


class Blank:
    """One worksheet of a blank form."""

    def __init__(self, book: Workbook, worksheet: Worksheet, cells: Cells | None = None) -> None:
        self.book, self.name = book, worksheet.name
        self.cells = Cells(book, worksheet.name, worksheet.part) if cells is None else cells

    @cached_property
    def texts(self) -> dict[tuple[int, int], str]:
        """Every text with its place."""
        return {
            (row, column): text
            for row, column, cell in self.cells.each()
            if row <= MOST_ROWS and column <= MOST_COLUMNS and (text := self.cells.text_in(cell).strip())
        }

    @cached_property
    def formulas(self) -> set[tuple[int, int]]:
        """The places of formulas."""
        return {(row, column) for row, column, _cell, _text in self.cells.formulas()}

    @cached_property
    def merges(self) -> tuple[Area, ...]:
        """The merged areas."""
        found = (area_of(each.get("ref", ""), self.name) for each in self.cells.root.iter(self.book.tag("mergeCell")))
        return tuple(area for area in found if area is not None)

    @cached_property
    def _merged(self) -> dict[tuple[int, int], Area]:
        return {
            (row, column): area
            for area in self.merges
            for row in range(area.top, min(area.bottom, MOST_ROWS) + 1)
            for column in range(area.left, min(area.right, MOST_COLUMNS) + 1)
        }

    def area(self, row: int, column: int) -> Area:
        """The merged area that a cell is part of, or the cell itself."""
        return self._merged.get((row, column)) or Area(self.name, row, column, row, column)

    def text(self, row: int, column: int) -> str:
        """What stands in a cell, or in the area it is part of."""
        area = self.area(row, column)
        return self.cells.text(area.top, area.left).strip()

    def empty(self, row: int, column: int) -> bool:
        """Whether nothing stands there, no formula either."""
        area = self.area(row, column)
        return not self.text(area.top, area.left) and (area.top, area.left) not in self.formulas

    def boxed(self, row: int, column: int) -> bool:
        """Whether a cell is drawn as one: bordered."""
        return int(self.cells.style_of(row, column) or 0) in self._boxes

    def waits(self, row: int, column: int) -> bool:
        """Whether a cell is made to be filled in: open in a protected sheet; in any other bordered or coloured."""
        style = int(self.cells.style_of(row, column) or 0)
        if self.guarded:
            return not self.book.style(str(style)).locked
        return style in self._boxes or style in self._coloured

    def beside(self, row: int, column: int) -> tuple[int, int]:
        """The cell at the right of a label, or one further on in its row that is made to be filled in where that is
        not: long labels run over their neighbours."""
        area = self.area(row, column)
        for place in range(area.right + 1, area.right + 1 + _FURTHER):
            other = self.area(area.top, place)
            if not self.empty(area.top, place) or other.top != area.top:
                break
            if self.waits(area.top, place):
                return area.top, other.left
        return area.top, area.right + 1

    def heads_a_list(self, row: int, column: int) -> bool:
        """Whether a text stands over a column of another list of the form (materials, say): texts at its sides, and
        boxes below each other under it."""
        area = self.area(row, column)
        sides = [at for at in (area.left - 1, area.right + 1) if at > 0 and self.text(row, at)]
        under = [
            self.area(row + down, area.left) for down in range(area.bottom - row + 1, area.bottom - row + 1 + LIST)
        ]
        boxes = {(each.top, each.left) for each in under if self.empty(each.top, each.left)}
        return bool(sides) and len(boxes) == LIST and all(self.boxed(*each) for each in boxes)

    def width(self, row: int, column: int) -> float:
        """How wide a cell is with all that is merged to it, in digits."""
        return self._room.width(self.area(row, column))

    @cached_property
    def _room(self) -> Room:
        return Room(self.cells)

    @cached_property
    def guarded(self) -> bool:
        """Whether the customer protects the worksheet."""
        protection = self.cells.root.find(self.book.tag("sheetProtection"))
        return protection is not None and protection.get("sheet") in ("1", "true")

    @cached_property
    def _coloured(self) -> frozenset[int]:
        """The styles of cells whose ground has a colour; the first two fills are none (18.8.21 fills)."""
        part = self.book.part_of("styles")
        held = self.book.parts.tree(part).find(self.book.tag("cellXfs")) if part else None
        styles = held if held is not None else ()
        return frozenset(place for place, each in enumerate(styles) if int(each.get("fillId", "0")) > 1)

    @cached_property
    def _boxes(self) -> frozenset[int]:
        """The styles of cells that have a border at least at two sides, or at the foot."""
        part = self.book.part_of("styles")
        if not part:
            return frozenset()
        root = self.book.parts.tree(part)
        borders = root.find(self.book.tag("borders"))
        drawn = [self._drawn(each) for each in (borders if borders is not None else ())]
        held = root.find(self.book.tag("cellXfs"))
        found = set()
        for place, each in enumerate(held if held is not None else ()):
            border = int(each.get("borderId", "0"))
            if border < len(drawn) and drawn[border]:
                found.add(place)
        return frozenset(found)

    def _drawn(self, border: etree._Element) -> bool:
        sides = {etree.QName(each).localname for each in border if each.get("style") not in (None, "none")}
        return "bottom" in sides or len(sides) >= 2

    def last_row(self) -> int:
        """The last row that anything stands in or is drawn in."""
        rows = [row for row in self.cells.rows() if row <= MOST_ROWS]
        return max((row for row in rows if self.cells.of_row(row)), default=0)

    def last_column(self) -> int:
        """The last column that anything stands in."""
        ends = [self.area(row, column).right for row, column in self.texts]
        return min(max(ends, default=0), MOST_COLUMNS)
