"""The check panel: one instrument's list, line by line, by keyboard alone.

What is entered is decided by ``inspection.measuring.checks_under_way``; here it is shown, and a refusal stands below
the line that it is about.
"""

from __future__ import annotations

from collections.abc import Callable

from msgspec.structs import replace
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QDialog, QFrame, QHBoxLayout, QStackedLayout, QVBoxLayout, QWidget

from app.bench.meaning import Meaning, meaning_in
from app.checking import told
from app.checking.card import Asked, Card
from app.checking.end import End
from app.checking.keys import BY_LETTER, KEYS
from app.checking.lines import Lines, lines_high
from app.checking.set_up import SetUp
from app.parts.fitted import Fitted, Sentence
from app.window.keys import make_action
from app.window.theme import SMALL, TEXT, Theme
from inspection.measuring import checks_under_way as making
from inspection.measuring.checks_cautions import cautions
from inspection.measuring.checks_outcome import Outcome
from inspection.measuring.checks_under_way import CheckUnderWay, Wanted, wanted
from inspection.reasons import Refused
from inspection.words.say import say, word

#: The panel's width, and its height beside the list, as far as its window allows.
WIDE, HIGH = 1240, 440


class CheckPanel(QDialog):
    """``check`` is what was entered so far; the dialog is accepted once the person records it. ``text`` is what was
    typed and not entered."""

    def __init__(self, parent: QWidget | None, theme: Theme, check: CheckUnderWay, text: str = "") -> None:
        super().__init__(parent)
        self._theme, self.check = theme, check
        self._names_standard = False  # the entry takes which block it is, in place of a reading
        self._outcome: Outcome | None = None
        self._make_parts(theme)
        self._lay_out(theme)
        self._connect()
        self._make_actions()
        name = word("checking.window", instrument=check.instrument.tag)
        self.setWindowTitle(name)
        self.setAccessibleName(name)
        self.caution.show_text(" ".join(map(say, cautions(check.instrument.kind))), "quiet")
        if check.is_begun or text:
            self.card.show_said(word("checking.taken_up"))
        self.card.entry.setText(text)
        self._show()

    # --- building ---------------------------------------------------------------------------------------------------

    def _make_parts(self, theme: Theme) -> None:
        self.title, self.due, self.set_up_as = Fitted("title", self), Fitted("strong", self), Fitted("soft", self)
        self.frame = QFrame(self)
        self.frame.setObjectName("check")
        self.frame.setStyleSheet(
            f"QFrame#check {{ background: {theme.palette.card}; border-radius: {theme.px(6)}px; }}"
        )
        self.card, self.end, self.form = Card(theme, self), End(theme, self), SetUp(theme, self)
        self.lines = Lines(theme, self)
        self.caution = Sentence(theme, self, sizes=(TEXT, SMALL), middle=True)
        self.hints = Sentence(theme, self, sizes=(SMALL,), middle=True)

    def _lay_out(self, theme: Theme) -> None:
        px = theme.px
        head = QHBoxLayout()
        head.setSpacing(px(24))
        head.addWidget(self.title, 1)
        head.addWidget(self.set_up_as)
        head.addWidget(self.due)
        for label in (self.set_up_as, self.due):
            label.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self._pages = QStackedLayout(self.frame)
        for page in (self.card, self.end, self.form):
            self._pages.addWidget(page)
        layout = self._layout = QVBoxLayout(self)
        layout.addLayout(head)
        layout.addWidget(self.frame, 1)
        layout.addWidget(self.lines)
        layout.addWidget(self.caution)
        layout.addWidget(self.hints)
        layout.setSizeConstraint(QVBoxLayout.SizeConstraint.SetNoConstraint)  # it folds instead
        self.resize(self.sizeHint())

    def _connect(self) -> None:
        entry = self.card.entry
        entry.submitted.connect(self._submit)
        entry.went_back.connect(self._back)
        entry.lettered.connect(self._letter)
        entry.stepped.connect(self._step)
        entry.leave = self._leave_field
        entry.textChanged.connect(self._show_meaning)
        self.end.recorded.connect(self.accept)
        self.end.went_back.connect(self._back)
        self.form.taken.connect(self._take_set_up)
        self.form.left.connect(self._show)
        self.lines.pointed_at.connect(self._go_to)

    def _make_actions(self) -> None:
        does: dict[str, Callable[[], object]] = {
            "not_so": self._not_so,
            "other_standard": self._name_standard,
            "take_back": self._take_back,
            "set_up": self._open_form,
            "anew": self._anew,
        }
        self.actions_by_name: dict[str, QAction] = {
            name: make_action(self, key, word(key.code), does[name]) for name, key in KEYS.items()
        }

    def sizeHint(self) -> QSize:
        px, over = self._theme.px, self.parentWidget()
        wanted = QSize(px(WIDE), px(HIGH + lines_high(len(self.check.lines))))
        room = over.window().size() if over is not None else self.screen().availableSize()
        return wanted.boundedTo(room - QSize(px(8), px(8)))

    def setVisible(self, visible: bool) -> None:
        """A dialog chooses the text of its first field when it is shown; what was typed is gone on with, not over."""
        super().setVisible(visible)
        self.card.entry.end(False)

    # --- showing ----------------------------------------------------------------------------------------------------

    @property
    def text(self) -> str:
        """What was typed and not entered."""
        return self.card.entry.text()

    def _show(self) -> None:
        """Everything as the check now stands; what came to nothing is said at its line."""
        check = self.check
        self._outcome = self._came_to() if wanted(check) is Wanted.NOTHING else None
        check = self.check
        self._show_head()
        self.lines.show_lines(told.shown_lines(check, self._outcome), check.instrument.kind.value, check.at)
        if self._outcome is not None:
            self._show_end(self._outcome)
        else:
            self._show_card()
        self.hints.show_text(told.hints(check, ended=self._outcome is not None), "quiet")

    def _show_head(self) -> None:
        """Mark, name, set-up and due date, as fully as there is room."""
        check, palette = self.check, self._theme.palette
        room = self.width() * 100 / self._theme.scale
        self.set_up_as.show_text(told.set_up_text(check.instrument, check.configuration))
        self.set_up_as.setVisible(room >= 560)
        late, past = told.due(check, short=room < 560)
        self.due.show_text(late)
        self.due.setStyleSheet(f"color: {palette.out if past else palette.ink};")
        beside = self.due.sizeHint().width() + (self.set_up_as.sizeHint().width() if room >= 560 else 0)
        margins = self._layout.contentsMargins()
        left = self.width() - margins.left() - margins.right() - beside - self._theme.px(48)
        names = told.titles(check)
        wide = self.title.fontMetrics().horizontalAdvance
        self.title.show_text(next((name for name in names if wide(name) <= left), names[-1]))

    def _came_to(self) -> Outcome | None:
        try:
            return making.outcome(self.check)
        except Refused as refused:
            self.check = replace(self.check, at=making.line_of(self.check, refused.reasons[0]))
            self._refuse(refused)
            return None

    def _show_end(self, outcome: Outcome) -> None:
        self.end.show_end(told.end(self.check, outcome))
        self._pages.setCurrentWidget(self.end)
        self.end.setFocus()

    def _show_card(self) -> None:
        check, line = self.check, self.check.line
        assert line is not None
        codes = [each.code for each in check.lines]
        take, minded = told.take(check)
        asked = Asked(
            line=line.code,
            kind=check.instrument.kind.value,
            place=word("checking.count", n=codes.index(line.code) + 1, of=len(codes)),
            asked=say(making.asks(check, line)),
            take=take,
            minded=minded,
            prompt=word("checking.prompt.size", what=word(f"check.to_read.{line.code}"))
            if self._names_standard
            else told.prompt(check),
            keys=told.keys(check),
            badge=check.configuration.unit if line.asked.is_read else "",
            readings="   ".join(check.answer(line.code).written)
            if line.asked.is_read
            else told.answer_text(check, line),
        )
        self.card.show_asked(asked)
        self._pages.setCurrentWidget(self.card)
        self.card.entry.setFocus()
        self._show_meaning()

    def _show_meaning(self, _text: str = "") -> None:
        """While a number is typed the card shows what it means, and nothing else."""
        check, text = self.check, self.text
        line = check.line
        if line is None or not line.asked.is_read or self._names_standard or wanted(check) is Wanted.SIZE:
            meaning = Meaning()
        else:
            instrument, signed = check.instrument, making.is_signed(line)
            meaning = meaning_in(text, check.configuration.unit, instrument.quantity, instrument, signed=signed)
        self.card.show_meaning("     ".join(meaning.words) or (say(meaning.fault) if meaning.fault else ""))

    # --- entering ---------------------------------------------------------------------------------------------------

    def _submit(self) -> None:
        """Enter: what stands in the field goes to the line at hand; alone it agrees, if a hand pressed it."""
        entry = self.card.entry
        if not entry.text().strip() and not entry.by_hand:
            return
        if self._names_standard:
            self._try(lambda: making.measure_on(self.check, entry.text()))
        else:
            self._try(lambda: making.enter(self.check, entry.text()))

    def _try(self, step: Callable[[], CheckUnderWay]) -> bool:
        """Take a step; what cannot be stays in the field, marked, with the reason below."""
        try:
            self.check = step()
        except Refused as refused:
            self._refuse(refused)
            return False
        self._names_standard = False
        self.card.entry.clear()
        self.card.show_said("")
        self._show()
        return True

    def _refuse(self, refused: Refused) -> None:
        entry, reasons = self.card.entry, refused.reasons
        at = reasons[0].parts.get("at")
        if isinstance(at, int):
            entry.point_at(at)
        if entry.text():
            entry.turned_down()
        self.card.show_said(" ".join(map(say, reasons)), "out")

    def _letter(self, letter: str) -> None:
        self.actions_by_name[BY_LETTER[letter]].trigger()

    def _not_so(self) -> None:
        """N: what is looked at is not as it should be."""
        if self._pages.currentWidget() is self.card and not self.text:
            self._try(lambda: making.see(self.check, as_it_should_be=False))

    def _take_back(self) -> None:
        if self._pages.currentWidget() is not self.card:
            return
        written = self.check.answer(self.check.at).written[-1:]
        if self._try(lambda: making.take_back(self.check)):
            self.card.show_said(word("checking.took_back", written=written[0]))

    def _name_standard(self) -> None:
        """B: the next entry is which block, stack or setting standard is read."""
        line = self.check.line
        if self._pages.currentWidget() is not self.card or line is None or not line.asked.has_size:
            return
        self._names_standard = True
        self.card.entry.clear()
        self._show()
        self.card.show_said(word("checking.other.prompt"))

    # --- going to and fro -------------------------------------------------------------------------------------------

    def _move(self, check: CheckUnderWay) -> None:
        """Another line; what was typed at this one and not entered was for it alone."""
        self.check, self._names_standard = check, False
        self.card.entry.clear()
        self.card.show_said("")
        self._show()

    def _back(self) -> None:
        """Backspace on the empty field: a line back; where another block was to be named, that is left."""
        self._move(self.check if self._names_standard else making.go_back(self.check))

    def _step(self, by: int) -> None:
        if not self.text:
            self._move(making.go_back(self.check, -by))

    def _go_to(self, code: str) -> None:
        if self._pages.currentWidget() is not self.form and not self.text:
            self._move(replace(self.check, at=code))

    def _leave_field(self) -> bool:
        """Esc: another block is not named after all; else the panel is left."""
        if not self._names_standard:
            return False
        self._move(self.check)
        return True

    def _anew(self) -> None:
        """F5: begin the check anew, set up as it is."""
        if self._pages.currentWidget() is self.form:
            return
        check = self.check
        self._move(
            making.begin(check.instrument, check.configuration, closing=check.closing, size=check.size, sets=check.sets)
        )

    # --- how it is set up -------------------------------------------------------------------------------------------

    def _open_form(self) -> None:
        self.form.show_set_up(self.check.instrument, self.check.configuration)
        self._pages.setCurrentWidget(self.form)
        self.form.unit.setFocus()
        self.hints.show_text(word("checking.hints.set_up"), "quiet")

    def _take_set_up(self) -> None:
        before = self.check
        try:
            self.check = making.set_up(before, self.form.configuration())
        except Refused as refused:
            self.form.say(" ".join(map(say, refused.reasons)))
            return
        lost = any(answer.readings for answer in before.answers) and self.check != before
        self._move(self.check)
        self.card.show_said(word("checking.began_anew") if lost else "")

    # --- room -------------------------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def _fold(self) -> None:
        """What the panel is too small for is left out, the least needed first."""
        theme, px = self._theme, self._theme.px
        wide, high = self.width() * 100 / theme.scale, self.height() * 100 / theme.scale
        tight, narrow = high < 480, wide < 900
        self._layout.setContentsMargins(*(px(each) for each in ((12, 6, 12, 6) if tight else (28, 16, 28, 12))))
        self._layout.setSpacing(px(4 if tight else 8))
        inside = (8, 4, 8, 4) if tight else (20, 12, 20, 10)
        for page in (self.card, self.end, self.form):
            page.setContentsMargins(*(px(each) for each in inside))
        self.lines.setVisible(high >= HIGH - 40 + lines_high(len(self.check.lines)))
        self.title.setFixedHeight(px(32))
        for label, least in ((self.caution, 300), (self.hints, 340)):
            label.setVisible(high >= least)
            label.setFixedHeight(px(34 if narrow else 20))
        self._show_head()
        self.card.fold(wide, high)
        self.end.fold(high)
