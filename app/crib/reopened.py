"""The rows that a failed check, or a removal for cause, put in question; Enter opens one at the Bench."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from app.crib.listing import ListModel, ListPage
from app.parts.marks import Mark
from app.window.house import House
from inspection.sheet.reopening import ReopenedRow, reading_text
from inspection.words.say import word

COLUMNS = ("part", "number", "piece", "readings", "state")
WIDTHS = (108, 48, 60, 110)


class ReopenedLine(NamedTuple):
    """One row as listed."""

    sheet: str
    part: str
    number: str
    piece: str
    readings: str
    state: str
    mark: Mark


def line_of(row: ReopenedRow) -> ReopenedLine:
    """One row as shown: open again, or of a sealed sheet and marked."""
    return ReopenedLine(
        row.sheet,
        " ".join(filter(None, (row.part, row.revision))),
        row.number,
        row.serial,
        "; ".join(map(reading_text, row.readings)),
        word("crib.reopened.marked" if row.sealed else "crib.reopened.open"),
        Mark.QUESTION if row.sealed else Mark.OPEN,
    )


def counted(rows: Sequence[ReopenedRow]) -> str:
    """How many readings of how many sheets."""
    n, sheets = sum(len(row.readings) for row in rows), len({row.sheet for row in rows})
    return word("crib.reopened.count", n=n, sheets=word("crib.reopened.sheets", n=sheets))


class ReopenedModel(ListModel):
    """Rows as lines."""

    def __init__(self, parent: Any = None) -> None:
        super().__init__(COLUMNS, "crib.reopened", parent)


class ReopenedPage(ListPage):
    """``opened`` carries the sheet, the balloon number of the row to stand at, and the serial of the piece."""

    opened = Signal(str, str, str)

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(house, ReopenedModel(), word("crib.reopened.name"), WIDTHS, parent)
        self.chosen.connect(lambda line: self.opened.emit(line.sheet, line.number, line.piece))

    def show_rows(self, tag: str, rows: Sequence[ReopenedRow]) -> None:
        """Show what was put in question because of an instrument, the focus in the list."""
        title, text = word("crib.reopened.title", tag=tag), word("crib.reopened.text", count=counted(rows))
        self.show_list(title, text, tuple(map(line_of, rows)))
