"""The customer's form as it would go out, and where its values come from; corrected cell by cell, kept, written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace
from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtWidgets import QLabel, QStackedLayout, QVBoxLayout, QWidget

from app.background.worker import Failure, Job
from app.desk import form_asking, form_work
from app.desk.keys import FORM_KEYS
from app.desk.workbook import WorkbookFace
from app.jobs.customer_form import Proposed, correct, same_name
from app.parts.doing import Doing
from app.parts.fitted import Fitted
from app.window.house import House
from app.window.keys import actions_of
from app.window.theme import Theme
from inspection.layout.cell_names import address, letters, quoted
from inspection.layout.layout import COUNTED, HeadPlace, Layout, Table, of_customer
from inspection.sheet import acts
from inspection.sheet.steps import not_now
from inspection.words.say import say, word

if TYPE_CHECKING:
    from app.desk.work import AtHand


#: So many notes stand above the form where not all are asked for.
FEW = 2


class FormFace(QWidget):
    """The filled workbook with the cells marked that a value went to, what is to be known of it, and of the cell at
    hand. ``changed`` says that something of it was kept."""

    changed = Signal()

    def __init__(self, house: House, doing: Doing, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.house, self._doing = house, doing
        self.at_hand: AtHand | None = None
        self.seen: form_work.Seen | None = None
        self._job: Job | None = None
        self._all_notes = False
        self._wanted = ""  # the layout that was asked for among several
        self.workbook = WorkbookFace(house, self)
        self.state, self.about = Fitted("soft", self), QLabel(self)
        self.about.setWordWrap(True)
        self.about.setProperty("look", "quiet")
        self.cell = Fitted("soft", self)
        self._empty = QLabel(self)
        self._empty.setWordWrap(True)
        self._empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._empty.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._lay_out()
        self._make_actions()
        self.workbook.table.doubleClicked.connect(self._give)
        self.workbook.table.selectionModel().currentChanged.connect(self._moved)
        doing.stopped.connect(self._stopped)

    def _lay_out(self) -> None:
        held = QWidget(self)
        inner = QVBoxLayout(held)
        inner.setContentsMargins(0, 0, 0, 0)
        inner.addWidget(self.state)
        inner.addWidget(self.about)
        inner.addWidget(self.workbook, 1)
        inner.addWidget(self.cell)
        self._stack = QStackedLayout(self)
        self._stack.addWidget(self._empty)
        self._stack.addWidget(held)

    def _make_actions(self) -> None:
        does = {
            "form_open": self._open,
            "form_which": self._which,
            "form_give": self._give,
            "form_take": self._take_off,
            "form_settings": self._settings,
            "form_keep": self._keep,
            "form_notes": self._turn_notes,
        }
        self.own = actions_of(self, FORM_KEYS, does)

    # --- the sheet --------------------------------------------------------------------------------------------------

    def take(self, at_hand: AtHand) -> None:
        """The sheet at hand as it stands now: fill the form at hand, or the customer's newest, with it."""
        other = self.at_hand is None or self.at_hand.sheet.identity != at_hand.sheet.identity
        self.at_hand = at_hand
        if other:
            self.seen, self._wanted = None, ""
            self._show_empty()

    def look(self) -> None:
        """Show the form as it would go out now."""
        if self.at_hand is None:
            return
        if self.seen is not None and not self.kept():
            self._fill(self.seen.proposed.layout, self.seen.proposed.workbook)
        elif (layout := self.kept_layout()) is not None:
            self._fill(layout, b"")
        else:
            self._show_empty()

    def customer(self) -> str:
        """The customer of the sheet at hand."""
        assert self.at_hand is not None
        return self.at_hand.sheet.head.customer or self.at_hand.sheet.plan.part.customer

    def layouts(self) -> list[Layout]:
        """The customer's layouts that are kept."""
        return of_customer(self.at_hand.shop.layouts.values(), self.customer()) if self.at_hand else []

    def kept_layout(self) -> Layout | None:
        """The kept layout that the sheet goes out by: the one asked for, else the newest."""
        held = self.layouts()
        return next((each for each in held if each.identity == self._wanted), held[-1] if held else None)

    def kept(self) -> bool:
        """Whether what is shown is a layout as it is kept."""
        return self.seen is not None and self.seen.proposed.layout in self.layouts()

    def _show_empty(self) -> None:
        self._empty.setText(
            f"{word('desk.form.empty', customer=self.customer() or '–')}\n\n{word('desk.form.empty_next')}"
        )
        self._stack.setCurrentIndex(0)
        self.setFocusProxy(self._empty)

    def _fill(self, layout: Layout, workbook: bytes) -> None:
        assert self.at_hand is not None
        self._begin(form_work.Filling(self.at_hand.sheet.identity, layout, workbook).run, word("desk.form.filling"))

    def _begin(self, task: object, words: str) -> None:
        if self.house.worker is None:
            return
        if self._job is not None:
            self._job.stop()
            self._doing.done(self._job)
        self._job = self.house.worker.long(task, self._filled, self._failed, self._doing.moved)  # type: ignore[arg-type]
        self._doing.begin(words, self._job)

    def _filled(self, seen: form_work.Seen) -> None:
        self._end()
        at = self.workbook.table.currentIndex()
        where = (at.row(), at.column()) if self.seen is not None else self._first_mark(seen)
        self.seen = seen
        self.workbook.show_grids(seen.grids)
        self._stack.setCurrentIndex(1)
        focus = self._empty.hasFocus() or self.hasFocus()
        self.setFocusProxy(self.workbook)
        if focus:
            self.workbook.setFocus()
        self.workbook.table.setCurrentIndex(self.workbook.model.index(*where))
        self._show_state()

    @staticmethod
    def _first_mark(seen: form_work.Seen) -> tuple[int, int]:
        first = seen.form.filled.written[:1]
        return (first[0].row - 1, first[0].column - 1) if first else (0, 0)

    def _show_state(self) -> None:
        assert self.seen is not None
        layout, notices = self.seen.proposed.layout, self.seen.form.notices
        parts = {"name": layout.name, "customer": layout.customer}
        if self.kept():
            self.state.show_text(word("desk.form.kept", issue=layout.issue, **parts))
        else:
            self.state.show_text(word("desk.form.not_kept", **parts))
        shown = len(notices) if self._all_notes else FEW
        more = len(notices) - shown
        told = [*map(say, notices[:shown]), *([word("desk.form.more", n=more)] if more > 0 else [])]
        self.about.setText("\n".join(told))
        self.about.setToolTip("\n".join(map(say, notices)))
        self.about.setVisible(bool(told))

    def _turn_notes(self) -> None:
        """Show all that is to be known of the form, or the first of it, so that the cells have their room."""
        if self.seen is not None:
            self._all_notes = not self._all_notes
            self._show_state()

    def _failed(self, failure: Failure) -> None:
        self._end()
        self.house.fail(failure)

    def _end(self) -> None:
        self._doing.done(self._job)
        self._job = None

    def _stopped(self, job: Job) -> None:
        if job is self._job:
            self._job = None

    def under_way(self) -> bool:
        """Whether a form is being filled."""
        return self._job is not None

    # --- the cell at hand -------------------------------------------------------------------------------------------

    def _moved(self, at: QModelIndex, _before: QModelIndex) -> None:
        if not at.isValid() or self.seen is None:
            return
        shown = self.workbook.model._cell(at)
        cell = address(at.row() + 1, at.column() + 1)
        code = "desk.form.cell" if shown.mark else "desk.form.cell_free"
        text = shown.text
        if shown.formula:
            result = word("desk.form.recalculated") if text == word("desk.form.waits") else text
            text = word("desk.form.formula", formula=shown.formula, text=result)
        self.cell.show_text(word(code, cell=cell, value=shown.mark, text=text))

    def _at(self) -> tuple[str, int, int, Table | None]:
        """The cell at hand on the blank form: worksheet, row, column, and the table that it lies in."""
        assert self.seen is not None
        filled, index = self.seen.form.filled, self.workbook.table.currentIndex()
        shown = self.workbook.grids[self.workbook.tabs.currentIndex()].name
        sheet, row, column = filled.copies.get(shown, shown), index.row() + 1, index.column() + 1
        growth = filled.growth
        for table in self.seen.proposed.layout.tables:
            more = growth.n if growth is not None and growth.sheet.casefold() == table.sheet.casefold() else 0
            if table.sheet == sheet and table.first <= row < table.first + table.rows * table.height + more:
                return sheet, row, column, table
        if growth is not None and growth.sheet.casefold() == sheet.casefold() and row >= growth.at + growth.n:
            row -= growth.n
        return sheet, row, column, None

    def _give(self) -> None:
        """Give the cell at hand a value; in the table its whole column."""
        if self.seen is None:
            return
        sheet, row, column, table = self._at()
        field, piece = self._value_at(sheet, row, column, table)
        cell = letters(column) if table is not None else address(row, column)
        answer = form_asking.ask_value(self, cell, field, piece, in_table=table is not None)
        if answer is not None:
            self._correct(self._corrections(sheet, row, column, table, field, *answer))

    def _take_off(self) -> None:
        if self.seen is not None:
            sheet, row, column, table = self._at()
            field, _ = self._value_at(sheet, row, column, table)
            if field:
                self._correct(self._corrections(sheet, row, column, table, field, "", 0))

    def _value_at(self, sheet: str, row: int, column: int, table: Table | None) -> tuple[str, int]:
        assert self.seen is not None
        if table is not None:
            offset = (row - table.first) % table.height
            held = [each for each in table.columns if each.column == column and each.offset == offset]
            return (held[0].field, held[0].piece + 1) if held else ("", 0)
        for place in self.seen.proposed.layout.heads:
            if (place.sheet, place.row, place.column) == (sheet, row, column):
                return place.field, place.piece + 1 if place.field in COUNTED else 0
        return "", 0

    def _corrections(
        self, sheet: str, row: int, column: int, table: Table | None, before: str, field: str, piece: int
    ) -> Layout:
        """The layout with another value at this place; nothing where ``field`` is empty."""
        assert self.seen is not None
        layout = self.seen.proposed.layout
        if table is None:
            heads = tuple(each for each in layout.heads if (each.sheet, each.row, each.column) != (sheet, row, column))
            place = HeadPlace(field, sheet, row, column, piece=max(piece - 1, 0) if field in COUNTED else 0)
            return replace(layout, heads=(*heads, place) if field else heads)  # other cells keep theirs
        offset = (row - table.first) % table.height
        kept = tuple(each for each in table.columns if (each.column, each.offset) != (column, offset))
        tables = tuple(replace(each, columns=kept) if each is table else each for each in layout.tables)
        layout = replace(layout, tables=tables)
        name = f"{field}:{piece}" if piece else field
        where = f"{quoted(sheet)}!{letters(column)}" + (f"+{offset}" if offset else "")
        texts = [f"{name}={where}"] if field else []
        return correct(Proposed(layout, b""), texts).layout

    def _correct(self, layout: Layout) -> None:
        assert self.seen is not None
        self._fill(layout, self.seen.proposed.workbook)

    # --- the whole form ---------------------------------------------------------------------------------------------

    def _open(self) -> None:
        """Ask for a customer's blank workbook, and find out where things go on it."""
        if self.at_hand is None:
            return
        asked = form_asking.ask_blank(self, self.house.folder, self.customer())
        if asked is not None:
            file, customer = asked
            self.seen = None
            task = form_work.Proposing(file, customer, self.at_hand.sheet.identity)
            self._begin(task.run, word("desk.form.reading", name=file.name))

    def _which(self) -> None:
        held = self.layouts()
        if held:
            chosen = form_asking.ask_which(self, held, self._wanted)
            if chosen is not None:
                self._wanted, self.seen = chosen.identity, None
                self._fill(chosen, b"")

    def _settings(self) -> None:
        if self.seen is not None:
            texts = form_asking.ask_settings(self, self.seen.proposed.layout)
            if texts is not None:
                self._correct(correct(self.seen.proposed, texts).layout)

    def _keep(self) -> None:
        """Keep the layout with its blank workbook, as a further issue where the customer has one of its name."""
        if self.seen is None or self.at_hand is None:
            return
        if self.kept():
            self.house.notice(word("desk.form.is_kept"))
            return
        against = not_now(self.at_hand.shop, None, acts.IssueLayout, self.house.person)
        if against is not None:
            self.house.notice(say(against))
            return
        layout, workbook = self.seen.proposed.layout, self.seen.proposed.workbook
        name = form_asking.ask_name(self, layout.name, layout.customer) if not layout.identity else layout.name
        if name is None:
            return
        wanted = same_name(self.at_hand.shop, replace(layout, name=name))
        act = acts.IssueLayout(layout=wanted)
        self.house.do(act, kept=self._was_kept, files={layout.workbook.digest: workbook})

    def _was_kept(self, outcome: object) -> None:
        (event,) = outcome.events  # type: ignore[attr-defined]
        layout = event.layout
        assert self.at_hand is not None
        self._wanted = layout.identity
        self.at_hand = self.at_hand._replace(shop=outcome.shop)  # type: ignore[attr-defined]
        self.house.set_shop(outcome.shop)  # type: ignore[attr-defined]
        self.house.notice(word("desk.form.now_kept", name=layout.name, issue=layout.issue))
        self._fill(layout, b"")
        self.changed.emit()

    def turn(self, by: int) -> None:
        """To another worksheet of the form."""
        self.workbook.turn(by)

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self.workbook.take_theme(theme)
        for fitted in (self.state, self.cell):
            fitted.updateGeometry()
