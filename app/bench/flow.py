"""The flow of readings: where the entry stands, what is on its way, what stands in between.

One direction: text → reader → slip looked for in memory → act handed over → on to the next slot of the route. What
comes back (kept, refused, not written, asked about) is met by the row that it belongs to.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.background.worker import Failure, Ticket
from app.bench import told
from app.bench.ahead import Ahead, act_of
from app.bench.answering import Answering
from app.bench.entry import Entry
from app.bench.leading import Leading
from app.bench.reading_text import SEEN, scanned
from app.bench.seen import Changed, Seen
from app.bench.standing import LEAVE, Returned, Said, Standing
from app.bench.stepping import Stepping
from app.bench.under_way import At, UnderWay
from app.window.house import House
from inspection.measuring.reading import Reading
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.cells import Waiting
from inspection.sheet.state import Cell
from inspection.words.say import word

if TYPE_CHECKING:
    from storage.book.outcome import Outcome

#: What is said of a pin that was tried: it enters, it does not.
TRIED = ("E", "N")
#: So long, in seconds, a reading alone on its way is waited for before anything is painted: less than a frame.
FRAME = 0.012


class Flow(QObject):
    """Moves the entry along the route. ``moved`` follows every change of place, ``saying`` of what is said;
    ``changed`` names the cells that look otherwise."""

    moved = Signal()
    saying = Signal()
    changed = Signal(object)
    scanned = Signal(str)

    def __init__(self, house: House, entry: Entry, parent: QObject) -> None:
        super().__init__(parent)
        self.house, self.entry = house, entry
        self.seen: Seen | None = None
        self.at = At("", "")
        self.said = Said()
        self.standing: Standing | None = None
        self.under_way: dict[Waiting, UnderWay] = {}
        self.ask_reason: Callable[[At, str], str] = lambda _at, _text: ""
        self._unexpected: list[Cell] = []  # cells with a question that nobody expected, not yet gone to
        self._drafts: dict[At, str] = {}
        self._returned: dict[At, Returned] = {}
        self._stopped = False
        self._ahead = Ahead()
        self.stepping = Stepping(lambda: [way.ahead for way in self.under_way.values()])
        self._before: At | None = None
        self._settled: list[Callable[[], None]] = []
        self.leading = Leading(self)
        self.answering = Answering(self)
        entry.submitted.connect(self.submit)
        entry.leave = self.leave

    # --- the sheet --------------------------------------------------------------------------------------------------

    def show(self, seen: Seen) -> None:
        """Begin at the open row that follows the last reading."""
        if self.seen is not None and self.seen.sheet.identity != seen.sheet.identity:
            self._drafts, self._returned, self._unexpected = {}, {}, []
        self.seen, self.standing, self._before = seen, None, None
        self.leading.forget()
        self._ahead.forget()
        self._stopped = False
        last = seen.last_reading()
        after = (last.characteristic, last.piece) if last is not None else None
        self._arrive(self._next(after) or self._somewhere(after))
        self.entry.free()

    def see(self, seen: Seen) -> None:
        """The sheet was read anew while the entry stands at it: stay where it stands."""
        self.seen = seen
        self._ahead.forget()
        self.look_again()

    def _somewhere(self, cell: Cell | None) -> At:
        """A place on a sheet on which nothing waits."""
        assert self.seen is not None
        if cell is None:
            cell = self.seen.sheet.plan.characteristics[0].identity, self.seen.sheet.pieces[0].identity
        return At(*cell)

    def _next(self, after: Cell | None, *, beyond: bool = False) -> At | None:
        assert self.seen is not None
        seen = self.seen
        waiting = seen.walk.waiting(seen.shop, seen.sheet, after=after, beyond=beyond, under_way=self.under_way.keys())
        found = next((At(*each) for each in waiting), None)
        return found or next((At(*cell) for cell in seen.to_read_anew(after, self.under_way.keys())), None)

    def at_cell(self, cell: Cell) -> At:
        """The first slot that waits in a cell."""
        assert self.seen is not None
        free = (slot for slot in self.seen.waiting(cell) if (*cell, slot) not in self.under_way)
        return At(*cell, next(free, None))

    # --- moving -----------------------------------------------------------------------------------------------------

    def go(self, cell: Cell) -> bool:
        """Go to a cell at the person's wish; False while a question keeps the row."""
        if self.standing is not None and self.standing.of is not None:
            self.answering.say()
            return False
        self.standing = None
        self._keep_draft()
        self._arrive(self.at_cell(cell), ask=True)
        return True

    def skip(self) -> None:
        """Go to the next row that waits, leaving this one for later."""
        if self.standing is not None or self.seen is None:
            return
        self._keep_draft()
        ahead = self._next(self.at.cell, beyond=True)
        if ahead is None or ahead.cell == self.at.cell:
            self.say(Said(word("bench.nothing_else_waits")))
            return
        self._stopped = False
        self._arrive(ahead)
        self.free()

    def _keep_draft(self) -> None:
        """What was typed and not entered stays with its row; what came back does, too, with why."""
        text = self.entry.text()
        if self._stopped and self.at in self._returned:
            self._returned[self.at] = self._returned[self.at]._replace(text=text)
        elif text:
            self._drafts[self.at] = text
        self._stopped = False

    def _arrive(self, at: At, *, ask: bool = False) -> None:
        """Stand at a place: with what came back to it, with what was typed there before, or with an empty field;
        with ``ask`` its open question stands."""
        assert self.seen is not None
        self.at = at
        question = self.seen.questions.get(at.cell) if ask else None
        back = self._returned.get(at)
        self._stopped = back is not None
        if back is not None:
            self._show_text(back.text, back.said, back.fault_at)
        else:
            anew = self.seen.asked_anew(at.cell)
            self._show_text(self._drafts.pop(at, ""), Said(anew, "doubt" if anew else ""))
            if question is not None:
                asked = self.seen.sheet.readings[question.reading]
                here = at._replace(slot=asked.slot)
                self.answering.stand(
                    Standing(here, self._written(question.reading), question.reason, question.identity)
                )
        if self.stands:
            self.entry.sift()
        elif not self.entry.held():
            self.free()
        self.moved.emit()

    def _written(self, reading: str) -> str:
        assert self.seen is not None
        kept = self.seen.sheet.readings[reading]
        return told.reading(kept, self.seen.row(kept.characteristic).requirement)

    def _show_text(self, text: str, said: Said, fault_at: int = -1) -> None:
        self.entry.setText(text)
        if fault_at >= 0:
            self.entry.point_at(fault_at)
        self.say(said)

    @property
    def stands(self) -> bool:
        """Whether something stands below the entry that must be answered or put right before one goes on."""
        return self._stopped or self.standing is not None

    def say(self, said: Said) -> None:
        """Say a sentence below the entry."""
        self.said = said
        self.saying.emit()

    def say_plainly(self, text: str) -> None:
        """Say a sentence that asks for nothing, unless something stands that must be read."""
        if not self.stands:
            self.say(Said(text))

    def turn_down_plainly(self, text: str) -> None:
        """What was typed cannot be taken: it stays, and what comes by cable is held."""
        self._stopped = True
        self.entry.sift()
        self.say(Said(text, "out"))

    def writing(self, cell: Cell) -> tuple[str, ...]:
        """The texts of a cell that are on their way to the disk."""
        return tuple(way.text for (row, piece, _slot), way in self.under_way.items() if (row, piece) == cell)

    def go_on(self) -> None:
        """After a reading was handed over: to what came back first, else to the next slot that waits."""
        came_from, back = self.at, self._before
        self._before = None
        if self._returned or self._unexpected:
            self._attend()
        elif came_from.corrects and back is not None and back.slot is not None:
            self._arrive(back)
        else:
            self._arrive(self._next(came_from.cell) or At(*came_from.cell))
        self.free()

    def free(self) -> None:
        """Let in what was held, unless something stands, leads elsewhere, or the field holds something already."""
        if not self.stands and not self.leading and not (self.entry.text() and self.entry.held()):
            self.entry.free()

    # --- entering ---------------------------------------------------------------------------------------------------

    def submit(self) -> None:
        """Enter: what stands in the field is the reading of the slot at hand, or the answer to the question."""
        text = self.entry.text()
        if self.seen is None or self.house.worker is None:
            return
        if self.standing is not None:
            self.answering.answer(text)
        elif not text.strip():
            self._keep_pins()
        elif text.strip().upper() in TRIED and self.stepping.trial(self.seen, self.at) is not None:
            self.entry.clear()
            self.enter_observed(text.strip().upper())
        else:
            self._enter(text)

    def enter_observed(self, letter: str) -> None:
        """One letter is the answer: E or N."""
        if self.seen is None or self.house.worker is None or self.standing is not None or self.entry.text():
            return
        if self.stepping.trial(self.seen, self.at) is not None:
            self._step(self.stepping.try_it(self.seen, self.at, entered=letter == TRIED[0]))
            return
        if self.at.slot is None or self.at.slot.role not in SEEN:
            number = self.seen.row(self.at.row).number
            self.say_plainly(word("bench.nothing_waits" if self.at.slot is None else "bench.not_seen", number=number))
            return
        self._enter(letter)

    def _step(self, said: str) -> None:
        """A pin was tried, or taken back: the card says which one comes next."""
        shown = self.stepping.shown(self.seen, self.at)
        self.say(Said("" if shown.sentence else said))
        self.moved.emit()

    def _keep_pins(self) -> None:
        """Enter on the empty field of a bore that is sized keeps the two pins."""
        at = self.at
        try:
            kept = self.stepping.keeps(self.seen, at)
        except Refused as refused:
            self.say(Said(self.house.say(*refused.reasons), "out"))
            return
        for each in kept:
            self.at = at._replace(slot=each.slot)
            self._enter(each.text)
            if self._stopped:
                return
        if kept and self.seen is not None:
            self.stepping.forget(self.seen, at)

    def _enter(self, text: str) -> None:
        assert self.seen is not None
        at = self.at
        if self.entry.rest_waits():
            self.entry.hold_back()
            self.entry.take_rest()
            return
        if scanned(text.strip(), at.slot):
            self.scanned.emit(text.strip())
            return
        try:
            act, ahead = act_of(self.seen, at, text)
        except Refused as refused:
            self.turn_down(refused.reasons, text)
            return
        if at.corrects:
            reason = self.ask_reason(at, text)
            if not reason:
                return
            act, ahead = act_of(self.seen, at, text, reason=reason)
        self.hand_over(at, text, act, ahead)

    def hand_over(self, at: At, text: str, act: acts.TakeReading, ahead: Reading) -> None:
        """The reading goes its way; the entry stays with it if a question comes of it, else it goes on."""
        assert at.slot is not None and self.seen is not None
        slip = self._ahead.slip(self.seen, [each.ahead for each in self.under_way.values()], ahead)
        way = UnderWay(self, at, text, act, ahead=ahead, saw=self.seen.sheet.last_entry)
        self._returned.pop(at, None)
        self._stopped = False
        self._send(way)
        self.changed.emit(frozenset({at.cell}))
        if slip is not None:
            self.entry.clear()
            self.answering.stand(Standing(at, text, slip, of=way))
        else:
            self.go_on()
        if len(self.under_way) == 1 and self.house.worker is not None:
            self.house.worker.answered(FRAME)

    def _send(self, way: UnderWay, based_on: str = "") -> None:
        assert way.at.slot is not None
        way.when_kept, way.when_refused, way.when_back = self._kept, self._refused, self._come_to_its_row
        self.under_way[(*way.at.cell, way.at.slot)] = way
        self.house.do(way.act, based_on=based_on, kept=way.kept, refused=way.refused, back=way.back)

    def turn_down(self, reasons: tuple[Reason, ...], text: str, *, stops: bool = True) -> None:
        """What was typed cannot be read: it stays, marked, and what comes by cable is held; ``stops`` says that the
        entry stops by this and not by a question that stands."""
        at = reasons[0].parts.get("at")
        self._stopped = stops
        self.entry.sift()
        if isinstance(at, int):
            self.entry.point_at(at + len(text) - len(text.lstrip()))
        self.entry.turned_down()
        self.say(Said(self.house.say(*reasons), "out"))

    def leave(self) -> bool:
        """Esc: leave the question open, leave the correction, or take the text away; whether there was anything."""
        if self.standing is not None:
            self.entry.clear()
            self.answering.decide(LEAVE)
            return True
        if self.at.corrects:
            back, self._before = self._before, None
            self.entry.clear()
            self._arrive(back if back is not None else self.at_cell(self.at.cell))
            return True
        had = bool(self.entry.text())
        self.entry.clear()
        self._returned.pop(self.at, None)
        self._stopped = self._stopped and bool(self.entry.held())
        self.free()
        if had:
            self.say(Said())
        elif untried := self.stepping.take_back(self.seen, self.at):
            self._step(untried)
            return True
        return had

    # --- what comes back --------------------------------------------------------------------------------------------

    def acted(self, ticket: Ticket, outcome: Outcome) -> None:
        """An act of anybody's is on disk, with what it brought with it on sheets; those of this flow are met one by
        one."""
        if self.seen is None or isinstance(getattr(ticket.kept, "__self__", None), UnderWay):
            return
        mine = [each for each in (outcome, *outcome.followed) if each.stream == self.seen.sheet.identity]
        for each in mine:
            self._take(each)
        if mine:
            self.look_again()

    def _take(self, outcome: Outcome) -> Changed:
        assert self.seen is not None
        self._ahead.forget()
        found = self.seen.take(outcome)
        self.changed.emit(None if found.all else found.cells)
        return found

    def _kept(self, way: UnderWay, outcome: Outcome) -> None:
        if self.seen is None or outcome.stream != self.seen.sheet.identity:
            return
        self._drop(way)
        if self._take(outcome).all:
            self.look_again()
        asked = next((event.question for event in outcome.events if isinstance(event, ev.QuestionAsked)), None)
        if self.standing is not None and self.standing.of is way:
            self.answering.know(asked.identity if asked is not None else "")
        elif asked is not None:
            self._unexpected.append(way.at.cell)
            self.entry.sift(unseen=True)
            self.entry.when_at_rest(self._attend)
        elif self.standing is None and not self._stopped and not self.entry.text():
            self.say(Said(self._told(way)))
        self._settle()

    def _told(self, way: UnderWay) -> str:
        """What became of the reading kept last, in one line."""
        from app.bench.result_told import kept_line

        assert self.seen is not None
        ends = self.at.slot is None and not self.under_way and self._next(None) is None
        end = "bench.questions_left" if self.seen.questions else "bench.all_read"
        tried = self.stepping.told(self.seen, way.at)
        return kept_line(self.seen, way.at.cell, way.text, self.house.units, tried, word(end) if ends else "")

    def _drop(self, way: UnderWay) -> None:
        assert way.at.slot is not None
        if self.under_way.get((*way.at.cell, way.at.slot)) is way:
            del self.under_way[(*way.at.cell, way.at.slot)]

    def _refused(self, way: UnderWay, failure: Failure) -> None:
        """The rules said no. Where another hand filled the slot since the entry was typed, the same act goes again
        and says what it had seen: then the book keeps both."""
        taken = any(reason.code.startswith("reading.slot_taken") for reason in failure.reasons)
        if taken and way.saw and not way.act.replaces and self.house.worker is not None:
            saw, way.saw = way.saw, ""
            again = UnderWay(self, way.at, way.text, way.act, ahead=way.ahead)
            self._send(again, based_on=saw)
            if self.standing is not None and self.standing.of is way:
                self.standing.of = again
        else:
            self._come_to_its_row(way, failure)

    def _come_to_its_row(self, way: UnderWay, failure: Failure) -> None:
        """The text returns to its own row with the reason, and entry stops there."""
        self._drop(way)
        self._ahead.forget()
        self.changed.emit(frozenset({way.at.cell}))
        self.lay_aside(way.at, way.text, Said(self.house.sentence(failure), "out"))
        if self.standing is not None and self.standing.of is way:
            self.standing = None
            self.entry.open_up()
        self.entry.sift(unseen=True)
        self.entry.when_at_rest(self._attend)
        self._settle()

    def lay_aside(self, at: At, text: str, said: Said) -> None:
        """A text goes back to its place with why, and is shown when the entry stands there."""
        self._returned[at] = Returned(text, said)

    def _attend(self) -> None:
        """Go to what came back first, or to a question that nobody expected, unless something stands already."""
        if self.standing is not None or self._stopped or self.seen is None:
            return
        self._keep_draft()
        if self._returned:
            self._arrive(next(iter(self._returned)))
        elif self._unexpected:
            self._arrive(self.at_cell(self._unexpected.pop(0)), ask=True)

    def look_again(self) -> None:
        """The sheet changed under the entry: another instrument has other slots, a reading may have come or gone."""
        if self.seen is None or self.standing is not None or self.at.corrects:
            return
        if self.at.row not in self.seen.sheet.rows.by_identity or self.at.piece not in self.seen.pieces:
            self._arrive(self._next(None) or self._somewhere(None))
            return
        here = self.at_cell(self.at.cell)
        if self.at.slot is None or self.at.slot not in self.seen.waiting(self.at.cell):
            if here.slot is None and self.at.slot is not None and not self.entry.text():
                self._arrive(self._next(self.at.cell) or here)
                return
            self.at = here
        self.moved.emit()

    def _settle(self) -> None:
        if not self.under_way and self._settled:
            waiting, self._settled = self._settled, []
            self.entry.open_up()
            for each in waiting:
                each()
            self.free()

    def when_settled(self, then: Callable[[], None]) -> None:
        """Do something once nothing is on its way; until then keys are held."""
        if self.under_way:
            self.entry.close_up()
            self._settled.append(then)
        else:
            then()

    # --- what others hand over ----------------------------------------------------------------------------------------

    def plainly_kept(self, _way: UnderWay, outcome: Outcome) -> None:
        """An act that is no reading is on disk."""
        if self.is_of_sheet(outcome):
            self._take(outcome)

    def is_of_sheet(self, outcome: Outcome) -> bool:
        """Whether what came of an act is about the sheet at hand."""
        return self.seen is not None and outcome.stream == self.seen.sheet.identity

    def stand_at(self, cell: Cell, said: str) -> None:
        """Stand at a cell, whatever stood before, and say what was done there."""
        self.standing, self._before = None, None
        self._keep_draft()
        self._arrive(self.at_cell(cell))
        self.say_plainly(said)

    # --- correcting -------------------------------------------------------------------------------------------------

    def correct(self) -> None:
        """Correct the reading at hand; once more goes to the one before it in the same row. With none in the row, the
        last one of the sheet."""
        if self.seen is None or (self.standing is not None and self.standing.of is not None):
            return
        chosen = self.seen.to_correct(self.at.cell, self.at.corrects)
        if chosen is None:
            self.say(Said(word("bench.correct.none")))
            return
        if not self.at.corrects:
            self._before = self.at
        self.standing = None
        self._keep_draft()
        self._arrive(At(chosen.characteristic, chosen.piece, chosen.slot, chosen.identity))
        number = self.seen.row(chosen.characteristic).number
        self.say(Said(word("bench.correct.prompt", number=number, written=self._written(chosen.identity)), "doubt"))
