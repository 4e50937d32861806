"""The sheets room: the list, and below it what is being done. Everything by key, nothing by mouse alone."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtGui import QAction, QKeyEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QStackedLayout,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from app.background.worker import Failure, Job, Ticket
from app.shelf import listing, questions, work
from app.shelf.cells import StateCell
from app.shelf.doing import Doing
from app.shelf.model import COLUMNS, STATE, Line, SheetsModel
from app.window.house import House, Room
from app.window.keys import Key, make_action
from app.window.theme import ROW, Theme
from inspection.words.say import word

if TYPE_CHECKING:
    from app.jobs.hand import Foreseen

KEYS = {
    "open": Key("Ctrl+Return", "shelf.action.open"),
    "new": Key("Ctrl+N", "shelf.action.new"),
    "sign": Key("Ctrl+G", "shelf.action.sign"),
    "export": Key("Ctrl+E", "shelf.action.export"),
    "template": Key("Ctrl+T", "shelf.action.template"),
}
#: Actions on one sheet, which need a row.
ON_SHEET = ("open", "sign", "export")
#: Widths of the columns but the last, in logical pixels.
WIDTHS = {"part": 130, "revision": 44, "name": 220, "serials": 150, "customer": 150, "made": 116}


class ShelfRoom(Room):
    """Lists sheets and starts what is done with one."""

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(house, parent)
        self.setObjectName("page")
        self.model = SheetsModel(self)
        self.actions_by_name = self._make_actions()
        self._title = QLabel(word("shelf.title"), self)
        self._title.setProperty("look", "title")
        self.table = self._make_table()
        self._empty = QLabel(f"{word('shelf.empty')}\n\n{word('shelf.empty.next')}", self)
        self._empty.setWordWrap(True)
        self._empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._doing = Doing(house.theme, self)
        self._lay_out()
        self.take_theme(house.theme)
        self._show_lines(())
        if house.worker is not None:
            house.worker.acted.connect(self._acted)

    # --- building ---------------------------------------------------------------------------------------------------

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {
            "open": self._open,
            "new": self._new,
            "sign": self._sign,
            "export": self._export,
            "template": self._template,
        }
        made = {name: make_action(self, key, word(key.code), does[name]) for name, key in KEYS.items()}
        for action in made.values():
            action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        return made

    def _make_table(self) -> QTableView:
        table = QTableView(self)
        table.setModel(self.model)
        table.setAccessibleName(word("shelf.table"))
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setTabKeyNavigation(False)  # Tab leaves the table
        table.setShowGrid(False)
        table.verticalHeader().hide()
        table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        table.horizontalHeader().setStretchLastSection(True)
        table.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        table.horizontalHeader().setHighlightSections(False)
        table.setItemDelegateForColumn(STATE, StateCell(self.house, table))
        table.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        table.doubleClicked.connect(self._open_index)
        return table

    def _lay_out(self) -> None:
        buttons = QHBoxLayout()
        for name in ("new", "open", "sign", "export", "template"):
            buttons.addWidget(self._button(self.actions_by_name[name]))
        buttons.addStretch(1)
        shelf = QWidget(self)
        self._stack = QStackedLayout(shelf)
        self._stack.addWidget(self.table)
        self._stack.addWidget(self._empty)
        self._layout = QVBoxLayout(self)
        self._layout.addWidget(self._title)
        self._layout.addLayout(buttons)
        self._layout.addWidget(shelf, 1)
        self._layout.addWidget(self._doing)

    def _button(self, action: QAction) -> QPushButton:
        button = QPushButton(f"{action.text()}  {action.shortcut().toString()}", self)
        button.setAccessibleName(action.text())
        button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        button.setEnabled(action.isEnabled())
        button.clicked.connect(action.trigger)
        action.enabledChanged.connect(button.setEnabled)
        return button

    # --- the list ---------------------------------------------------------------------------------------------------

    def arrive(self) -> None:
        """Read the list anew."""
        self.table.setFocus() if self.model.lines else self.setFocus()
        self._read()

    def _read(self) -> None:
        if self.house.worker is not None:
            self.house.worker.read(listing.list_lines, self._show_lines, self.house.fail)

    def _acted(self, _ticket: Ticket, _outcome: Any) -> None:
        if self.isVisible():
            self._read()

    def _show_lines(self, lines: tuple[Line, ...]) -> None:
        chosen = self.line()
        self.model.show_lines(lines)
        self._stack.setCurrentWidget(self.table if lines else self._empty)
        row = next((row for row, line in enumerate(lines) if chosen and line.sheet == chosen.sheet), 0)
        if lines:
            self.table.selectRow(row)
            if self.isVisible() and self.hasFocus():
                self.table.setFocus()
        for name in ON_SHEET:
            self.actions_by_name[name].setEnabled(bool(lines))

    def line(self) -> Line | None:
        """The sheet that is chosen, None on an empty shelf."""
        row = self.table.currentIndex().row()
        return self.model.lines[row] if 0 <= row < len(self.model.lines) else None

    def choose(self, sheet: str) -> None:
        """Choose the row of this sheet."""
        row = next((row for row, line in enumerate(self.model.lines) if line.sheet == sheet), -1)
        if row >= 0:
            self.table.selectRow(row)

    # --- what is done -----------------------------------------------------------------------------------------------

    def _open(self) -> None:
        if (line := self.line()) is not None:
            self.house.sheet_wanted.emit(line.sheet)

    def _open_index(self, _index: QModelIndex) -> None:
        self._open()

    def _new(self) -> None:
        asked = questions.ask_new_sheet(self)
        if asked is not None:
            file, serials = asked
            job = work.TakeIn(file, serials, self.house.person, self._foreseen())
            self._do(word("shelf.new.working", file=file.name), job.run, self._made, self._not_made)

    def _made(self, made: work.Made) -> None:
        self._doing.done()
        self.house.notice(made.said)
        self._read()
        if made.sheet:
            self.house.sheet_wanted.emit(made.sheet)

    def _not_made(self, failure: Failure) -> None:
        self._doing.done()
        if not questions.tell_faults(self, failure, self.house.say):
            self.house.fail(failure)

    def _template(self) -> None:
        file = questions.ask_template(self)
        if file is not None:
            self._do(word("shelf.new.working", file=file.name), work.Template(file).run, self._told, self._failed)

    def _sign(self) -> None:
        line, shop = self.line(), self.house.shop
        person = shop.people.get(self.house.person) if shop is not None else None
        if line is None or person is None:
            return
        asked = questions.ask_signing(self, line, person.name)
        if asked is not None:
            job = work.Signing(line, *asked, self.house.person, self._foreseen())
            self._do(word("shelf.sign.working"), job.run, self._told, self._failed)

    def _export(self) -> None:
        line = self.line()
        asked = questions.ask_export(self, line) if line is not None else None
        if line is not None and asked is not None:
            form, file = asked
            job = work.Sending(line, form, file, self.house.person, self._foreseen())
            self._do(word("shelf.export.working", file=file.name), job.run, self._told, self._failed)

    def _foreseen(self) -> Foreseen:
        assert self.house.foreseen is not None, "the room is entered with an open book only"
        return self.house.foreseen

    def _do(
        self,
        words: str,
        task: Callable[..., Any],
        done: Callable[[Any], None],
        failed: Callable[[Failure], None],
    ) -> Job | None:
        if self.house.worker is None:
            return None
        job = self.house.worker.long(task, done, failed, self._doing.moved)
        self._doing.begin(words, job)
        return job

    def _told(self, said: str) -> None:
        self._doing.done()
        self.house.notice(said)
        self._read()

    def _failed(self, failure: Failure) -> None:
        self._doing.done()
        self.house.fail(failure)

    # --- keys and look ----------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter opens the chosen sheet, Esc stops what is being done."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._open()
        elif event.key() == Qt.Key.Key_Escape and self._doing.stop():
            pass
        else:
            super().keyPressEvent(event)

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        edge = theme.px(24)
        self._layout.setContentsMargins(edge, theme.px(20), edge, theme.px(14))
        self._layout.setSpacing(theme.px(14))
        self.table.setFont(theme.font(ROW))
        self.table.verticalHeader().setDefaultSectionSize(theme.px(34))
        for name, width in WIDTHS.items():
            self.table.setColumnWidth(COLUMNS.index(name), theme.px(width))
        self._empty.setMaximumWidth(theme.px(760))
        self._doing.take_theme(theme)
        self.update()
