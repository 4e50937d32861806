"""What was sent of the sheet: every file with its digest, who made it, when, and whether the sheet went on since."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QLabel, QStackedLayout, QTableView, QVBoxLayout, QWidget

from app.desk.sent_lines import SHORT, SentLine
from app.parts.listed import ACCESSIBLE, DISPLAY, TIP, Index, LinesModel
from app.window.house import House
from app.window.theme import ROW, TEXT, Theme
from inspection.words.say import word

COLUMNS = ("when", "form", "name", "digest", "person", "since")
#: Widths in logical pixels; the file's name takes what is left, but no less than this.
WIDTHS = {"when": 138, "form": 104, "digest": 134, "person": 124, "since": 124}
LEAST_NAME = 130


class SentModel(LinesModel):
    """Files that were sent, the newest first."""

    def __init__(self, parent: Any = None) -> None:
        super().__init__(COLUMNS, "desk.column", parent)
        self.lines: tuple[SentLine, ...] = ()

    def data(self, index: Index, role: int = DISPLAY) -> Any:
        if not index.isValid() or role not in (DISPLAY, ACCESSIBLE, TIP):
            return None
        line, name = self.lines[index.row()], COLUMNS[index.column()]
        if name == "since":
            return word(f"desk.since.{line.since or 'same'}")
        if name == "digest" and role == DISPLAY:
            return f"{line.digest[:SHORT]} …"
        return getattr(line, name)


class SentFace(QWidget):
    """The table, and below it the file at hand with its whole digest."""

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.house = house
        self._digests = False
        self.model = SentModel(self)
        self.table = self._make_table()
        self._empty = QLabel(word("desk.sent.empty"), self)
        self._empty.setWordWrap(True)
        self._empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._empty.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.whole = QLabel(self)
        self.whole.setWordWrap(True)
        self.whole.setProperty("look", "soft")
        self.whole.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        stack = QWidget(self)
        self._stack = QStackedLayout(stack)
        self._stack.addWidget(self._empty)
        self._stack.addWidget(self.table)
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.addWidget(stack, 1)
        self._layout.addWidget(self.whole)
        self.setFocusProxy(self._empty)

    def _make_table(self) -> QTableView:
        table = QTableView(self)
        table.setModel(self.model)
        table.setAccessibleName(word("desk.face.sent"))
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setTabKeyNavigation(False)
        table.setShowGrid(False)
        table.setWordWrap(False)
        table.verticalHeader().hide()
        table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        table.horizontalHeader().setStretchLastSection(True)
        table.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        table.horizontalHeader().setHighlightSections(False)
        table.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        table.selectionModel().currentChanged.connect(self._show_whole)
        return table

    def show_lines(self, lines: tuple[SentLine, ...]) -> None:
        """Show what was sent; the row at hand is kept by its place."""
        if lines == self.model.lines:
            return
        grown = len(lines) - len(self.model.lines)
        row = self.table.currentIndex().row()
        self.model.show_lines(lines)
        shown = self.table if lines else self._empty
        self.setFocusProxy(shown)
        self._stack.setCurrentWidget(shown)
        if lines:
            self.table.selectRow(0 if grown or row < 0 else min(row, len(lines) - 1))
        self._show_whole()

    def line(self) -> SentLine | None:
        """The file at hand."""
        row = self.table.currentIndex().row()
        return self.model.lines[row] if 0 <= row < len(self.model.lines) else None

    def _show_whole(self, *_indexes: object) -> None:
        line = self.line()
        self.whole.setText(word("desk.sent.digest", digest=line.digest) if line is not None else "")
        self.whole.setVisible(line is not None and self._digests)

    def switch_digest(self) -> None:
        """Show or hide the whole digest of the file at hand."""
        self._digests = not self._digests
        self._show_whole()

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._layout.setSpacing(theme.px(8))
        self.table.setFont(theme.font(ROW))
        self.whole.setFont(theme.font(TEXT))
        self.table.verticalHeader().setDefaultSectionSize(theme.px(34))
        self._share()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._share()

    def _share(self) -> None:
        """Every column in sight where the room allows it."""
        px = self.house.theme.px
        for name, width in WIDTHS.items():
            self.table.setColumnWidth(COLUMNS.index(name), px(width))
        room = self.width() - px(sum(WIDTHS.values())) - px(4)
        self.table.setColumnWidth(COLUMNS.index("name"), max(room, px(LEAST_NAME)))
