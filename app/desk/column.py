"""The left side of the Desk: which sheet, and what it lacks."""

from __future__ import annotations

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLabel, QLineEdit, QVBoxLayout, QWidget

from app.desk.finding import Found, matching
from app.desk.lists import FoundCell, ItemsModel, ItemsView, LackCell
from app.desk.work import Older
from app.parts.find_line import is_no_letter
from app.parts.lacking import Lack
from app.window.house import House
from app.window.theme import Theme
from inspection.words.say import word

#: How long typing rests before the whole book is looked through, in milliseconds.
PAUSE = 200


class FindField(QLineEdit):
    """What is looked for. Up and Down move in the list below, Enter chooses there, Esc empties the field."""

    stepped = Signal(int)
    entered = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}.get(Qt.Key(event.key()))
        if step is not None:
            self.stepped.emit(step)
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and not event.modifiers() & _CHOSEN_ELSEWHERE:
            self.entered.emit()
        elif event.key() == Qt.Key.Key_Escape and self.text():
            self.clear()
        elif is_no_letter(event):
            event.ignore()
        else:
            super().keyPressEvent(event)


_CHOSEN_ELSEWHERE = Qt.KeyboardModifier.ControlModifier


class Column(QWidget):
    """``chosen`` carries the sheet to prepare, ``wanted`` the missing thing to go to."""

    chosen = Signal(str)
    wanted = Signal(object)

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.house = house
        self._sheets: tuple[Found, ...] = ()
        self._sheet = ""
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.setInterval(PAUSE)
        self._later.timeout.connect(self._find_older)
        self.field = self._make_field()
        self.found = self._make_list(word("desk.found"), FoundCell)
        self.heading = QLabel(word("desk.lacking"), self)
        self.heading.setProperty("look", "strong")
        self.lacking = self._make_list(word("desk.lacking"), LackCell)
        self.nothing = QLabel(self)
        self.nothing.setWordWrap(True)
        self.nothing.setProperty("look", "soft")
        self._layout = QVBoxLayout(self)
        self._layout.addWidget(self.field)
        self._layout.addWidget(self.found, 4)
        self._layout.addWidget(self.heading)
        self._layout.addWidget(self.nothing)
        self._layout.addWidget(self.lacking, 5)
        self.found.activated.connect(self._choose)
        self.found.clicked.connect(self._choose)
        self.lacking.activated.connect(self._go)
        self.show_lacks(None)

    def _make_field(self) -> FindField:
        field = FindField(self)
        field.setPlaceholderText(word("desk.find"))
        field.setAccessibleName(word("desk.action.find"))
        field.textChanged.connect(self._filter)
        field.stepped.connect(self._step)
        field.entered.connect(self._choose)
        return field

    def _make_list(self, name: str, cell: type[FoundCell] | type[LackCell]) -> ItemsView:
        view = ItemsView(ItemsModel(self), self)
        view.setAccessibleName(name)
        view.setItemDelegate(cell(self.house, view))
        view.setMinimumHeight(1)
        return view

    # --- sheets -----------------------------------------------------------------------------------------------------

    def show_sheets(self, sheets: tuple[Found, ...]) -> None:
        """The newest sheets, as last read."""
        if sheets != self._sheets:
            self._sheets = sheets
            self._filter()

    def show_chosen(self, sheet: str) -> None:
        """This sheet is being prepared: it is marked in the list."""
        self._sheet = sheet
        self._mark()

    def _filter(self, _text: str = "") -> None:
        typed = self.field.text()
        shown = matching(self._sheets, typed)
        self.found.items.show_items(shown)
        self._mark()
        if typed.strip() and not shown:
            self._later.start()
        else:
            self._later.stop()

    def _find_older(self) -> None:
        """None of the newest sheets holds what was typed: look through the whole book."""
        if self.house.worker is not None:
            self.house.worker.read(Older(self.field.text()).run, self._show_older, self.house.fail)

    def _show_older(self, found: tuple[str, tuple[Found, ...]]) -> None:
        typed, sheets = found
        if typed == self.field.text() and not matching(self._sheets, typed):
            self.found.items.show_items(sheets)
            self._mark()

    def _mark(self) -> None:
        items = self.found.items.items
        self.found.go(next((row for row, item in enumerate(items) if item.sheet == self._sheet), 0))

    def _step(self, by: int) -> None:
        self.found.step(by)

    def _choose(self, _index: object = None) -> None:
        item = self.found.chosen()
        if item is not None:
            self.chosen.emit(item.sheet)

    # --- what is missing --------------------------------------------------------------------------------------------

    def show_lacks(self, lacks: tuple[Lack, ...] | None) -> None:
        """What the sheet at hand lacks; None while there is no sheet."""
        self.lacking.items.show_items(lacks or ())
        self.lacking.setVisible(bool(lacks))
        self.heading.setText(self._heading(lacks))
        self.nothing.setText(word("desk.lacking.nothing") if lacks is not None else word("desk.lacking.no_sheet"))
        self.nothing.setVisible(not lacks)
        if lacks:
            self.lacking.go(0)

    @staticmethod
    def _heading(lacks: tuple[Lack, ...] | None) -> str:
        if not lacks:
            return word("desk.lacking")
        stops = sum(lack.stops for lack in lacks)
        return (
            word("desk.lacking.count", n=len(lacks), stops=stops) if stops else word("desk.lacking.some", n=len(lacks))
        )

    def _go(self, _index: object = None) -> None:
        lack = self.lacking.chosen()
        if lack is not None:
            self.wanted.emit(lack)

    # --- look -------------------------------------------------------------------------------------------------------

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.setSpacing(theme.px(8))
        for view in (self.found, self.lacking):
            view.scheduleDelayedItemsLayout()
