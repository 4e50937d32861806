"""The sheets that an instrument's readings touch, newest first; Enter opens one at the Bench."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QLabel, QTableView, QVBoxLayout, QWidget

from app.parts.listed import ACCESSIBLE, DISPLAY, MARK, TIP, MarkedCell, RowCell
from app.parts.marks import Mark
from app.window.house import House
from app.window.theme import Theme
from inspection.words.say import word

if TYPE_CHECKING:
    from inspection.instruments.record import Instrument
    from storage.book.queries.touched_sheets import Touched, TouchedSheet

COLUMNS = ("part", "pieces", "readings", "last", "state")
STATE = COLUMNS.index("state")


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


class TouchedModel(QAbstractTableModel):
    """Sheets as lines."""

    def __init__(self, parent: Any = None) -> None:
        super().__init__(parent)
        self.lines: tuple[TouchedLine, ...] = ()

    def show_lines(self, lines: tuple[TouchedLine, ...]) -> None:
        """Show these lines instead."""
        self.beginResetModel()
        self.lines = lines
        self.endResetModel()

    def rowCount(self, parent: QModelIndex | QPersistentModelIndex | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.lines)

    def columnCount(self, parent: QModelIndex | QPersistentModelIndex | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(COLUMNS)

    def data(self, index: QModelIndex | QPersistentModelIndex, role: int = DISPLAY) -> Any:
        if not index.isValid():
            return None
        line = self.lines[index.row()]
        if role in (DISPLAY, ACCESSIBLE, TIP):
            return getattr(line, COLUMNS[index.column()])
        return line.mark if role == MARK and index.column() == STATE else None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = DISPLAY) -> Any:
        if role == DISPLAY and orientation is Qt.Orientation.Horizontal:
            return word(f"crib.touched.{COLUMNS[section]}")
        return None


class TouchedPage(QWidget):
    """Heading, what stands below it, the list. ``opened`` carries the sheet to be opened, ``left`` leaves the page."""

    opened = Signal(str)
    left = Signal()

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.model = TouchedModel(self)
        self.title, self.text = QLabel(self), QLabel(self)
        self.title.setProperty("look", "head")
        self.title.setWordWrap(True)
        self.text.setProperty("look", "soft")
        self.text.setWordWrap(True)
        self.table = QTableView(self)
        self.table.setModel(self.model)
        self.table.setAccessibleName(word("crib.action.touched"))
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setTabKeyNavigation(False)
        self.table.setShowGrid(False)
        self.table.verticalHeader().hide()
        self.table.horizontalHeader().setStretchLastSection(True)
        self.table.horizontalHeader().setHighlightSections(False)
        self.table.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.table.horizontalHeader().setSectionResizeMode(0, QHeaderView.ResizeMode.Interactive)
        self.table.setItemDelegate(RowCell(house, self.table))
        self.table.setItemDelegateForColumn(STATE, MarkedCell(house, self.table))
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        for part in (self.title, self.text):
            self._layout.addWidget(part)
        self._layout.addWidget(self.table, 1000)
        self._layout.addStretch(1)
        self.take_theme(house.theme)

    def show_touched(self, instrument: Instrument, touched: Touched) -> None:
        """Show the sheets of one instrument, the focus in the list."""
        lines = tuple(map(line_of, touched.sheets))
        self.title.setText(word("crib.touched.title", tag=instrument.tag))
        if not lines:
            said = word("crib.touched.none")
        elif touched.total > len(lines):
            said = word("crib.touched.page", n=len(lines), total=touched.total)
        else:
            said = word("crib.touched.text", n=touched.total)
        self.text.setText(said)
        self.model.show_lines(lines)
        self.table.setVisible(bool(lines))
        if lines:
            self.table.selectRow(0)
            self.table.setFocus()
        else:
            self.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter opens the chosen sheet; Esc goes back to the record."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            row = self.table.currentIndex().row()
            if 0 <= row < len(self.model.lines):
                self.opened.emit(self.model.lines[row].sheet)
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._layout.setSpacing(theme.px(10))
        self.table.verticalHeader().setDefaultSectionSize(theme.px(34))
        for column, width in enumerate((108, 70, 64, 104)):
            self.table.setColumnWidth(column, theme.px(width))
