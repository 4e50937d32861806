"""A study on parts: places read again and again, typed or sent by cable, with what they come to so far."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QDialog, QFrame, QHBoxLayout, QLabel, QLineEdit, QStackedLayout, QVBoxLayout, QWidget

from app.bench.meaning import meaning_in
from app.checking.entry import CheckEntry
from app.checking.set_up import SetUp
from app.checking.told import set_up_text
from app.crib.keys import STUDY_BUTTONS, STUDY_KEYS
from app.parts.buttons import ActionButton, ButtonRow
from app.parts.fitted import Fitted, Sentence
from app.parts.page import Page
from app.parts.paper import Paper
from app.window.house import House
from app.window.keys import make_action
from app.window.theme import SMALL, TEXT
from inspection.measuring import study_under_way as making
from inspection.measuring.study_under_way import StudyUnderWay
from inspection.reasons import Reason, Refused
from inspection.words.say import say, word

#: The dialog's size in logical pixels as far as its window has room.
SIZE = (1080, 620)
#: Between readings of one place: a blank that stays one in rich text.
BETWEEN = "\N{EM SPACE}"


class StudyDialog(QDialog):
    """``study`` is what was read so far; the dialog is accepted once the person has it recorded."""

    def __init__(self, parent: QWidget, house: House, study: StudyUnderWay, *, taken_up: bool) -> None:
        super().__init__(parent)
        self._house, self.study = house, study
        instrument = study.instrument
        self.setWindowTitle(word("study.window", instrument=f"{instrument.tag} {instrument.name}"))
        self.setAccessibleName(self.windowTitle())
        theme = house.theme
        self.title, self.set_up_as = Fitted("head", self), Fitted("soft", self)
        self.title.show_text(self.windowTitle())
        self.places = Page(word("study.places"), self)
        self.form = SetUp(theme, self)
        self.entry = CheckEntry(self)
        self.entry.letters = frozenset()
        self.entry.setAccessibleName(word("study.entry"))
        self.prompt, self.said = Fitted("soft", self), Sentence(theme, self, sizes=(TEXT, SMALL))
        self.notes = QLineEdit(self)
        self.notes.setAccessibleName(word("study.note"))
        self.notes.setPlaceholderText(word("study.note.like"))
        self.actions_by_name = self._make_actions()
        self._lay_out(parent)
        self._connect()
        self._show()
        if taken_up:
            self.said.show_text(word("study.taken_up"), "quiet")

    # --- building ---------------------------------------------------------------------------------------------------

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {
            "record": self._record,
            "take_back": self._take_back,
            "set_up": self._open_form,
            "anew": self._anew,
            "leave": self.reject,
        }
        return {name: make_action(self, key, word(key.code), does[name]) for name, key in STUDY_KEYS.items()}

    def _lay_out(self, over: QWidget) -> None:
        px = self._house.theme.px
        head = QHBoxLayout()
        head.setSpacing(px(20))
        head.addWidget(self.title, 1)
        head.addWidget(self.set_up_as)
        pages = QFrame(self)
        self.places.document().setDocumentMargin(px(12))
        self._pages = QStackedLayout(pages)
        self._pages.addWidget(self.places)
        self._pages.addWidget(self.form)
        below = QHBoxLayout()
        below.setSpacing(px(16))
        below.addWidget(self.entry, 2)
        below.addWidget(self.said, 3)
        noted = QHBoxLayout()
        label = QLabel(word("study.note"), self)
        label.setBuddy(self.notes)
        noted.addWidget(label)
        noted.addWidget(self.notes, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(px(24), px(18), px(24), px(16))
        layout.setSpacing(px(8))
        for row in (head, pages, self.prompt, below, noted, self._button_row()):
            layout.addLayout(row) if isinstance(row, QHBoxLayout) else layout.addWidget(row)
        layout.setStretchFactor(pages, 1)
        self.said.setFixedHeight(px(72))
        room = over.size()
        self.resize(*(min(px(side), have * 19 // 20) for side, have in zip(SIZE, room.toTuple(), strict=True)))

    def _button_row(self) -> ButtonRow:
        buttons = [ActionButton(self.actions_by_name[name], self) for name in STUDY_BUTTONS]
        for button in buttons:
            button.setAutoDefault(False)  # Enter belongs to the line that is typed into
        row = ButtonRow(buttons, self)
        row.take_theme(self._house.theme)
        return row

    def _connect(self) -> None:
        self.entry.submitted.connect(self._submit)
        self.entry.textChanged.connect(self._show_meaning)
        self.notes.returnPressed.connect(self.entry.setFocus)
        self.form.taken.connect(self._take_set_up)
        self.form.left.connect(self._show)

    def note(self) -> str:
        """What was noted with it."""
        return self.notes.text().strip()

    # --- showing ----------------------------------------------------------------------------------------------------

    def _show(self) -> None:
        """Everything as the study stands."""
        study = self.study
        self.set_up_as.show_text(set_up_text(study.instrument, study.configuration))
        here = study.places[-1]
        code = "study.prompt.on" if len(here) > 1 else "study.prompt"
        self.prompt.show_text(word(code, place=len(study.places), n=len(here) + 1))
        self._show_places()
        self._pages.setCurrentWidget(self.places)
        self.actions_by_name["record"].setEnabled(study.spread is not None)
        self.actions_by_name["take_back"].setEnabled(study.is_begun)
        self.actions_by_name["anew"].setEnabled(study.is_begun)
        self.entry.setFocus()

    def _show_places(self) -> None:
        """What it comes to, and the readings place by place, the one at hand last and in sight."""
        page, study, units = Paper(self._house.theme), self.study, self._house.units
        told = [page.line(say(reason, units), bold=reason.code == "study.s") for reason in making.said(study)]
        for number, place in enumerate(study.places, 1):
            if place:
                read = BETWEEN.join(each.written for each in place)
                told.append(page.paragraph(word("study.place", place=number), (read,)))
        self.places.show_page("".join(told), from_top=True)
        bar = self.places.verticalScrollBar()
        bar.setValue(bar.maximum())

    def _show_meaning(self, text: str) -> None:
        """While a number is typed, what it means."""
        study, unit = self.study, self.study.configuration.unit
        meaning = meaning_in(text, unit, study.instrument.quantity, study.instrument, signed=study.signed)
        if text.strip() and len(text.split()) == 1:
            self.said.show_text("     ".join(meaning.words) or (say(meaning.fault) if meaning.fault else ""), "ink")

    # --- entering ---------------------------------------------------------------------------------------------------

    def _submit(self) -> None:
        """Enter: what stands in the field is read at the place at hand; alone it goes on to another place, if a hand
        pressed it."""
        text = self.entry.text()
        if text.strip():
            self._enter(text)
        elif self.entry.by_hand:
            self._try(lambda: making.next_place(self.study))

    def _enter(self, text: str) -> bool:
        if not self._try(lambda: making.enter(self.study, text)):
            return False
        slip = making.slip_of(self.study)
        if slip is not None:
            self._say(slip, color="doubt")
        return True

    def _try(self, step: Callable[[], StudyUnderWay]) -> bool:
        """Take a step; what cannot be stays in the field, marked, with the reason beside it."""
        try:
            self.study = step()
        except Refused as refused:
            at = refused.reasons[0].parts.get("at")
            if isinstance(at, int) and self.entry.text():
                self.entry.point_at(at)
                self.entry.turned_down()
            self._say(*refused.reasons, color="out")
            return False
        self.entry.clear()
        self.said.show_text("", "quiet")
        self._show()
        return True

    def _say(self, *reasons: Reason, color: str) -> None:
        self.said.show_text(self._house.say(*reasons), color)

    def _take_back(self) -> None:
        last = self.study.places[-1][-1:]
        if not self._try(lambda: making.without_last(self.study)):
            return
        if last:
            self.said.show_text(word("study.took_back", written=last[0].written), "quiet")
        else:
            self.said.show_text(word("study.placed_back", place=len(self.study.places)), "quiet")

    def _anew(self) -> None:
        self._try(lambda: making.begin(self.study.instrument, self.study.configuration))

    def _record(self) -> None:
        """Ctrl+Enter: what is still typed counts; then hand it over."""
        text = self.entry.text()
        if text.strip() and not self._enter(text):
            return
        if self.study.spread is not None:
            self.accept()

    # --- how it is set up -------------------------------------------------------------------------------------------

    def _open_form(self) -> None:
        self.form.show_set_up(self.study.instrument, self.study.configuration)
        self._pages.setCurrentWidget(self.form)
        self.form.unit.setFocus()

    def _take_set_up(self) -> None:
        before = self.study
        try:
            self.study = making.set_up(before, self.form.configuration())
        except Refused as refused:
            self.form.say(" ".join(map(say, refused.reasons)))
            return
        self.said.show_text(word("study.began_anew") if before.is_begun and self.study != before else "", "quiet")
        self._show()

    def reject(self) -> None:
        """Esc: a number half typed is put away first, then the form; then leave. What was read is kept for the next
        time."""
        if self._pages.currentWidget() is self.form:
            self._show()
        elif self.entry.text():
            self.entry.clear()
            self.said.show_text("", "quiet")
        else:
            super().reject()

    def setVisible(self, visible: bool) -> None:
        """The focus stands in the entry from the first."""
        super().setVisible(visible)
        if visible:
            self.entry.setFocus(Qt.FocusReason.OtherFocusReason)
