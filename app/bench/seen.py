"""The sheet as the Bench sees it: shop, sheet and walk, with what a row on the screen needs found at once.

An outcome changes one cell of a sheet that may hold thousands: only that cell is looked at again.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import NamedTuple, cast

from inspection.drawing.characteristic import Characteristic
from inspection.instruments.record import Instrument
from inspection.measuring.reading import Reading, Slot
from inspection.measuring.verdict import Question, Verdict
from inspection.sheet import events as ev
from inspection.sheet.cells import Waiting, instrument_of, waiting_slots
from inspection.sheet.counts import COUNTED
from inspection.sheet.proof_life import cells_of
from inspection.sheet.returned import to_read_anew, words_for
from inspection.sheet.state import Cell, Note, Sheet, Shop
from inspection.sheet.walk import Walk
from inspection.words.say import word
from storage.book.outcome import Outcome

#: Events that change single cells only, or none; after any other everything is looked at again.
_OF_CELLS = (
    ev.ReadingTaken,
    ev.CellJudged,
    ev.QuestionAsked,
    ev.QuestionAnswered,
    ev.ReadingTakenBack,
    ev.ReadingPutBack,
    ev.ReadingsReopened,
    ev.RepeatsDeclared,
    ev.NoteWritten,
    ev.TemperatureLogged,
    ev.PointAnswered,
    ev.RowReadAgain,
    ev.StatementSigned,
    ev.SheetSent,
)


class Count(NamedTuple):
    """How far one piece is: cells the sheet needs, those of them measured and those with an open question; and of all
    its cells (``inspection.sheet.counts``) those out, in doubt and marginal."""

    needed: int = 0
    measured: int = 0
    out: int = 0
    doubt: int = 0
    marginal: int = 0
    asked: int = 0


class Changed(NamedTuple):
    """What an outcome changed: these cells, or (``all``) anything."""

    cells: frozenset[Cell] = frozenset()
    all: bool = False


class Seen:
    """Shop and sheet with their indexes. ``questions`` holds the open slip question of a cell."""

    def __init__(self, shop: Shop, sheet: Sheet) -> None:
        self.shop = shop
        self.questions: dict[Cell, Question] = {}
        self._taken: dict[Cell, list[str]] = {}
        self._notes: dict[str, list[Note]] = {}
        self._needed: frozenset[Cell] = frozenset()
        self._counts: dict[str, Counter[str]] = {}
        self.show(sheet)

    def show(self, sheet: Sheet) -> None:
        """See this sheet; goes through everything once."""
        self.sheet = sheet
        self.walk = Walk.of(sheet)
        self._needed = frozenset(self.walk.cells)
        self.pieces = {piece.identity: place for place, piece in enumerate(sheet.pieces)}
        self._taken = {}
        for name, reading in sheet.readings.items():
            self._taken.setdefault((reading.characteristic, reading.piece), []).append(name)
        self._ask_anew()
        self._note_anew()
        self._counts = {piece: Counter() for piece in self.pieces}
        for cell in self._needed | self.sheet.judgements.keys():
            self._count(cell, 1)

    # --- asking ---------------------------------------------------------------------------------------------------

    def row(self, identity: str) -> Characteristic:
        """A row of the sheet."""
        return self.sheet.characteristic(identity)

    def row_at(self, cell: Cell) -> Characteristic:
        """The row of a cell as it is measured on its piece, with the repeats that were set there after a doubt."""
        return self.sheet.row_at(*cell)

    def instrument(self, row: str) -> Instrument | None:
        """The instrument that is read for a row, None if nothing in the crib answers it."""
        return instrument_of(self.shop, self.sheet, row)

    def parts(self, row: str) -> tuple[Instrument, ...]:
        """Every instrument of a row's method, the one that is read first; none if nothing answers it."""
        assignment = self.sheet.assignments.get(row)
        if assignment is None or assignment.assessment is None:
            return ()
        found = (self.shop.issues.get((part.identity, part.issue)) for part in assignment.assessment.method.parts)
        return tuple(each for each in found if each is not None)

    def needs(self, cell: Cell) -> bool:
        """Whether the sheet needs this cell."""
        return cell in self._needed

    def waiting(self, cell: Cell) -> tuple[Slot, ...]:
        """The slots of a cell that want a reading."""
        return waiting_slots(self.shop, self.sheet, cell)

    def to_read_anew(self, after: Cell | None, under_way: Iterable[Waiting]) -> Iterator[Cell]:
        """The cells that a return asked for and nothing was read of since, those that follow ``after`` first; none of
        which a reading is ``under_way``."""
        sent = {(row, piece) for row, piece, _slot in under_way}
        cells = [cell for cell in to_read_anew(self.sheet) if cell == after or cell not in sent]
        start = cells.index(after) + 1 if after in cells else 0
        return (cell for cell in cells[start:] + cells[:start] if cell not in sent)

    def asked_anew(self, cell: Cell) -> str:
        """The words with which a row was returned, as long as nothing was read of it since; "" if there are none."""
        words = words_for(self.sheet, cell)
        return word("bench.returned", words=words) if words and cell in to_read_anew(self.sheet) else ""

    def taken(self, cell: Cell) -> Iterator[Reading]:
        """Every reading of a cell in the order taken, withdrawn ones too."""
        return (self.sheet.readings[name] for name in self._taken.get(cell, ()))

    def notes(self, cell: Cell) -> tuple[Note, ...]:
        """The notes that stand at a cell: its own, and those of its row on all pieces."""
        return tuple(note for note in self._notes.get(cell[0], ()) if note.piece in ("", cell[1]))

    def serial(self, piece: str) -> str:
        """What is marked on a piece."""
        return self.sheet.pieces[self.pieces[piece]].serial

    def count(self, piece: str) -> Count:
        """How far a piece is."""
        found = self._counts[piece]
        return Count(
            needed=found["needed"],
            measured=found["measured"],
            out=found["not_conforming"],
            doubt=found["in_doubt"],
            marginal=found["marginal"],
            asked=found["asked"],
        )

    def newest_readings(self) -> Iterator[Reading]:
        """Every reading of the sheet, withdrawn ones too, the one taken last first."""
        return newest_first(self.sheet)

    def last_reading(self) -> Reading | None:
        """The reading taken last, withdrawn or not."""
        return next(self.newest_readings(), None)

    # --- changing -------------------------------------------------------------------------------------------------

    def to_correct(self, cell: Cell, corrected: str) -> Reading | None:
        """The reading of a cell to be corrected: the last that counts, or the one before it that is being ``corrected``
        already; with none in the cell the last one of the sheet that may be. None where there is none."""
        counting = self.sheet.counting(*cell)
        if not counting:
            settled = (self.sheet.withdrawn, self.sheet.under_seal)
            free = (one for one in self.newest_readings() if not any(one.identity in each for each in settled))
            return next(free, None)
        names = [each.identity for each in counting]
        return counting[names.index(corrected) - 1 if corrected in names else -1]

    def take(self, outcome: Outcome) -> Changed:
        """See what came of an act on this sheet."""
        assert outcome.sheet is not None
        self.shop = outcome.shop
        if not self._only(outcome):
            self.show(outcome.sheet)
            return Changed(all=True)
        cells = frozenset(self._cells_of(outcome.events, outcome.sheet))
        for cell in cells:
            self._count(cell, -1)
        self.sheet = outcome.sheet
        for event in outcome.events:
            self._take_event(event)
        for cell in cells:
            self._count(cell, 1)
        return Changed(cells)

    def _only(self, outcome: Outcome) -> bool:
        """Whether the outcome's events tell all that is new: no other hand was at the sheet, and its shape stays."""
        new, was = outcome.sheet, self.sheet
        assert new is not None
        taken = sum(isinstance(event, ev.ReadingTaken) for event in outcome.events)
        noted = sum(isinstance(event, ev.NoteWritten) for event in outcome.events)
        answered = sum(isinstance(event, ev.QuestionAnswered) for event in outcome.events)
        doubted = sum(map(_doubted, outcome.events))
        same = len(new.readings) == len(was.readings) + taken and len(new.notes) == len(was.notes) + noted
        same = same and len(new.answers) <= len(was.answers) + answered
        same = same and len(new.withdrawn) == len(was.withdrawn) + _withdrawn(outcome.events)
        same = same and len(new.repeats) <= len(was.repeats) + sum(map(_declared, outcome.events))
        same = same and len(new.reopened) + len(new.suspect) <= len(was.reopened) + len(was.suspect) + doubted
        of_cells = all(isinstance(event, _OF_CELLS) for event in outcome.events)
        return same and of_cells and self.walk.holds_for(new)

    def _cells_of(self, events: Iterable[ev.Event], after: Sheet) -> Iterator[Cell]:
        for event in events:
            match event:
                case ev.ReadingTaken(reading=reading):
                    yield reading.characteristic, reading.piece
                case ev.CellJudged(characteristic=row, piece=piece):
                    yield row, piece
                case ev.ReadingsReopened(readings=names):
                    yield from cells_of(after, names)
                case ev.QuestionAsked(question=question):
                    yield question.characteristic, question.piece
                case ev.QuestionAnswered(question=name):
                    yield after.questions[name].characteristic, after.questions[name].piece
                case ev.NoteWritten(characteristic=row, piece=piece):
                    yield from ((row, each) for each in ((piece,) if piece else self.pieces))

    def _take_event(self, event: ev.Event) -> None:
        match event:
            case ev.ReadingTaken(reading=reading):
                self._taken.setdefault((reading.characteristic, reading.piece), []).append(reading.identity)
            case ev.QuestionAsked(question=question):
                self.questions[question.characteristic, question.piece] = question
            case ev.QuestionAnswered():
                self._ask_anew()
            case ev.NoteWritten():
                self._note_anew()

    def _ask_anew(self) -> None:
        self.questions = {(each.characteristic, each.piece): each for each in self.sheet.open_questions()}

    def _note_anew(self) -> None:
        self._notes = {}
        for note in self.sheet.notes:
            self._notes.setdefault(note.characteristic, []).append(note)

    def _count(self, cell: Cell, by: int) -> None:
        counts = self._counts[cell[1]]
        verdict = self.sheet.judgement(*cell).verdict
        counts[COUNTED.get(verdict, "")] += by
        if cell in self._needed:
            counts["needed"] += by
            counts["measured"] += by * (verdict is not Verdict.OPEN)
            counts["asked"] += by * (cell in self.questions)


def _withdrawn(events: Iterable[ev.Event]) -> int:
    """By how many readings the withdrawn ones become more or fewer."""
    by = 0
    for event in events:
        by += isinstance(event, ev.ReadingTakenBack) or (
            isinstance(event, ev.ReadingTaken) and bool(event.reading.replaces)
        )
        by -= isinstance(event, ev.ReadingPutBack)
    return by


def _doubted(event: ev.Event) -> int:
    """How many readings an event puts in question."""
    return len(event.readings) if isinstance(event, ev.ReadingsReopened) else 0


def _declared(event: ev.Event) -> bool:
    return isinstance(event, ev.RepeatsDeclared)


def newest_first(sheet: Sheet) -> Iterator[Reading]:
    """Every reading of a sheet, the one taken last first."""
    return reversed(cast("dict[str, Reading]", sheet.readings).values())
