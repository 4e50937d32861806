"""The window of the shop's rules: typed anew by who may, what follows said before, who changed what beside it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.background.worker import Failure
from app.jobs.local_time import moment
from app.parts.buttons import ActionButton, ButtonRow
from app.parts.fitted import Sentence
from app.parts.page import Page
from app.parts.paper import Paper
from app.rules.form import RulesForm, unplaced
from app.rules.keys import BUTTONS, KEYS
from app.rules.work import MOST_ISSUES, History
from app.window import words
from app.window.asking import Question, ask
from app.window.house import House
from app.window.keys import make_action
from app.window.theme import SMALL, TEXT
from inspection.instruments.rules import Rules
from inspection.instruments.rules_as_written import changed, changes_said, follows, rule_lines
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet.steps import require
from inspection.words.say import say, word

if TYPE_CHECKING:
    from storage.book.queries.rules_history import RulesEntered

#: The window's size in logical pixels as far as the window below has room, and the width of the history in it.
SIZE, HISTORY = (1180, 660), 330
#: A window narrower than this shows the rules alone.
BOTH = 860


class RulesDialog(QDialog):
    """The rules of the shop that the house has; it follows further issues while it stands open."""

    def __init__(self, parent: QWidget, house: House) -> None:
        super().__init__(parent)
        self._house = house
        self.setWindowTitle(word("rules.window"))
        self.setAccessibleName(word("rules.window"))
        self.title, self.issued = QLabel(self), QLabel(self)
        self.title.setProperty("look", "head")
        self.issued.setProperty("look", "soft")
        self.form = RulesForm(house.theme, self)
        self.history = Page(word("rules.window.history"), self)
        self.said = Sentence(house.theme, self, sizes=(TEXT, SMALL), middle=True)
        self._entered: list[RulesEntered] = []
        self.actions_by_name = self._make_actions()
        self._lay_out(parent)
        self.form.typed.connect(self._was_typed)
        house.shop_changed.connect(self._shop_changed)
        self._shop_changed()
        self.form.stand()

    # --- building ---------------------------------------------------------------------------------------------------

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {
            "issue": self._issue,
            "close": self.reject,
            "down": partial(self.form.turn, 1),
            "up": partial(self.form.turn, -1),
        }
        return {name: make_action(self, key, word(key.code), does[name]) for name, key in KEYS.items()}

    def _lay_out(self, over: QWidget) -> None:
        px = self._house.theme.px
        middle = QHBoxLayout()
        middle.setSpacing(px(20))
        middle.addWidget(self.form, 1)
        middle.addWidget(self.history)
        below = QHBoxLayout()
        below.setSpacing(px(16))
        below.addWidget(self._button_row())
        below.addWidget(self.said, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(px(24), px(18), px(24), px(16))
        layout.setSpacing(px(8))
        for label in (self.title, self.issued):
            layout.addWidget(label)
        layout.addLayout(middle, 1)
        layout.addLayout(below)
        room = over.size()
        self.resize(*(min(px(side), have * 19 // 20) for side, have in zip(SIZE, room.toTuple(), strict=True)))
        self.history.setFixedWidth(min(px(HISTORY), self.width() // 3))
        self.history.setVisible(self.width() >= px(BOTH))
        self.history.document().setDocumentMargin(px(12))
        self.said.setFixedHeight(px(40))

    def _button_row(self) -> ButtonRow:
        buttons = [ActionButton(self.actions_by_name[name], self) for name in BUTTONS]
        for button in buttons:
            button.setAutoDefault(False)  # Enter belongs to the line that is typed into
        row = ButtonRow(buttons, self)
        row.take_theme(self._house.theme)
        return row

    # --- showing ----------------------------------------------------------------------------------------------------

    @property
    def rules(self) -> Rules:
        """The rules in force."""
        return self._house.shop.rules if self._house.shop is not None else Rules()

    def _shop_changed(self, _shop: object = None) -> None:
        """Show the rules in force; what somebody is typing stays."""
        self.form.show_rules(self.rules, may_change=not self._barred())
        issue = self.rules.issue
        self.title.setText(word("rules.window.issue", issue=issue) if issue else word("rules.window"))
        self._was_typed()
        if self._house.worker is not None:
            self._house.worker.read(History().run, self._take_history, self._house.fail)

    def _barred(self) -> str:
        """Why the person at the bench may not issue rules, "" for one who may."""
        shop = self._house.shop
        try:
            if shop is not None:
                require(shop, None, acts.IssueRules(rules=shop.rules), self._house.person)
        except Refused as refused:
            return self._house.say(*refused.reasons)
        return ""

    def _was_typed(self) -> None:
        """What was said is past; they can be issued once something is typed by who may."""
        barred = self._barred()
        self.actions_by_name["issue"].setEnabled(bool(self.form.cells()) and not barred)
        self.said.show_text(barred or word("rules.window.how"), "quiet")

    def _take_history(self, entered: list[RulesEntered]) -> None:
        self._entered = entered
        last = entered[0] if entered else None
        said = word("rules.window.by", when=moment(last.at), person=self._name(last.person)) if last else ""
        self.issued.setText(said or word("rules.window.first"))
        self.history.show_page("".join(self._told()), from_top=True)

    def _name(self, person: str) -> str:
        who = self._house.shop.people.get(person) if self._house.shop is not None else None
        return who.name if who is not None else person

    def _told(self) -> Iterator[str]:
        """Who changed what, newest first: each issue against the one before it, the first against the usual rules."""
        page = Paper(self._house.theme)
        yield page.line(word("rules.window.history"), bold=True)
        if not self._entered:
            yield page.line(word("rules.window.history.none"), "quiet")
        shown = self._entered[:MOST_ISSUES]
        before = [each.rules for each in self._entered[1:]] + [Rules()]
        for each, earlier in zip(shown, before, strict=False):
            head = word(
                "rules.window.entry", issue=each.rules.issue, when=moment(each.at), person=self._name(each.person)
            )
            said = tuple(map(say, changes_said(earlier, each.rules))) or (word("rules.window.entry.same"),)
            yield page.paragraph(head, said)
        if len(self._entered) > MOST_ISSUES:
            yield page.line(word("rules.window.more"), "quiet")

    # --- issuing ----------------------------------------------------------------------------------------------------

    def _issue(self) -> None:
        """Read what was typed; say what will follow; issue it once that is agreed to."""
        before = self.rules
        try:
            after = self.form.read()
        except Refused as refused:
            loose = tuple(unplaced(refused.reasons))
            told = self._house.say(*loose) if loose else word("rules.window.faults", n=_rules_at_fault(refused))
            self.said.show_text(told, "out")
            return
        if after == before:  # written otherwise
            self.form.forget()
            self._shop_changed()
            self.said.show_text(word("rules.window.same"), "quiet")
            return
        if ask(self, _question(before, after)) is not None:
            self.said.show_text(word("rules.window.writing"), "quiet")
            act = acts.IssueRules(rules=after)
            self._house.do(act, kept=self._kept, refused=self._not_kept, back=self._not_kept)

    def _kept(self, outcome: Any) -> None:
        self.form.forget()
        self._shop_changed()
        self.said.show_text(word("rules.window.issued", issue=outcome.shop.rules.issue), "good")

    def _not_kept(self, failure: Failure) -> None:
        self.said.show_text(f"{self._house.sentence(failure)} {word('rules.window.kept')}", "out")

    def reject(self) -> None:
        """Leave; asked where something was typed and not issued."""
        if self.form.cells() and not self._barred():
            title, text = word("rules.leave.title"), word("rules.leave.text")
            if ask(self, Question(title, text, yes=word("rules.leave.yes"), no=words.word("button.no"))) is None:
                return
        super().reject()


def _rules_at_fault(refused: Refused) -> int:
    return len({str(reason.parts.get("field", "")) for reason in refused.reasons})


def _question(before: Rules, after: Rules) -> Question:
    """What changes, rule by rule, and what follows from that."""
    was = {line.field: line.text for line in rule_lines(before)}
    rows = tuple(
        (line.name, "; ".join(was[line.field].splitlines()), "→", "; ".join(line.text.splitlines()))
        for line in changed(before, after)
    )
    text = " ".join(map(say, follows(before, after)))
    return Question(word("rules.issue.title"), text, yes=word("rules.issue.yes"), no=words.word("button.no"), rows=rows)
