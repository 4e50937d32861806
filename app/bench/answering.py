"""The slip question that stands at the Bench, and its answer: kept, left open, or a new reading off the part.

The question is told at once, from memory; its identity is known once the questioned reading is on disk. An answer given
before that waits for it, and keys are held meanwhile.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.background.worker import Failure
from app.bench.ahead import act_of
from app.bench.standing import KEEP, LEAVE, Said, Standing
from app.bench.under_way import UnderWay
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.words.say import word

if TYPE_CHECKING:
    from app.bench.flow import Flow


class Answering:
    """Meets the answers to what stands in the ``flow``."""

    def __init__(self, flow: Flow) -> None:
        self._flow = flow

    def stand(self, standing: Standing) -> None:
        """A question keeps the row."""
        flow = self._flow
        flow.standing = standing
        flow.at = standing.at
        flow.entry.sift()
        self.say()
        flow.moved.emit()

    def say(self) -> None:
        """Say the question again."""
        flow = self._flow
        assert flow.standing is not None
        flow.say(Said(flow.house.say(flow.standing.reason), "doubt"))

    def answer(self, text: str) -> None:
        """An answer to the question that stands: Enter on the empty field keeps, a number is a new reading."""
        flow = self._flow
        standing = flow.standing
        assert standing is not None and flow.seen is not None
        if not text.strip():
            self.decide(KEEP)
            return
        try:
            act_of(flow.seen, standing.at._replace(corrects=""), text)
        except Refused as refused:
            flow.turn_down(refused.reasons, text, stops=False)
        else:
            self.decide(text)

    def decide(self, answer: str) -> None:
        """Hand the answer over, or keep it until the question is known."""
        flow = self._flow
        standing = flow.standing
        assert standing is not None
        standing.answer = answer
        if standing.question:
            self._send()
        else:
            flow.entry.close_up()
            flow.say(Said(word("bench.question.writing"), "doubt"))

    def know(self, question: str) -> None:
        """The questioned reading is on disk; "" where the book saw no slip."""
        standing = self._flow.standing
        assert standing is not None
        standing.question, standing.of = question, None
        if not question:
            self._gone()
        elif standing.answer is not None:
            self._send()
        else:
            self._flow.moved.emit()

    def _gone(self) -> None:
        """The book saw no slip after all: a number meant as the answer stays in the field, for the person to place."""
        flow = self._flow
        standing, flow.standing = flow.standing, None
        assert standing is not None
        flow.entry.open_up()
        if standing.answer not in (None, "", KEEP, LEAVE):
            flow.lay_aside(standing.at, standing.answer, Said(word("bench.question.gone"), "out"))
        flow.go_on()

    def _send(self) -> None:
        """Hand the answer over and go on."""
        flow = self._flow
        standing, flow.standing = flow.standing, None
        assert standing is not None and flow.seen is not None
        flow.entry.open_up()
        flow.entry.clear()
        sheet, question = flow.seen.sheet, standing.question
        if standing.answer in (KEEP, LEAVE):
            kind = acts.KeepAsWritten if standing.answer == KEEP else acts.LeaveOpen
            self._send_plain(kind(sheet=sheet.identity, question=question), standing)
            flow.at = standing.at
            flow.go_on()
            return
        asked_of = sheet.readings[sheet.questions[question].reading]
        at = standing.at._replace(slot=asked_of.slot, corrects="")
        assert standing.answer is not None
        act, ahead = act_of(flow.seen, at, standing.answer, answers=question, replaces=asked_of.identity)
        flow.at = at
        flow.hand_over(at, standing.answer, act, ahead)

    def _send_plain(self, act: acts.OnSheet, standing: Standing) -> None:
        flow = self._flow
        way = UnderWay(flow, standing.at, "", act)
        way.when_kept = flow.plainly_kept
        way.when_refused = way.when_back = self._not_answered
        flow.house.do(act, kept=way.kept, refused=way.refused, back=way.back)

    def _not_answered(self, way: UnderWay, failure: Failure) -> None:
        """The answer did not reach the book: the question is open still and its row says so."""
        self._flow.changed.emit(frozenset({way.at.cell}))
        self._flow.house.fail(failure)
