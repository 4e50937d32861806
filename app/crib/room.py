"""The crib: the list to the left, beside it the record, its form, or what follows from it. Everything by key."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QAction, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QHBoxLayout, QLabel, QStackedLayout, QVBoxLayout, QWidget

from app.crib import work
from app.crib.behaving import NOTHING_TOLD, Known, behaving
from app.crib.detail import DRIFT_PLOT, Issued
from app.crib.doing import Doing
from app.crib.drifting import drift_of
from app.crib.feeling import Feeling
from app.crib.fits import Asking
from app.crib.history import told_history
from app.crib.keys import BUTTONS, KEYS, ON_ONE
from app.crib.lines import Line, Lines, Only, counts, fitted, found
from app.crib.out_of_set import ask_out_of_set
from app.crib.side import Side
from app.crib.table import CribTable
from app.crib.top import Top
from app.crib.writing import Writing, templates_by_tag
from app.gauging.opening import AtHand, open_studies
from app.parts.buttons import rest
from app.parts.fitted import Fitted
from app.window.house import House, Room
from app.window.keys import Key, make_action
from app.window.theme import Theme
from inspection.instruments.keeping import SOON, lapse
from inspection.instruments.record import Instrument
from inspection.words.say import word
from storage.book.clock import wall_clock

if TYPE_CHECKING:
    from inspection.sheet.reopening import ReopenedRow
    from inspection.sheet.state import Shop
    from storage.book.queries.instrument_history import IssueEntered
    from storage.book.queries.touched_sheets import Touched

#: Keys that cut the list down.
ONLY_KEYS = {only: f"Alt+{place}" for place, only in enumerate(Only, 1)}
#: The width of the record in logical pixels, and its share of the room in per cent; what is filled in gets more.
SIDE, SHARE, WIDE_SHARE = 404, 34, 46
MOST_SIDE = 640
#: Milliseconds after which a record that is shown is told anew: a check may have run out meanwhile.
AGES = 60_000
#: A room narrower than this shows the list, or what stands beside it, but not both.
BOTH = 760
#: In a room lower than this what is filled in has all of it.
LOW = 460


class CribRoom(Room):
    """Finds an instrument, shows its record, and starts what is done with it."""

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(house, parent)
        self.setObjectName("page")
        self.doing = Doing(house, self)
        self.feeling = Feeling(house, self)
        self.asking = Asking(house, self)
        self.picking = False  # whether templates are listed instead of the crib
        self._lines, self._shown = Lines(), ""
        self._after = ""  # the record to be chosen once the shop holds it
        self._history: tuple[Issued, ...] = ()
        self._known = Known()
        self._view = 0  # which plot of the certificates is shown
        self.side = Side(house, self)
        self.writing = Writing(house, self)
        self.actions_by_name = self._make_actions()
        self.top = Top(tuple(self.actions_by_name[name] for name in BUTTONS), house.theme, self)
        self.table = CribTable(house, self)
        self.model = self.table.lines
        self._empty = QLabel(self)
        self._empty.setWordWrap(True)
        self._empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._soon = QTimer(self, interval=0, singleShot=True)
        self._soon.timeout.connect(self._show_record)
        self._later = QTimer(self, interval=120, singleShot=True)
        self._later.timeout.connect(self._ask_history)
        self._aging = QTimer(self, interval=AGES)
        self._aging.timeout.connect(self._grow_older)
        self._hints = Fitted("quiet", self)
        self._hints.show_text(word("crib.hints"))
        self._lay_out()
        self._order_tabs()
        self._connect()
        self.take_theme(house.theme)
        self._list()

    # --- building ---------------------------------------------------------------------------------------------------

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {
            "new": self._pick,
            "edit": self.writing.edit,
            "lend": self._on_one(self.doing.lend_or_return),
            "service": self._on_one(self.doing.out_or_back),
            "check": self._on_one(self.doing.proving.check),
            "upset": self._on_one(self.doing.proving.tell_upset),
            "study": self._on_one(self.doing.proving.study),
            "studies": self._studies,
            "missing": self._on_one(self.doing.mark_missing),
            "touched": self._ask_touched,
            "copy": self.writing.copy,
            "whole": self.writing.enter_whole,
            "attach": self._on_one(self.doing.attach),
            "save_out": self._on_one(self.doing.save_out),
            "show_file": self._on_one(self.doing.show_file),
            "plotted": self._plot_others,
            "feel": self._on_one(self.feeling.begin),
            "out_of_set": self._on_one(self._out_of_set),
            "take_in": self.doing.look_at_file,
            "export": self.doing.export,
            "keep": self.writing.keep,
            "search": self._search,
            "on": partial(self.side.record.turn, 1),
            "up": partial(self.side.record.turn, -1),
        }
        made = {name: make_action(self, key, word(key.code), does[name]) for name, key in KEYS.items()}
        for only, key in ONLY_KEYS.items():
            named = word(f"crib.only.{only.value}")
            made[only.value] = make_action(self, Key(key, ""), named, self._cut_from_action)
            made[only.value].setData(only)
        for action in made.values():
            action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        return made

    def _out_of_set(self, instrument: Instrument) -> None:
        """The stack of a size out of a set of blocks, or the pins of a bore."""
        shop = self._shop()
        if shop is not None and not ask_out_of_set(self, instrument, shop.crib.values()):
            self.house.notice(word("crib.out_of_set.none", tag=instrument.tag))

    def _studies(self) -> None:
        """Gauge studies, for the instrument at hand where a new one is started."""
        instrument = self.instrument()
        if self.writing.may_leave():
            open_studies(self.house, self, AtHand(instrument.tag if instrument is not None else ""))

    def _on_one(self, do: Callable[[Instrument], object]) -> Callable[[], None]:
        def on_chosen() -> None:
            instrument = self.instrument()
            if instrument is None:
                self.none_chosen()
            elif self.writing.may_leave():
                do(instrument)

        return on_chosen

    def none_chosen(self) -> None:
        """A key that is about one instrument says why it does nothing."""
        self.house.notice(self._why_none())

    def _why_none(self) -> str:
        """Why no instrument is chosen, and what to do; empty where one is."""
        if self.instrument() is not None:
            return ""
        return word("crib.template_chosen" if self.picking and self.line() is not None else "crib.none_chosen")

    def _lay_out(self) -> None:
        left = self._left = QWidget(self)
        self._stack = QStackedLayout(left)
        self._stack.addWidget(self.table)
        self._stack.addWidget(self._empty)
        self._columns = QHBoxLayout()
        self._columns.addWidget(left, 1)
        self._columns.addWidget(self.side)
        self._layout = QVBoxLayout(self)
        self._layout.addWidget(self.top)
        self._layout.addLayout(self._columns, 1)
        self._layout.addWidget(self._hints)

    def _order_tabs(self) -> None:
        """From the search over what cuts the list down to the list, the record, and then the actions."""
        cut, does = self.top.folded.buttons, (*self.top.buttons.buttons, *self.top.rules.buttons)
        order = [self.top.search, *cut, self.table, self.side.record, *does]
        for before, after in pairwise(order):
            QWidget.setTabOrder(before, after)

    def _connect(self) -> None:
        self.house.shop_changed.connect(self._shop_changed)
        self.house.person_changed.connect(self._told_otherwise)
        self.house.units_changed.connect(self._told_otherwise)
        self._aging.start()
        self.top.searched.connect(self._list_again)
        self.top.cut_down.connect(self._list_again)
        self.top.given_on.connect(self.table.move_by)
        self.top.rules_asked.connect(self.house.rules_wanted)
        self.table.selectionModel().currentRowChanged.connect(self._moved)
        self.table.doubleClicked.connect(self._enter)
        self.side.kept.connect(self.writing.hand_in)
        self.side.left_form.connect(self.writing.leave)
        self.side.touched.opened.connect(self.house.sheet_wanted)
        self.side.touched.left.connect(self.back_to_list)
        self.side.reopened.opened.connect(self.house.row_wanted)
        self.side.reopened.left.connect(self.back_to_list)
        self.side.record.left.connect(self.back_to_list)
        self.side.preview.left.connect(self.back_to_list)
        self.side.turned.connect(self._fold)
        self.side.preview.agreed.connect(self._take_in)
        self.asking.answered.connect(self._list)
        self.doing.issued.connect(self._issued)
        self.doing.out.connect(self._ask_touched)
        self.doing.proving.reopened.connect(self._show_reopened)
        self.doing.looked.connect(self._looked)

    # --- the list ---------------------------------------------------------------------------------------------------

    def arrive(self) -> None:
        """The room was entered: letters go to the search, or to the form that stands open."""
        self._list()
        if self.side.fills_in():
            self.side.form.stand_again()
        else:
            self._search()

    def _shop(self) -> Shop | None:
        return self.house.shop

    def _held(self) -> Mapping[str, Instrument]:
        """What is listed: the crib, or the templates by tag."""
        if self.picking:
            return templates_by_tag()
        shop = self._shop()
        return shop.crib if shop is not None else {}

    def instrument(self) -> Instrument | None:
        """The instrument of the crib that is chosen, None if there is none."""
        line, shop = self.line(), self._shop()
        return shop.crib.get(line.identity) if line is not None and shop is not None and not self.picking else None

    def line(self) -> Line | None:
        """The line that is chosen."""
        return self.table.line()

    def choose(self, identity: str) -> None:
        """Choose an instrument, showing all if it is not among those listed."""
        if not self.table.choose(identity):
            self.top.search.clear()
            self.top.cut_to(Only.ALL)
            self.table.choose(identity)

    def _shop_changed(self, shop: Shop) -> None:
        self.side.follow(shop.crib)
        if not self.picking:
            self.asking.follow(self.top.search.text())
        if self.isVisible():
            self._list()

    def _list(self) -> None:
        day, shop = wall_clock().day, self._shop()
        ahead, used_up = (shop.rules.remind_days, shop.used_up) if shop is not None else (SOON, {})
        lines = (_TEMPLATE_LINES if self.picking else self._lines).of(self._held(), day, ahead, used_up)
        if self.asking.found is not None:
            self._show_lines(fitted(found(lines, "", self.top.only), self.asking.found))
        elif self.asking.said:
            self._show_lines(found(lines, "", self.top.only))
        else:
            self._show_lines(found(lines, self.top.search.text(), Only.ALL if self.picking else self.top.only))
        self._show_counts(lines)

    def _list_again(self, *_text: object) -> None:
        if not self.picking and (self.side.shows(self.side.touched) or self.side.shows(self.side.reopened)):
            self.side.turn_to(self.side.record)
        if not self.picking:
            self.asking.follow(self.top.search.text())
        self._list()

    def _show_lines(self, lines: tuple[Line, ...]) -> None:
        chosen = self._after or (line.identity if (line := self.line()) is not None else self._shown)
        if self.table.show_lines(lines, chosen) and chosen == self._after:
            self._after = ""
        self._stack.setCurrentWidget(self.table if lines else self._empty)
        self._fold()
        empty = "crib.empty.search" if self.top.search.text() or self.top.only is not Only.ALL else "crib.empty"
        self._empty.setText(word(empty))
        self._soon.start()

    def _show_counts(self, lines: tuple[Line, ...]) -> None:
        if self.picking:
            self.top.show_title(word("crib.pick.title"), filters=False)
            said = word("crib.pick.text")
        else:
            self.top.show_title(word("room.crib"), filters=True)
            said = self.asking.said or word("crib.count", n=len(lines))
        self.top.show_counts(said, counts(lines), ONLY_KEYS)

    def _moved(self, *_where: object) -> None:
        if not self.side.fills_in() and not self.side.shows(self.side.preview):
            self.side.turn_to(self.side.record)
        self._soon.start()

    def _cut_from_action(self) -> None:
        action = self.sender()
        if isinstance(action, QAction) and not self.picking:
            self.top.cut_to(action.data())

    def show_due(self) -> None:
        """List what is overdue; where nothing is, or it is listed already, what falls due soon."""
        if self.writing.may_leave():
            if self.picking:
                self.pick_or_not(picking=False)
            self.top.search.clear()
            shop, day = self._shop(), wall_clock().day
            lapsed = shop is not None and lapse(shop.crib.values(), day, shop.rules.remind_days, shop.used_up).lapsed
            self.top.cut_to(Only.OVERDUE if lapsed and self.top.only is not Only.OVERDUE else Only.SOON)
            self.table.setFocus()

    def _search(self) -> None:
        self.top.search.setFocus()
        self.top.search.selectAll()

    # --- the record -------------------------------------------------------------------------------------------------

    def _show_record(self) -> None:
        line, shop = self.line(), self._shop()
        shown = None
        if line is not None:
            shown = self._held().get(line.identity)
        identity = line.identity if line is not None else ""
        again = identity == self._shown
        if not again:
            self._shown, self._history, self._known, self._view = identity, (), Known(), 0
        self._name_actions(shown)
        self._tell_record(shown, again=again)
        if shown is not None and not self.picking and shop is not None:
            self._later.start()

    def _tell_record(self, shown: Instrument | None, *, again: bool) -> None:
        """The record as far as it is known by now."""
        now, shop, told = wall_clock(), self._shop(), NOTHING_TOLD
        if shown is not None and shop is not None and not self.picking:
            told = behaving(shop, shown, self._known, self.house.person, now.at, self.house.units, self._view)
        self.side.show_record(shown, self._history, "" if self.picking else now.day, told, again=again)

    def _plot_others(self) -> None:
        """Plot what the certificates found at all points together, then at each, then at the worst again."""
        instrument = self.instrument()
        drift = drift_of(instrument, self._known.drift, None, "") if instrument is not None else None
        if instrument is None:
            self.none_chosen()
        elif drift is None or drift.views == 1:
            self.house.notice(word("drift.views.none", tag=instrument.tag))
        else:
            self._view = (self._view + 1) % drift.views
            self._tell_record(instrument, again=True)
            self.side.record.scrollToAnchor(DRIFT_PLOT)  # far down on most pages

    def _name_actions(self, shown: Instrument | None) -> None:
        """Actions are named by what they would do to the instrument chosen."""
        why = self._why_none()
        for name in ON_ONE:
            rest(self.actions_by_name[name], "" if name == "edit" and self.picking and shown is not None else why)
        named = self.actions_by_name
        lent = shown is not None and bool(shown.holder)
        out = shown is not None and shown.standing.value == "out of service"
        named["lend"].setText(word("crib.action.return" if lent else "crib.action.lend"))
        named["service"].setText(word("crib.action.back" if out else "crib.action.service"))
        named["edit"].setText(word("crib.action.take" if self.picking else "crib.action.edit"))

    def _told_otherwise(self, _to: str) -> None:
        """Another person is at the bench, or lengths are shown in another unit."""
        self._soon.start()

    def _grow_older(self) -> None:
        if self.isVisible():
            self._soon.start()

    def _ask_history(self) -> None:
        instrument, worker = self.instrument(), self.house.worker
        if instrument is not None and worker is not None:
            worker.read(work.History(instrument.identity).run, self._take_history, self.house.fail)

    def _take_history(self, answer: tuple[list[IssueEntered], Known]) -> None:
        entered, known = answer
        shop, instrument = self._shop(), self.instrument()
        if shop is None or instrument is None or instrument.identity != known.instrument:
            return
        self._history, self._known = told_history(shop, known.instrument, entered), known
        self._tell_record(instrument, again=True)

    # --- new and changed --------------------------------------------------------------------------------------------

    def _enter(self, *_index: object) -> None:
        """Enter in the list: a template is taken, a record edited."""
        self.writing.edit()

    def _pick(self) -> None:
        """List the templates to choose one from; once more, the crib again."""
        if self.writing.may_leave():
            self.pick_or_not(picking=not self.picking)

    def pick_or_not(self, *, picking: bool) -> None:
        """List the templates, or the crib."""
        self.picking = picking
        self.asking.follow("")
        self._shown = ""
        self.table.pick(picking=picking)
        self.side.turn_to(self.side.record)
        self.top.search.blockSignals(True)
        self.top.search.clear()
        self.top.search.blockSignals(False)
        self._list()
        self._search()

    def show_kept(self, identity: str) -> None:
        """The record of the form is on disk: it is chosen in the list, as soon as the shop holds it."""
        self._after = identity
        self.picking = False
        self.table.pick(picking=False)
        self.back_to_list()
        self._list()
        self.choose(identity)

    def _issued(self, identity: str) -> None:
        if identity == self._shown:
            self._soon.start()

    def back_to_list(self) -> None:
        """Show the record beside the list; letters go to the search."""
        self.side.turn_to(self.side.record)
        self._soon.start()
        self._search()

    # --- sheets and files -------------------------------------------------------------------------------------------

    def _ask_touched(self, identity: str = "") -> None:
        instrument, worker = self.instrument(), self.house.worker
        wanted = identity or (instrument.identity if instrument is not None else "")
        if not wanted:
            self.none_chosen()
        elif worker is not None and self.writing.may_leave():
            worker.read(work.Touches(wanted).run, self._show_touched, self.house.fail)

    def _show_touched(self, answer: tuple[str, Touched]) -> None:
        identity, touched = answer
        shop = self._shop()
        if shop is None or identity not in shop.crib:
            return
        self.choose(identity)
        self.side.turn_to(self.side.touched)
        self.side.touched.show_touched(shop.crib[identity], touched)

    def _show_reopened(self, identity: str, rows: tuple[ReopenedRow, ...]) -> None:
        """What a failed check or a removal put in question, unless the form stands open: the notice says it too."""
        shop = self._shop()
        if shop is None or identity not in shop.crib or self.side.fills_in():
            return
        self.choose(identity)
        self.side.turn_to(self.side.reopened)
        self.side.reopened.show_rows(shop.crib[identity].tag, rows)

    def _looked(self, looked: Any) -> None:
        if self.writing.may_leave():
            self._looked_at = looked
            self.side.show_preview(looked)

    def _take_in(self) -> None:
        self.doing.take_in(self._looked_at)
        self.back_to_list()

    # --- keys and look ----------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter edits, or presses the button that has the focus; Esc goes one step back: from the form, from the
        templates, from a search."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            button = QApplication.focusWidget()
            button.click() if isinstance(button, QAbstractButton) else self._enter()
        elif event.key() == Qt.Key.Key_Escape and self._step_back():
            pass
        else:
            super().keyPressEvent(event)

    def _step_back(self) -> bool:
        if self.side.fills_in():
            self.writing.leave()
        elif not self.side.shows(self.side.record):
            self.back_to_list()
        elif self.picking:
            self.pick_or_not(picking=False)
        elif self.top.search.text():
            self.top.search.clear()
        elif self.top.only is not Only.ALL:
            self.top.cut_to(Only.ALL)
        else:
            return False
        return True

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def _fold(self) -> None:
        """The record gets its share beside the list; in a narrow room one of the two gets all of it."""
        theme = self.house.theme
        room = self.width() - 2 * self._layout.contentsMargins().left()
        reads = self.side.shows(self.side.record)
        both = room >= theme.px(BOTH)
        share = SHARE if reads or self.side.shows(self.side.preview) else WIDE_SHARE
        wide = min(max(theme.px(SIDE), room * share // 100), theme.px(MOST_SIDE)) if both else max(room, 1)
        self.side.setFixedWidth(wide)
        self.side.setVisible(not reads or (both and bool(self.model.lines)))
        self._left.setVisible(both or reads)
        whole = reads or self.height() >= theme.px(LOW)  # a form needs what a low room has
        self.top.setVisible(whole)
        self._hints.setVisible(whole)

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        edge = theme.px(24)
        self._layout.setContentsMargins(edge, theme.px(18), edge, theme.px(14))
        self._layout.setSpacing(theme.px(12))
        self._columns.setSpacing(theme.px(16))
        self.table.take_theme(theme)
        self.top.take_theme(theme)
        self.side.take_theme(theme)
        self._fold()
        self._soon.start()


_TEMPLATE_LINES = Lines()
