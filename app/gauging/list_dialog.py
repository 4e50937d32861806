"""Gauge studies as a list: what is yours to read, what is complete, what is in use."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QDialog, QLabel, QVBoxLayout, QWidget

from app.background.worker import Failure
from app.gauging.keys import LIST_KEYS
from app.gauging.opening import AtHand
from app.gauging.work import Listed, ListThem, Look, Looked
from app.jobs.local_time import moment
from app.parts.buttons import ActionButton, ButtonRow
from app.parts.fitted import Sentence
from app.parts.items import Item, ItemsView
from app.parts.marks import Mark
from app.window import words
from app.window.asking import Field, Question, ask, stay_with
from app.window.house import House
from app.window.keys import make_action
from inspection.sheet import acts
from inspection.sheet.gauge_life import in_use
from inspection.sheet.steps import not_now
from inspection.studies.conducted import StudyKind
from inspection.words.say import word

#: The dialog's size in logical pixels, as far as its window has room.
SIZE = (1000, 560)


class StudiesDialog(QDialog):
    """The list; what is opened from it stands over it, and it is read anew when that is closed."""

    def __init__(self, house: House, parent: QWidget, at_hand: AtHand) -> None:
        super().__init__(parent)
        self._house, self._at_hand = house, at_hand
        self._listed: tuple[Listed, ...] = ()
        self.setWindowTitle(word("gauge.list.title"))
        self.setAccessibleName(self.windowTitle())
        theme = house.theme
        title = QLabel(self.windowTitle(), self)
        title.setProperty("look", "head")
        self.said = Sentence(theme, self)
        self.said.setFixedHeight(theme.px(48))
        self.list = ItemsView(theme, word("gauge.list.title"), self)
        self.list.entered.connect(lambda _row: self._open())
        does: dict[str, Callable[[], object]] = {
            "result": self._look,
            "start": self._start,
            "give_up": self._give_up,
            "person": self._choose_person,
            "close": self.reject,
        }
        self.actions_by_name: dict[str, QAction] = {
            name: make_action(self, LIST_KEYS[name], word(LIST_KEYS[name].code), do) for name, do in does.items()
        }
        layout = QVBoxLayout(self)
        px = theme.px
        layout.setContentsMargins(px(24), px(18), px(24), px(16))
        layout.setSpacing(px(10))
        buttons = [ActionButton(action, self) for action in self.actions_by_name.values()]
        for button in buttons:
            button.setAutoDefault(False)
        row = ButtonRow(buttons, self)
        row.take_theme(theme)
        for widget, stretch in ((title, 0), (self.said, 0), (self.list, 1), (row, 0)):
            layout.addWidget(widget, stretch)
        self.resize(*(min(px(side), have * 19 // 20) for side, have in zip(SIZE, parent.size().toTuple(), strict=True)))
        self.list.setFocus()
        self.read()

    # --- showing ----------------------------------------------------------------------------------------------------

    def read(self) -> None:
        """Read the list anew."""
        worker = self._house.worker
        if worker is not None:
            worker.read(ListThem(self._house.person).run, self._show, self._fail)

    def _fail(self, failure: Failure) -> None:
        self.said.show_text(self._house.sentence(failure), "out")

    def _show(self, listed: tuple[Listed, ...]) -> None:
        at = max(self.list.row(), 0)
        self._listed = listed
        self.list.show_items(tuple(map(self._item, listed)), min(at, len(listed) - 1))
        self.said.show_text(self._about(), "quiet")
        self.list.setFocus()

    def _about(self) -> str:
        """Who is at the bench, and what Enter does for them."""
        shop = self._house.shop
        assert shop is not None
        one = shop.people.get(self._house.person)
        return word("gauge.list.text", person=one.name) if self._listed and one is not None else word("gauge.list.none")

    def _item(self, one: Listed) -> Item:
        study, shop = one.study, self._house.shop
        assert shop is not None
        tag = shop.crib[study.instrument].tag if study.instrument in shop.crib else study.instrument
        told = ", ".join((tag, word(f"gauge.kind.{study.kind}"), moment(study.at)))
        read = word("gauge.of", n=study.read, of=study.runs)
        if study.given_up:
            return Item(study.title, Mark.NOT_JUDGED, (told,), word("command.studies.given_up"))
        if study.read < study.runs or one.left:
            side = word("gauge.list.yours", n=one.left) if one.left else word("gauge.list.others")
            return Item(study.title, Mark.OPEN, (f"{told}; {read}",), side)
        used = in_use(shop, study.study) is not None
        unused = "complete" if study.kind == StudyKind.CROSSED else "whole"
        side = word("gauge.state.in_use" if used else f"gauge.state.{unused}")
        return Item(study.title, Mark.CONFORMING if used else Mark.OPEN, (told,), side)

    @property
    def _chosen(self) -> Listed | None:
        row = self.list.row()
        return self._listed[row] if 0 <= row < len(self._listed) else None

    # --- doing ------------------------------------------------------------------------------------------------------

    def _open(self) -> None:
        """Enter: read on where something is left for the person, else look."""
        one = self._chosen
        if one is None:
            self._start()
        elif one.left:
            self._fetch(one, self._read_on)
        else:
            self._look()

    def _look(self) -> None:
        one = self._chosen
        if one is not None:
            self._fetch(one, self._show_result)

    def _fetch(self, one: Listed, then: Callable[[Looked], None]) -> None:
        worker = self._house.worker
        if worker is not None:
            worker.read(Look(one.study.study).run, then, self._fail)

    def _read_on(self, looked: Looked) -> None:
        from app.gauging.reading_dialog import ReadingDialog

        self._over(ReadingDialog(self._house, self, looked.held))

    def _show_result(self, looked: Looked) -> None:
        from app.gauging.result_dialog import ResultDialog

        self._over(ResultDialog(self._house, self, looked))

    def _over(self, dialog: QDialog) -> None:
        dialog.finished.connect(self.activateWindow)
        dialog.finished.connect(self.read)
        stay_with(dialog)

    def _start(self) -> None:
        shop = self._house.shop
        assert shop is not None
        against = not_now(shop, None, acts.StartGaugeStudy, self._house.person)
        if against is not None:
            self.said.show_text(self._house.say(against), "out")
            return
        from app.gauging.start_dialog import StartDialog

        dialog = StartDialog(self._house, self, self._at_hand)
        dialog.settled.connect(self._started)
        self._over(dialog)

    def _started(self, outcome: Any) -> None:
        plan = outcome.events[0].study
        self.list.go(0)
        self._house.notice(word("gauge.start.done", title=plan.title, n=len(plan.runs)))

    def _choose_person(self) -> None:
        """Somebody else comes to the bench: people read in turns."""
        from app.window.people import ask_person

        shop = self._house.shop
        chosen = ask_person(self, shop, self._house.person) if shop is not None else ""
        if chosen:
            self._house.set_person(chosen)
            self.read()

    def _give_up(self) -> None:
        one = self._chosen
        if one is None:
            return
        field = Field("reason", word("gauge.withdraw.reason"))
        question = Question(
            word("gauge.give_up.title", title=one.study.title),
            word("gauge.give_up.text"),
            (field,),
            word("gauge.give_up.yes"),
            words.word("button.no"),
        )
        answer = ask(self, question)
        if answer is not None:
            act = acts.GiveUpStudy(study=one.study.study, reason=answer["reason"])
            self._house.do(act, kept=lambda _outcome: self.read(), refused=self._fail)
