"""The window: rail, rooms, the calm strip, and the actions that work everywhere."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtGui import QAction, QCloseEvent, QKeyEvent, QPaintEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QStackedWidget, QVBoxLayout, QWidget

from app.background.worker import Failure
from app.window.house import House, Room
from app.window.keys import KEYS, ROOMS, Key, make_action, written
from app.window.rail import Rail
from app.window.style import dress
from app.window.theme import SCALES, Theme
from app.window.waiting import WaitingPage
from app.window.words import word

if TYPE_CHECKING:
    from app.window.beginning import BeginningPage, Step
    from app.window.notice import Notice
    from app.window.stopped import StoppedPage

#: What the display switch goes through.
UNITS = ("", "in", "mm")
#: Actions on a book, which is to be open.
NEEDS_BOOK = ("new_person", "passphrase", "new_key", "rules", "due", "verify", "starter_crib")
SMALLEST = (960, 600)


class Frame(QWidget):
    """The one window. It knows rooms by name only and builds each when it is first entered.

    ``first_painted`` is emitted once, after the first frame; ``leaving`` when the person wants to close and nothing
    has been done about it yet: whoever owns the book finishes it and then calls ``let_go``.
    """

    first_painted = Signal()
    leaving = Signal()
    again_wanted = Signal()
    open_wanted = Signal()
    new_wanted = Signal()
    person_wanted = Signal()
    new_person_wanted = Signal()
    passphrase_wanted = Signal()
    new_key_wanted = Signal()
    starter_crib_wanted = Signal()

    def __init__(self, house: House) -> None:
        super().__init__()
        self.setObjectName("frame")
        self.house = house
        self._painted = self._may_close = False
        self._rooms: dict[str, Room] = {}
        self.actions_by_name = self._make_actions()
        self._rail = self._make_rail(house.theme)
        self.waiting = WaitingPage(house.theme, self)
        self._stopped: StoppedPage | None = None
        self._beginning: BeginningPage | None = None
        self._notice: Notice | None = None
        self._pages = QStackedWidget(self)
        self._pages.addWidget(self.waiting)
        self._lay_out()
        house.theme_changed.connect(self._take_theme)
        house.units_changed.connect(self._show_switches)
        house.person_changed.connect(self._show_switches)
        house.shop_changed.connect(self._show_switches)
        house.noticed.connect(self._tell)
        house.rules_wanted.connect(self._show_rules)
        self._show_switches()
        self._take_smallest(house.theme)
        self.show_book("")
        self.waiting.entry.setFocus()

    # --- building ---------------------------------------------------------------------------------------------------

    def _make_actions(self) -> dict[str, QAction]:
        does = {
            "keys": self._show_keys,
            "again": self.again_wanted.emit,
            "units": self._next_units,
            "theme": self._other_theme,
            "person": self.person_wanted.emit,
            "new_person": self.new_person_wanted.emit,
            "passphrase": self.passphrase_wanted.emit,
            "new_key": self.new_key_wanted.emit,
            "rules": self._show_rules,
            "due": self._show_due,
            "verify": self._show_verifying,
            "starter_crib": self.starter_crib_wanted.emit,
            "larger": self._larger,
            "smaller": self._smaller,
            "plain_size": self._plain_size,
            "open_book": self.open_wanted.emit,
            "new_book": self.new_wanted.emit,
            "quit": self.close,
        }
        made = {name: make_action(self, key, word(key.code), does[name]) for name, key in KEYS.items()}
        for name, (key, _module, _class) in ROOMS.items():
            made[name] = make_action(self, Key(key, f"room.{name}"), word(f"room.{name}"), self._enter_from_action)
            made[name].setData(name)
            made[name].setEnabled(False)
        for name in ("again", *NEEDS_BOOK):
            made[name].setEnabled(False)
        return made

    def _offered(self, *names: str) -> tuple[QAction, ...]:
        return tuple(self.actions_by_name[name] for name in names)

    def _make_rail(self, theme: Theme) -> Rail:
        named = self.actions_by_name
        rooms = {name: named[name] for name in ROOMS}
        switches = {name: named[name] for name in ("person", "open_book", "units", "theme", "plain_size")}
        return Rail(rooms, switches, theme, self)

    def _lay_out(self) -> None:
        right = self._right = QVBoxLayout()
        right.setContentsMargins(0, 0, 0, 0)
        right.setSpacing(0)
        right.addWidget(self._pages, 1)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self._rail)
        layout.addLayout(right, 1)

    # --- pages and rooms --------------------------------------------------------------------------------------------

    def show_book(self, book: str) -> None:
        """Name the book in title, rail and waiting page."""
        self.setWindowTitle(word("window.title", book=book) if book else word("program.name"))
        shown = book.removesuffix(".tenthwright") or word("rail.book.none")
        self._rail.show_switch("open_book", shown, word("rail.book"))
        self.waiting.show_book(book)

    def wait_for(self, book: str) -> None:
        """Show the waiting page; rooms stay shut until the book is open."""
        self.show_book(book)
        self._shut_rooms()
        self._pages.setCurrentWidget(self.waiting)
        self.waiting.entry.setFocus()

    def stop_at(self, title: str, text: str, next_step: str, *offered: str) -> None:
        """Show why there is no book and what can be done; what was typed has no row and is dropped."""
        self._shut_rooms()
        self.waiting.entry.forget()
        self.actions_by_name["again"].setEnabled("again" in offered)
        page = self._stopped_page()
        page.tell(title, text, next_step, self._offered(*offered))
        self._pages.setCurrentWidget(page)
        page.take_focus()

    def _stopped_page(self) -> StoppedPage:
        if self._stopped is None:
            from app.window.stopped import StoppedPage

            actions = self._offered("again", "new_book", "open_book")
            self._stopped = StoppedPage(actions, self.house.theme, self)
            self._pages.addWidget(self._stopped)
        return self._stopped

    def begin_with(self, steps: tuple[Step, ...]) -> None:
        """Show how far a book without a sheet has come; what was typed has no row and is dropped."""
        self.waiting.entry.forget()
        if self._beginning is None:
            from app.window.beginning import BeginningPage

            self._beginning = BeginningPage(self.actions_by_name, self.house.theme, self)
            self._pages.addWidget(self._beginning)
        self._pages.setCurrentWidget(self._beginning)
        self._rail.enter("")
        self._beginning.show_steps(steps)

    def beginning(self) -> bool:
        """Whether the page of a book without a sheet is shown."""
        return self._beginning is not None and self._pages.currentWidget() is self._beginning

    def in_room(self) -> bool:
        """Whether a room is shown."""
        return isinstance(self._pages.currentWidget(), Room)

    def _shut_rooms(self) -> None:
        for name in (*ROOMS, *NEEDS_BOOK):
            self.actions_by_name[name].setEnabled(False)
        self._rail.enter("")
        for room in self._rooms.values():
            self._pages.removeWidget(room)
            room.deleteLater()
        self._rooms.clear()

    def open_rooms(self) -> None:
        """The book is open: rooms may be entered."""
        self.actions_by_name["again"].setEnabled(False)
        for name in (*ROOMS, *NEEDS_BOOK):
            self.actions_by_name[name].setEnabled(True)

    def room(self, name: str) -> Room:
        """The room of this name, built if it was not yet."""
        if name not in self._rooms:
            _key, module, kind = ROOMS[name]
            made: Room = getattr(import_module(module), kind)(self.house, self._pages)
            self._rooms[name] = made
            self._pages.addWidget(made)
        return self._rooms[name]

    def enter(self, name: str) -> Room:
        """Enter a room, put the focus where keys belong, and hand over what was typed before it stood."""
        room = self.room(name)
        first = self._pages.currentWidget() is self.waiting
        self._pages.setCurrentWidget(room)
        self._rail.enter(name)
        room.arrive()
        if first and name == "bench":
            self.waiting.entry.hand_over(room.keys_go_to())
        elif first:
            self.waiting.entry.forget()
        return room

    @Slot()
    def _enter_from_action(self) -> None:
        action = self.sender()
        if isinstance(action, QAction):
            if self._notice is not None and not self._notice.failure:
                self._notice.put_away()  # said where the person was
            self.enter(action.data())

    def _show_due(self) -> None:
        """What is overdue in the crib, and what falls due soon."""
        self.put_notice_away()  # it led here
        crib: Any = self.enter("crib")
        crib.show_due()

    # --- switches ---------------------------------------------------------------------------------------------------

    def _show_switches(self, _changed: object = None) -> None:
        house = self.house
        self._rail.show_switch("units", word(f"rail.shown.{house.units}"), word("rail.shown"))
        self._rail.show_switch("theme", word(f"rail.theme.{house.theme.name}"), word("rail.theme"))
        self._rail.show_switch("plain_size", f"{house.theme.scale} %", word("rail.scale"))
        person = house.shop.people.get(house.person) if house.shop is not None else None
        name = person.name if person is not None else word("rail.nobody")
        self._rail.show_switch("person", name, word("rail.at_bench"))

    def _next_units(self) -> None:
        self.house.set_units(UNITS[(UNITS.index(self.house.units) + 1) % len(UNITS)])

    def _other_theme(self) -> None:
        theme = self.house.theme
        self.house.set_theme(theme.named("dark" if theme.name == "light" else "light"))

    def _larger(self) -> None:
        self._scale_to(next((scale for scale in SCALES if scale > self.house.theme.scale), SCALES[-1]))

    def _smaller(self) -> None:
        self._scale_to(next((scale for scale in reversed(SCALES) if scale < self.house.theme.scale), SCALES[0]))

    def _plain_size(self) -> None:
        self._scale_to(100)

    def _scale_to(self, scale: int) -> None:
        self.house.set_theme(self.house.theme.scaled(scale))

    def _take_theme(self, theme: Theme) -> None:
        app = QApplication.instance()
        if isinstance(app, QApplication):
            dress(app, theme)
        self._rail.take_theme(theme)
        self.waiting.take_theme(theme)
        for late in (self._stopped, self._beginning, self._notice):
            if late is not None:
                late.take_theme(theme)
        self._take_smallest(theme)
        self._show_switches()

    def _take_smallest(self, theme: Theme) -> None:
        """The smallest size grows with the scale, but never beyond the screen."""
        room = self.screen().availableGeometry().size()
        self.setMinimumSize(*(min(theme.px(side), most) for side, most in zip(SMALLEST, room.toTuple(), strict=True)))

    def _show_keys(self) -> None:
        from app.window import asking

        current = self._pages.currentWidget()
        here = current.actions() if isinstance(current, Room) else []
        shown = [*here, *(action for action in self.actions() if action.isEnabled())]
        asking.ask(self, asking.Question(word("keys.title"), yes=word("keys.close"), rows=written(shown)))

    def _show_rules(self) -> None:
        """The shop's rules, once the book is open."""
        from app.rules.dialog import RulesDialog
        from app.window import asking

        if self.house.shop is not None:
            dialog = RulesDialog(self, self.house)
            dialog.finished.connect(self.activateWindow)  # not every screen has a manager that does
            asking.stay_with(dialog)

    def _show_verifying(self) -> None:
        """Verify the book that is open."""
        from app.verifying.dialog import VerifyingDialog
        from app.window import asking

        dialog = VerifyingDialog(self, self.house)
        dialog.finished.connect(self.activateWindow)  # not every screen has a manager that does
        asking.stay_with(dialog)

    # --- strip, first frame, end ------------------------------------------------------------------------------------

    def show_failure(self, failure: Failure) -> None:
        """Show a failure in the calm strip."""
        self.house.fail(failure)

    def _tell(self, sentence: str, failure: bool) -> None:
        if self._notice is None:
            from app.window.notice import Notice

            self._notice = Notice(self.house.theme, self)
            self._right.addWidget(self._notice)
        self._notice.tell(sentence, failure)

    def notice(self) -> str:
        """The sentence in the calm strip, "" if it is put away."""
        return self._notice.sentence() if self._notice is not None else ""

    def put_notice_away(self) -> bool:
        """Put the strip away; whether there was one."""
        if self._notice is None or self._notice.isHidden():
            return False
        self._notice.put_away()
        return True

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc that no room wanted puts the strip away."""
        if event.key() != Qt.Key.Key_Escape or not self.put_notice_away():
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self._painted:
            self._painted = True
            QTimer.singleShot(0, self.first_painted.emit)

    def let_go(self) -> None:
        """Everything is on disk: the window may close."""
        self._may_close = True
        self.close()

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self._may_close:
            self.leaving.emit()  # may call let_go at once, if there is nothing to finish
        event.setAccepted(self._may_close)
