"""Cells of a sheet to tick by Space: those of them that something is about."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from app.parts.items import Item, ItemsView
from app.window.theme import Theme
from inspection.sheet.state import Cell


class PickList(ItemsView):
    """Each line is a cell; ``changed`` follows every tick."""

    changed = Signal()

    def __init__(self, theme: Theme, name: str, parent: QWidget, *, one_line: bool = True) -> None:
        super().__init__(theme, name, parent, one_line=one_line)
        self._cells: tuple[Cell, ...] = ()
        self.ticked.connect(self._turn)

    def show_cells(self, cells: Sequence[tuple[Cell, Item]], picked: Collection[Cell]) -> None:
        """Show these cells, some of them ticked."""
        self._cells = tuple(cell for cell, _ in cells)
        self.show_items([item._replace(ticked=cell in picked) for cell, item in cells], 0)
        self.changed.emit()

    def cells(self) -> tuple[Cell, ...]:
        """All cells, as listed."""
        return self._cells

    def picked(self) -> tuple[Cell, ...]:
        """The cells ticked, as listed."""
        return tuple(cell for cell, item in zip(self._cells, self.items, strict=True) if item.ticked)

    def _turn(self, row: int) -> None:
        item = self.items[row]
        self.items_model.change(row, item._replace(ticked=not item.ticked))
        self.changed.emit()

    def tick_all(self) -> None:
        """Tick every line; once more, none. The line at hand stays at hand."""
        every = all(item.ticked for item in self.items)
        self.show_items([item._replace(ticked=not every) for item in self.items])
        self.changed.emit()
