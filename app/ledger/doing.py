"""What is done with the sheet chosen in the Ledger: signing, a new round, the next pieces of its part."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from app.background.worker import Failure
from app.jobs.next_piece import NextPiece
from app.ledger import questions, work
from app.ledger.keys import KEYS
from app.ledger.line import Line
from app.parts import signing
from app.parts.doing import Doing
from app.window.house import House
from inspection.sheet import acts
from inspection.sheet.steps import not_now
from inspection.words.say import say, word


def why_not(house: House, looked: work.Looked, kind: type[acts.Act]) -> str:
    """Why the person at the bench may not do this to the sheet now, "" if they may."""
    reason = not_now(looked.shop, looked.sheet, kind, house.person)
    return say(reason) if reason is not None else ""


class SheetDoing(QObject):
    """``shown`` tells how far it is; ``done`` says that a sheet changed and is to be read anew."""

    done = Signal()

    def __init__(self, house: House, room: QWidget, shown: Doing) -> None:
        super().__init__(room)
        self._house, self._room, self._shown = house, room, shown
        shown.stopped.connect(self._stopped)

    def _told(self, said: str) -> None:
        self._shown.over()
        self._house.notice(said)
        self.done.emit()

    def _failed(self, failure: Failure) -> None:
        self._shown.over()
        self._house.fail(failure)

    def _stopped(self, _job: object) -> None:
        """What was signed in the book before its PDF was stopped stays signed; the list tells which it is."""
        self._house.notice(word("sign.stopped"))
        self.done.emit()

    def sign(self, line: Line) -> None:
        """Sign a sheet, as it stands in the book now."""
        if self._house.worker is not None:
            self._house.worker.read(work.Look(line.sheet).run, self._ask_to_sign, self._house.fail)

    def _ask_to_sign(self, looked: work.Looked) -> None:
        if why := why_not(self._house, looked, acts.SignSheet):
            self._house.notice(why)
            return
        wanted = signing.to_sign(looked.shop, looked.sheet)
        job = signing.sign(self._room, self._house, wanted, self._told, self._failed, desk_key=KEYS["desk"].key)
        if job is not None:
            self._shown.begin(word("sign.working"), job)

    def begin_round(self, line: Line) -> None:
        """Begin a new round of a sheet, with the reason."""

        def ask(looked: work.Looked) -> None:
            if why := why_not(self._house, looked, acts.Reopen):
                self._house.notice(why)
                return
            reason = questions.ask_round(self._room, line)
            if reason:
                said = word("ledger.round.done", part=line.part)
                act = acts.Reopen(sheet=line.sheet, reason=reason)
                self._house.do(act, kept=lambda _outcome: self._told(said))

        if self._house.worker is not None:
            self._house.worker.read(work.Look(line.sheet).run, ask, self._house.fail)

    def make_next(self, line: Line) -> None:
        """A sheet on the next pieces of the same part."""
        asked = questions.ask_next(self._room, line)
        if asked is not None and self._house.worker is not None:
            job = NextPiece(line.sheet, *asked)
            self._house.worker.read(job.run, self._make, self._house.fail)

    def _make(self, act: acts.MakeSheet) -> None:
        self._house.do(act, kept=lambda outcome: self._house.sheet_wanted.emit(outcome.stream))
