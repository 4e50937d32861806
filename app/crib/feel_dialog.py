"""Feel, as a dialog: readings of a block by Enter, their plot growing with each, what they show at the side."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.background.worker import Failure
from app.crib.feel_keeping import Keeper
from app.crib.feel_lines import FeelLines
from app.crib.feel_page import feel_page
from app.crib.feel_plot import plot_of
from app.crib.keys import FEEL_BUTTONS, FEEL_KEYS
from app.parts.buttons import ActionButton, ButtonRow
from app.parts.page import Page
from app.parts.plot import Plot, PlotView
from app.window import words
from app.window.asking import Question, ask
from app.window.house import House
from app.window.keys import make_action
from inspection.instruments.spelling import number_text
from inspection.reasons import Refused
from inspection.studies import feel as study
from inspection.studies.feel import Feel, Trial
from inspection.words.say import OTHER_UNITS, word
from storage.book.clock import new_identity, wall_clock

if TYPE_CHECKING:
    from app.crib.feel_work import Begun
    from inspection.instruments.record import Instrument

#: The dialog's size in logical pixels as far as its window has room, and the width of the page in it.
SIZE, PAGE = (1160, 650), 490


class FeelDialog(QDialog):
    """One person's trials with one instrument; each reading is handed over to be kept as it is entered.

    ``forgotten`` follows once all of the person's trials are deleted.
    """

    forgotten = Signal()

    def __init__(self, house: House, instrument: Instrument, begun: Begun, parent: QWidget) -> None:
        super().__init__(parent)
        shop = house.shop
        assert shop is not None  # nobody is at the bench of no book
        self._house, self._instrument = house, instrument
        self._person, self._issues = shop.people[house.person].name, shop.issues
        self._trials = {one.identity: one for one in begun.kept.trials if one.instrument == instrument.identity}
        self.trial: Trial | None = None
        self._leaving = False
        self._keeper = Keeper(house, house.person, begun.book, self)
        self._keeper.kept.connect(self._was_kept)
        self._keeper.failed.connect(self._was_not_kept)
        self.setWindowTitle(word("feel.dialog.title", tag=instrument.tag, name=instrument.name))
        self.setAccessibleName(self.windowTitle())
        self.plot = PlotView(word("feel.plot"), house.theme, self)
        self.page = Page(word("feel.page"), self)
        self.lines = FeelLines(house.theme, instrument.unit, self)
        self.lines.block_given.connect(self._begin)
        self.lines.reading_given.connect(self._take)
        self.actions_by_name = self._make_actions()
        self._lay_out(word("feel.dialog.private", person=self._person, file=str(begun.file)), parent.window())
        self._offer_block(begun)
        self._show()

    # --- building ---------------------------------------------------------------------------------------------------

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {
            "take_away": self._take_away,
            "anew": self._anew,
            "go_on": self._go_on,
            "close": self.reject,
            "forget": self._forget,
            "on": partial(self.page.turn, 1),
            "up": partial(self.page.turn, -1),
        }
        return {name: make_action(self, key, word(key.code), does[name]) for name, key in FEEL_KEYS.items()}

    def _lay_out(self, private: str, over: QWidget) -> None:
        px = self._house.theme.px
        title, told = QLabel(self.windowTitle(), self), QLabel(private, self)
        title.setProperty("look", "head")
        told.setProperty("look", "soft")
        for label in (title, told):
            label.setTextFormat(Qt.TextFormat.PlainText)
            label.setWordWrap(True)
        left = QVBoxLayout()
        left.addWidget(self.plot, 1)
        left.addWidget(self.lines)
        middle = QHBoxLayout()
        middle.setSpacing(px(20))
        middle.addLayout(left, 1)
        middle.addWidget(self.page)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(px(24), px(18), px(24), px(16))
        layout.setSpacing(px(10))
        layout.addWidget(title)
        layout.addWidget(told)
        layout.addLayout(middle, 1)
        layout.addWidget(self._button_row())
        room = over.size()
        wide, high = min(px(SIZE[0]), room.width() * 19 // 20), min(px(SIZE[1]), room.height() * 19 // 20)
        self.page.setFixedWidth(min(px(PAGE), wide * 3 // 7))
        self.page.document().setDocumentMargin(px(12))
        self.resize(wide, high)

    def _button_row(self) -> ButtonRow:
        buttons = [ActionButton(self.actions_by_name[name], self) for name in FEEL_BUTTONS]
        for button in buttons:
            button.setAutoDefault(False)  # Enter belongs to the line that is typed into
        row = ButtonRow(buttons, self)
        row.take_theme(self._house.theme)
        return row

    def _offer_block(self, begun: Begun) -> None:
        """The block of the last trial, or one that the shop has, stands there to be agreed to by Enter."""
        last = self._last()
        near = begun.block
        if last is not None:
            self.lines.show_block(last.written)
        elif near is not None:
            self.lines.show_block(number_text(near.size, self._instrument.unit) or "")
        self.trial = self._on_block()
        if begun.kept.said:
            self.lines.say(self._house.say(*begun.kept.said), "out")
        else:
            taken = [near.take] if near is not None and near.take is not None and last is None else []
            self.lines.say(" ".join((word("feel.hint.block"), *map(self._house.say, taken))))
        self.lines.ask_for_block()

    # --- the trial --------------------------------------------------------------------------------------------------

    def _on_block(self) -> Trial | None:
        """A trial on the block that stands in its line, kept from its first reading on; None if that is no block."""
        with suppress(Refused):
            return study.begun(self._instrument, self.lines.block.text(), new_identity(), wall_clock().day)
        return None

    def _begin(self) -> bool:
        """Begin on the block that stands in its line, unless that is the trial's already; whether one is under way."""
        written = self.lines.block.text()
        if self.trial is None or written.strip() != self.trial.written:
            try:
                self.trial = study.begun(self._instrument, written, new_identity(), wall_clock().day)
            except Refused as refused:
                self._refuse(refused, at_block=True)
                return False
            self._show()
        if not self.trial.takes:
            self.lines.say(word("feel.hint.reading"))
        self.lines.ask_for_reading()
        return True

    def _take(self) -> None:
        """Take what was typed as the next reading."""
        text = self.lines.reading.text()
        if not text.strip() or not self._begin() or self.trial is None:
            return
        try:
            take = study.read_take(self.trial, text, wall_clock().at)
            self._grow(study.with_take(self.trial, take))
        except Refused as refused:
            self._refuse(refused, at_block=False)
            return
        self.lines.reading.clear()
        slip = study.slip_of(self.trial, self._record(self.trial))
        if slip is None:
            self.lines.say("")
        else:
            self.lines.say(f"{self._house.say(slip)} {word('feel.hint.take_away')}", "doubt")

    def _refuse(self, refused: Refused, *, at_block: bool) -> None:
        self.lines.say(self._house.say(*refused.reasons), "out")
        line = self.lines.block if at_block else self.lines.reading
        self.lines.point_at(line, refused.reasons[0].parts.get("at"))

    def _grow(self, trial: Trial) -> None:
        """The trial is this now: have it kept, and show it."""
        self.trial = self._trials[trial.identity] = trial
        self._keeper.keep(trial)
        self._show()

    def _take_away(self) -> None:
        if self.trial is not None and self.trial.takes:
            self._grow(study.without_last(self.trial))
            self.lines.say("")
        self.lines.ask_for_reading()

    def _anew(self) -> None:
        """What was read is kept; a further trial begins with its block."""
        self.trial = self._on_block()
        self.lines.say(word("feel.hint.block"))
        self.lines.ask_for_block()
        self._show()

    def _go_on(self) -> None:
        """Go on with the trial before, where one was called away."""
        last = self._last()
        if last is not None:
            self.trial = last
            self.lines.show_block(last.written)
            self.lines.say(word("feel.hint.reading"))
            self.lines.ask_for_reading()
            self._show()

    # --- shown ------------------------------------------------------------------------------------------------------

    def _earlier(self) -> list[tuple[Trial, Feel]]:
        """The person's other trials with this instrument, the newest first."""
        others = [one for one in self._trials.values() if self.trial is None or one.identity != self.trial.identity]
        shown = [(one, study.feel_of(one, self._record(one))) for one in reversed(others)]
        return [(one, found) for one, found in shown if found is not None]

    def _last(self) -> Trial | None:
        return next((trial for trial, _ in self._earlier()), None)

    def _record(self, trial: Trial) -> Instrument:
        """The record that a trial was made under; today's, if the book does not have that one."""
        return self._issues.get((trial.instrument, trial.issue), self._instrument)

    def _show(self) -> None:
        trial, units, unit = self.trial, self._house.units, self._instrument.unit
        shown = study.feel_of(trial, self._record(trial)) if trial is not None else None
        unit = OTHER_UNITS.get(units, {}).get(unit, unit)
        should = study.should_of(trial, self._record(trial)) if trial is not None else None
        self.plot.show_plot(plot_of(trial, should, shown, unit) if trial and should else Plot(unit=unit))
        page = feel_page(shown, self._earlier(), self._instrument.tag, self._house.theme, units)
        self.page.show_page(page, from_top=False)
        self.actions_by_name["take_away"].setEnabled(trial is not None and bool(trial.takes))
        self.actions_by_name["anew"].setEnabled(trial is not None and bool(trial.takes))
        self.actions_by_name["go_on"].setEnabled((trial is None or not trial.takes) and self._last() is not None)

    # --- keeping and leaving ----------------------------------------------------------------------------------------

    def _was_kept(self) -> None:
        if self._leaving:
            super().reject()

    def _was_not_kept(self, failure: Failure) -> None:
        why = self._house.sentence(failure)
        if not self._leaving:
            self.lines.say(word("feel.unkept", why=why), "out")
        elif ask(self, self._leave_without(why)) is not None:
            self._keeper.drop()
            super().reject()
        self._leaving = False

    def _leave_without(self, why: str) -> Question:
        title, text = word("feel.leave.title"), word("feel.leave.text", why=why)
        return Question(title, text, yes=word("feel.leave.yes"), no=word("feel.leave.no"))

    def reject(self) -> None:
        """Esc: a number half typed is put away first; then leave, once everything is on disk."""
        if self.lines.reading.text():
            self.lines.reading.clear()
            self.lines.say(word("feel.hint.reading"))
        elif self._keeper.is_quiet():
            super().reject()
        else:
            self._leaving = True
            self._keeper.again()

    def _forget(self) -> None:
        title, text = word("feel.forget.title"), word("feel.forget.text", person=self._person)
        if ask(self, Question(title, text, yes=word("feel.forget.yes"), no=words.word("button.no"))) is not None:
            self._keeper.forget(self._are_forgotten)

    def _are_forgotten(self, _found: object) -> None:
        super().reject()
        self.forgotten.emit()
