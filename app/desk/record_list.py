"""The list of a sheet's materials, special processes and functional tests."""

from __future__ import annotations

from math import ceil
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QTableView, QWidget

from app.window.theme import TEXT, Theme
from inspection.sheet.evidence import Evidence, EvidenceKind
from inspection.sheet.report import EvidenceLine
from inspection.sheet.report_evidence import evidence_line
from inspection.words.say import word
from storage.dispatch.style import mark_of

Index = QModelIndex | QPersistentModelIndex

#: Roles as plain ints: comparing enums costs more than all else in ``data``.
DISPLAY = int(Qt.ItemDataRole.DisplayRole)
TOOL_TIP = int(Qt.ItemDataRole.ToolTipRole)
ACCESSIBLE = int(Qt.ItemDataRole.AccessibleTextRole)

#: Columns in order; where there is little room the last ones are left out.
COLUMNS = ("number", "kind", "name", "result", "verdict", "specification", "certificate", "approved", "files")
#: Columns that give way first, down to so many logical pixels.
YIELDING = {"name": 170, "result": 84, "specification": 84, "certificate": 72}
#: Columns that are never left out.
FEWEST = 3


class EvidenceModel(QAbstractTableModel):
    """Rows are entries in the order of their kinds; texts are those that go out."""

    def __init__(self, parent: Any = None) -> None:
        super().__init__(parent)
        self.entries: tuple[Evidence, ...] = ()
        self._texts: list[dict[str, str]] = []

    def show_entries(self, entries: tuple[Evidence, ...]) -> None:
        """Show these instead, material before process before test."""
        self.beginResetModel()
        self.entries = tuple(each for kind in EvidenceKind for each in entries if each.kind is kind)
        self._texts = [_texts(each, evidence_line(each)) for each in self.entries]
        self.endResetModel()

    def rowCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.entries)

    def columnCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(COLUMNS)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = DISPLAY) -> Any:
        if role == DISPLAY and orientation == Qt.Orientation.Horizontal:
            return word(f"record.column.{COLUMNS[section]}")
        return None

    def data(self, index: Index, role: int = DISPLAY) -> Any:
        if not index.isValid():
            return None
        texts = self._texts[index.row()]
        if role == ACCESSIBLE:
            return ", ".join(filter(None, texts.values()))
        return texts[COLUMNS[index.column()]] if role in (DISPLAY, TOOL_TIP) else None


def _texts(evidence: Evidence, line: EvidenceLine) -> dict[str, str]:
    test = evidence.kind is EvidenceKind.TEST
    return {
        "number": line.number,
        "kind": word(f"record.kind.{evidence.kind.name.lower()}"),
        "name": line.name,
        "result": line.result.partition(" (")[0],  # in the unit it was typed in; the form tells the other
        "verdict": f"{mark_of(line.state).mark} {line.verdict}" if test else "",
        "specification": " ".join(filter(None, (line.specification, line.revision))),
        "certificate": line.certificate,
        "approved": line.approved,
        "files": str(len(line.files)) if line.files else "",
    }


class EvidenceList(QTableView):
    """Arrows move, Enter writes anew, Delete strikes."""

    opened = Signal()
    struck = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.entries = EvidenceModel(self)
        self.setModel(self.entries)
        self.setAccessibleName(word("record.list"))
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)  # Tab leaves the table
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.verticalHeader().hide()
        self.horizontalHeader().setHighlightSections(False)
        self.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        for policy in (self.setVerticalScrollBarPolicy, self.setHorizontalScrollBarPolicy):
            policy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.doubleClicked.connect(self._open)

    def show_entries(self, entries: tuple[Evidence, ...]) -> None:
        """Show these entries; the one at hand stays at hand."""
        chosen = self.chosen()
        row = max(self.currentIndex().row(), 0)
        self.entries.show_entries(entries)
        if chosen is not None:
            row = next((n for n, each in enumerate(self.entries.entries) if each.identity == chosen.identity), row)
        self.go(min(row, len(self.entries.entries) - 1))
        self.fit()
        self._share()

    def chosen(self) -> Evidence | None:
        """The entry at hand, None if there is none."""
        row = self.currentIndex().row()
        return self.entries.entries[row] if 0 <= row < len(self.entries.entries) else None

    def go(self, row: int) -> None:
        """Put the mark on a row."""
        if row >= 0:
            self.setCurrentIndex(self.entries.index(row, 0))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter opens the entry at hand, Delete strikes it."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_F2):
            self.opened.emit()
        elif event.key() == Qt.Key.Key_Delete:
            self.struck.emit()
        else:
            super().keyPressEvent(event)

    def _open(self, _index: QModelIndex) -> None:
        self.opened.emit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the width; where there is little, the last columns are left out."""
        super().resizeEvent(event)
        self._share()

    def _share(self) -> None:
        """Every column as wide as its texts where all fit; else the long ones give way, then the last are left out."""
        width, shown = self.viewport().width(), len(COLUMNS)
        widths = self._natural()
        while shown > FEWEST and sum(self._given_way(widths[:shown], width)) > width:
            shown -= 1
        given = self._given_way(widths[:shown], width)
        given[COLUMNS.index("name")] += max(0, width - sum(given))
        for column in range(len(COLUMNS)):
            self.setColumnHidden(column, column >= shown)
            if column < shown:
                self.setColumnWidth(column, given[column])

    def _natural(self) -> list[int]:
        for column in range(len(COLUMNS)):
            self.setColumnHidden(column, False)  # a hidden column has no size
        heads = self.horizontalHeader()
        room = self._theme.px(12)
        columns = range(len(COLUMNS))
        return [max(self.sizeHintForColumn(each), heads.sectionSizeHint(each)) + room for each in columns]

    def _given_way(self, widths: list[int], width: int) -> list[int]:
        """Widths of which the yielding ones are cut, in proportion to what they have to give."""
        spare = [
            max(0, each - self._theme.px(YIELDING[name])) if name in YIELDING else 0
            for name, each in zip(COLUMNS, widths, strict=False)
        ]
        over = sum(widths) - width
        if over <= 0 or not sum(spare):
            return list(widths)
        part = min(1.0, over / sum(spare))
        return [each - ceil(give * part) for each, give in zip(widths, spare, strict=True)]

    def fit(self) -> None:
        """As high as its rows: what is around it scrolls."""
        rows = len(self.entries.entries) * self.verticalHeader().defaultSectionSize()
        self.setFixedHeight(self.horizontalHeader().sizeHint().height() + rows + 4)

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._theme = theme
        self.setFont(theme.font(TEXT))
        self.verticalHeader().setDefaultSectionSize(theme.px(34))
        self.fit()
        self._share()
