"""What is done with the sheet under review, each act with its own dialog over the panel: it is returned, what does not
conform gets a number and a decision, and it is stated, completed or amended."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from app.ledger.review import told
from app.ledger.review.deciding import DecideDialog
from app.ledger.review.going_on import AmendDialog, PartialDialog
from app.ledger.review.obstacles import ObstaclesDialog, put_right
from app.ledger.review.returning import ReturnDialog
from app.ledger.review.stating import StateDialog
from app.ledger.review.work import AskInTheWay, InTheWay
from app.parts.raising import raise_nonconformance
from app.parts.signing import cannot_sign
from app.window.asking import stay_with
from app.window.house import House
from inspection.reasons import Reason
from inspection.words.say import say, word

if TYPE_CHECKING:
    from app.jobs.reviewing import Reviewed
    from app.jobs.signing import Signed
    from inspection.sheet.nonconformance import Nonconformance
    from inspection.sheet.review import StatementKind
    from inspection.sheet.state import Cell, Sheet


class Acting(QObject):
    """``stated`` carries what was signed; ``wanted`` where an obstacle to a statement is put right. ``sheet`` is the
    identity of the one under review."""

    stated = Signal(object)
    wanted = Signal(object)

    def __init__(self, house: House, panel: QWidget) -> None:
        super().__init__(panel)
        self._house, self._panel = house, panel
        self.sheet = ""

    # --- back to the bench, and what does not conform ---------------------------------------------------------------

    def send_back(self, seen: Reviewed, cells: Iterable[Cell]) -> None:
        """Return the sheet with words; ``cells`` are offered first, then those of every point that waits."""
        waiting = (point for point in seen.points if told.waits(point, seen.sheet))
        offered = dict.fromkeys((*cells, *(cell for point in waiting for cell in point.cells)))
        dialog = ReturnDialog(self._house, self._panel, seen.sheet, tuple(offered))
        dialog.settled.connect(self._sent_back)
        stay_with(dialog)

    def _sent_back(self, outcome: Any) -> None:
        sheet = outcome.sheet
        self._house.notice(word("review.return.done", part=sheet.plan.part.number, round=sheet.round))

    def raise_on(self, sheet: Sheet, at: Cell | None) -> None:
        """Give what does not conform a number, at a row first."""
        raise_nonconformance(self._house, self._panel, sheet, at)

    def decide_next(self, seen: Reviewed, chosen: Nonconformance | None) -> None:
        """Decide the one chosen, or else the first that waits; of one that is decided say how."""
        if chosen is None:
            chosen = next(one for one in seen.sheet.nonconformances.values() if one.disposition is None)
        if chosen.disposition is None:
            self.decide(seen, chosen)
        else:
            parts = {"number": chosen.number, "disposition": chosen.disposition.value}
            self._house.notice(say(Reason("nonconformance.decided", {**parts})))

    def decide(self, seen: Reviewed, held: Nonconformance) -> None:
        """What is done about a nonconformance."""
        stay_with(DecideDialog(self._house, self._panel, seen.sheet, seen.shop, held))

    # --- statements, and sheets that follow -------------------------------------------------------------------------

    def ask_to_state(self, kind: StatementKind) -> None:
        """Each statement for itself: first what stands in its way."""
        house = self._house
        if house.worker is not None and house.foreseen is not None:
            work = AskInTheWay(self.sheet, kind, house.person, house.foreseen.now())
            house.worker.read(work.run, self._state, house.fail)

    def _state(self, found: InTheWay) -> None:
        if found.sheet.identity != self.sheet:
            return
        if not found.reasons:
            if cannot_sign(self._house, found.shop.people[self._house.person]):
                return
            dialog = StateDialog(self._house, self._panel, found)
            dialog.settled.connect(partial(self._stated, found.kind))
            stay_with(dialog)
        elif not put_right(found.reasons):
            self._house.notice(self._house.say(*found.reasons))
        else:
            obstacles = ObstaclesDialog(self._house, self._panel, found)
            obstacles.wanted.connect(self.wanted)
            stay_with(obstacles)

    def _stated(self, kind: StatementKind, signed: Signed) -> None:
        name = word(f"statement.{kind.name.lower()}")
        done = word("review.state.done", part=signed.sheet.plan.part.number, statement=name)
        self._house.notice(" ".join((done, *map(say, signed.notices))))
        self.stated.emit(signed)

    def go_on_with(self, kind: type[PartialDialog] | type[AmendDialog], sheet: Sheet) -> None:
        """A sheet that follows from this one; it opens at the Bench."""
        dialog = kind(self._house, self._panel, sheet)
        dialog.settled.connect(self._went_on)
        stay_with(dialog)

    def _went_on(self, outcome: Any) -> None:
        self._house.sheet_wanted.emit(outcome.stream)
