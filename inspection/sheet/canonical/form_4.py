"""The fourth form of journal entries and of the sealed content of a sheet: with gauge studies.

To the third it adds acts and events, and fields that have a default.
"""

from __future__ import annotations

import msgspec
from msgspec import Struct

from inspection.drawing.plan import Plan
from inspection.instruments.method import Assignment, InstrumentIssue
from inspection.instruments.record import Instrument
from inspection.instruments.rules import Rules
from inspection.measuring.proofs import CheckRecord
from inspection.measuring.reading import Reading
from inspection.measuring.temperature_log import TemperatureLog
from inspection.measuring.verdict import Judgement, Question
from inspection.sheet.acts import AnyAct
from inspection.sheet.canonical.canonical import dumps
from inspection.sheet.certificates import fingerprint
from inspection.sheet.events import AnyEvent, Entry, QuestionAnswered
from inspection.sheet.evidence import Evidence
from inspection.sheet.head import Head, Piece
from inspection.sheet.nonconformance import Before, Disposition, Nonconformance
from inspection.sheet.review import Mark, PointAnswer, ReadAgain, Return, StatementKind
from inspection.sheet.state import Note, Seal, Sheet, Shop, Withdrawal

FORM = 4


class Record(Struct, frozen=True, kw_only=True):
    """One journal entry: who, when, where, the act and what followed. ``stream`` names what it belongs to ("shop",
    a part's or a sheet's identity); ``sequence`` counts the station's entries."""

    form: int = FORM
    stream: str
    sequence: int
    entry: Entry
    act: AnyAct
    events: tuple[AnyEvent, ...]


class Cell(Struct, frozen=True):
    """A cell's judgement, in the order of the plan's rows and the sheet's pieces."""

    characteristic: str
    piece: str
    judgement: Judgement


class Withdrawn(Struct, frozen=True):
    """A reading that no longer counts, and why."""

    reading: str
    withdrawal: Withdrawal


class Reopened(Struct, frozen=True):
    """A reading that counts no longer because its instrument failed the ``check``."""

    reading: str
    check: str


class Repeated(Struct, frozen=True):
    """How many readings the mean of a cell has, set after a doubt."""

    characteristic: str
    piece: str
    repeats: int


class Reworked(Struct, frozen=True):
    """What a cell had come to each time before its piece was worked on."""

    characteristic: str
    piece: str
    before: tuple[Before, ...]


class LeftPiece(Struct, frozen=True):
    """A piece that left the sheet, and how."""

    piece: str
    disposition: Disposition


class Named(Struct, frozen=True):
    """A person as named on the sheet."""

    identity: str
    name: str


class Content(Struct, frozen=True, kw_only=True):
    """What a seal covers: the whole sheet as computed then. ``program`` is the edition that computed it;
    ``chain`` the head of the book's chain (hex); ``earlier`` the digests of the sheet's earlier seals."""

    form: int = FORM
    program: str
    sheet: str
    round: int
    shop: str
    chain: str
    plan: Plan
    head: Head
    pieces: tuple[Piece, ...]
    rules: Rules
    instruments: tuple[Instrument, ...]
    assignments: tuple[Assignment, ...]
    readings: tuple[Reading, ...]
    withdrawn: tuple[Withdrawn, ...]
    cells: tuple[Cell, ...]
    questions: tuple[Question, ...]
    answers: tuple[QuestionAnswered, ...]
    notes: tuple[Note, ...]
    evidence: tuple[Evidence, ...] = ()
    people: tuple[Named, ...]
    earlier: tuple[str, ...]
    signed_by: str
    signed_at: int
    incomplete: str = ""
    checks: tuple[CheckRecord, ...] = ()
    reopened: tuple[Reopened, ...] = ()
    temperatures: tuple[TemperatureLog, ...] = ()
    repeats: tuple[Repeated, ...] = ()
    nonconformances: tuple[Nonconformance, ...] = ()
    reworked: tuple[Reworked, ...] = ()
    left: tuple[LeftPiece, ...] = ()
    returns: tuple[Return, ...] = ()
    only: tuple[str, ...] = ()
    completes: str = ""
    amends: str = ""
    decision_reason: str = ""  # why the sheet is judged by another rule than the shop's or the customer's
    marks: tuple[Mark, ...] = ()
    certificate: str = ""  # fingerprint of the signer's certificate, so that no other can stand in for it


class StatementContent(Struct, frozen=True, kw_only=True):
    """What the signature of a statement covers: what is stated, of which seal of the sheet (its digest), on what
    answers and decisions. ``own`` says that the lead had measured or signed the sheet; ``earlier`` are the digests of
    the statements made before; ``baseline`` is the seal of the sheet that this one completes, where that is stated.
    """

    form: int = FORM
    program: str
    kind: StatementKind
    sheet: str
    round: int
    shop: str
    seal: str
    chain: str
    words: str
    own: bool
    answers: tuple[PointAnswer, ...]
    read_again: tuple[ReadAgain, ...]
    nonconformances: tuple[Nonconformance, ...]
    earlier: tuple[str, ...]
    by: Named
    at: int
    certificate: str
    baseline: str = ""


_record = msgspec.json.Decoder(Record)
_content = msgspec.json.Decoder(Content)


def write_entry(*, stream: str, sequence: int, entry: Entry, act: AnyAct, events: tuple[AnyEvent, ...]) -> bytes:
    """The canonical bytes of a journal entry."""
    return dumps(Record(stream=stream, sequence=sequence, entry=entry, act=act, events=events))


def read_entry(content: bytes) -> Record:
    """The journal entry in these bytes; raises msgspec.ValidationError or DecodeError if they hold none."""
    return _record.decode(content)


def write_content(content: Content) -> bytes:
    """The canonical bytes that a seal covers."""
    return dumps(content)


_statement = msgspec.json.Decoder(StatementContent)


def write_statement(content: StatementContent) -> bytes:
    """The canonical bytes that the signature of a statement covers."""
    return dumps(content)


def read_statement(content: bytes | str) -> StatementContent:
    """The statement in these bytes; raises msgspec.ValidationError or DecodeError if they hold none."""
    return _statement.decode(content)


def statement_of(
    shop: Shop, sheet: Sheet, entry: Entry, program: str, kind: StatementKind, words: str, baseline: str = ""
) -> StatementContent:
    """A statement of the sheet's present round as ``entry``'s person makes it."""
    person = shop.people[entry.person]
    return StatementContent(
        program=program,
        kind=kind,
        sheet=sheet.identity,
        round=sheet.round,
        shop=shop.name,
        seal=sheet.seals[-1].digest,
        chain=entry.previous,
        words=words,
        own=sheet.is_own(entry.person),
        answers=tuple(sheet.point_answers.values()),
        read_again=sheet.read_again,
        nonconformances=tuple(sheet.nonconformances.values()),
        earlier=tuple(each.digest for each in sheet.statements),
        by=Named(entry.person, person.name),
        at=entry.at,
        certificate=fingerprint(person.certificate),
        baseline=baseline,
    )


def read_content(content: bytes | str) -> Content:
    """The sealed content in these bytes; raises msgspec.ValidationError or DecodeError if they hold none."""
    return _content.decode(content)


def content_of(shop: Shop, sheet: Sheet, entry: Entry, program: str, incomplete: str) -> Content:
    """The sheet as a seal by ``entry``'s person covers it, in an order fixed by plan, pieces and time."""
    seals: tuple[Seal, ...] = sheet.seals
    return Content(
        program=program,
        sheet=sheet.identity,
        round=sheet.round,
        shop=shop.name,
        chain=entry.previous,
        plan=sheet.plan,
        head=sheet.head,
        pieces=sheet.pieces,
        rules=sheet.rules,
        instruments=_instruments(shop, sheet),
        assignments=tuple(
            sheet.assignments[row.identity] for row in sheet.plan.characteristics if row.identity in sheet.assignments
        ),
        readings=tuple(sheet.readings.values()),
        withdrawn=tuple(Withdrawn(name, why) for name, why in sheet.withdrawn.items()),
        cells=tuple(
            Cell(row.identity, piece.identity, sheet.judgement(row.identity, piece.identity))
            for row in sheet.plan.characteristics
            for piece in sheet.pieces
        ),
        questions=tuple(sheet.questions.values()),
        answers=tuple(sheet.answers.values()),
        notes=sheet.notes,
        evidence=tuple(sheet.evidence.values()),
        people=_people(shop, sheet, entry),
        earlier=tuple(seal.digest for seal in seals),
        signed_by=entry.person,
        signed_at=entry.at,
        incomplete=incomplete,
        checks=tuple(sheet.checks.values()),
        reopened=tuple(Reopened(reading, check) for reading, check in sheet.reopened.items()),
        temperatures=sheet.temperatures,
        repeats=tuple(Repeated(*cell, repeats) for cell, repeats in sheet.repeats.items()),
        nonconformances=tuple(sheet.nonconformances.values()),
        reworked=tuple(Reworked(*cell, before) for cell, before in sheet.before.items()),
        left=tuple(LeftPiece(piece, disposition) for piece, disposition in sheet.left.items()),
        returns=sheet.returns,
        only=tuple(row.identity for row in sheet.plan.characteristics if row.identity in sheet.only),
        completes=sheet.completes,
        amends=sheet.amends,
        decision_reason=sheet.decision_reason,
        marks=tuple(sheet.marks.values()),
        certificate=fingerprint(shop.people[entry.person].certificate) if entry.person in shop.people else "",
    )


def _instruments(shop: Shop, sheet: Sheet) -> tuple[Instrument, ...]:
    used: dict[InstrumentIssue, None] = {}
    for reading in sheet.readings.values():
        used.update(dict.fromkeys(reading.method.parts))
    for assignment in sheet.assignments.values():
        if assignment.assessment:
            used.update(dict.fromkeys(assignment.assessment.method.parts))
    return tuple(shop.issues[part.identity, part.issue] for part in sorted(used, key=lambda p: (p.identity, p.issue)))


def _people(shop: Shop, sheet: Sheet, entry: Entry) -> tuple[Named, ...]:
    names = {entry.person, sheet.made_by}
    names |= {reading.by for reading in sheet.readings.values()}
    names |= {why.by for why in sheet.withdrawn.values()} | {note.by for note in sheet.notes}
    names |= {mark.by for mark in sheet.marks.values()}
    names |= {mark.answered_by for mark in sheet.marks.values() if not mark.waits}
    names |= {check.made.by for check in sheet.checks.values()} | {log.by for log in sheet.temperatures}
    return tuple(Named(name, shop.people[name].name) for name in sorted(names) if name in shop.people)
