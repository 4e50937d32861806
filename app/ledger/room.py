"""The Ledger: find a sheet at the left, read it at the right, and go on with it. Everything by key."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace
from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QAction, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QHBoxLayout,
    QLabel,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from app.background.worker import Job, Ticket
from app.jobs import finding
from app.ledger import questions, work
from app.ledger.chosen import Chosen
from app.ledger.doing import SheetDoing, why_not
from app.ledger.keys import BACK, BUTTONS, CUT_KEYS, CUTS, KEYS, ON_ONE
from app.ledger.line import Line
from app.ledger.pages import Pages
from app.ledger.side import Face, Side
from app.ledger.table import SheetsTable
from app.ledger.top import Top
from app.parts.buttons import rest
from app.parts.doing import Doing
from app.parts.exporting import copy_listing, write_listing_out
from app.parts.fitted import Fitted
from app.window.house import House, Room
from app.window.keys import Key, make_action
from app.window.theme import Theme
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.words.say import say, word
from storage.book.queries.found_sheets import Wanted

if TYPE_CHECKING:
    from storage.dispatch.listing import Listing

#: The width of the page beside the list in logical pixels, and its share of the room in per cent.
SIDE, SHARE, MOST_SIDE = 420, 38, 640
#: The act that a key leads to: whether the person may do it now is said before anything is asked.
LEADS_TO: dict[str, type[acts.Act]] = {"sign": acts.SignSheet, "round": acts.Reopen}
#: A room narrower than this shows the list, or the page, but not both.
BOTH = 820


class LedgerRoom(Room):
    """Finds sheets, shows one, and starts what is done with it."""

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(house, parent)
        self.setObjectName("page")
        self.wanted = Wanted()
        self._faulty = ""
        self._cut = "all"
        self._more, self._asked_after = False, 0
        self._when_found: Callable[[], object] | None = None
        self._finding: Job | None = None
        self.pages = Pages(house, self)
        self.pages.left.connect(self._to_finding)
        self._doing = Doing(house.theme, self)
        self.doing = SheetDoing(house, self, self._doing)
        self.actions_by_name = self._make_actions()
        named = self.actions_by_name
        filters = [named[name] for name in (*map(_cut_name, CUTS), "fields")]
        doing, back = (tuple(named[name] for name in names) for names in (BUTTONS, BACK))
        self.top = Top(doing, back, tuple(filters), house.theme, self)
        self.table = SheetsTable(house, self)
        self.model = self.table.sheets
        self.side = Side(house.theme, self)
        self.chosen = Chosen(house, self.side, self.table.line, self)
        self._empty = QLabel(self)
        self._empty.setWordWrap(True)
        self._empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._hints = Fitted("quiet", self)
        self._hints.show_text(word("ledger.hints"))
        self._soon = QTimer(self, interval=50, singleShot=True)
        self._soon.timeout.connect(self._find)
        self._later = QTimer(self, interval=90, singleShot=True)
        self._later.timeout.connect(self.chosen.look)
        self._lay_out()
        self._connect()
        self.take_theme(house.theme)
        self._name_actions()
        self._show_title()

    # --- building ---------------------------------------------------------------------------------------------------

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {
            "open": self._open,
            "next": self._on_one(self.doing.make_next),
            "sign": self._on_one(self.doing.sign),
            "round": self._on_one(self.doing.begin_round),
            "review": self._to_review,
            "nonconformances": self.pages.nonconformances,
            "rows": self._to_rows,
            "beside": self._to_beside,
            "trace": self.pages.trace,
            "desk": self._to_desk,
            "part": self._part_or_all,
            "sheet": partial(self._turn_to, Face.SHEET),
            "journal": partial(self._turn_to, Face.JOURNAL),
            "fields": self._ask_fields,
            "copy": partial(self._list_found, self._copy_list),
            "write": partial(self._list_found, self._write_list),
            "find": self._to_find,
            "on": partial(self._scroll, 1),
            "up": partial(self._scroll, -1),
        }
        page = self.pages.finding
        does |= {name: partial(self._once_found, name, does[name]) for name in ON_ONE}
        made = {name: make_action(page, key, word(key.code), does[name]) for name, key in KEYS.items()}
        for name, key in CUT_KEYS.items():
            cut = partial(self._cut_to, name)
            made[_cut_name(name)] = make_action(page, Key(key, ""), word(f"ledger.only.{name}"), cut)
        for name in (*map(_cut_name, CUTS), "part"):
            made[name].setCheckable(True)
        made[_cut_name("all")].setChecked(True)
        for action in made.values():
            action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        return made

    def _on_one(self, do: Callable[[Line], None]) -> Callable[[], None]:
        def on_chosen() -> None:
            if (line := self.line()) is not None:
                do(line)

        return on_chosen

    def _lay_out(self) -> None:
        left = self._left = QWidget(self)
        self._stack = QStackedLayout(left)
        self._stack.addWidget(self.table)
        self._stack.addWidget(self._empty)
        self._columns = QHBoxLayout()
        self._columns.addWidget(left, 1)
        self._columns.addWidget(self.side)
        self._layout = QVBoxLayout(self.pages.finding)
        self._layout.addWidget(self.top)
        self._layout.addLayout(self._columns, 1)
        self._layout.addWidget(self._hints)
        self._layout.addWidget(self._doing)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.pages)

    def _connect(self) -> None:
        self.top.search.textChanged.connect(self._typed)
        self.top.given_on.connect(self.table.move_by)
        self.table.selectionModel().currentRowChanged.connect(self._moved)
        self.table.doubleClicked.connect(self._open_index)
        self.table.ran_low.connect(self._read_on)
        self.chosen.seen.connect(self._show_rest)
        self.doing.done.connect(self._find)
        if self.house.worker is not None:
            self.house.worker.acted.connect(self._acted)

    # --- finding ----------------------------------------------------------------------------------------------------

    def arrive(self) -> None:
        """The room was entered: letters go to the find line, and the list is read anew; a review is gone on with."""
        self._find()
        self.pages.go_on()
        if self.pages.shown() is self.pages.finding:
            self._to_find()

    def actions(self) -> list[QAction]:
        """Those of the page that is shown."""
        return self.pages.shown().actions()

    def keys_go_to(self) -> QWidget:
        """The find line."""
        return self.top.search

    def _to_find(self) -> None:
        self._narrow_face(False)
        self.top.search.setFocus()
        self.top.search.selectAll()

    def _typed(self, _text: str) -> None:
        self._when_found = None
        self._soon.start()

    def _find(self) -> None:
        """Look for what is wanted now, from the newest on; what was being looked for is let go."""
        self._soon.stop()
        if self.house.worker is None:
            return
        within = Wanted(part=self.chosen.part, state=CUTS[self._cut].state, sent=CUTS[self._cut].sent)
        try:
            self.wanted = self._understood(within)
        except Refused as refused:
            self._faulty = say(refused.reasons[0])
            self._show_title()
            return
        self._faulty = ""
        if self._finding is not None:
            self._finding.stop()
        self._asked_after = 0
        self._finding = self.house.worker.read(work.Find(self.wanted).run, self._take_page, self.house.fail)
        self._name_actions()
        self.chosen.look_at_part()

    def _understood(self, within: Wanted) -> Wanted:
        """What the find line looks for. Raises Refused."""
        shop = self.house.shop
        return within if shop is None else finding.wanted_by(self.top.search.text(), shop, within)

    def _read_on(self) -> None:
        """The next page, once."""
        if not self._more or self.house.worker is None or not self.model.lines:
            return
        after = self.model.lines[-1].sequence
        if after != self._asked_after:
            self._asked_after = after
            self.house.worker.read(work.Find(self.wanted, after).run, self._take_page, self.house.fail)

    def _take_page(self, page: work.Page) -> None:
        if page.wanted != self.wanted:
            return
        if page.after:
            if self.model.lines and page.after == self.model.lines[-1].sequence:
                self._more = page.more
                self.table.append(page.lines)
                self.table.look_down()
            self._show_title()
            return
        self._finding, self._more = None, page.more
        line = self.line()
        self.table.show_lines(page.lines, line.sheet if line is not None else self.house.at_hand)
        self._stack.setCurrentWidget(self.table if page.lines else self._empty)
        self._empty.setText(word("ledger.empty.found") if self._is_cut() else word("ledger.empty"))
        self._name_actions()
        self._show_title()
        self._fold()
        self.table.look_down()
        self._later.start()
        do, self._when_found = self._when_found, None
        if do is not None:
            do()

    def _is_cut(self) -> bool:
        return self.wanted != Wanted()

    def _show_title(self) -> None:
        n = len(self.model.lines)
        said = [word("ledger.count.more", n=n) if self._more else word("ledger.count", n=n)]
        shop = self.house.shop
        if shop is not None:
            cut = self.wanted.state is CUTS[self._cut].state  # its button says so
            said += finding.told(replace(self.wanted, state=None) if cut else self.wanted, shop)
        part = self.chosen.part_title if self.chosen.part else ""
        title = word("ledger.part.title", part=part) if part else word("room.ledger")
        self.top.show_title(title, self._faulty or "   ".join(said), faulty=bool(self._faulty))
        for name in CUTS:
            self.actions_by_name[_cut_name(name)].setChecked(name == self._cut)
        self.actions_by_name["part"].setChecked(bool(self.chosen.part))

    def _acted(self, _ticket: Ticket, _outcome: Any) -> None:
        if self.isVisible():
            self._soon.start()

    # --- cutting down -----------------------------------------------------------------------------------------------

    def _cut_to(self, name: str) -> None:
        self._cut = name
        self._find_anew()

    def _find_anew(self) -> None:
        self._show_title()
        self._find()

    def _ask_fields(self) -> None:
        """Ask field by field; the answer stands in the find line."""
        if self.house.shop is not None:
            line = questions.ask_fields(self, self.house.shop, self.top.search.text())
            if line is not None:
                self.top.search.setText(line)
                self._find_anew()
            self._to_find()

    def _part_or_all(self) -> None:
        """The sheets of the chosen one's part in time; once more, all sheets again."""
        looked = self.chosen.here
        if self.chosen.part:
            self._of_part("", "")
        elif looked is not None:
            self.top.search.clear()
            self._of_part(looked.sheet.plan.part_identity, looked.sheet.plan.part.number)
        else:
            self._show_title()

    def _of_part(self, part: str, title: str) -> None:
        self.chosen.of_part(part, title)
        self.table.of_part = bool(part)
        self.table.fold()
        self._find_anew()

    # --- the sheet chosen -------------------------------------------------------------------------------------------

    def line(self) -> Line | None:
        """The sheet that is chosen, None if none is listed."""
        return self.table.line()

    def choose(self, sheet: str) -> None:
        """Choose the row of this sheet."""
        place = self.model.place_of(sheet)
        if place >= 0:
            self.table.selectRow(place)

    def _moved(self, *_where: object) -> None:
        line, looked = self.line(), self.chosen.looked
        self._name_actions()
        another = line is not None and looked is not None and line.sheet != looked.sheet.identity
        if self.side.face is Face.PART and another and self.table.hasFocus():
            self.side.face = Face.SHEET
        self._later.start()

    def _name_actions(self) -> None:
        for name in ON_ONE:
            rest(self.actions_by_name[name], self._why_none(name) if self._finding is None else "")
        self._show_rest()
        self.actions_by_name["part"].setText(word("ledger.action.all" if self.chosen.part else "ledger.action.part"))

    def _show_rest(self) -> None:
        """What is not to be done with the sheet chosen stays on its key, which says why."""
        looked = self.chosen.here
        if looked is not None:
            for name, kind in LEADS_TO.items():
                rest(self.actions_by_name[name], why_not(self.house, looked, kind))

    def _scroll(self, pages: int) -> None:
        self.side.turn(pages)

    def _turn_to(self, face: Face) -> None:
        """Show this face; the one shown already goes back to the sheet."""
        self.chosen.turn_to(face)
        self._narrow_face(face is not Face.SHEET or not self.side.isVisible())
        self.chosen.show(from_top=True)
        self.chosen.look()

    # --- what is done -----------------------------------------------------------------------------------------------

    def _open(self) -> None:
        if (line := self.line()) is not None:
            self.house.sheet_wanted.emit(line.sheet)

    def _open_index(self, *_index: object) -> None:
        self._open()

    def _to_desk(self) -> None:
        if (line := self.line()) is not None:
            self.house.desk_wanted.emit(line.sheet)

    # --- other pages ------------------------------------------------------------------------------------------------

    def review(self, sheet: str, decide: str = "") -> None:
        """Review this sheet; ``decide`` is the nonconformance to be decided at once."""
        self.pages.review(sheet, decide)

    def _to_review(self) -> None:
        if (line := self.line()) is not None:
            self.review(line.sheet)

    def _to_rows(self) -> None:
        """The rows of the chosen sheet's part in time."""
        line = self.line()
        if line is not None and self.house.worker is not None:
            self.house.worker.read(work.Look(line.sheet).run, self._show_rows, self.house.fail)

    def _to_beside(self) -> None:
        """The chosen sheet beside the one of its part that was made before."""
        if (line := self.line()) is not None:
            self.pages.beside(line.sheet)

    def _show_rows(self, looked: work.Looked) -> None:
        self.pages.rows(looked.sheet.plan.part_identity, looked.sheet.plan.part.number)

    # --- what was found, as a table ---------------------------------------------------------------------------------

    def _list_found(self, then: Callable[[Listing], None]) -> None:
        """All that was found, those too that were not read yet."""
        if self.house.worker is not None:
            title, about = word("room.ledger"), self.top.about()
            self.house.worker.read(work.ListFound(self.wanted, title, about).run, then, self.house.fail)

    def _copy_list(self, listing: Listing) -> None:
        copy_listing(self.house, listing)

    def _write_list(self, listing: Listing) -> None:
        write_listing_out(self, self.house, listing, word("ledger.list.file"))

    def _to_finding(self) -> None:
        self.pages.to_finding()
        self.arrive()

    # --- keys and look ----------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter opens the sheet, or presses the button that has the focus; Esc goes one step back. Other pages have
        keys of their own."""
        if self.pages.shown() is not self.pages.finding:
            super().keyPressEvent(event)
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            button = QApplication.focusWidget()
            button.click() if isinstance(button, QAbstractButton) else self._once_found("open", self._open)
        elif event.key() == Qt.Key.Key_Escape and self._step_back():
            pass
        else:
            super().keyPressEvent(event)

    def _once_found(self, name: str, do: Callable[[], object]) -> None:
        """Do it with the sheet chosen; what was typed just now is looked for first."""
        if self._soon.isActive() or self._finding is not None:
            self._when_found = partial(self._once_found, name, do)
            self._find()
        elif why := self._why_none(name):
            self.house.notice(why)
        else:
            do()

    def _why_none(self, name: str) -> str:
        """Why there is no sheet for an action, and what to do; empty where there is one."""
        if self.line() is not None or (name == "part" and self.chosen.part):
            return ""
        return word("ledger.none_chosen" if self._is_cut() else "ledger.none_yet")

    def _step_back(self) -> bool:
        """Stop what is done; from the page to the list; the find line empty; all states, people, days; all parts."""
        if self._doing.stop():
            return True
        if self._narrow() and self.side.isVisible():
            self._to_find()
        elif self.side.face is Face.JOURNAL:
            self._turn_to(Face.SHEET)
        elif self.top.search.text():
            self.top.search.clear()
        elif self._cut != "all":
            self._cut = "all"
            self._find_anew()
        elif self.chosen.part:
            self._of_part("", "")
        else:
            return False
        return True

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def _room(self) -> int:
        return self.width() - 2 * self._layout.contentsMargins().left()

    def _narrow(self) -> bool:
        return self._room() < self.house.theme.px(BOTH)

    def _narrow_face(self, page: bool) -> None:
        """In a narrow room, the page in place of the list, or the list."""
        if self._narrow():
            self.side.setVisible(page)
            self._left.setVisible(not page)
            if page:
                self.side.page.setFocus()

    def _fold(self) -> None:
        """The page gets its share beside the list; in a narrow room one of the two gets all of it."""
        theme, room = self.house.theme, self._room()
        self.top.fold(self.height() * 100 / theme.scale)
        if self._narrow():
            self.side.setFixedWidth(max(room, 1))
            shows_page = self.side.isVisible() and self.side.page.hasFocus()
            self.side.setVisible(shows_page)
            self._left.setVisible(not shows_page)
            return
        self.side.setFixedWidth(min(max(theme.px(SIDE), room * SHARE // 100), theme.px(MOST_SIDE)))
        self.side.setVisible(bool(self.model.lines))
        self._left.setVisible(True)

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        edge = theme.px(24)
        self._layout.setContentsMargins(edge, theme.px(18), edge, theme.px(14))
        self._layout.setSpacing(theme.px(12))
        self._columns.setSpacing(theme.px(16))
        self.table.take_theme(theme)
        self.top.take_theme(theme)
        self.side.take_theme(theme)
        self._doing.take_theme(theme)
        self._empty.setMaximumWidth(theme.px(760))
        self.pages.take_theme(theme)
        self._fold()
        self.chosen.show()
        self.update()


def _cut_name(cut: str) -> str:
    """The action that cuts the list down so."""
    return f"only {cut}"
