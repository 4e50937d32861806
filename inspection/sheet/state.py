"""The shop, a part's plans and a sheet as values, folded from events."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

from msgspec import Struct
from msgspec.structs import replace

from inspection.attached import Attached
from inspection.drawing.characteristic import Characteristic
from inspection.drawing.plan import Plan
from inspection.instruments.method import Assignment, Stop
from inspection.instruments.record import Instrument
from inspection.instruments.rules import Rules
from inspection.layout.layout import Layout
from inspection.measuring.proofs import CheckRecord, Proof
from inspection.measuring.reading import Reading
from inspection.measuring.temperature_log import TemperatureLog
from inspection.measuring.verdict import Judgement, Question, Verdict
from inspection.sheet import events as ev
from inspection.sheet.evidence import Evidence
from inspection.sheet.head import Head, Piece
from inspection.sheet.nonconformance import Before, Disposition, Nonconformance
from inspection.sheet.people import Person
from inspection.sheet.review import FIRST_ARTICLE, Mark, PointAnswer, ReadAgain, Return, StatementKind, replacing

Cell = tuple[str, str]
"""One characteristic on one piece: (characteristic identity, piece identity)."""


class Shop(Struct, frozen=True):
    """The shop as the book knows it: people, the crib with every issue, the rules in force, the newest of what is on
    record of how its instruments behave, oldest first, and the newest issue of each customer's layout."""

    name: str = ""
    people: Mapping[str, Person] = {}
    crib: Mapping[str, Instrument] = {}  # the newest issue of each instrument
    issues: Mapping[tuple[str, int], Instrument] = {}
    rules: Rules = Rules()
    proofs: tuple[Proof, ...] = ()
    layouts: Mapping[str, Layout] = {}
    used_up: Mapping[str, int] = {}  # not folded: how often was read what was read as often as its interval allows

    def by_tag(self, tag: str) -> Instrument | None:
        """The newest issue of the instrument with this tag."""
        return next((item for item in self.crib.values() if item.tag == tag), None)

    def by_tag_typed(self, text: str) -> Instrument | None:
        """The newest issue of the instrument that somebody means who types this: of the very tag, or else of the only
        one that differs in capitals alone."""
        wanted = text.strip()
        alike = [item for item in self.crib.values() if item.tag.casefold() == wanted.casefold()]
        return self.by_tag(wanted) or (alike[0] if len(alike) == 1 else None)


class Stage(StrEnum):
    """Where a sheet is in its life: open at the bench, signed and under review, or approved."""

    OPEN = "open"
    SIGNED = "signed"
    APPROVED = "approved"


class Note(Struct, frozen=True):
    """A note to a row, with who wrote it and when (UTC microseconds)."""

    characteristic: str
    piece: str
    text: str
    by: str
    at: int


class Withdrawal(Struct, frozen=True):
    """Why a reading no longer counts: taken back, or replaced by ``replaced_by``."""

    by: str
    at: int
    reason: str
    replaced_by: str = ""


class Seal(Struct, frozen=True):
    """One seal of the sheet, with who signed and when."""

    round: int
    by: str
    at: int
    content: str
    digest: str
    signature: ev.Signature
    incomplete: str = ""


class Statement(Struct, frozen=True):
    """One statement made of the sheet, with who signed and when."""

    kind: StatementKind
    round: int
    by: str
    at: int
    content: str
    digest: str
    signature: ev.Signature


class Sent(Struct, frozen=True):
    """One file made of the sheet."""

    form: str
    name: str
    digest: str
    by: str
    at: int
    layout: str = ""
    layout_issue: int = 0
    files: tuple[Attached, ...] = ()


class Document(Struct, frozen=True):
    """The signed PDF of a round as it stood after a signature: ``signed`` are the digests of the seals and statements
    that its signatures state, in their order; ``files`` are its bytes in parts, one behind the other."""

    round: int
    signed: tuple[str, ...]
    files: tuple[Attached, ...]
    by: str
    at: int


class Rows(Struct, frozen=True):
    """The rows of a plan, found by identity, by place in the plan, and by the counted requirement they share."""

    by_identity: Mapping[str, Characteristic] = {}
    position: Mapping[str, int] = {}
    families: Mapping[str, tuple[str, ...]] = {}  # "7" -> identities of 7.1 … 7.4

    @classmethod
    def of(cls, plan: Plan) -> Rows:
        """The rows of this plan issue."""
        families: dict[str, tuple[str, ...]] = {}
        for row in plan.characteristics:
            if row.count > 1:
                families[family(row)] = (*families.get(family(row), ()), row.identity)
        return cls(
            {row.identity: row for row in plan.characteristics},
            {row.identity: place for place, row in enumerate(plan.characteristics)},
            families,
        )


def family(row: Characteristic) -> str:
    """What the places of one counted requirement share: the number before the last dot."""
    return row.number.rpartition(".")[0] if row.count > 1 else row.number


class Sheet(Struct, frozen=True):
    """A sheet as it stands. Mappings are never altered in place: ``evolve`` makes a new sheet.

    ``standing`` maps a cell to the identities of the readings that count, in the order taken; ``withdrawn`` maps
    a reading that no longer counts to why. ``under_seal`` are the readings that some seal already covers. ``checks``
    are those that readings rest on, or that failed and re-opened readings, by identity; ``reopened`` maps a reading
    that counts no longer to the check that failed, ``suspect`` one that a check put in question after the sheet was
    sealed: it counts until a new round begins. ``repeats`` is how many readings the mean of a cell is to have where
    that was set after a doubt. ``reworked`` counts how often a piece was worked on, ``before`` is what a cell had come
    to each time, ``left`` the pieces that were scrapped or returned. ``only`` are the characteristics of a partial
    first article that ``completes`` another sheet (empty: all); ``amends`` is the sheet in whose place this one stands,
    ``amend_reason`` why, and ``amends_seal`` the digest of that sheet's last seal. ``marks`` are those of reverse
    traces, answered or not; ``documents`` the signed PDFs by the round that they were signed in.
    """

    identity: str
    plan: Plan
    head: Head
    pieces: tuple[Piece, ...]
    rules: Rules
    made_by: str
    made_at: int
    order: str = "piece"
    assignments: Mapping[str, Assignment] = {}
    stops: tuple[Stop, ...] = ()
    readings: Mapping[str, Reading] = {}
    standing: Mapping[Cell, tuple[str, ...]] = {}
    withdrawn: Mapping[str, Withdrawal] = {}
    judgements: Mapping[Cell, Judgement] = {}
    questions: Mapping[str, Question] = {}
    answers: Mapping[str, ev.QuestionAnswered] = {}
    notes: tuple[Note, ...] = ()
    evidence: Mapping[str, Evidence] = {}
    checks: Mapping[str, CheckRecord] = {}
    reopened: Mapping[str, str] = {}
    suspect: Mapping[str, str] = {}
    temperatures: tuple[TemperatureLog, ...] = ()
    repeats: Mapping[Cell, int] = {}
    decision_reason: str = ""
    only: frozenset[str] = frozenset()
    completes: str = ""
    amends: str = ""
    amend_reason: str = ""
    amends_seal: str = ""
    nonconformances: Mapping[str, Nonconformance] = {}
    reworked: Mapping[str, int] = {}
    before: Mapping[Cell, tuple[Before, ...]] = {}
    left: Mapping[str, Disposition] = {}
    point_answers: Mapping[str, PointAnswer] = {}
    marks: Mapping[str, Mark] = {}
    read_again: tuple[ReadAgain, ...] = ()
    returns: tuple[Return, ...] = ()
    statements: tuple[Statement, ...] = ()
    seals: tuple[Seal, ...] = ()
    sent: tuple[Sent, ...] = ()
    documents: Mapping[int, Document] = {}
    round: int = 1
    sealed: bool = False
    last_entry: str = ""
    under_seal: frozenset[str] = frozenset()
    rows: Rows = Rows()

    def characteristic(self, identity: str) -> Characteristic:
        """The row of this identity in the sheet's plan; KeyError if it has none."""
        return self.rows.by_identity[identity]

    def row_at(self, characteristic: str, piece: str) -> Characteristic:
        """The row as it is measured on a piece: with the repeats that were set there after a doubt, if any."""
        row = self.characteristic(characteristic)
        repeats = self.repeats.get((characteristic, piece))
        return row if repeats is None else replace(row, repeats=repeats)

    def counting(self, characteristic: str, piece: str) -> tuple[Reading, ...]:
        """The readings of a cell that count, in the order taken; one that a failed check re-opened does not."""
        names = self.standing.get((characteristic, piece), ())
        return tuple(self.readings[name] for name in names if name not in self.reopened)

    def reopened_at(self, characteristic: str, piece: str) -> tuple[Reading, ...]:
        """The readings of a cell that stand but were re-opened by a failed check."""
        names = self.standing.get((characteristic, piece), ())
        return tuple(self.readings[name] for name in names if name in self.reopened)

    def marks_at(self, characteristic: str, piece: str) -> tuple[Mark, ...]:
        """Marks for review that wait for an answer and name a reading of a cell that counts."""
        waiting = [held for held in self.marks.values() if held.waits]
        counting = {reading.identity for reading in self.counting(characteristic, piece)} if waiting else set()
        return tuple(held for held in waiting if counting.intersection(held.readings))

    def judgement(self, characteristic: str, piece: str) -> Judgement:
        """The cell's judgement; open if nothing was read, not judged if the drawing gives nothing to judge by."""
        kept = self.judgements.get((characteristic, piece))
        if kept is None:
            return _OPEN if self.characteristic(characteristic).requirement.judged else _NOT_JUDGED
        return kept

    @property
    def stage(self) -> Stage:
        """Where the sheet is in its life."""
        if not self.sealed:
            return Stage.OPEN
        approved = any(each.kind is StatementKind.APPROVED and each.round == self.round for each in self.statements)
        return Stage.APPROVED if approved else Stage.SIGNED

    def is_own(self, person: str) -> bool:
        """Whether the sheet is a person's own: signed by it, or read by it. Of nobody (empty) none is."""
        if not person:
            return False
        signed = self.seals[-1].by if self.seals else ""
        return person == signed or any(reading.by == person for reading in self.readings.values())

    def stated(self, *kinds: StatementKind) -> Statement | None:
        """The statement of one of these kinds that was made of the present round, the newest; None if none was."""
        held = (each for each in reversed(self.statements) if each.round == self.round and each.kind in kinds)
        return next(held, None)

    @property
    def first_article(self) -> Statement | None:
        """What is stated of the first article in the present round, as it holds: the later of several."""
        return self.stated(*FIRST_ARTICLE)

    def in_place_of(self) -> dict[str, Statement]:
        """The statements that hold no longer (by their digests), each with the later one that stands in its place."""
        later = replacing([(each.kind, each.round) for each in self.statements])
        return {self.statements[old].digest: self.statements[new] for old, new in later.items()}

    def open_questions(self) -> tuple[Question, ...]:
        """Slip questions that were not answered, or left open."""
        return tuple(question for name, question in self.questions.items() if self.waits(name))

    def waits(self, question: str) -> bool:
        """Whether a slip question still waits for an answer."""
        answer = self.answers.get(question)
        return question in self.questions and (answer is None or answer.answer == "left open")


_OPEN = Judgement(Verdict.OPEN)
_NOT_JUDGED = Judgement(Verdict.NOT_JUDGED)
