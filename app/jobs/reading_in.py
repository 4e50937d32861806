"""A reading file carried out on a sheet: every row becomes acts, all rehearsed before one is done.

The rehearsal decides by the same rules as the book, so that a file with any fault in it changes nothing and every fault
is told by its cell. What was rehearsed is then handed in together, all or none.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import tzinfo

from msgspec import Struct

from app.jobs.hand import Hand
from app.jobs.reading_acts import CellRefused, Look, acts_of
from inspection.drawing.plan import Plan
from inspection.measuring.checks_life import Used
from inspection.measuring.verdict import Question, Verdict
from inspection.reasons import Part, Reason, Refused
from inspection.sheet import events as ev
from inspection.sheet.acts import AnyAct
from inspection.sheet.evolve import fold_sheet
from inspection.sheet.figures import between, limits
from inspection.sheet.life import decide
from inspection.sheet.state import Sheet, Shop
from storage.book.door import ActsRefused
from storage.book.outcome import Outcome
from storage.book.queries.instrument_uses import uses_by_others
from storage.intake.faults import Fault, Faults, FileRefused
from storage.intake.readings import ReadingFile, ReadingRow, look_at_readings


class Unproven(Struct, frozen=True):
    """What lacks a check before use: how many ``cells`` of those that were read are marginal for want of one, and
    ``why``, each reason once."""

    cells: int = 0
    why: tuple[Reason, ...] = ()


class ReadIn(Struct, frozen=True):
    """What a reading file came to: the sheet after it, how many readings it brought, the slip questions that stand, and
    what lacks a check."""

    sheet: Sheet
    readings: int
    questions: tuple[Question, ...]
    notices: tuple[Reason, ...]
    unproven: Unproven = Unproven()


class PreviewReading(Struct, frozen=True):
    """One row of a reading file as it would be taken: where it points, what it says, the row's limits, and the verdict
    of its cell when all is read. Of a row that is read blind there are neither limits nor a verdict."""

    row: int
    number: str
    serial: str
    reading: str
    limits: str
    verdict: Verdict | None


class ReadingPreview(Struct, frozen=True):
    """What a reading file would come to on a sheet; nothing is taken by looking."""

    name: str
    rows: tuple[PreviewReading, ...] = ()
    faults: tuple[Fault, ...] = ()
    count: int = 0
    questions: tuple[Question, ...] = ()
    notices: tuple[Reason, ...] = ()
    unproven: Unproven = Unproven()


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
    notices = (*file.notices, *_noticed(outcomes))
    return ReadIn(after, _readings(outcomes), _standing(before, after), notices, _unproven(before, after))


def _readings(outcomes: tuple[Outcome, ...]) -> int:
    return sum(isinstance(event, ev.ReadingTaken) for outcome in outcomes for event in outcome.events)


def _noticed(outcomes: tuple[Outcome, ...]) -> tuple[Reason, ...]:
    return tuple(notice for outcome in outcomes for notice in outcome.notices)


def _standing(before: Sheet, after: Sheet) -> tuple[Question, ...]:
    """The slip questions that came with the file and were not answered in it."""
    return tuple(question for question in after.open_questions() if question.identity not in before.questions)


def _unproven(before: Sheet, after: Sheet) -> Unproven:
    """What lacks a check among the cells that were read since."""
    read = dict.fromkeys(
        (reading.characteristic, reading.piece)
        for name, reading in after.readings.items()
        if name not in before.readings
    )
    marginal = [cell for cell in read if after.judgement(*cell).verdict is Verdict.MARGINAL]
    lacking = {cell: [reason for r in after.counting(*cell) for reason in r.unproven] for cell in marginal}
    why = {(reason.code, str(reason.parts)): reason for reasons in lacking.values() for reason in reasons}
    return Unproven(sum(bool(reasons) for reasons in lacking.values()), tuple(why.values()))


def _by_row(refused: ActsRefused, planned: list[_Planned], file: ReadingFile) -> Refused:
    faults = Faults(file.name, file.places)
    for place, reasons in refused.by_act.items():
        faults.note(planned[place].row.row, "", *reasons)
    try:
        faults.settle()
    except Refused as whole:
        return whole
    return refused


def rehearse(hand: Hand, sheet: Sheet, file: ReadingFile) -> list[_Planned]:
    """The acts of a file, decided one after the other on a sheet that nobody keeps. Raises FileRefused."""
    stage, faults = _Stage(hand, sheet), Faults(file.name, file.places)
    stage.play_all(file, faults)
    faults.settle()
    return stage.planned


def read_whole(hand: Hand, sheet: str, data: bytes, name: str, zone: tzinfo | None = None) -> ReadingFile:
    """A reading file that has no fault of its own. Raises FileRefused with every fault, also with those of its other
    rows that show only on the sheet."""
    file, faults = look_at_readings(data, name, zone)
    if faults.found:
        _Stage(hand.apart(), hand.book.sheet(sheet)).play_all(file, faults)
    faults.settle()
    return file


def preview_readings(hand: Hand, sheet: str, data: bytes, name: str, zone: tzinfo | None = None) -> ReadingPreview:
    """Look at a reading file, csv or workbook, without taking it: every row that would be taken, and every fault.

    Raises nothing that the file is to blame for.
    """
    before = hand.book.sheet(sheet)
    try:
        file, faults = look_at_readings(data, name, zone)
    except FileRefused as refused:
        return ReadingPreview(name, faults=refused.faults, count=refused.count)
    stage = _Stage(hand.apart(), before)
    stage.play_all(file, faults)
    rows = tuple(stage.shown(row) for row in stage.played)
    standing, lacking = _standing(before, stage.sheet), _unproven(before, stage.sheet)
    return ReadingPreview(name, rows, faults.in_order(), faults.count, standing, file.notices, lacking)


class _Stage:
    """The sheet of a rehearsal, and the acts played on it so far."""

    def __init__(self, hand: Hand, sheet: Sheet) -> None:
        self.shop: Shop = hand.book.shop()
        self.plans: Mapping[str, Plan] = hand.book.plans_of(sheet.plan.part_identity)
        self.sheet = sheet
        self.hand = hand
        self.planned: list[_Planned] = []
        self.played: list[ReadingRow] = []

    def elsewhere(self, instrument: str, since: int, person: str) -> tuple[Used, ...]:
        """Who else used an instrument since, on any sheet, as the book has it."""
        return self.hand.book.ask(uses_by_others, instrument, since, person)

    def play_all(self, file: ReadingFile, faults: Faults) -> None:
        """Play every row of a file; what is wrong with a row is noted at its cell, and the next one is played."""
        flawed = {fault.row for fault in faults.found}
        for row in file.rows:
            if faults.full:
                break
            if row.row in flawed:
                continue
            try:
                self.play(row)
                self.played.append(row)
            except CellRefused as refused:
                column = file.heads.get(refused.field, "")
                faults.note(row.row, column, *refused.reasons)
            except Refused as refused:
                faults.note(row.row, file.heads.get("reading", ""), *refused.reasons)

    def play(self, row: ReadingRow) -> None:
        """Decide every act of a row; each is made from the sheet as the one before left it."""
        self._same_requirement(row)
        for act in acts_of(row, self.look):
            entry = self.hand.entry_ahead(len(self.planned))
            events = decide(self.shop, self.sheet, self.plans, act, entry, elsewhere=self.elsewhere)
            self.sheet = fold_sheet(self.sheet, [(event, entry) for event in events], self.plans)
            self.planned.append(_Planned(act, row))

    def look(self) -> Look:
        """Shop and sheet as they stand in the rehearsal."""
        moment = self.hand.foreseen.moment_ahead()
        return Look(self.shop, self.sheet, moment.day, moment.at)

    def shown(self, row: ReadingRow) -> PreviewReading:
        """A row that was played, as it stands when all are; of what is read blind only what was written."""
        known = next(one for one in self.sheet.plan.characteristics if one.number == row.number)
        piece = next(one for one in self.sheet.pieces if row.serial in ("", one.serial))
        said = row.reading or row.answer or row.note
        if known.blind:
            return PreviewReading(row.row, row.number, piece.serial, said, "", None)
        text = between(*limits(known.requirement)) if known.requirement.judged else ""
        told = f"{text} {known.requirement.unit}" if text else ""
        verdict = self.sheet.judgement(known.identity, piece.identity).verdict
        return PreviewReading(row.row, row.number, piece.serial, said, told, verdict)

    def _same_requirement(self, row: ReadingRow) -> None:
        """Refuse a row that was written for another requirement than the sheet's: the plan has changed since."""
        known = next((one for one in self.sheet.plan.characteristics if one.number == row.number), None)
        if known is None or not row.requirement:
            return
        now = known.requirement.written
        if row.requirement.split() != now.split():
            parts: dict[str, Part] = {"number": row.number[:60], "written": row.requirement[:60], "now": now[:60]}
            raise CellRefused("requirement", Reason("intake.requirement_differs", parts))
