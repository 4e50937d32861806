"""Paging: rows one below the other, a new page where one is full, rows parted where they are too tall.

Heights are points, counted down from the top of the page's body.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from msgspec import Struct

from storage.dispatch.blocks import Band, Cell, Row, cut_row
from storage.dispatch.setting import Run, set_text

#: A row taller than this part of a page is parted rather than moved whole to the next page.
TALL = 0.25
#: Less room than this at a page's foot is left empty.
LEAST_ROOM = 40.0
CONTINUED = Run("", 7, colour="quiet")


class Placed(Struct, frozen=True):
    """A band at its distance from the top of the body; ``rule`` asks for a hairline below, ``head`` for a heavier
    one under the heads of the table."""

    top: float
    band: Band
    rule: bool = False
    head: bool = False


Page = list[Placed]


class Pages:
    """The pages of a sheet as they fill."""

    def __init__(self, height: float, heads: Band, continued: Callable[[str], str]) -> None:
        self.height = height
        self.heads = heads
        self.continued = continued
        self.pages: list[Page] = [[]]
        self.used = 0.0
        self.table: Band | None = None  # the heads that the last row stood under

    def take(self, rows: Iterable[Row]) -> None:
        """Set rows one after the other; a row that follows stays with the next one."""
        held: list[Row] = []
        for row in rows:
            held.append(row)
            if row.follows:
                continue
            if self._wanted(held) > self._room(held[-1]):
                self._part_or_turn(held)
            for each in held:
                self._set(each)
            held = []
        for row in held:
            self._set(row)

    def _wanted(self, rows: list[Row]) -> float:
        """The room that rows need together; under heads that begin here the last has as much as heads ask for."""
        *before, last = rows
        heads = self._heads(last)
        least = 0.0 if heads is None or heads is self.table else LEAST_ROOM
        return sum(each.height for each in before) + max(last.height, least)

    def _heads(self, row: Row) -> Band | None:
        return row.heads or (self.heads if row.tabular else None)

    def _room(self, row: Row) -> float:
        heads = self._heads(row)
        return self.height - self.used - (0.0 if heads is None or heads is self.table else heads.height)

    def _part_or_turn(self, rows: list[Row]) -> None:
        tall = rows[-1].height > TALL * self.height
        if self.used and not (tall and self._room(rows[-1]) > 2 * LEAST_ROOM):
            self.turn()

    def turn(self) -> None:
        """Begin a new page."""
        self.pages.append([])
        self.used = 0.0
        self.table = None

    def _set(self, row: Row) -> None:
        self._open_table(row)
        rest: tuple[Band, ...] = row.bands
        while rest:
            fitting, rest = cut_row(Row(rest, row.number), self._room(row))
            if not fitting and not self._began():
                fitting, rest = rest[:1], rest[1:]
            for place, band in enumerate(fitting):
                self._put(band, rule=row.ruled and place == len(fitting) - 1)
            if rest:
                self.turn()
                self._open_table(row)
                rest = (self._again(row.number, rest[0]), *rest[1:])

    def _began(self) -> bool:
        """Whether the page holds more than the heads of the table."""
        return self.used > (self.table.height if self.table else 0.0)

    def _open_table(self, row: Row) -> None:
        heads = self._heads(row)
        if heads is not None and heads is not self.table:
            if self.height - self.used < heads.height + LEAST_ROOM:
                self.turn()
            self.pages[-1].append(Placed(self.used, heads, head=True))
            self.used += heads.height
        self.table = heads

    def _put(self, band: Band, *, rule: bool) -> None:
        self.pages[-1].append(Placed(self.used, band, rule))
        self.used += band.height

    def _again(self, number: str, band: Band) -> Band:
        """A band that goes on over the page says of which row it is."""
        if not number or any(cell.left == 0 for cell in band.cells):
            return band
        return Band((Cell(0, 34, tuple(set_text(self.continued(number), 34, CONTINUED))), *band.cells), band.pad)
