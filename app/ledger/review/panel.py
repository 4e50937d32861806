"""The review of one sheet: the lead's list at the left, answered one by one, and beside it the rows of each point and
the sheet's nonconformances. Everything by key."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace
from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QAction, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QSizePolicy, QVBoxLayout, QWidget

from app.background.worker import Failure, Ticket
from app.ledger.keys import REVIEW_BUTTONS, REVIEW_KEYS
from app.ledger.review import told
from app.ledger.review.acting import Acting
from app.ledger.review.going_on import AmendDialog, PartialDialog
from app.ledger.review.obstacles import Goal, Way, goal_of
from app.ledger.review.to_read import proposed
from app.ledger.review.work import Review
from app.parts.buttons import ActionButton, ButtonRow, rest
from app.parts.fitted import Fitted
from app.parts.items import Item, ItemsView
from app.window.house import House
from app.window.keys import actions_of
from app.window.theme import Theme
from inspection.sheet import acts
from inspection.sheet.nonconformance_life import unnamed
from inspection.sheet.points_marks import CODE as MARKED
from inspection.sheet.review import StatementKind
from inspection.sheet.state import Stage
from inspection.sheet.steps import not_now
from inspection.words.say import say, word

if TYPE_CHECKING:
    from app.jobs.reviewing import Reviewed
    from app.jobs.signing import Signed
    from inspection.sheet.points_table import Point
    from inspection.sheet.state import Cell

#: The width of what stands beside the list, in per cent of the panel.
BESIDE = 40
#: A panel narrower than this shows the list, or what stands beside it, but not both.
BOTH = 720
#: Rows of a point that are shown one by one; the rest is counted.
MOST_ROWS = 200
#: The act that each key leads to: whether the person may do it now is said before anything is asked.
LEADS_TO: dict[str, type[acts.Act]] = {
    "answer": acts.AnswerPoint,
    "again": acts.ReadRowAgain,
    "return": acts.ReturnSheet,
    "raise": acts.RaiseNonconformance,
    "decide": acts.DisposeNonconformance,
    **dict.fromkeys(("approve", "complete", "not_complete", "release"), acts.MakeStatement),
    "partial": acts.MakeSheet,
    "amend": acts.AmendSheet,
}
STATES = {
    "approve": StatementKind.APPROVED,
    "complete": StatementKind.COMPLETE,
    "not_complete": StatementKind.NOT_COMPLETE,
    "release": StatementKind.RELEASED,
}


class ReviewPanel(QWidget):
    """``left`` follows Esc; ``again_wanted`` carries what was seen, and the rows that are proposed to be read again."""

    left = Signal()
    again_wanted = Signal(object, object)

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.house = house
        self.seen: Reviewed | None = None
        self._wanted = self._to_decide = ""
        self._drafts: dict[str, str] = {}  # answers begun and not kept, by the point's key
        self._answering = self._at_hand = ""  # the key of the point that is answered, and of the one at hand
        self._just_answered: tuple[str, str] | None = None  # the key and words of the point answered last
        self._refused = ""  # the entry that a refused answer was based on
        self.acting = Acting(house, self)
        self.actions_by_name = self._make_actions()
        self.title, self.count = Fitted("title", self), QLabel(self)
        self.count.setProperty("look", "strong")
        self.standing = QLabel(self)
        self.standing.setProperty("look", "soft")
        self.standing.setWordWrap(True)
        self.standing.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        self.buttons = ButtonRow([ActionButton(self.actions_by_name[name], self) for name in REVIEW_BUTTONS], self)
        self.points = ItemsView(house.theme, word("review.points"), self)
        self.rows = ItemsView(house.theme, word("review.rows"), self)
        self.nonconformances = ItemsView(house.theme, word("review.nonconformances"), self)
        self._heads = {name: QLabel(word(f"review.{name}"), self) for name in ("points", "rows", "nonconformances")}
        self._empty = QLabel(self)
        self.answer = QLineEdit(self)
        self._problem = QLabel(self)
        self.hints = Fitted("quiet", self)
        self._soon = QTimer(self, interval=60, singleShot=True)
        self._soon.timeout.connect(self._look)
        self._lay_out()
        self._connect()
        self.take_theme(house.theme)

    # --- building ---------------------------------------------------------------------------------------------------

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {
            "answer": self._answer_at_hand,
            "unanswered": self._to_unanswered,
            "bench": self._to_row,
            "again": self._read_again,
            "return": self._return,
            "raise": self._raise,
            "decide": self._decide,
            **{name: partial(self.acting.ask_to_state, kind) for name, kind in STATES.items()},
            "partial": partial(self._go_on_with, PartialDialog),
            "amend": partial(self._go_on_with, AmendDialog),
        }
        return actions_of(self, REVIEW_KEYS, {name: partial(self._if_allowed, name, do) for name, do in does.items()})

    def _lay_out(self) -> None:
        self.answer.hide()
        self._problem.hide()
        self._empty.hide()
        for label, look in ((self._problem, "problem"), (self._empty, "soft")):
            label.setProperty("look", look)
            label.setWordWrap(True)
        for label in self._heads.values():
            label.setProperty("look", "quiet")
            label.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        head = QHBoxLayout()
        head.addWidget(self.title, 1)
        head.addWidget(self.count)
        self._left, self._right = QWidget(self), QWidget(self)
        left, right = self._sides = QVBoxLayout(self._left), QVBoxLayout(self._right)
        for widget, stretch in ((self._heads["points"], 0), (self.points, 1), (self._empty, 1)):
            left.addWidget(widget, stretch)
        left.addWidget(self.answer)
        left.addWidget(self._problem)
        right.addWidget(self._heads["rows"])
        right.addWidget(self.rows, 3)
        right.addWidget(self._heads["nonconformances"])
        right.addWidget(self.nonconformances, 2)
        self._columns = QHBoxLayout()
        self._columns.addWidget(self._left, 100 - BESIDE)
        self._columns.addWidget(self._right, BESIDE)
        self._layout = QVBoxLayout(self)
        self._layout.addLayout(head)
        self._layout.addWidget(self.standing)
        self._layout.addWidget(self.buttons)
        self._layout.addLayout(self._columns, 1)
        self._layout.addWidget(self.hints)
        self.hints.show_text(word("review.hints"))

    def _connect(self) -> None:
        self.points.moved.connect(self._show_rows)
        self.points.entered.connect(lambda _row: self.actions_by_name["answer"].trigger())
        self.rows.entered.connect(lambda _row: self._to_row())
        self.nonconformances.entered.connect(lambda _row: self.actions_by_name["decide"].trigger())
        if self.house.worker is not None:
            self.house.worker.acted.connect(self._acted)
        self.house.person_changed.connect(self._look_soon)
        self.house.units_changed.connect(self._show)
        self.acting.stated.connect(self._stated)
        self.acting.wanted.connect(self._go)

    # --- looking ----------------------------------------------------------------------------------------------------

    def open(self, sheet: str, decide: str = "") -> None:
        """Review this sheet; ``decide`` is the nonconformance to be decided, once the sheet is seen."""
        if sheet != self._wanted:
            self.seen, self._drafts = None, {}
            self._leave_answer()
        self._wanted, self._to_decide = sheet, decide
        self.acting.sheet = sheet
        self._show()
        self._look()
        self._turn_to(self.points)

    def go_on(self) -> None:
        """Go on with the review: it is looked at anew, and keys go to the list."""
        self._look()
        self._turn_to(self.points)

    def _look(self) -> None:
        worker, foreseen = self.house.worker, self.house.foreseen
        if worker is not None and foreseen is not None and self._wanted:
            work = Review(self._wanted, self.house.person, foreseen.now())
            worker.read(work.run, self._take, self.house.fail)

    def _look_soon(self, _person: str) -> None:
        """Somebody else is at the bench: what they may do is another matter."""
        self._soon.start()

    def _take(self, seen: Reviewed) -> None:
        if seen.sheet.identity != self._wanted:
            return
        first, self.seen = self.seen is None, seen
        self._show()
        self._tell_meanwhile(seen)
        if first:
            self._to_unanswered()
        held = seen.sheet.nonconformances.get(self._to_decide)
        self._to_decide = ""
        if held is not None:
            self.acting.decide(seen, held)

    def _tell_meanwhile(self, seen: Reviewed) -> None:
        """Say what somebody else did to the sheet while a point was answered: that the point is no longer on the list,
        or how the sheet stands now that refused the answer."""
        if self._just_answered is not None:
            key, said = self._just_answered
            self._just_answered = None
            if all(point.key != key for point in seen.points):
                self.house.notice(word("review.answer.gone", point=said))
        if self._refused and seen.sheet.last_entry != self._refused and self._problem.isVisible():
            standing = told.standing(seen.sheet, seen.shop, seen.linked)
            self._problem.setText(word("review.answer.meanwhile", why=self._problem.text(), standing=standing))
        self._refused = ""

    def _acted(self, _ticket: Ticket, outcome: Any) -> None:
        if self._wanted and outcome.stream == self._wanted and self.isVisible():
            self._soon.start()

    # --- showing ----------------------------------------------------------------------------------------------------

    def _show(self, *_changed: object) -> None:
        seen, units = self.seen, self.house.units
        if seen is None:
            for view in (self.points, self.rows, self.nonconformances):
                view.show_items(())
            self.count.clear()
            self.standing.setText(word("review.looking") if self._wanted else "")
            return
        sheet, shop = seen.sheet, seen.shop
        part = sheet.plan.part
        name = word("ledger.of_part", part=part.number, revision=part.revision)
        self.title.show_text(word("review.title", part=name, serials=told.serials_of(sheet)))
        self.count.setText(told.points_count(seen.points, sheet))
        self._show_standing()
        keys, here = [point.key for point in seen.points], self._at_hand
        row = keys.index(here) if here in keys else -1
        self.points.show_items([told.point_item(point, sheet, shop, units) for point in seen.points], row)
        self.points.setVisible(bool(seen.points))
        self._empty.setVisible(not seen.points)
        waits = sheet.stage is Stage.SIGNED
        self._empty.setText(word("review.points.empty" if waits else "review.points.nothing"))
        held = sheet.nonconformances.values()
        self.nonconformances.show_items([told.nonconformance_item(one, sheet, shop) for one in held])
        for widget in (self.nonconformances, self._heads["nonconformances"]):
            widget.setVisible(bool(held))
        self._show_rows()
        self._show_offers()

    def _show_standing(self) -> None:
        if self.seen is not None:
            standing = told.standing(self.seen.sheet, self.seen.shop, self.seen.linked)
            self.standing.setText(f"{self.count.text()} · {standing}" if self._narrow() else standing)

    def point(self) -> Point | None:
        """The point at hand."""
        row = self.points.row()
        return self.seen.points[row] if self.seen is not None and 0 <= row < len(self.seen.points) else None

    def _cells(self) -> tuple[Cell, ...]:
        """The rows that are shown: those of the point at hand."""
        point = self.point()
        return point.cells if point is not None else ()

    def _show_rows(self, *_row: object) -> None:
        if self.seen is not None:
            point = self.point()
            self._at_hand = point.key if point is not None else self._at_hand
            units, sheet, cells = self.house.units, self.seen.sheet, self._cells()
            items = [told.row_item(sheet, cell, units) for cell in cells[:MOST_ROWS]]
            if len(cells) > MOST_ROWS:
                items.append(Item(word("ledger.more", n=len(cells) - MOST_ROWS)))
            self.rows.show_items(items, 0)

    def _show_offers(self, *_changed: object) -> None:
        """What the person may not do now stays on its key, which says why."""
        for name in LEADS_TO:
            why = self._why_not(name)
            if not why and name in STATES and self.seen is not None:
                lasting = [reason for reason in self.seen.against[STATES[name]] if goal_of(reason) is None]
                why = self.house.say(*lasting) if lasting else ""
            rest(self.actions_by_name[name], why)

    # --- what may be done -------------------------------------------------------------------------------------------

    def _why_not(self, name: str) -> str:
        """Why a key does nothing for this person on the sheet as it stands; "" if it does."""
        if self.seen is None:
            return ""
        reason = not_now(self.seen.shop, self.seen.sheet, self._leads_to(name), self.house.person)
        return say(reason) if reason is not None else told.nothing_for(name, self.seen.sheet)

    def _leads_to(self, name: str) -> type[acts.Act]:
        """The act that a key leads to: a mark for review is answered at every stage of a sheet, other points while it
        is under review."""
        point = self.point() if name == "answer" else None
        return acts.AnswerMark if point is not None and point.code == MARKED else LEADS_TO[name]

    def _if_allowed(self, name: str, do: Callable[[], object]) -> None:
        """Do what a key is for; where that is not to be done now, say so quietly."""
        if self.seen is None:
            return
        why = self._why_not(name) if name in LEADS_TO else ""
        if why:
            self.house.notice(why)
        else:
            do()

    # --- answering --------------------------------------------------------------------------------------------------

    def _answer_at_hand(self) -> None:
        """Open the answer of the point at hand."""
        point = self.point()
        if point is None or self.seen is None:
            return
        self._keep_draft()
        given = self.seen.sheet.point_answers.get(point.key)
        self._answering = point.key
        self.answer.setText(self._drafts.get(point.key, given.words if given is not None else ""))
        self.answer.setPlaceholderText(word("review.answer.hint"))
        self.answer.setAccessibleName(word("review.answer", point=self.points.items[self.points.row()].text))
        self.answer.show()
        self.answer.setFocus()
        self.hints.show_text(word("review.hints.answer"))

    def _keep_answer(self) -> None:
        assert self.seen is not None
        point, text = self._answering, self.answer.text()
        sheet = self.seen.sheet.identity
        held = next((each for each in self.seen.points if each.key == point and each.code == MARKED), None)
        act: acts.AnyAct = acts.AnswerPoint(sheet=sheet, point=point, words=text)
        if held is not None:
            act = acts.AnswerMark(sheet=sheet, mark=held.about, words=text)
        self.house.do(
            act,
            based_on=self.seen.sheet.last_entry,
            kept=self._answered,
            refused=self._not_answered,
            back=self._not_answered,
        )

    def _answered(self, outcome: Any) -> None:
        if self.seen is None or outcome.stream != self._wanted:
            return
        key = self._answering
        said = next((say(point.reason) for point in self.seen.points if point.key == key), "")
        self._just_answered = (key, said)
        self._leave_answer()
        self._drafts.pop(key, None)
        self.seen = replace(self.seen, sheet=outcome.sheet)
        self._show()
        self._to_unanswered()
        self._look()

    def _not_answered(self, failure: Failure) -> None:
        """The words stand; why they were not kept is said below them, and the sheet is looked at anew: somebody else
        may have changed it."""
        self._problem.setText(self.house.sentence(failure))
        self._problem.show()
        self._refused = self.seen.sheet.last_entry if self.seen is not None else ""
        self._look()

    def _leave_answer(self) -> None:
        """Back to the list; what was typed and not kept is there when the point is opened again."""
        self._keep_draft()
        self._answering = ""
        self._problem.hide()
        self.answer.hide()
        self.hints.show_text(word("review.hints"))
        self._turn_to(self.points)

    def _keep_draft(self) -> None:
        """What was begun to be answered and is not kept stays with its point."""
        if self._answering and self.answer.isVisible() and self.answer.text().strip():
            self._drafts[self._answering] = self.answer.text()

    def _to_unanswered(self) -> None:
        """The next point that waits, from the one at hand on; those that must be answered before the others."""
        if self.seen is None or not self.seen.points:
            return
        self._leave_answer()
        points, sheet, here = self.seen.points, self.seen.sheet, max(self.points.row(), 0)
        order = [*range(here, len(points)), *range(here)]
        waiting = [row for row in order if told.waits(points[row], sheet)]
        must = [row for row in waiting if points[row].must_answer]
        self.points.go((must or waiting or [here])[0])
        self._turn_to(self.points)

    # --- rows -------------------------------------------------------------------------------------------------------

    def _to_row(self) -> None:
        """The row at hand at the Bench; of a point about the whole sheet, the sheet."""
        cells, row = self._cells(), max(self.rows.row(), 0)
        if self.seen is None:
            return
        if cells:
            characteristic, piece = cells[min(row, len(cells) - 1)]
            number = self._number((characteristic, piece))
            self.house.row_wanted.emit(self._wanted, number, told.serial_of(self.seen.sheet, piece))
        else:
            self.house.sheet_wanted.emit(self._wanted)

    def _read_again(self) -> None:
        if self.seen is not None:
            point = self.point()
            own = tuple(cell for cell in point.cells if self.seen.sheet.counting(*cell)) if point is not None else ()
            cells = own if self.rows.hasFocus() else proposed(self.seen.points, self.seen.sheet)
            self.again_wanted.emit(self.seen, cells or own)

    def _return(self) -> None:
        if self.seen is not None:
            self.acting.send_back(self.seen, self._cells())

    # --- nonconformances, statements, sheets that follow ------------------------------------------------------------

    def _raise(self, at: Cell | None = None) -> None:
        if self.seen is not None:
            cells = self._cells()
            row = cells[self.rows.row()] if 0 <= self.rows.row() < len(cells) else None
            self.acting.raise_on(self.seen.sheet, at or (row if self.rows.hasFocus() else None))

    def _decide(self) -> None:
        """The nonconformance at hand, or else the first that waits."""
        if self.seen is not None:
            held, row = list(self.seen.sheet.nonconformances.values()), self.nonconformances.row()
            at_hand = self.nonconformances.hasFocus() and 0 <= row < len(held)
            self.acting.decide_next(self.seen, held[row] if at_hand else None)

    def _stated(self, signed: Signed) -> None:
        if self.seen is not None and signed.sheet.identity == self._wanted:
            self.seen = replace(self.seen, sheet=signed.sheet)
            self._show()
        self._look()

    def _go_on_with(self, kind: type[PartialDialog] | type[AmendDialog]) -> None:
        if self.seen is not None:
            self.acting.go_on_with(kind, self.seen.sheet)

    def _go(self, goal: Goal) -> None:
        """Where an obstacle is put right."""
        assert self.seen is not None
        sheet = self.seen.sheet
        if goal.way is Way.ANSWER:
            self._to_unanswered()
        elif goal.way is Way.DECIDE:
            held = (one for one in sheet.nonconformances.values() if one.number == goal.number)
            self.acting.decide(self.seen, next(held))
        elif goal.way is Way.RAISE:
            here = (goal.number, goal.serial)
            cells = (cell for cell in unnamed(sheet) if (self._number(cell), told.serial_of(sheet, cell[1])) == here)
            self._raise(next(cells, None))
        else:
            self.house.row_wanted.emit(self._wanted, goal.number, goal.serial)

    def _number(self, cell: Cell) -> str:
        assert self.seen is not None
        return self.seen.sheet.characteristic(cell[0]).number

    # --- keys and look ----------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter keeps the answer; Esc leaves the answer, else the review; Right and Left go to the rows and back."""
        key, answering = event.key(), self.answer.hasFocus()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if answering:
                self._keep_answer()
        elif key == Qt.Key.Key_Escape:
            self._leave_answer() if answering else self.left.emit()
        elif key == Qt.Key.Key_Right and self.points.hasFocus() and self.rows.items:
            self._turn_to(self.rows)
        elif key == Qt.Key.Key_Left and (self.rows.hasFocus() or self.nonconformances.hasFocus()):
            self._turn_to(self.points)
        else:
            super().keyPressEvent(event)

    def _turn_to(self, view: ItemsView) -> None:
        """Keys go to this list; in a narrow room it is shown in place of the other side."""
        if self._narrow():
            self._left.setVisible(view is self.points)
            self._right.setVisible(view is not self.points)
        view.setFocus()

    def _narrow(self) -> bool:
        return self.width() < self.house.theme.px(BOTH)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def _fold(self) -> None:
        """In a narrow room one of the two sides; how many wait stands below the title then."""
        narrow, right = self._narrow(), self.rows.hasFocus() or self.nonconformances.hasFocus()
        self.buttons.setVisible(self.height() * 100 / self.house.theme.scale >= 340)
        self._left.setVisible(not narrow or not right)
        self._right.setVisible(not narrow or right)
        self.count.setVisible(not narrow)
        self._show_standing()

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        px = theme.px
        self._layout.setContentsMargins(px(24), px(18), px(24), px(14))
        self._layout.setSpacing(px(10))
        self._columns.setSpacing(px(28))
        for column in self._sides:
            column.setContentsMargins(0, 0, 0, 0)
            column.setSpacing(px(6))
        for view in (self.points, self.rows, self.nonconformances):
            view.take_theme(theme)
        self.buttons.take_theme(theme)
        self._fold()
