"""What stands on a printed page: items in cells, cells side by side in bands, bands one below the other in rows.

Lengths are points. A band can be cut between items where a page ends, so that no row is ever too tall.
"""

from __future__ import annotations

from msgspec import Struct

from storage.dispatch.setting import TextLine

#: Room above and below the items of a band.
PAD = 3.5


class Balloon(Struct, frozen=True):
    """A balloon number in its ring, as many lines as it needs."""

    lines: tuple[str, ...]
    size: float
    height: float


class Strip(Struct, frozen=True):
    """A zone strip: where readings and results lie between the limits, 0 at the lower and 1 at the upper one. ``guard``
    is the width of the guard bands to both sides of each limit, as a part of the zone; 0 where there are none."""

    ticks: tuple[float, ...]
    results: tuple[tuple[float, str], ...]  # place and colour
    height: float = 15.0
    guard: float = 0.0


class Beside(Struct, frozen=True):
    """Stacks of lines side by side, each at its distance from the left."""

    stacks: tuple[tuple[float, tuple[TextLine, ...]], ...]
    height: float


class Drawn(Struct, frozen=True):
    """Something that is drawn by a module of its own, so high."""

    height: float


Item = TextLine | Balloon | Strip | Beside | Drawn


class Cell(Struct, frozen=True):
    """Items one below the other; ``left`` is counted from the left margin."""

    left: float
    width: float
    items: tuple[Item, ...]

    @property
    def height(self) -> float:
        """Height of all items."""
        return sum(item.height for item in self.items)


class Band(Struct, frozen=True):
    """Cells side by side."""

    cells: tuple[Cell, ...]
    pad: float = PAD

    @property
    def height(self) -> float:
        """Height with the room above and below."""
        return max((cell.height for cell in self.cells), default=0.0) + 2 * self.pad


class Row(Struct, frozen=True):
    """Bands that belong together. ``number`` is repeated where the row goes on over a page; ``tabular`` rows stand
    under the heads of the table, or under ``heads`` of their own; ``ruled`` ones have a hairline below; ``follows``
    asks to stay with the next row."""

    bands: tuple[Band, ...]
    number: str = ""
    tabular: bool = False
    ruled: bool = False
    follows: bool = False
    heads: Band | None = None

    @property
    def height(self) -> float:
        """Height of all bands."""
        return sum(band.height for band in self.bands)


def cut_band(band: Band, room: float) -> tuple[Band | None, Band | None]:
    """Part a band at a height: what fits into ``room``, and what is left; either may be nothing."""
    if band.height <= room:
        return band, None
    head, rest = [], []
    for cell in band.cells:
        fitting = _fitting(cell, room - 2 * band.pad)
        head.append(Cell(cell.left, cell.width, cell.items[:fitting]))
        rest.append(Cell(cell.left, cell.width, cell.items[fitting:]))
    if not any(cell.items for cell in head):
        return None, band
    return Band(tuple(head), band.pad), Band(tuple(cell for cell in rest if cell.items), band.pad)


def _fitting(cell: Cell, room: float) -> int:
    used = 0.0
    for count, item in enumerate(cell.items):
        used += item.height
        if used > room:
            return count
    return len(cell.items)


def cut_row(row: Row, room: float) -> tuple[tuple[Band, ...], tuple[Band, ...]]:
    """Part a row at a height: the bands that fit into ``room`` and those that are left."""
    fitting: list[Band] = []
    for place, band in enumerate(row.bands):
        head, rest = cut_band(band, room)
        if head is not None:
            fitting.append(head)
            room -= head.height
        if rest is not None:
            return tuple(fitting), (rest, *row.bands[place + 1 :])
    return tuple(fitting), ()
