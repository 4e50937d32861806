"""What is set for a cell or for the sheet: readings of a mean after a doubt, temperatures, the decision rule."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.bench import questions
from app.bench.flow import Flow
from app.bench.line import is_blind
from app.bench.temperatures import Temperatures
from app.bench.times import now_at, told_at
from app.window.house import House
from inspection.measuring.checks_life import MICROSECONDS_PER_MINUTE
from inspection.measuring.guard import rule_reason
from inspection.measuring.repeats import MOST
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.reading_life import repeats_now
from inspection.sheet.steps import require
from inspection.words.say import say, word

if TYPE_CHECKING:
    from app.bench.helped import Helped
    from storage.book.outcome import Outcome


class Setting(QObject):
    """Asks, hands the act in, and says below the entry what holds from now on."""

    def __init__(self, house: House, flow: Flow, room: QWidget) -> None:
        super().__init__(room)
        self._house, self._flow, self._room = house, flow, room

    def _may(self, act: acts.OnSheet) -> bool:
        """Whether the person may do this now; else the reason is said."""
        seen = self._flow.seen
        assert seen is not None
        try:
            require(seen.shop, seen.sheet, act, self._house.person)
        except Refused as refused:
            self._house.noticed.emit(self._house.say(*refused.reasons), True)
            return False
        return True

    # --- a mean after a doubt ---------------------------------------------------------------------------------------

    def repeats(self) -> None:
        """Set how many readings the mean of the cell at hand is to have, once all of them are on disk."""
        if self._flow.seen is not None:
            self._flow.when_settled(self._repeats)

    def _repeats(self) -> None:
        from app.bench.helped import helped

        seen, at = self._flow.seen, self._flow.at
        assert seen is not None
        if is_blind(seen, at.cell):
            self._flow.say_plainly(word("bench.repeats.blind", number=seen.row(at.row).number))
            return
        try:
            now = repeats_now(seen.sheet, *at.cell)
        except Refused as refused:
            self._flow.say_plainly(self._house.say(*refused.reasons))
            return
        act = acts.DeclareRepeats(sheet=seen.sheet.identity, characteristic=at.row, piece=at.piece, repeats=now + 1)
        if now >= MOST or not self._may(act):
            return
        found = helped(seen, at.cell, now_at(self._house))
        m = questions.ask_repeats(self._room, seen.row(at.row).number, now, _suggested(found, now), _why(found))
        if m is not None:
            said = word("bench.repeats.set", number=seen.row(at.row).number, m=m)
            act = acts.DeclareRepeats(sheet=seen.sheet.identity, characteristic=at.row, piece=at.piece, repeats=m)
            self._flow.leading.do_and_go(act, at.cell, said)

    # --- temperatures -----------------------------------------------------------------------------------------------

    def temperature(self) -> None:
        """Log what part and instrument have."""
        seen = self._flow.seen
        if seen is None:
            return
        sheet = seen.sheet.identity
        if not self._may(acts.LogTemperature(sheet=sheet, part=0, instrument=0, thermometer="")):
            return
        asked = Temperatures(seen.shop, seen.sheet, now_at(self._house), self._house.person)
        act = questions.ask_temperature(self._room, asked)
        if act is not None:
            self._house.do(act, kept=self._logged)

    def _logged(self, outcome: Outcome) -> None:
        log = next(event.log for event in outcome.events if isinstance(event, ev.TemperatureLogged))
        if outcome.sheet is None:
            return
        until = log.at + outcome.sheet.rules.temperature_minutes * MICROSECONDS_PER_MINUTE
        code = "corrected" if outcome.sheet.rules.temperature_corrected else "left"
        said = word(f"bench.temperature.{code}", until=told_at(until, now_at(self._house)))
        self._flow.say_plainly(said)

    # --- the decision rule ------------------------------------------------------------------------------------------

    def rule(self) -> None:
        """Judge the sheet by another rule, with the reason."""
        seen = self._flow.seen
        if seen is None:
            return
        act = acts.ChooseDecisionRule(sheet=seen.sheet.identity, decision=seen.sheet.rules.decision, reason="")
        if self._may(act):
            self._flow.when_settled(self._rule)

    def _rule(self) -> None:
        seen = self._flow.seen
        assert seen is not None
        asked = questions.ask_rule(self._room, seen.sheet.rules.decision, seen.sheet.decision_reason)
        if asked is not None:
            act = acts.ChooseDecisionRule(sheet=seen.sheet.identity, decision=asked[0], reason=asked[1])
            self._house.do(act, kept=partial(self._ruled, say(rule_reason(asked[0]))))

    def _ruled(self, rule: str, outcome: Outcome) -> None:
        n = sum(isinstance(event, ev.CellJudged) for event in outcome.events)
        self._flow.say_plainly(word("bench.rule.set", rule=rule, n=n))


def _suggested(found: Helped, now: int) -> int:
    """So many readings that the doubt would be settled, if any number does; else one more."""
    return found.repeats if found.repeats > now else now + 1


def _why(found: Helped) -> str:
    """What that many readings would do, or why none settle it."""
    return say(found.doubt) if found.doubt is not None else ""
