"""A reading file carried out on a sheet: every row becomes acts, all rehearsed before one is done.

The rehearsal decides by the same rules as the book, so that a file with any fault in it changes nothing and every fault
is told by its cell. What was rehearsed is then handed in together, all or none.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from app.jobs.hand import Hand
from app.jobs.reading_acts import CellRefused, Look, acts_of
from inspection.drawing.plan import Plan
from inspection.measuring.verdict import Question
from inspection.reasons import Reason, Refused
from inspection.sheet import events as ev
from inspection.sheet.acts import AnyAct
from inspection.sheet.evolve import fold_sheet
from inspection.sheet.life import decide
from inspection.sheet.state import Sheet, Shop
from storage.book.door import ActsRefused
from storage.book.outcome import Outcome
from storage.intake.faults import Faults
from storage.intake.readings import ReadingFile, ReadingRow


class ReadIn(Struct, frozen=True):
    """What a reading file came to: the sheet after it, how many readings it brought, the slip questions that stand."""

    sheet: Sheet
    readings: int
    questions: tuple[Question, ...]
    notices: tuple[Reason, ...]


class _Planned(Struct, frozen=True):
    """An act that was rehearsed, and the row it comes from."""

    act: AnyAct
    row: ReadingRow


def read_in(hand: Hand, sheet: str, file: ReadingFile) -> ReadIn:
    """Carry out a whole reading file on a sheet, in its order and one transaction.

    Raises FileRefused with every fault by its cell, Refused for a sealed sheet, or BookFailure; nothing was changed
    then.
    """
    before = hand.book.sheet(sheet)
    if before.sealed:  # told once, instead of row by row
        raise Refused(Reason("life.sealed", {"act": "act.TakeReading"}))
    planned = rehearse(hand, before, file)
    try:
        outcomes = hand.book.do_all([one.act for one in planned], person=hand.person)
    except ActsRefused as refused:
        raise _by_row(refused, planned, file) from None
    after = hand.book.sheet(sheet)
    return ReadIn(after, _readings(outcomes), _standing(before, after), _noticed(outcomes))


def _readings(outcomes: tuple[Outcome, ...]) -> int:
    return sum(isinstance(event, ev.ReadingTaken) for outcome in outcomes for event in outcome.events)


def _noticed(outcomes: tuple[Outcome, ...]) -> tuple[Reason, ...]:
    return tuple(notice for outcome in outcomes for notice in outcome.notices)


def _standing(before: Sheet, after: Sheet) -> tuple[Question, ...]:
    """The slip questions that came with the file and were not answered in it."""
    return tuple(question for question in after.open_questions() if question.identity not in before.questions)


def _by_row(refused: ActsRefused, planned: list[_Planned], file: ReadingFile) -> Refused:
    faults = Faults(file.name)
    for place, reasons in refused.by_act.items():
        faults.note(planned[place].row.row, "", *reasons)
    try:
        faults.settle()
    except Refused as whole:
        return whole
    return refused


def rehearse(hand: Hand, sheet: Sheet, file: ReadingFile) -> list[_Planned]:
    """The acts of a file, decided one after the other on a sheet that nobody keeps. Raises FileRefused."""
    stage = _Stage(hand, sheet)
    faults = Faults(file.name)
    for row in file.rows:
        try:
            stage.play(row)
        except CellRefused as refused:
            column = file.heads.get(refused.field, "")
            faults.note(row.row, column, *refused.reasons)
        except Refused as refused:
            faults.note(row.row, file.heads.get("reading", ""), *refused.reasons)
    faults.settle()
    return stage.planned


class _Stage:
    """The sheet of a rehearsal, and the acts played on it so far."""

    def __init__(self, hand: Hand, sheet: Sheet) -> None:
        self.shop: Shop = hand.book.shop()
        self.plans: Mapping[str, Plan] = hand.book.plans_of(sheet.plan.part_identity)
        self.sheet = sheet
        self.hand = hand
        self.planned: list[_Planned] = []

    def play(self, row: ReadingRow) -> None:
        """Decide every act of a row; each is made from the sheet as the one before left it."""
        for act in acts_of(row, self.look):
            entry = self.hand.entry_ahead(len(self.planned))
            events = decide(self.shop, self.sheet, self.plans, act, entry)
            self.sheet = fold_sheet(self.sheet, [(event, entry) for event in events], self.plans)
            self.planned.append(_Planned(act, row))

    def look(self) -> Look:
        """Shop and sheet as they stand in the rehearsal."""
        return Look(self.shop, self.sheet, self.hand.foreseen.moment_ahead().day)
