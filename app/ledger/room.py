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

from app.background.worker import Failure, Job, Ticket
from app.jobs import finding
from app.ledger import detail, questions, work
from app.ledger.keys import BACK, BUTTONS, CUT_KEYS, CUTS, KEYS, ON_ONE
from app.ledger.line import Line
from app.ledger.pages import Pages
from app.ledger.side import Face, Side
from app.ledger.table import SheetsTable
from app.ledger.top import Top
from app.parts import signing
from app.parts.buttons import rest
from app.parts.doing import Doing
from app.parts.exporting import copy_listing, write_listing_out
from app.parts.fitted import Fitted
from app.window.house import House, Room
from app.window.keys import Key, make_action
from app.window.theme import Theme
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet.steps import not_now
from inspection.words.say import say, word
from storage.book.queries.found_sheets import Wanted

if TYPE_CHECKING:
    from app.jobs.hand import Foreseen
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
        self._part, self._part_title = "", ""
        self._more, self._asked_after = False, 0
        self._when_found: Callable[[], object] | None = None
        self._finding: Job | None = None
        self._looked: work.Looked | None = None
        self._journal: list[work.Told] = []
        self._part_looked: work.PartLooked | None = None
        self._reading_on = False
        self.pages = Pages(house, self)
        self.pages.left.connect(self._to_finding)
        self.actions_by_name = self._make_actions()
        named = self.actions_by_name
        filters = [named[name] for name in (*map(_cut_name, CUTS), "fields")]
        doing, back = (tuple(named[name] for name in names) for names in (BUTTONS, BACK))
        self.top = Top(doing, back, tuple(filters), house.theme, self)
        self.table = SheetsTable(house, self)
        self.model = self.table.sheets
        self.side = Side(house.theme, self)
        self._empty = QLabel(self)
        self._empty.setWordWrap(True)
        self._empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._hints = Fitted("quiet", self)
        self._hints.show_text(word("ledger.hints"))
        self._doing = Doing(house.theme, self)
        self._doing.stopped.connect(self._signing_stopped)
        self._soon = QTimer(self, interval=50, singleShot=True)
        self._soon.timeout.connect(self._find)
        self._later = QTimer(self, interval=90, singleShot=True)
        self._later.timeout.connect(self._look)
        self._lay_out()
        self._connect()
        self.take_theme(house.theme)
        self._name_actions()
        self._show_title()

    # --- building ---------------------------------------------------------------------------------------------------

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {
            "open": self._open,
            "next": self._next,
            "sign": self._sign,
            "round": self._round,
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
        does |= {name: partial(self._once_found, does[name]) for name in ON_ONE}
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
        self.side.ran_low.connect(self._read_older)
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
        within = Wanted(part=self._part, state=CUTS[self._cut].state, sent=CUTS[self._cut].sent)
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
        if self._part:
            self.house.worker.read(work.PartInTime(self._part).run, self._take_part, self.house.fail)

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
                self.model.append(page.lines)
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
        title = word("ledger.part.title", part=self._part_title) if self._part else word("room.ledger")
        self.top.show_title(title, self._faulty or "   ".join(said), faulty=bool(self._faulty))
        for name in CUTS:
            self.actions_by_name[_cut_name(name)].setChecked(name == self._cut)
        self.actions_by_name["part"].setChecked(bool(self._part))

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
        looked = self._looked
        if self._part:
            self._leave_part()
        elif looked is not None and (line := self.line()) is not None and line.sheet == looked.sheet.identity:
            plan = looked.sheet.plan
            self._part, self._part_title, self._part_looked = plan.part_identity, plan.part.number, None
            self.top.search.clear()
            self.side.face = Face.PART
            self.table.of_part = True
            self.table.fold()
            self._find_anew()
        else:
            self._show_title()

    def _leave_part(self) -> None:
        self._part, self._part_looked = "", None
        self.side.face = Face.SHEET
        self.table.of_part = False
        self.table.fold()
        self._find_anew()

    def _take_part(self, looked: work.PartLooked) -> None:
        if looked.part == self._part:
            self._part_looked = looked
            self._show_side()

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
        self._name_actions()
        if self.side.face is Face.PART and self._looked is not None:
            line = self.line()
            if line is not None and line.sheet != self._looked.sheet.identity and self.table.hasFocus():
                self.side.face = Face.SHEET
        self._later.start()

    def _name_actions(self) -> None:
        line = self.line()
        for name in ON_ONE:
            self.actions_by_name[name].setEnabled(line is not None or self._finding is not None)
        self.actions_by_name["part"].setEnabled(line is not None or bool(self._part))
        self._show_rest()
        self.actions_by_name["part"].setText(word("ledger.action.all" if self._part else "ledger.action.part"))

    def _show_rest(self) -> None:
        """What is not to be done with the sheet chosen stays on its key, which says why."""
        line, looked = self.line(), self._looked
        if line is not None and looked is not None and looked.sheet.identity == line.sheet:
            for name, kind in LEADS_TO.items():
                rest(self.actions_by_name[name], self._why_not(looked, kind))

    def _why_not(self, looked: work.Looked, kind: type[acts.Act]) -> str:
        reason = not_now(looked.shop, looked.sheet, kind, self.house.person)
        return say(reason) if reason is not None else ""

    def _look(self) -> None:
        """Read the sheet chosen, and its journal if that is shown."""
        line, worker = self.line(), self.house.worker
        if line is None or worker is None:
            self._looked, self._journal = None, []
            self._show_side()
            return
        worker.read(work.Look(line.sheet).run, self._take_sheet, self.house.fail)
        if self.side.face is Face.JOURNAL:
            self._read_journal(line.sheet, 0)

    def _take_sheet(self, looked: work.Looked) -> None:
        line = self.line()
        if line is None or looked.sheet.identity != line.sheet:
            return
        again = self._looked is not None and self._looked.sheet.identity == looked.sheet.identity
        self._looked = looked
        self._show_rest()
        if not again:
            self._journal = [told for told in self._journal if told.sheet == looked.sheet.identity]
        self._show_side(from_top=not again)

    def _read_journal(self, sheet: str, before: int) -> None:
        if self.house.worker is not None:
            self._reading_on = True
            self.house.worker.read(work.Journal(sheet, before).run, self._take_journal, self.house.fail)

    def _take_journal(self, told: work.Told) -> None:
        self._reading_on = False
        line = self.line()
        if line is None or told.sheet != line.sheet:
            return
        kept = self._journal if told.before else []
        self._journal = [*kept, told]
        self._show_side(from_top=not kept and not told.before)

    def _read_older(self) -> None:
        """The end of the journal read so far is in sight."""
        if self.side.face is not Face.JOURNAL or self._reading_on or not self._journal:
            return
        last = self._journal[-1]
        if last.more and last.lines:
            self._read_journal(last.sheet, last.lines[-1].sequence)

    def _turn_to(self, face: Face) -> None:
        """Show this face; the one shown already goes back to the sheet."""
        self.side.face = face if self.side.face is not face else Face.SHEET
        self._narrow_face(face is not Face.SHEET or not self.side.isVisible())
        if self.side.face is Face.JOURNAL:
            self._journal = []
        self._show_side(from_top=True)
        self._look()

    def _scroll(self, pages: int) -> None:
        self.side.turn(pages)

    def _show_side(self, *, from_top: bool = False) -> None:
        looked, theme, html = self._looked, self.house.theme, ""
        if self.side.face is Face.PART and self._part_looked is not None:
            html = detail.part_page(word("ledger.part.title", part=self._part_title), self._part_looked, theme)
        elif looked is not None and self.side.face is Face.JOURNAL:
            part = looked.sheet.plan.part
            serials = ", ".join(piece.serial for piece in looked.sheet.pieces)
            title = word("ledger.of_part", part=part.number, revision=part.revision)
            pages = [told for told in self._journal if told.sheet == looked.sheet.identity]
            html = detail.journal_page(f"{title}   {serials}", pages, theme)
        elif looked is not None:
            html = detail.sheet_page(looked, theme)
        self.side.show_page(html, from_top=from_top)

    # --- what is done -----------------------------------------------------------------------------------------------

    def _open(self) -> None:
        if (line := self.line()) is not None:
            self.house.sheet_wanted.emit(line.sheet)

    def _open_index(self, *_index: object) -> None:
        self._open()

    def _to_desk(self) -> None:
        if (line := self.line()) is not None:
            self.house.desk_wanted.emit(line.sheet)

    def _sign(self) -> None:
        line = self.line()
        if line is not None and self.house.worker is not None:
            self.house.worker.read(work.Look(line.sheet).run, self._ask_to_sign, self.house.fail)

    def _ask_to_sign(self, looked: work.Looked) -> None:
        if why := self._why_not(looked, acts.SignSheet):
            self.house.notice(why)
            return
        wanted = signing.to_sign(looked.shop, looked.sheet)
        job = signing.sign(self, self.house, wanted, self._told, self._failed, desk_key=KEYS["desk"].key)
        if job is not None:
            self._doing.begin(word("sign.working"), job)

    def _foreseen(self) -> Foreseen:
        assert self.house.foreseen is not None, "the room is entered with an open book only"
        return self.house.foreseen

    def _told(self, said: str) -> None:
        self._doing.over()
        self.house.notice(said)
        self._find()

    def _signing_stopped(self, _job: object) -> None:
        """What was signed in the book before its PDF was stopped stays signed; the list tells which it is."""
        self.house.notice(word("sign.stopped"))
        self._find()

    def _failed(self, failure: Failure) -> None:
        self._doing.over()
        self.house.fail(failure)

    def _round(self) -> None:
        line = self.line()
        if line is not None and self.house.worker is not None:
            self.house.worker.read(work.Look(line.sheet).run, self._ask_for_round, self.house.fail)

    def _ask_for_round(self, looked: work.Looked) -> None:
        line = self.line()
        if why := self._why_not(looked, acts.Reopen):
            self.house.notice(why)
            return
        reason = questions.ask_round(self, line) if line is not None else ""
        if line is not None and reason:
            said = word("ledger.round.done", part=line.part)
            self.house.do(acts.Reopen(sheet=line.sheet, reason=reason), kept=lambda _outcome: self._told(said))

    def _next(self) -> None:
        """A sheet on the next pieces of the same part."""
        line = self.line()
        asked = questions.ask_next(self, line) if line is not None else None
        if line is not None and asked is not None and self.house.worker is not None:
            job = work.NextPiece(line.sheet, *asked)
            self.house.worker.read(job.run, self._make, self.house.fail)

    def _make(self, act: acts.MakeSheet) -> None:
        self.house.do(act, kept=lambda outcome: self.house.sheet_wanted.emit(outcome.stream))

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
            button.click() if isinstance(button, QAbstractButton) else self._once_found(self._open)
        elif event.key() == Qt.Key.Key_Escape and self._step_back():
            pass
        else:
            super().keyPressEvent(event)

    def _once_found(self, do: Callable[[], object]) -> None:
        """Do it with the sheet chosen; what was typed just now is looked for first."""
        if self._soon.isActive() or self._finding is not None:
            self._when_found = do
            self._find()
        else:
            do()

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
        elif self._part:
            self._leave_part()
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
        self._show_side()
        self.update()


def _cut_name(cut: str) -> str:
    """The action that cuts the list down so."""
    return f"only {cut}"
