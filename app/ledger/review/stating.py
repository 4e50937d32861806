"""The three statements of a signed sheet, each its own dialog: what it says, its words, the lead's passphrase."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QLineEdit, QWidget

from app.ledger.review.told import serials_of
from app.ledger.review.work import InTheWay, Stating
from app.parts.act_dialog import ActDialog
from app.window.countdown import Countdown
from app.window.house import House
from app.window.people import Wait
from inspection.reasons import Reason
from inspection.sheet.acts import MakeStatement
from inspection.sheet.review import FIRST_ARTICLE, StatementKind
from inspection.words.say import say, word

if TYPE_CHECKING:
    from app.background.worker import Failure
    from inspection.sheet.acts import Act

#: Statements that are made with words.
_WITH_WORDS = (StatementKind.NOT_COMPLETE, StatementKind.RELEASED)
#: Of what a first article lacks, so many rows are named; the others are counted.
MOST_NAMED = 6


class StateDialog(ActDialog):
    """One statement, with what the lead is to have read before it is made."""

    def __init__(self, house: House, parent: QWidget, found: InTheWay) -> None:
        name, sheet, shop = found.kind.name.lower(), found.sheet, found.shop
        part, serials = sheet.plan.part.number, serials_of(sheet)
        title = word(f"review.state.{name}.title", part=part, serials=serials)
        person = shop.people[house.person].name
        text = word(f"review.state.{name}.text", person=person)
        super().__init__(house, parent, title, text, yes=word(f"review.state.{name}.yes"))
        self._found = found
        for line in self._facts():
            self.add(self.label(line, "soft"))
        if found.kind is StatementKind.RELEASED:
            self.add(self.label(word("caution.verdict"), "strong"))
        self.words: QLineEdit | None = None
        if found.kind in _WITH_WORDS:
            self.words = self.add_line(word(f"review.state.{name}.words"), hint=word(f"review.state.{name}.hint"))
        self.passphrase = self.add_line(word("sign.passphrase", person=person), secret=True)
        self.wait = Countdown(Wait(house).ahead, self)
        self.wait.changed.connect(self._waited)
        self.column.insertWidget(self.column.count() - 2, self.wait)
        (self.words or self.passphrase).setFocus()

    def _facts(self) -> Iterable[str]:
        """What the lead has to know of the sheet before this statement."""
        sheet, kind = self._found.sheet, self._found.kind
        if kind is StatementKind.APPROVED and sheet.is_own(self.house.person):
            yield word("review.state.own")
        if kind is StatementKind.APPROVED and self._found.stops:
            yield word("review.state.stops", n=len(self._found.stops))
            yield from self._named(self._found.stops)
        if kind in FIRST_ARTICLE and sheet.first_article is not None:
            before = f"statement.{sheet.first_article.kind.name.lower()}"
            yield word("review.state.replaces", statement=before)
        if kind is StatementKind.COMPLETE and sheet.completes:
            yield word("review.state.together", baseline=sheet.head.baseline)
        if kind is StatementKind.NOT_COMPLETE:
            yield from self._named(self._found.lacking)
        if kind is StatementKind.RELEASED:
            stated = sheet.first_article
            name = f"statement.{stated.kind.name.lower()}" if stated is not None else "review.state.unsaid"
            yield word("review.state.first_article", stated=word(name))

    def _named(self, reasons: tuple[Reason, ...]) -> Iterable[str]:
        """The first of them, and how many others."""
        yield from (say(reason, self.house.units) for reason in reasons[:MOST_NAMED])
        if len(reasons) > MOST_NAMED:
            yield word("review.state.more", n=len(reasons) - MOST_NAMED)

    def act(self) -> MakeStatement | None:
        """The statement with its words; nothing is said without a passphrase."""
        if (self.words is not None and self.needs(self.words)) or self.needs(self.passphrase):
            return None
        if self.wait.waits:
            self.say(word("seal.waits_still"))
            return None
        words = self.words.text().strip() if self.words is not None else ""
        return MakeStatement(sheet=self._found.sheet.identity, kind=self._found.kind, words=words)

    def hand_in(self, act: Act) -> None:
        """It is signed with the person's key, which takes a moment to unlock."""
        assert isinstance(act, MakeStatement)
        house = self.house
        assert house.worker is not None and house.foreseen is not None, "a review is of an open book"
        work = Stating(act, self.passphrase.text(), house.person, house.foreseen, house.papers, house.stamps)
        self.yes.setText(word("review.state.working"))
        house.worker.long(work.run, self.was_kept, self._was_not_signed)

    def _waited(self) -> None:
        """The wait is told beside; what was said of a try that came too early is over with it."""
        if not self.wait.waits and self.problem.text() == word("seal.waits_still"):
            self.say("")
        self.fit()

    def _was_not_signed(self, failure: Failure) -> None:
        name = self._found.kind.name.lower()
        self.yes.setText(word(f"review.state.{name}.yes"))
        self.was_refused(failure)
        self.wait.look()
        self.passphrase.selectAll()
        self.passphrase.setFocus()
