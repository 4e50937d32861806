"""A table of a page that looks back: as many columns as have room; Enter and Esc are the page's."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QAbstractTableModel, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from app.parts.listed import ListTable
from app.window.house import House
from app.window.theme import ROW, Theme


class PageTable(ListTable):
    """``wide`` are the widths of the columns in logical pixels but the ``stretched`` one's, which needs ``least``;
    the rest is as ``ListTable`` has it."""

    def __init__(
        self,
        house: House,
        model: QAbstractTableModel,
        columns: tuple[str, ...],
        wide: Mapping[str, int],
        *,
        stretched: str,
        marked: str,
        least: int,
        folded: tuple[str, ...],
        name: str,
        parent: QWidget,
    ) -> None:
        self._wide = wide
        super().__init__(
            house,
            model,
            columns,
            stretched=stretched,
            marked=marked,
            least=least,
            folded=folded,
            name=name,
            parent=parent,
        )
        model.setParent(self)

    def widths(self) -> dict[str, int]:
        return {name: self._theme.px(width) for name, width in self._wide.items()}

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter and Esc are the page's."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Escape):
            event.ignore()
        else:
            super().keyPressEvent(event)

    def take_theme(self, theme: Theme) -> None:
        self.setFont(theme.font(ROW))
        super().take_theme(theme)
