"""Sheets that follow a review: a partial first article that completes the one reviewed, or one that amends it."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from app.jobs.next_piece import NextPiece
from app.ledger.review.told import serials_of
from app.parts.act_dialog import ActDialog
from app.window.house import House
from inspection.sheet.acts import Act, AmendSheet
from inspection.sheet.state import Sheet
from inspection.words.say import word


class AmendDialog(ActDialog):
    """Why an approved sheet gets another one in its place."""

    def __init__(self, house: House, parent: QWidget, sheet: Sheet) -> None:
        title = word("review.amend.title", part=sheet.plan.part.number, serials=serials_of(sheet))
        super().__init__(house, parent, title, word("review.amend.text"), yes=word("review.amend.yes"))
        self._sheet = sheet
        self.reason = self.add_line(word("review.amend.reason"), hint=word("review.amend.hint"))
        self.reason.setFocus()

    def act(self) -> AmendSheet:
        """As it stands; the door knows what is missing."""
        return AmendSheet(amended=self._sheet.identity, reason=self.reason.text())


class PartialDialog(ActDialog):
    """On which pieces a first article that is not complete is completed."""

    def __init__(self, house: House, parent: QWidget, sheet: Sheet) -> None:
        title = word("review.partial.title", part=sheet.plan.part.number, serials=serials_of(sheet))
        super().__init__(house, parent, title, word("review.partial.text"), yes=word("review.partial.yes"))
        self._sheet = sheet
        self.serials = self.add_line(word("ledger.next.serials"))
        self.order = self.add_line(word("ledger.next.order"), sheet.head.order)
        self.serials.setFocus()

    def agree(self) -> None:
        """Look up the newest issue of the part's plan, and hand the sheet in on it."""
        if self.needs(self.serials) or self.house.worker is None:
            return
        serials = tuple(filter(None, (each.strip() for each in self.serials.text().split(","))))
        work = NextPiece(self._sheet.identity, serials, self.order.text().strip(), completes=True)
        self.house.worker.read(work.run, self._make, self.was_refused)

    def _make(self, act: Act) -> None:
        self.begin()
        self.hand_in(act)
