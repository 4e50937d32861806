"""The walk along a sheet's route: made once, asked many times, so that entry on a large sheet stays quick."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Set

from msgspec import Struct

from inspection.sheet.cells import Waiting, cells_by_route, waiting_slots
from inspection.sheet.state import Cell, Sheet, Shop


class Walk(Struct, frozen=True):
    """Every required cell in route order, and where each stands in it.

    Making one goes through all rows; walking on from a cell costs only the cells that are passed. It holds as long as
    plan, pieces, stops and order of the sheet are the very same (``holds_for``).
    """

    cells: tuple[Cell, ...]
    place: Mapping[Cell, int]
    made_of: tuple[object, ...]

    @classmethod
    def of(cls, sheet: Sheet) -> Walk:
        """The walk along this sheet."""
        cells = cells_by_route(sheet)
        return cls(cells, {cell: place for place, cell in enumerate(cells)}, _made_of(sheet))

    def holds_for(self, sheet: Sheet) -> bool:
        """Whether nothing that the walk was made of has changed."""
        return all(was is now for was, now in zip(self.made_of, _made_of(sheet), strict=True))

    def waiting(
        self,
        shop: Shop,
        sheet: Sheet,
        *,
        after: Cell | None = None,
        beyond: bool = False,
        under_way: Set[Waiting] = frozenset(),
    ) -> Iterator[Waiting]:
        """Slots that wait for a reading, in route order from the cell ``after`` on and then from the start; with
        ``beyond`` the cell itself comes last.

        ``under_way`` are slots whose reading was handed over and is not yet on disk.
        """
        start = self.place.get(after, -1) if after is not None else -1
        start = max(start, 0) + (1 if beyond and start >= 0 else 0)
        for place in range(start, start + len(self.cells)):
            cell = self.cells[place % len(self.cells)]
            for slot in waiting_slots(shop, sheet, cell):
                if (*cell, slot) not in under_way:
                    yield (*cell, slot)


def _made_of(sheet: Sheet) -> tuple[object, ...]:
    return sheet.plan, sheet.pieces, sheet.stops, sheet.order, sheet.left, sheet.only
