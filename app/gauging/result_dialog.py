"""What a gauge study came to: in words and charts, written out, taken into use by a lead, withdrawn."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.background.worker import Failure
from app.gauging.keys import RESULT_BUTTONS, RESULT_KEYS
from app.gauging.study_plots import plot_of
from app.gauging.work import Look, Looked, WouldChange, Write
from app.jobs.sending import PAPERS
from app.parts.buttons import ActionButton, ButtonRow, rest
from app.parts.exporting import asked_path
from app.parts.fitted import Sentence
from app.parts.page import Page
from app.parts.paper import Paper
from app.parts.plot import PlotView
from app.window import words
from app.window.asking import Field, Question, Sort, ask
from app.window.house import House
from app.window.keys import make_action
from inspection.reasons import Reason
from inspection.sheet import acts
from inspection.sheet.gauge_life import in_use, not_into_use
from inspection.sheet.steps import not_now
from inspection.words.say import say, word

#: The dialog takes nearly all of its window; so many charts stand one below the other.
ABREAST = 3
#: What goes up in a chart has about so many rows; a chart with more of them gets more of the height.
ROWS = 5


class ResultDialog(QDialog):
    """The result at the left, charts at the right where there are any."""

    def __init__(self, house: House, parent: QWidget, looked: Looked) -> None:
        super().__init__(parent)
        self._house, self._looked, self._first = house, looked, 0
        self.setWindowTitle(looked.page.title)
        self.setAccessibleName(looked.page.title)
        theme = house.theme
        self.page = Page(word("gauge.result.page"), self)
        self.page.document().setDocumentMargin(theme.px(8))
        self.page.left.connect(self.reject)
        self.plots = [PlotView("", theme, self) for _ in range(ABREAST)]
        self.heads = [QLabel(self) for _ in range(ABREAST)]
        self.said = Sentence(theme, self)
        self.said.setFixedHeight(theme.px(40))
        does: dict[str, Callable[[], object]] = {
            "use": self._use,
            "withdraw": self._withdraw,
            "charts": self._more_charts,
            "table": partial(self._write, pages=False),
            "page": partial(self._write, pages=True),
            "on": partial(self.page.turn, 1),
            "up": partial(self.page.turn, -1),
            "close": self.reject,
        }
        self.actions_by_name = {
            name: make_action(self, key, word(key.code), does[name]) for name, key in RESULT_KEYS.items()
        }
        self._lay_out(parent)
        self.show_looked(looked)
        self.page.setFocus()

    def _lay_out(self, over: QWidget) -> None:
        px = self._house.theme.px
        self._right = QWidget(self)
        right = QVBoxLayout(self._right)
        right.setContentsMargins(0, 0, 0, 0)
        for head, plot in zip(self.heads, self.plots, strict=True):
            head.setProperty("look", "soft")
            right.addWidget(head)
            right.addWidget(plot, 1)
        self._rows = right
        middle = QHBoxLayout()
        middle.setSpacing(px(20))
        middle.addWidget(self.page, 1)
        middle.addWidget(self._right, 1)
        buttons = [ActionButton(self.actions_by_name[name], self) for name in RESULT_BUTTONS]
        for button in buttons:
            button.setAutoDefault(False)
        row = ButtonRow(buttons, self)
        row.take_theme(self._house.theme)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(px(24), px(16), px(24), px(14))
        layout.setSpacing(px(8))
        layout.addLayout(middle, 1)
        layout.addWidget(self.said)
        layout.addWidget(row)
        room = (over.window().parentWidget() or over.window()).size()
        self.resize(room.width() * 19 // 20, room.height() * 19 // 20)

    # --- showing ----------------------------------------------------------------------------------------------------

    def show_looked(self, looked: Looked) -> None:
        """Show the study as it stands."""
        self._looked = looked
        paper, page = Paper(self._house.theme), looked.page
        told = [paper.title(page.title), paper.facts(page.facts)]
        for section in page.sections:
            told.append(paper.section(section.head))
            if section.rows:
                told.append(paper.table(section.heads, [[(cell, "ink") for cell in row] for row in section.rows]))
            told += [paper.line(text, "quiet") for text in section.said]
        self.page.show_page("".join(told), from_top=True)
        self._show_charts()
        shop = self._house.shop
        assert shop is not None
        used = in_use(shop, looked.held.plan.identity) is not None
        lead = not_now(shop, None, acts.TakeStudyIntoUse, self._house.person)
        against = [lead] if lead is not None else list(not_into_use(shop, looked.held))
        rest(self.actions_by_name["use"], self._house.say(*against) if against else "")
        none = Reason("gauge.refused.not_in_use") if not used else None
        why = lead or none
        rest(self.actions_by_name["withdraw"], self._house.say(why) if why is not None else "")

    def _show_charts(self) -> None:
        page = self._looked.page
        self._right.setVisible(bool(page.charts))
        shown = page.charts[self._first : self._first + ABREAST]
        for place, (head, plot) in enumerate(zip(self.heads, self.plots, strict=True)):
            there = place < len(shown)
            head.setVisible(there)
            plot.setVisible(there)
            if there:
                head.setText(word(f"gauge.chart.{shown[place].code}"))
                plot.setAccessibleDescription(head.text())
                plot.show_plot(plot_of(shown[place], page.kind, page.unit))
                self._rows.setStretchFactor(plot, max(ROWS, len(shown[place].ups)))
        self.actions_by_name["charts"].setEnabled(len(page.charts) > ABREAST)

    def _more_charts(self) -> None:
        self._first = 0 if self._first + ABREAST >= len(self._looked.page.charts) else self._first + ABREAST
        self._show_charts()

    def _fail(self, failure: Failure) -> None:
        self.said.show_text(self._house.sentence(failure), "out")

    # --- into use and out of it -------------------------------------------------------------------------------------

    def _rests(self, name: str) -> bool:
        """Whether an action rests; then it says why."""
        why = str(self.actions_by_name[name].property("rests") or "")
        if why:
            self.said.show_text(why, "doubt")
        return bool(why)

    def _use(self) -> None:
        """First what to take, with what that changes on the sheet at hand; then the act."""
        if self._rests("use"):
            return
        self._ask_changes(acts.TakeStudyIntoUse(study=self._looked.held.plan.identity), self._ask_use)

    def _ask_use(self, changes: tuple[Reason, ...] | None) -> None:
        choices = (("", word("gauge.use.own")), ("people", word("gauge.use.people")))
        field = Field("what", word("gauge.use.what"), Sort.CHOICE, "", choices, needed=False)
        title = self._looked.held.plan.title
        text = f"{word('gauge.use.text')} {self._told(changes)}"
        question = Question(
            word("gauge.use.title", title=title), text, (field,), word("gauge.use.yes"), words.word("button.no")
        )
        answer = ask(self, question)
        if answer is not None:
            act = acts.TakeStudyIntoUse(study=self._looked.held.plan.identity, people=answer["what"] == "people")
            done = word("gauge.use.done", title=title)
            self._ask_changes(act, lambda after: self._do(act, f"{done} {self._told(after)}"))

    def _withdraw(self) -> None:
        shop = self._house.shop
        record = in_use(shop, self._looked.held.plan.identity) if shop is not None else None
        if self._rests("withdraw") or record is None:
            return
        title = self._looked.held.plan.title
        field = Field("reason", word("gauge.withdraw.reason"))
        question = Question(
            word("gauge.withdraw.title", title=title),
            word("gauge.withdraw.text"),
            (field,),
            word("gauge.withdraw.yes"),
            words.word("button.no"),
        )
        answer = ask(self, question)
        if answer is not None:
            act = acts.WithdrawStudy(study=record.identity, reason=answer["reason"])
            done = word("gauge.withdraw.done", title=title)
            self._ask_changes(act, lambda after: self._do(act, f"{done} {self._told(after)}"))

    def _ask_changes(
        self, act: acts.TakeStudyIntoUse | acts.WithdrawStudy, then: Callable[[tuple[Reason, ...] | None], None]
    ) -> None:
        worker = self._house.worker
        if worker is not None:
            looking = WouldChange(act, self._looked.held.plan.identity, self._house.at_hand, self._house.person)
            worker.read(looking.run, then, self._fail)

    def _told(self, changes: tuple[Reason, ...] | None) -> str:
        """What an act changes on the sheet at hand."""
        if changes is None:
            return word("gauge.use.no_sheet")
        if not changes:
            return word("gauge.changes.none")
        return " ".join((word("gauge.use.changes"), *(say(each, self._house.units) for each in changes)))

    def _do(self, act: acts.TakeStudyIntoUse | acts.WithdrawStudy, said: str) -> None:
        self._house.do(act, kept=partial(self._done, said), refused=self._fail)

    def _done(self, said: str, outcome: Any) -> None:
        self._house.set_shop(outcome.shop)
        self.said.show_text(said, "quiet")
        self._house.notice(said)
        worker = self._house.worker
        if worker is not None:
            worker.read(Look(self._looked.held.plan.identity).run, self.show_looked, self._fail)

    # --- written out ------------------------------------------------------------------------------------------------

    def _write(self, *, pages: bool) -> None:
        name = f"{self._looked.page.title}{'.pdf' if pages else '.csv'}".replace("/", "-")
        path = asked_path(self, self._house, name, "*.pdf" if pages else "*.csv *.xlsx")
        worker = self._house.worker
        if path is not None and worker is not None:
            paper = PAPERS.get(self._house.papers.get("", ""), PAPERS["letter"])
            worker.read(Write(self._looked, path, paper, pages).run, self._wrote, self._fail)

    def _wrote(self, name: str) -> None:
        self.said.show_text(word("gauge.wrote", file=name), "quiet")
