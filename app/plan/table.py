"""The plan's table under keys, as a good spreadsheet has them: it moves, chooses and types, and changes nothing."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtCore import QEvent, QRect, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

from app.plan.cell_editor import CellEditor, UnderMark
from app.plan.columns import COLUMNS, READ_BACK, known_words, pages, widths
from app.plan.model import PlanModel
from app.window.house import House
from app.window.theme import ROW, Theme
from inspection.words.say import word

#: Row height, and what a set-up's head takes more, in logical pixels.
HIGH, HEAD_HIGH = 32, 30
_LAST = len(COLUMNS) - 1


class At(NamedTuple):
    """A cell: the place of its row as shown, and its column."""

    row: int
    column: int


class PlanTable(QTableView):
    """``moved`` follows every step, ``typed`` carries place, column and text of a cell, ``filled`` a text for all that
    is chosen, ``live`` what is being typed just now, and ``left`` that the table is left backwards or forwards."""

    moved = Signal()
    typed = Signal(int, int, str)
    filled = Signal(str)
    live = Signal(str)
    left = Signal(bool)

    def __init__(self, house: House, model: PlanModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.house, self.at, self.anchor = house, At(0, 0), At(0, 0)
        self._begun_at = 0  # the column where the run of Tabs began
        self._pages: tuple[tuple[str, ...], ...] = ()
        self._page = -1
        self.setModel(model)
        self.plan = model
        self.editor = CellEditor(self.viewport())
        self.under = UnderMark(house.theme, self.viewport())
        self._set_up()
        self.editor.ended.connect(self._end_typing)
        self.editor.filled.connect(self._fill)
        self.editor.dropped.connect(self._drop)
        self.editor.textEdited.connect(self.live)
        model.modelReset.connect(self._after_reset)

    def _set_up(self) -> None:
        self.setAccessibleName(word("plan.table"))
        self.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setAutoScroll(False)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        across = self.horizontalHeader()
        across.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        across.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        across.setHighlightSections(False)
        across.setSectionsClickable(False)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerItem)

    # --- what is chosen -------------------------------------------------------------------------------------------

    @property
    def several(self) -> bool:
        """Whether more than one cell is chosen."""
        return self.at != self.anchor

    def places(self) -> range:
        """The places chosen, from the first to the last."""
        low, high = sorted((self.anchor.row, self.at.row))
        return range(low, high + 1)

    def columns(self) -> range:
        """The columns chosen."""
        low, high = sorted((self.anchor.column, self.at.column))
        return range(low, high + 1)

    def chosen(self, place: int, column: int) -> bool:
        """Whether a cell is among those chosen."""
        return place in self.places() and column in self.columns()

    def go(self, at: At, *, extend: bool = False, on_run: bool = False) -> None:
        """To another cell; with ``extend`` what lies between stays chosen. ``on_run`` is a step by Tab: Enter goes
        back to where the run of them began."""
        last = self.plan.rowCount() - 1
        before = self.places()
        self.at = At(min(max(at.row, 0), last), min(max(at.column, 0), _LAST))
        if not extend:
            self.anchor = self.at
        if not on_run:
            self._begun_at = self.at.column
        self._turn_to(self.at.column)
        self.setCurrentIndex(self.plan.index(*self.at))  # for whoever is read to
        self.scrollTo(self.plan.index(*self.at))
        self._update_rows(range(min(before.start, self.places().start), max(before.stop, self.places().stop)))
        self.moved.emit()

    def choose(self, places: range, columns: range) -> None:
        """Choose a block; the cell at hand is its upper left."""
        self.go(At(places.stop - 1, columns.stop - 1))
        self.anchor = self.at
        self.at = At(places.start, columns.start)
        self.go(self.at, extend=True)

    def choose_all(self) -> None:
        """Choose every row."""
        self.choose(range(max(1, self.plan.rowCount() - 1)), range(len(COLUMNS)))

    def _update_rows(self, places: range) -> None:
        for place in places:
            self.viewport().update(0, self.rowViewportPosition(place), self.viewport().width(), self.rowHeight(place))

    # --- pages of columns -----------------------------------------------------------------------------------------

    def _turn_to(self, column: int) -> None:
        if self._pages and COLUMNS[column] not in self._pages[self._page]:
            self.show_page(next(i for i, page in enumerate(self._pages) if COLUMNS[column] in page))

    def turn(self, by: int) -> None:
        """To the next page of columns, and with it to its first one."""
        page = (self._page + by) % len(self._pages)
        first = next(name for name in self._pages[page] if self._pages.index(self._first_with(name)) == page)
        self.go(At(self.at.row, COLUMNS.index(first)))

    def _first_with(self, name: str) -> tuple[str, ...]:
        return next(page for page in self._pages if name in page)

    def pages_shown(self) -> tuple[int, int]:
        """Which page of columns is shown, of how many."""
        return self._page + 1, len(self._pages)

    def show_page(self, page: int) -> None:
        """Show one page of columns."""
        theme, room = self.house.theme, self.viewport().width()
        self._page = page
        shown = widths(self._pages[page], room * 100 / theme.scale)
        for column, name in enumerate(COLUMNS):
            self.setColumnHidden(column, name not in shown)
            if name in shown:
                self.setColumnWidth(column, round(shown[name] * theme.scale / 100))
        self._place_editor()

    def fold(self) -> None:
        """Lay the columns out for the room there is."""
        room = self.viewport().width() * 100 / self.house.theme.scale
        self._pages = pages(room)
        self._page = min(max(self._page, 0), len(self._pages) - 1)
        self.show_page(self._page)
        self._turn_to(self.at.column)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.fold()

    # --- rows -----------------------------------------------------------------------------------------------------

    def _after_reset(self) -> None:
        theme, header = self.house.theme, self.verticalHeader()
        header.setDefaultSectionSize(theme.px(HIGH))
        for place in range(self.plan.rowCount()):
            high = theme.px(HIGH + (HEAD_HIGH if self.plan.head_at(place) is not None else 0))
            if header.sectionSize(place) != high:
                header.resizeSection(place, high)
        last = self.plan.rowCount() - 1
        self.at = At(min(self.at.row, last), self.at.column)
        self.anchor = At(min(self.anchor.row, last), self.anchor.column)

    def cell_rect(self, at: At) -> QRect:
        """Where a cell stands in the viewport, below the head of its set-up."""
        rect = self.visualRect(self.plan.index(*at))
        return rect.adjusted(0, self.house.theme.px(HEAD_HIGH) if self.plan.head_at(at.row) is not None else 0, 0, 0)

    # --- typing ---------------------------------------------------------------------------------------------------

    @property
    def typing(self) -> bool:
        """Whether a cell is being typed into."""
        return not self.editor.isHidden()

    def begin_typing(self, text: str | None = None) -> None:
        """Type into the cell at hand: its own text, or ``text`` in its place."""
        if self.at.column == READ_BACK:
            return
        name = COLUMNS[self.at.column]
        standing = self.plan.line(self.at.row).row.text(name)
        self.editor.setAccessibleName(word(f"plan.column.{name}"))
        self._place_editor()
        words = known_words(name, self.plan.draft)
        self.editor.begin(standing if text is None else text, words, typed=text is not None)
        self.live.emit(self.editor.text())

    def _place_editor(self) -> None:
        self.editor.setGeometry(self.cell_rect(self.at))

    def show_under(self) -> None:
        """Put the card under the cell that is typed into, above it where there is no room below."""
        cell, card = self.editor.geometry(), self.under
        x = min(cell.left(), max(0, self.viewport().width() - card.width() - 2))
        below = cell.bottom() + 1
        above = cell.top() - card.height() - 1
        card.move(x, below if below + card.height() <= self.viewport().height() or above < 0 else above)
        card.raise_()

    def _end_typing(self, down: int, right: int) -> None:
        self.keep_typed()
        if down:
            self.step_down(down)
        elif right:
            self.step_right(right)

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        """The cell that is typed into goes with its row."""
        super().scrollContentsBy(dx, dy)
        if self.typing:
            self._place_editor()
            self.show_under()

    def keep_typed(self) -> None:
        """Hand over what is typed, if anything is."""
        if self.typing:
            text, at = self.editor.text(), self.at
            self._close_editor()
            self.typed.emit(at.row, at.column, text)

    def _fill(self) -> None:
        text = self.editor.text()
        self._close_editor()
        self.filled.emit(text)

    def _drop(self) -> None:
        self._close_editor()
        self.moved.emit()

    def _close_editor(self) -> None:
        self.editor.hide()
        self.under.hide()
        self.plan.forget_typed()
        self.setFocus()

    # --- keys -----------------------------------------------------------------------------------------------------

    def step_right(self, by: int) -> None:
        """To the next column, past the one that nothing is typed in; from the last to the next row's first."""
        column = self.at.column + by
        if column == READ_BACK:
            column += by
        if 0 <= column <= _LAST:
            self.go(At(self.at.row, column), on_run=True)
        elif 0 <= self.at.row + by < self.plan.rowCount():
            self.go(At(self.at.row + by, 0 if by > 0 else _LAST), on_run=True)
        else:
            self.left.emit(by > 0)

    def step_down(self, by: int) -> None:
        """To the row below, in the column where the run of Tabs began."""
        self.go(At(self.at.row + by, self._begun_at))

    def _step(self, down: int, right: int, extend: bool) -> None:
        column = self.at.column + right
        if column == READ_BACK:
            column += right
        self.go(At(self.at.row + down, column), extend=extend)
        if right <= -len(COLUMNS):
            self.show_page(0)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows, Tab, Enter, Home, End and pages move; what can be seen begins typing; Esc and the rest belong to
        the room."""
        modifiers, key = event.modifiers(), Qt.Key(event.key())
        extend = bool(modifiers & Qt.KeyboardModifier.ShiftModifier)
        far = bool(modifiers & Qt.KeyboardModifier.ControlModifier)
        page = max(1, self.viewport().height() // max(1, self.verticalHeader().defaultSectionSize()) - 1)
        many = self.plan.rowCount()
        steps = {
            Qt.Key.Key_Up: (-many if far else -1, 0),
            Qt.Key.Key_Down: (many if far else 1, 0),
            Qt.Key.Key_Left: (0, -len(COLUMNS) if far else -1),
            Qt.Key.Key_Right: (0, len(COLUMNS) if far else 1),
            Qt.Key.Key_PageUp: (-page, 0),
            Qt.Key.Key_PageDown: (page, 0),
            Qt.Key.Key_Home: (-many if far else 0, -len(COLUMNS)),
            Qt.Key.Key_End: (many if far else 0, len(COLUMNS)),
        }
        if key in steps and not modifiers & Qt.KeyboardModifier.AltModifier:
            self._step(*steps[key], extend)
        elif key in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab) and not far:
            self.step_right(-1 if key == Qt.Key.Key_Backtab or extend else 1)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and not far:
            self.step_down(-1 if extend else 1)
        elif key == Qt.Key.Key_F2:
            self.begin_typing()
        elif _types(event):
            self.begin_typing(event.text())
        else:
            event.ignore()

    def event(self, event: QEvent) -> bool:
        """Tab belongs to the table; the last and the first cell let it go."""
        pressed = isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress
        if pressed and isinstance(event, QKeyEvent) and event.key() in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab):
            self.keyPressEvent(event)
            return event.isAccepted()
        return super().event(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self._update_rows(self.places())

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self._update_rows(self.places())

    # --- the pointer ----------------------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self._point(event, extend=bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if event.buttons() & Qt.MouseButton.LeftButton:
            self._point(event, extend=True)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        self._point(event, extend=False)
        self.begin_typing()

    def _point(self, event: QMouseEvent, *, extend: bool) -> None:
        index = self.indexAt(event.position().toPoint())
        if index.isValid() and not self.typing:
            self.setFocus()
            self.go(At(index.row(), index.column()), extend=extend)

    # --- look -----------------------------------------------------------------------------------------------------

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        self.setFont(theme.font(ROW))
        self.editor.setFont(theme.font(ROW))
        self.editor.setStyleSheet(
            f"QLineEdit {{ font-size: {theme.px(ROW)}px; padding: 0 {theme.px(3)}px; border: 2px solid"
            f" {theme.palette.accent}; border-radius: 0; background: {theme.palette.field}; }}"
        )
        self.under.take_theme(theme)
        self.verticalHeader().setMinimumSectionSize(theme.px(20))
        self._after_reset()
        self.fold()
        self.viewport().update()


def _types(event: QKeyEvent) -> bool:
    """Whether a key stands for a character that is typed; AltGr types characters too."""
    text = event.text()
    held = event.modifiers() & (Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier)
    both = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier
    return bool(text) and text.isprintable() and (not held or held == both)
