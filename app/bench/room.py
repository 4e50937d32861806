"""The Bench: head, feature table, measuring card. Keys go to the entry, whatever else is pointed at."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QLabel, QStackedLayout, QVBoxLayout, QWidget

from app.background.worker import Ticket
from app.bench import asking, showing
from app.bench.below import Below
from app.bench.card import Card
from app.bench.cells import RowCell
from app.bench.checks import Checks
from app.bench.columns import widths
from app.bench.conditions import state_of
from app.bench.flow import Flow
from app.bench.head import Head
from app.bench.history import History
from app.bench.keys import BY_LETTER, KEYS
from app.bench.line import Line, is_blind, line_of, mark_at
from app.bench.model import SheetModel
from app.bench.proven import Proving
from app.bench.reading_text import SEEN
from app.bench.seen import Seen
from app.bench.setting import Setting
from app.bench.table import SheetTable
from app.bench.times import now_at
from app.bench.words_at import words_of_return
from app.gauging.opening import AtHand, open_studies
from app.parts.fitted import Fitted
from app.parts.marks import Mark
from app.parts.ribbon import RibbonMark
from app.window.house import House, Room
from app.window.keys import actions_of
from app.window.theme import ROW, Theme
from inspection.measuring import quantiles
from inspection.measuring.verdict import Verdict
from inspection.sheet.state import Cell, Sheet, Stage
from inspection.words.say import word

#: Milliseconds between two looks at what grows old by itself: the temperature log, a check before use.
MINUTE = 60_000


class BenchRoom(Room):
    """Shows one sheet, one piece at a time, and takes its readings."""

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(house, parent)
        self.setObjectName("page")
        self.seen: Seen | None = None
        self._piece, self._round = "", ("", 0)
        self._ribbon_rows: dict[str, int] = {}
        self.model = SheetModel(self)
        self.head, self.card = Head(house.theme, self), Card(house.theme, self)
        self.entry = self.card.entry
        self.table = self._make_table()
        self.ahead = Fitted("soft", self)
        self._empty = QLabel(word("bench.empty"), self)
        self._empty.setWordWrap(True)
        self._empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.flow = Flow(house, self.entry, self)
        self.below = Below(house, self)
        self.proving = Proving(house, self)
        self.checks = Checks(house, self.flow, self.proving, self)
        self.setting = Setting(house, self.flow, self)
        self.asking = asking.Asking(house, self.flow, self.checks, self)
        self.history = History(house, self)
        self.actions_by_name = self._make_actions()
        self._soon = self._timer(0, self._show_place)
        self._idle = self._timer(40, self._show_rest)
        self._at_rest = self._timer(40, self._show_at_rest)
        self._even = self._timer(0, self._even_rows)
        self._minute = QTimer(self)
        self._minute.setInterval(MINUTE)
        self._minute.timeout.connect(self._a_minute_later)
        self._minute.start()
        self._lay_out()
        self._connect()
        self.take_theme(house.theme)

    # --- building ---------------------------------------------------------------------------------------------------

    def _timer(self, milliseconds: int, then: Callable[[], None]) -> QTimer:
        timer = QTimer(self)
        timer.setSingleShot(True)
        timer.setInterval(milliseconds)
        timer.timeout.connect(then)
        return timer

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {
            "correct": self.asking.correct,
            "take_back": self.asking.take_back,
            "put_back": self.asking.put_back,
            "piece_before": self._piece_before,
            "piece_after": self._piece_after,
            "run_by": self.asking.run_by,
            "enters": self._enters,
            "stops": self._stops,
            "skip": self.flow.skip,
            "instrument": self.asking.instrument,
            "why": self.asking.why,
            "check": self.checks.check,
            "repeats": self.setting.repeats,
            "note": self.asking.note,
            "nonconformance": self.asking.nonconformance,
            "upset": self.checks.upset,
            "temperature": self.setting.temperature,
            "rule": self.setting.rule,
            "fetch": self.asking.fetch,
            "studies": self._studies,
            "sign": self.asking.sign,
            "take_held": partial(self._with_held, self.entry.take_first),
            "drop_held": partial(self._with_held, self.entry.forget),
        }
        return actions_of(self, KEYS, does)

    def _make_table(self) -> SheetTable:
        table = SheetTable(self)
        table.setModel(self.model)
        table.setAccessibleName(word("bench.table"))
        table.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        table.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        table.setShowGrid(False)
        table.setWordWrap(False)
        table.verticalHeader().hide()
        table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        table.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        table.horizontalHeader().setHighlightSections(False)
        table.horizontalHeader().setSectionsClickable(False)
        table.setAutoScroll(False)
        table.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        table.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerItem)
        table.setItemDelegate(RowCell(self.house, table))
        return table

    def _lay_out(self) -> None:
        sheet = QWidget(self)
        self._inner = QVBoxLayout(sheet)
        self._inner.setContentsMargins(0, 0, 0, 0)
        self._inner.addWidget(self.head)
        self._inner.addWidget(self.table, 1)
        self._inner.addWidget(self.ahead)
        self._inner.addWidget(self.card)
        self._stack = QStackedLayout()
        self._stack.addWidget(self._empty)
        self._stack.addWidget(sheet)
        self._layout = QVBoxLayout(self)
        self._layout.addLayout(self._stack)

    def _connect(self) -> None:
        self.table.viewport().installEventFilter(self)
        self.entry.textChanged.connect(self.below.show_meaning)
        self.entry.lettered.connect(self._letter)
        self.entry.stepped.connect(self._step)
        self.entry.held_changed.connect(self.card.show_held)
        self.history.came.connect(self._show_earlier)
        self.flow.moved.connect(self._moved)
        self.flow.saying.connect(self.below.say)
        self.flow.changed.connect(self._changed)
        self.flow.scanned.connect(self.asking.scanned)
        self.table.pointed_at.connect(self._point_at_row)
        self.head.ribbon.chosen.connect(self._point_at_mark)
        self.head.strip.chosen.connect(self._turn_to)
        self.head.switch.chosen.connect(self.house.set_units)
        self.house.units_changed.connect(self._units_changed)
        self.house.warmed.connect(self._idle.start)
        self.house.person_changed.connect(self._idle.start)
        self.proving.came.connect(self._idle.start)
        if self.house.worker is not None:
            self.house.worker.acted.connect(self._acted)

    # --- the sheet --------------------------------------------------------------------------------------------------

    def show_sheet(self, sheet: Sheet) -> None:
        """Open a sheet at the row that waits after its last reading; the sheet at hand is only brought up to date."""
        assert self.house.shop is not None
        same = self.seen is not None and self._round == (sheet.identity, sheet.round)
        if same and self.seen is not None and self.flow.under_way:
            return  # what is on its way brings the sheet up to date by itself
        self.seen = Seen(self.house.shop, sheet)
        self._piece, self._round = sheet.pieces[0].identity, (sheet.identity, sheet.round)
        self._stack.setCurrentIndex(1)
        self.head.show_sheet(self.seen)
        self.model.show_rows(tuple(row.identity for row in sheet.plan.characteristics), self._line)
        self.flow.see(self.seen) if same else self.flow.show(self.seen)
        self._show_whole()
        if not same and (words := words_of_return(sheet, self.house.shop)):
            self.house.notice(words)

    def stand_at(self, number: str, serial: str = "") -> None:
        """Stand at the row of this balloon number: on the piece of this serial, of none on the first that is open."""
        if self.seen is None:
            return
        sheet = self.seen.sheet
        row = next((each.identity for each in sheet.plan.characteristics if each.number == number), "")
        named = [piece.identity for piece in sheet.pieces if piece.serial == serial]
        pieces = named or [piece.identity for piece in sheet.pieces]
        still_open = (piece for piece in pieces if sheet.judgement(row, piece).verdict is Verdict.OPEN)
        if row:
            self._go((row, next(still_open, pieces[0])))

    def _line(self, row: str) -> Line:
        assert self.seen is not None
        cell = (row, self._piece)
        return line_of(self.seen, cell, writing=self.flow.writing(cell), units=self.house.units, home=self._home_unit())

    def _home_unit(self) -> str:
        assert self.seen is not None
        return self.house.units or self.seen.sheet.plan.title_block.unit

    def arrive(self) -> None:
        """Keys go to the entry; what other rooms did to the sheet is read."""
        self.entry.setFocus()
        if self.seen is not None and self.house.worker is not None and not self.flow.under_way:
            sheet = self.seen.sheet.identity
            self.house.worker.read(lambda book: book.sheet(sheet), self._read, self.house.fail)

    def _read(self, sheet: Sheet) -> None:
        here = self.seen.sheet if self.seen is not None else None
        if here is None:
            return
        known = (here.last_entry, *self._round)
        if (sheet.last_entry, sheet.identity, sheet.round) != known:
            self.show_sheet(sheet)

    def keys_go_to(self) -> QWidget:
        """The entry."""
        return self.entry

    def _acted(self, ticket: Ticket, outcome: Any) -> None:
        if self.seen is not None and outcome.shop is not self.seen.shop:
            self.seen.shop = outcome.shop
            self._idle.start()
        self.flow.acted(ticket, outcome)

    # --- what changed -----------------------------------------------------------------------------------------------

    def _changed(self, cells: frozenset[Cell] | None) -> None:
        """Cells look otherwise, or (None) everything does."""
        if self.seen is None:
            return
        if cells is None:
            rows = tuple(row.identity for row in self.seen.sheet.plan.characteristics)
            if not self.model.shows(rows):
                self.model.show_rows(rows, self._line)
            self._show_whole()
            return
        for row, piece in cells:
            if piece == self._piece:
                self.model.change(row)
                self._mark(row)
        self._idle.start()
        self._soon.start()

    def _mark(self, row: str) -> None:
        assert self.seen is not None
        place = self._ribbon_rows.get(row)
        if place is not None:
            writing = bool(self.flow.writing((row, self._piece)))
            self.head.ribbon.set_mark(place, Mark.WRITING if writing else mark_at(self.seen, (row, self._piece)))

    def _show_whole(self) -> None:
        """Head, table and ribbon anew: another sheet, another piece, another route."""
        if self.seen is None:
            return
        self.head.show_sheet(self.seen)
        self.model.change_all(self._home_unit())
        self._show_ribbon()
        self.head.switch.show_units(self.house.units)
        self._soon.start()
        self._idle.start()

    def _show_ribbon(self) -> None:
        assert self.seen is not None
        stops = {row: i for i, stop in enumerate(self.seen.sheet.stops) for row in stop.characteristics}
        on_piece = dict.fromkeys(row for row, piece in self.seen.walk.cells if piece == self._piece)
        self._ribbon_rows = {row: place for place, row in enumerate(on_piece)}
        marks = tuple(
            RibbonMark(self.seen.row(row).number, mark_at(self.seen, (row, self._piece)), stops.get(row, -1))
            for row in on_piece
        )
        self.head.ribbon.set_marks(marks, self._ribbon_rows.get(self.flow.at.row, -1))

    def _moved(self) -> None:
        """The entry stands elsewhere."""
        if self.seen is None:
            return
        if self.flow.at.piece != self._piece:
            self._piece = self.flow.at.piece
            self._show_whole()
        self._soon.start()
        self._idle.start()

    def _show_place(self) -> None:
        """What belongs to the row at hand, once for however many steps were made."""
        if self.seen is None:
            return
        at = self.flow.at
        place = self.model.place_of(at.row)
        self.table.show_current(place)
        self.table.keep_in_sight(place)
        self.head.ribbon.set_current(self._ribbon_rows.get(at.row, -1))
        self.head.show_counts(self.seen, self._piece)
        self.head.show_state(state_of(self.seen.sheet, now_at(self.house)))
        self.card.show_asked(showing.asked_of(self.seen, at, self.house.units))
        self.card.hints.show_text(word(self._hints()))
        self.entry.setReadOnly(self.seen.sheet.sealed)
        self._show_earlier()
        self.below.show_meaning()

    def _a_minute_later(self) -> None:
        self.proving.grow_old()
        self._soon.start()
        self._idle.start()

    def _hints(self) -> str:
        if self.seen is not None and self.seen.sheet.sealed:
            return "bench.hints.approved" if self.seen.sheet.stage is Stage.APPROVED else "bench.hints.sealed"
        if self.flow.standing is not None:
            return "bench.hints.question"
        slot = self.flow.at.slot
        if self.seen is not None and self.flow.stepping.trial(self.seen, self.flow.at) is not None:
            return "stepping.hints"
        return "bench.hints.seen" if slot is not None and slot.role in SEEN else "bench.hints"

    def _show_rest(self) -> None:
        """What may come a moment later: the instrument and whether it is proven, how to take the reading."""
        if self.seen is None:
            return
        at, units = self.flow.at, self.house.units
        self.card.why.show_chosen(showing.chosen_of(self.seen, at, units))
        proven = self.proving.of(self.seen, at.row, now_at(self.house))
        self.card.why.show_proven(proven.text, lacks=proven.lacks)
        self.card.show_how(showing.how_of(self.seen, at, units))
        self.card.why.show_others(())
        self._show_at_rest()

    def _show_at_rest(self) -> None:
        """What takes a moment to find, so that no verdict that is on its way waits for it: the route ahead, earlier
        results, and every other method of the crib, weighed once what it is reckoned with is loaded."""
        if self.seen is None:
            return
        if self.flow.under_way:
            self._at_rest.start()
            return
        at = self.flow.at
        self.ahead.show_text(showing.route_ahead(self.seen, at))
        for row in (at.row, self.model.row_at(self.model.place_of(at.row) + 1)):
            self.history.read(self.seen, row)
        if quantiles.warmed() and self.card.why.isVisible() and not is_blind(self.seen, at.cell):
            self.card.why.show_others(showing.others_in_short(self.seen, at))

    def _show_earlier(self, row: str = "") -> None:
        """What earlier sheets say of the row at hand, once it is read."""
        if self.seen is not None and row in ("", self.flow.at.row):
            earlier = self.history.shown(self.seen, self.flow.at.cell, self.house.units)
            self.card.why.earlier.show_earlier(earlier)

    def _studies(self) -> None:
        """Gauge studies; a new one is proposed for the row at hand and its instrument."""
        open_studies(self.house, self, showing.studied(self.seen, self.flow.at) if self.seen is not None else AtHand())

    # --- moving -----------------------------------------------------------------------------------------------------

    def _letter(self, letter: str) -> None:
        self.actions_by_name[BY_LETTER[letter]].trigger()

    def _enters(self) -> None:
        self.flow.enter_observed("E")

    def _stops(self) -> None:
        self.flow.enter_observed("N")

    def _go(self, cell: Cell) -> None:
        if self.seen is not None:
            self.flow.go(cell)
        self._soon.start()

    def _step(self, by: int) -> None:
        row = self.model.row_at(self.model.place_of(self.flow.at.row) + by)
        if row:
            self._go((row, self.flow.at.piece))

    def _point_at_row(self, place: int) -> None:
        self._go((self.model.row_at(place), self._piece))

    def _point_at_mark(self, place: int) -> None:
        row = next((row for row, at in self._ribbon_rows.items() if at == place), "")
        if row:
            self._go((row, self._piece))

    def _piece_before(self) -> None:
        self._turn(-1)

    def _piece_after(self) -> None:
        self._turn(1)

    def _turn(self, by: int) -> None:
        if self.seen is None:
            return
        place = self.seen.pieces[self._piece] + by
        if 0 <= place < len(self.seen.sheet.pieces):
            self._turn_to(self.seen.sheet.pieces[place].identity)
        else:
            ends = "bench.turned.first" if by < 0 else "bench.turned.last"
            self.flow.say_plainly(word(ends, serial=self.seen.serial(self._piece)))

    def _with_held(self, do: Callable[[], object]) -> None:
        """Do something with what came by cable and waits, or say that nothing does."""
        if self.entry.held():
            do()
        else:
            self.flow.say_plainly(word("bench.held.none"))

    def _turn_to(self, piece: str) -> None:
        """To another piece, at the same row; the serial is read back from the part."""
        if self.seen is not None and self.flow.go((self.flow.at.row, piece)) and self.flow.standing is None:
            self.flow.say_plainly(word("bench.turned", serial=self.seen.serial(piece)))

    # --- look -------------------------------------------------------------------------------------------------------

    def _units_changed(self, _units: str) -> None:
        self._show_whole()

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        self._inner.setSpacing(theme.px(8))
        self.table.setFont(theme.font(ROW))
        self.table.verticalHeader().setMinimumSectionSize(theme.px(20))
        self.head.take_theme(theme)
        self.card.take_theme(theme)
        self.below.say()
        self._fold()
        if self.seen is not None:
            self._soon.start()
            self._idle.start()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()
        self._idle.start()

    def _even_rows(self) -> None:
        """Rows a little higher than needed, so that the last one shown is whole."""
        least, high = self.house.theme.px(32), self.table.viewport().height()
        rows = max(1, high // least)
        size = max(least, high // rows) if rows > 2 else least
        if self.table.verticalHeader().defaultSectionSize() != size:
            self.table.verticalHeader().setDefaultSectionSize(size)
            self._soon.start()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The table became higher or lower."""
        if event.type() == QEvent.Type.Resize and watched is self.table.viewport():
            self._even.start()
        return super().eventFilter(watched, event)

    def _fold(self) -> None:
        """What the room is too small for is left out, the least needed first."""
        theme = self.house.theme
        wide = (self.width() - 2 * theme.px(24)) * 100 / theme.scale
        high = self.height() * 100 / theme.scale
        above, below = (6, 4) if high < 420 else (16, 14)
        self._layout.setContentsMargins(theme.px(24), theme.px(above), theme.px(24), theme.px(below))
        self.head.fold(wide, high)
        self.card.fold(wide, high)
        self.ahead.setVisible(high >= 560)
        self._even_rows()
        bar = self.table.verticalScrollBar().sizeHint().width()
        room = self.width() - 2 * theme.px(24) - bar
        for column, width in enumerate(widths(room * 100 / theme.scale)):
            self.table.setColumnHidden(column, width == 0)
            self.table.setColumnWidth(column, theme.px(width))
