"""The sheets that an instrument's readings touch, newest first; Enter opens one at the Bench."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from app.crib.listing import ListModel, ListPage
from app.parts.marks import Mark
from app.window.house import House
from inspection.words.say import word

if TYPE_CHECKING:
    from inspection.instruments.record import Instrument
    from storage.book.queries.touched_sheets import Touched, TouchedSheet

COLUMNS = ("part", "pieces", "readings", "last", "state")
WIDTHS = (108, 70, 64, 104)


class TouchedLine(NamedTuple):
    """One sheet as listed."""

    sheet: str
    part: str
    pieces: str
    readings: str
    last: str
    state: str
    mark: Mark


def line_of(one: TouchedSheet) -> TouchedLine:
    """One sheet as shown, the day of the last reading by this computer's time zone."""
    return TouchedLine(
        sheet=one.sheet,
        part=" ".join(part for part in (one.number, one.revision) if part),
        pieces=", ".join(one.serials),
        readings=str(one.readings),
        last=datetime.fromtimestamp(one.last / 1_000_000, UTC).astimezone().strftime("%Y-%m-%d"),
        state=word("crib.touched.sealed", round=one.round) if one.sealed else word("crib.touched.open"),
        mark=Mark.CONFORMING if one.sealed else Mark.OPEN,
    )


class TouchedModel(ListModel):
    """Sheets as lines."""

    def __init__(self, parent: Any = None) -> None:
        super().__init__(COLUMNS, "crib.touched", parent)


class TouchedPage(ListPage):
    """``opened`` carries the sheet to be opened."""

    opened = Signal(str)

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(house, TouchedModel(), word("crib.action.touched"), WIDTHS, parent)
        self.chosen.connect(lambda line: self.opened.emit(line.sheet))

    def show_touched(self, instrument: Instrument, touched: Touched) -> None:
        """Show the sheets of one instrument, the focus in the list."""
        lines = tuple(map(line_of, touched.sheets))
        if not lines:
            said = word("crib.touched.none")
        elif touched.total > len(lines):
            said = word("crib.touched.page", n=len(lines), total=touched.total)
        else:
            said = word("crib.touched.text", n=touched.total)
        self.show_list(word("crib.touched.title", tag=instrument.tag), said, lines)
