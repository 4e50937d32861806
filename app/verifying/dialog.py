"""The window in which a whole book is verified: how far it is, what was found, and the way to the sheet it is about."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtGui import QAction, QGuiApplication
from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.background.worker import Failure, Job
from app.jobs.verifying import Finding, Weight, lines
from app.parts.buttons import ActionButton, ButtonRow
from app.parts.doing import Doing
from app.parts.fitted import Sentence
from app.parts.items import Item, ItemsView
from app.parts.marks import Mark
from app.verifying.keys import BUTTONS, KEYS
from app.verifying.work import Itself, Outside, Result, Settle, SignedPdfs
from app.window import words
from app.window.asking import Question, ask
from app.window.house import House
from app.window.keys import make_action
from app.window.theme import ROW, SMALL, TEXT
from inspection.reasons import Reason
from inspection.words.say import say, word

if TYPE_CHECKING:
    from storage.seals.check import Verified

#: The window's size in logical pixels, as far as the window below has room.
SIZE = (980, 620)
#: So many findings against a book are listed; a copy of the list holds them all.
MOST_LISTED = 500
_MARKS = {Weight.AGAINST: Mark.OUT, Weight.NOT_PROVED: Mark.OPEN, Weight.HOLDS: Mark.CONFORMING}
#: What is told of many sheets alike is counted.
_COUNTED = ("verify.seal_holds", "verify.statement_holds", "verify.document_holds")


class VerifyingDialog(QDialog):
    """It begins at once. Esc stops what is under way, and closes the window once nothing is."""

    def __init__(self, parent: QWidget, house: House) -> None:
        super().__init__(parent)
        self._house = house
        self.result_: Result | None = None
        self._shown: tuple[Finding | None, ...] = ()
        self._job: Job | None = None
        self.setWindowTitle(word("verifying.title"))
        self.setAccessibleName(word("verifying.title"))
        self.actions_by_name = self._make_actions()
        self.about = QLabel(str(house.book or ""), self)
        self.about.setProperty("look", "soft")
        self.said = Sentence(house.theme, self, sizes=(ROW, TEXT, SMALL), bold=True)
        self.list = ItemsView(house.theme, word("verifying.list"), self)
        self.doing = Doing(house.theme, self)
        self.doing.stopped.connect(self._stopped)
        self.list.entered.connect(self._go)
        self.list.moved.connect(self._moved)
        self._lay_out(parent)
        self.begin()

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {
            "go": self._go,
            "copy": self._copy,
            "again": self.begin,
            "settle": self._settle,
            "close": self.reject,
        }
        return {name: make_action(self, key, word(key.code), does[name]) for name, key in KEYS.items()}

    def _lay_out(self, over: QWidget) -> None:
        px = self._house.theme.px
        title = QLabel(word("verifying.title"), self)
        title.setProperty("look", "head")
        buttons = [ActionButton(self.actions_by_name[name], self) for name in BUTTONS]
        for button in buttons:
            button.setAutoDefault(False)  # Enter belongs to the list
        row = ButtonRow(buttons, self)
        row.take_theme(self._house.theme)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(px(24), px(18), px(24), px(16))
        layout.setSpacing(px(8))
        for widget in (title, self.about, self.said, self.doing):
            layout.addWidget(widget)
        layout.addWidget(self.list, 1)
        below = QHBoxLayout()
        below.addWidget(row)
        layout.addLayout(below)
        self.said.setFixedHeight(px(48))
        room = over.size().toTuple()
        self.resize(*(min(px(side), have * 19 // 20) for side, have in zip(SIZE, room, strict=True)))

    # --- verifying --------------------------------------------------------------------------------------------------

    def begin(self) -> None:
        """Verify the book, from its first entry on."""
        if self._job is not None:
            return
        self.result_ = None
        self._show((), ())
        self.said.show_text(word("verifying.under_way"), "quiet")
        self._run("entries", Itself().run, self._to_pdfs)

    def _to_pdfs(self, itself: Verified) -> None:
        self._run("pdfs", SignedPdfs().run, partial(self._to_outside, itself))

    def _to_outside(self, itself: Verified, pdfs: Verified) -> None:
        self._run("outside", Outside(itself, pdfs).run, self._verified)

    def _run(self, part: str, work: Callable[..., Any], then: Callable[[Any], None]) -> None:
        """One part of it, on the book's thread; ``then`` takes what it found, unless it was stopped."""
        worker = self._house.worker
        if worker is None:
            return

        self.doing.done(self._job)
        self._then = then
        self._job = worker.long(work, self._part_done, self._failed, self.doing.moved)
        self.doing.begin(word(f"verifying.part.{part}"), self._job)
        self._name_actions()

    def _part_done(self, found: Any) -> None:
        self._then(found)

    def _verified(self, result: Result) -> None:
        self._over()
        self.result_ = result
        weights = Counter(each.weight for each in result.findings)
        against, open_ = weights[Weight.AGAINST], weights[Weight.NOT_PROVED]
        code, color = ("verifying.against", "out") if against else ("verifying.whole", "good")
        self.said.show_text(word(code, n=against or open_), color)
        listed = tuple(_listed(result.findings))
        self._show(tuple(_item(each) for each, _ in listed), tuple(finding for _, finding in listed))

    def _failed(self, failure: Failure) -> None:
        self._over()
        self.said.show_text(self._house.sentence(failure), "out")

    def _stopped(self, _job: object) -> None:
        self._job = None
        self.said.show_text(word("verifying.stopped"), "doubt")
        self._name_actions()

    def _over(self) -> None:
        self.doing.done(self._job)
        self._job = None
        self._name_actions()

    # --- what was found ---------------------------------------------------------------------------------------------

    def _show(self, items: tuple[Item, ...], behind: tuple[Finding | None, ...]) -> None:
        self._shown = behind
        self.list.show_items(items, 0)
        self.list.setFocus()
        self._name_actions()

    def _moved(self, _row: int) -> None:
        self._name_actions()

    def finding(self) -> Finding | None:
        """The finding at hand; None for a line that counts several."""
        row = self.list.row()
        return self._shown[row] if 0 <= row < len(self._shown) else None

    def _name_actions(self) -> None:
        named, at_hand = self.actions_by_name, self.finding()
        named["go"].setEnabled(at_hand is not None and at_hand.on is not None)
        named["copy"].setEnabled(self.result_ is not None)
        named["again"].setEnabled(self._job is None)
        named["settle"].setEnabled(self.result_ is not None and self.result_.may_be_settled)

    def _go(self, _row: int = -1) -> None:
        """To the sheet that the finding is about, at its row where it names one."""
        at_hand = self.finding()
        if at_hand is None or at_hand.on is None:
            return
        self.accept()
        if at_hand.number:
            self._house.row_wanted.emit(at_hand.on.sheet, at_hand.number, at_hand.serial)
        else:
            self._house.sheet_wanted.emit(at_hand.on.sheet)

    def _copy(self) -> None:
        if self.result_ is not None:
            text = "\n".join(say(reason) for reason in lines(self.result_.found))
            QGuiApplication.clipboard().setText(f"{self.about.text()}\n{self.said.text()}\n{text}")

    def _settle(self) -> None:
        """Say that this is the book to go by, once that is agreed to; then verify it anew."""
        worker = self._house.worker
        if worker is None:
            return
        title, text = word("verifying.settle.title"), word("verifying.settle.text")
        if ask(self, Question(title, text, yes=word("verifying.settle.yes"), no=words.word("button.no"))) is not None:
            worker.read(Settle().run, self._settled, self._failed)

    def _settled(self, _nothing: object) -> None:
        self.begin()

    def reject(self) -> None:
        """Stop what is under way; close the window where nothing is."""
        if not self.doing.stop():
            super().reject()


def _listed(findings: tuple[Finding, ...]) -> Iterator[tuple[Finding | Reason, Finding | None]]:
    """What is listed, and the finding behind it: all that stands against the book up to a number, what is not proved,
    and what holds, counted where it is told of many sheets alike."""
    against = [each for each in findings if each.weight is Weight.AGAINST]
    for each in against[:MOST_LISTED]:
        yield each, each
    if len(against) > MOST_LISTED:
        yield Reason("verifying.more", {"n": len(against) - MOST_LISTED}), None
    rest = [each for each in findings if each.weight is not Weight.AGAINST]
    counts = Counter(each.reason.code for each in rest)
    for each in rest:
        if each.reason.code not in _COUNTED:
            yield each, each
    for code in _COUNTED:
        if counts[code]:
            yield Reason(f"verifying.{code.removeprefix('verify.')}", {"n": counts[code]}), None


def _item(listed: Finding | Reason) -> Item:
    if isinstance(listed, Reason):
        more = listed.code == "verifying.more"
        return Item(
            say(listed), Mark.OUT if more else Mark.CONFORMING, side="" if more else word("verifying.weight.holds")
        )
    on, told = listed.on, tuple[str, ...]()
    if on is not None:
        told = (word("verifying.on", part=on.number, revision=on.revision, serials=on.serials),)
    return Item(say(listed.reason), _MARKS[listed.weight], told, word(f"verifying.weight.{listed.weight.value}"))
