"""The blind entry of a gauge study: the part to fetch, the turn, one field; no reading of anybody is shown."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QDialog, QLabel, QVBoxLayout, QWidget

from app.background.worker import Failure
from app.bench.meaning import meaning_in
from app.checking.entry import CheckEntry
from app.gauging.keys import READING_KEYS
from app.parts.buttons import ActionButton, ButtonRow
from app.parts.fitted import Fitted, Sentence
from app.window import words
from app.window.asking import Field, Question, Sort, ask
from app.window.house import House
from app.window.keys import make_action
from app.window.theme import SMALL, TEXT
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.events import Entry
from inspection.sheet.evolve import fold_study
from inspection.sheet.study_entry import Asked, asked_of, correction_act, label_of, own_readings, reading_act
from inspection.studies.conducted import Conducted, StudyKind, StudyReading
from inspection.words.say import say, word

SIZE = (900, 480)


class ReadingDialog(QDialog):
    """One person's turn. Each reading is handed over as it is entered, and the next part is named once it is on disk;
    what is typed meanwhile is held."""

    def __init__(self, house: House, parent: QWidget, held: Conducted) -> None:
        super().__init__(parent)
        shop = house.shop
        assert shop is not None
        self._house, self.held, self._person = house, held, house.person
        self._instrument = shop.issues[held.plan.instrument, held.plan.issue]
        self._corrects: tuple[StudyReading, str] | None = None
        self._writing = self._wrong = False
        person = shop.people[self._person].name if self._person in shop.people else ""
        self.setWindowTitle(word("gauge.enter.title", title=held.plan.title, person=person, tag=self._instrument.tag))
        self.setAccessibleName(self.windowTitle())
        theme = house.theme
        self.title = Fitted("head", self)
        self.title.show_text(self.windowTitle())
        self.part, self.turn = QLabel(self), Fitted("soft", self)
        self.part.setTextFormat(Qt.TextFormat.PlainText)
        self.part.setStyleSheet(f"font-size: {theme.px(52)}px; font-weight: bold")
        self.how = Sentence(theme, self, sizes=(TEXT, SMALL))
        self.entry = CheckEntry(self)
        self.entry.letters = frozenset()
        self.entry.setAccessibleName(word("gauge.enter.entry"))
        self.meaning, self.said = Fitted("soft", self), Sentence(theme, self)
        self.actions_by_name = {
            name: make_action(self, key, word(key.code), do)
            for (name, key), do in zip(READING_KEYS.items(), self._does(), strict=True)
        }
        self._lay_out(parent)
        self.entry.submitted.connect(self._submit)
        self.entry.textChanged.connect(self._show_meaning)
        self.show_asked()

    def _does(self) -> tuple[Callable[[], object], ...]:
        return self._correct, self.reject

    def _lay_out(self, over: QWidget) -> None:
        px = self._house.theme.px
        layout = QVBoxLayout(self)
        layout.setContentsMargins(px(28), px(20), px(28), px(16))
        layout.setSpacing(px(10))
        buttons = [ActionButton(action, self) for action in self.actions_by_name.values()]
        for button in buttons:
            button.setAutoDefault(False)
        row = ButtonRow(buttons, self)
        row.take_theme(self._house.theme)
        self.how.setFixedHeight(px(44))
        self.said.setFixedHeight(px(72))
        for widget in (self.title, self.part, self.turn, self.how, self.entry, self.meaning, self.said):
            layout.addWidget(widget)
        layout.addStretch(1)
        layout.addWidget(row)
        room = over.window().parentWidget() or over.window()
        size = room.size().toTuple()
        self.resize(*(min(px(side), have * 19 // 20) for side, have in zip(SIZE, size, strict=True)))

    # --- showing ----------------------------------------------------------------------------------------------------

    @property
    def asked(self) -> Asked | None:
        """What the person is asked now."""
        return asked_of(self.held, self._person)

    def show_asked(self, said: str = "") -> None:
        """The part, the turn, and a question that waits."""
        asked = self.asked
        attribute = self.held.plan.kind is StudyKind.ATTRIBUTE
        done = asked is None and self._corrects is None
        how = "" if done else word("gauge.enter.how.attribute" if attribute else "gauge.enter.how")
        self.how.show_text(how, "quiet")
        self.entry.setReadOnly(done)
        self.entry.setVisible(not done)
        if self._corrects is not None:
            reading, _ = self._corrects
            label, n = label_of(self.held, reading.run), self._turn_of(reading)
            self.part.setText(word("gauge.enter.label", label=label))
            self.turn.show_text(word("gauge.enter.corrects", label=label, n=n))
        elif asked is None:
            self.part.setText("")
            self.turn.show_text(word("gauge.enter.done" if self.held.is_complete else "gauge.enter.turn_done"))
        else:
            self.part.setText(word("gauge.enter.label", label=asked.label))
            self.turn.show_text(word("gauge.enter.turn", n=asked.n, of=asked.of))
        question = asked.question.question if asked is not None and asked.question is not None else None
        if question is not None and self._corrects is None:
            self.said.show_text(self._house.say(question), "doubt")
        else:
            self.said.show_text(said, "quiet")
        (self if done else self.entry).setFocus()

    def _turn_of(self, reading: StudyReading) -> int:
        return self.held.runs_of(self._person).index(reading.run) + 1

    def _show_meaning(self, text: str) -> None:
        """What the number being typed means; what was wrong with the one before is said no longer."""
        if self._wrong:
            self._wrong = False
            self.show_asked()
        if self.held.plan.kind is StudyKind.ATTRIBUTE:
            return
        unit, kind = self.held.plan.configuration.unit, self._instrument.quantity
        meaning = meaning_in(text, unit, kind, self._instrument, signed=True)
        self.meaning.show_text("     ".join(meaning.words) or (say(meaning.fault) if meaning.fault else ""))

    # --- entering ---------------------------------------------------------------------------------------------------

    def _submit(self) -> None:
        """Enter: keep what was typed; on the empty field with a question keep what was written."""
        shop, text, asked = self._house.shop, self.entry.text(), self.asked
        if self._writing or shop is None:
            return
        try:
            if self._corrects is not None and text.strip():
                self._do(correction_act(shop, self.held, self._corrects[0], text, self._corrects[1]))
            elif text.strip():
                self._do(reading_act(shop, self.held, self._person, text))
            elif asked is not None and asked.question is not None and self.entry.by_hand:
                reading = asked.question.identity
                self._do(acts.KeepStudyReading(study=self.held.plan.identity, reading=reading))
        except Refused as refused:
            self._refuse(*refused.reasons)

    def _do(self, act: acts.OnStudy) -> None:
        self._writing = True
        self._house.do(act, kept=self._kept, refused=self._not_kept, back=self._not_kept)

    def _kept(self, outcome: Any) -> None:
        """It is on disk: the study as it is now, and the next part."""
        self._writing, self._corrects = False, None
        entry = Entry(identity=outcome.entry, person=self._person, at=outcome.at, day="")
        self.held = fold_study(self.held, [(event, entry) for event in outcome.events])
        self.entry.clear()
        self.show_asked(word("gauge.enter.kept"))

    def _not_kept(self, failure: Failure) -> None:
        self._writing = False
        self.said.show_text(self._house.sentence(failure), "out")

    def _refuse(self, *reasons: Reason) -> None:
        at = reasons[0].parts.get("at")
        if isinstance(at, int):
            self.entry.point_at(at)
        self.said.show_text(self._house.say(*reasons), "out")
        self._wrong = True

    # --- correcting -------------------------------------------------------------------------------------------------

    def _correct(self) -> None:
        """F2: which of one's own readings was wrong, and why; it is then read again. No number is shown."""
        mine = own_readings(self.held, self._person)
        if not mine or self._writing:
            self.said.show_text(word("gauge.enter.correct.none"), "quiet")
            return
        choices = tuple((one.identity, self._named(one)) for one in mine)
        fields = (
            Field("reading", word("gauge.enter.entry"), Sort.CHOICE, mine[0].identity, choices),
            Field("reason", word("gauge.withdraw.reason")),
        )
        title, text = word("gauge.enter.correct.which"), word("gauge.enter.correct.reason")
        answer = ask(self, Question(title, text, fields, word("gauge.enter.correct.yes"), words.word("button.no")))
        if answer is not None:
            self._corrects = self.held.readings[answer["reading"]], answer["reason"]
            self.entry.clear()
            self.show_asked()
        self.activateWindow()

    def _named(self, reading: StudyReading) -> str:
        of = len(self.held.runs_of(self._person))
        return word("gauge.enter.part", label=label_of(self.held, reading.run), n=self._turn_of(reading), of=of)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Where nothing is left, Enter leads back to the list, and there to the result."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and not self.entry.isVisible():
            self.reject()
        else:
            super().keyPressEvent(event)

    def reject(self) -> None:
        """Esc: a number half typed is put away first, then a correction; then leave. Everything kept is on disk."""
        if self._writing:
            return
        if self.entry.text():
            self.entry.clear()
        elif self._corrects is not None:
            self._corrects = None
            self.show_asked()
        else:
            super().reject()
