"""What follows from an act: events, which the book keeps and the state is folded from."""

from __future__ import annotations

from msgspec import Struct

from inspection.attached import Attached
from inspection.drawing.plan import Plan
from inspection.instruments.method import Assignment, Stop
from inspection.instruments.record import Instrument
from inspection.instruments.rules import Rules
from inspection.layout.layout import Layout
from inspection.measuring.guard import DecisionRule
from inspection.measuring.proofs import CheckRecord, StudyRecord, UpsetRecord, WithdrawalRecord
from inspection.measuring.reading import Reading
from inspection.measuring.temperature_log import TemperatureLog
from inspection.measuring.verdict import Judgement, Question
from inspection.sheet.evidence import Evidence
from inspection.sheet.head import Head, Piece
from inspection.sheet.nonconformance import Before, Disposition, Nonconformance
from inspection.sheet.people import Person
from inspection.sheet.review import Mark, PointAnswer, ReadAgain, Returned, StatementKind
from inspection.studies.conducted import StudyPlan, StudyReading


class Event(Struct, frozen=True, kw_only=True, tag=True):
    """The base of all events; the tag in the canonical form is the class name."""


class ShopOpened(Event, frozen=True, kw_only=True):
    """The book has its shop."""

    name: str


class PersonEntered(Event, frozen=True, kw_only=True):
    """A person, or a further issue of one."""

    person: Person


class InstrumentIssued(Event, frozen=True, kw_only=True):
    """One issue of an instrument record."""

    instrument: Instrument


class RulesIssued(Event, frozen=True, kw_only=True):
    """One issue of the shop's rules."""

    rules: Rules


class LayoutIssued(Event, frozen=True, kw_only=True):
    """One issue of a customer's layout."""

    layout: Layout


class CheckRecorded(Event, frozen=True, kw_only=True):
    """A check before or after use was made."""

    check: CheckRecord


class UpsetReported(Event, frozen=True, kw_only=True):
    """Something happened to an instrument."""

    upset: UpsetRecord


class StudyRecorded(Event, frozen=True, kw_only=True):
    """Parts were read again and again with an instrument."""

    study: StudyRecord


class StudyWithdrawn(Event, frozen=True, kw_only=True):
    """A study of an instrument is reckoned with no longer."""

    withdrawal: WithdrawalRecord


class GaugeStudyStarted(Event, frozen=True, kw_only=True):
    """A gauge study was planned."""

    study: StudyPlan


class StudyReadingTaken(Event, frozen=True, kw_only=True):
    """A reading of a gauge study is kept."""

    reading: StudyReading


class StudyReadingKept(Event, frozen=True, kw_only=True):
    """The question about a reading of a gauge study was answered: it stands as written."""

    reading: str


class GaugeStudyGivenUp(Event, frozen=True, kw_only=True):
    """A gauge study was given up."""

    reason: str


class PlanIssued(Event, frozen=True, kw_only=True):
    """One issue of a part's plan."""

    plan: Plan


class SheetMade(Event, frozen=True, kw_only=True):
    """A sheet on one issue of a plan."""

    sheet: str
    part_identity: str
    plan: str
    head: Head
    pieces: tuple[Piece, ...]
    rules: Rules
    only: tuple[str, ...] = ()  # a partial first article: the characteristics that it is about
    completes: str = ""
    amends: str = ""
    reason: str = ""


class CellJudged(Event, frozen=True, kw_only=True):
    """A cell's verdict as computed then."""

    characteristic: str
    piece: str
    judgement: Judgement


class ReadingsCarried(Event, frozen=True, kw_only=True):
    """What counted on another sheet counts on this one as well: carried by reference to its last ``seal`` (digest)."""

    sheet: str
    seal: str
    readings: tuple[Reading, ...]
    judged: tuple[CellJudged, ...]
    checks: tuple[CheckRecord, ...] = ()
    temperatures: tuple[TemperatureLog, ...] = ()


class RouteChosen(Event, frozen=True, kw_only=True):
    """Instruments of all rows and the order of the route."""

    assignments: tuple[Assignment, ...]
    stops: tuple[Stop, ...]


class InstrumentChosen(Event, frozen=True, kw_only=True):
    """Another instrument for one row."""

    assignment: Assignment
    stops: tuple[Stop, ...]


class RunChanged(Event, frozen=True, kw_only=True):
    """How the route runs over the pieces."""

    order: str


class DecisionRuleChosen(Event, frozen=True, kw_only=True):
    """The sheet is judged by this decision rule from now on."""

    decision: DecisionRule
    reason: str


class TemperatureLogged(Event, frozen=True, kw_only=True):
    """Temperatures that readings inherit."""

    log: TemperatureLog


class RepeatsDeclared(Event, frozen=True, kw_only=True):
    """The mean of a cell is to have so many readings at each place."""

    characteristic: str
    piece: str
    repeats: int


class ReadingTaken(Event, frozen=True, kw_only=True):
    """A reading is kept. ``checks`` are those that it rests on and that no reading of the sheet rested on before."""

    reading: Reading
    answers: str = ""
    checks: tuple[CheckRecord, ...] = ()


class ReadingsReopened(Event, frozen=True, kw_only=True):
    """An instrument failed its check: these readings, taken since it was last known to be good, count no longer."""

    check: CheckRecord
    readings: tuple[str, ...]


class QuestionAsked(Event, frozen=True, kw_only=True):
    """A slip question stands."""

    question: Question


class QuestionAnswered(Event, frozen=True, kw_only=True):
    """A slip question was answered: "kept", "new reading" (``reading``), "taken back" (with what it was asked about),
    or "left open": also again, when the reading it was asked about counts once more."""

    question: str
    answer: str
    reading: str = ""


class ReadingTakenBack(Event, frozen=True, kw_only=True):
    """A reading no longer counts; it stays legible. ``reason`` is what a person wrote, here as in every event."""

    reading: str
    reason: str
    replaced_by: str = ""  # the reading that counts in its stead, if there is one


class ReadingPutBack(Event, frozen=True, kw_only=True):
    """A reading counts again."""

    reading: str
    reason: str


class NoteWritten(Event, frozen=True, kw_only=True):
    """A note to a row."""

    characteristic: str
    piece: str
    text: str


class HeadWritten(Event, frozen=True, kw_only=True):
    """The sheet has this head from now on."""

    head: Head


class EvidenceEntered(Event, frozen=True, kw_only=True):
    """A material, special process or functional test as it stands from now on."""

    evidence: Evidence


class EvidenceStruck(Event, frozen=True, kw_only=True):
    """A material, special process or functional test no longer belongs to the sheet."""

    evidence: str
    reason: str


class PlanAdopted(Event, frozen=True, kw_only=True):
    """The sheet stands on another issue of its plan."""

    plan: str


class Signature(Struct, frozen=True):
    """A signature over canonical bytes: ECDSA on P-256 with SHA-256, DER in base64, and the signer's certificate
    as PEM."""

    algorithm: str
    value: str
    certificate: str


class SheetSealed(Event, frozen=True, kw_only=True):
    """The sheet was signed: its canonical content as text, that text's SHA-256 in hex, and the signature."""

    round: int
    content: str
    digest: str
    signature: Signature
    incomplete: str = ""  # why it was signed with rows still open


class NonconformanceRaised(Event, frozen=True, kw_only=True):
    """A nonconformance has its number."""

    nonconformance: Nonconformance


class NonconformanceDisposed(Event, frozen=True, kw_only=True):
    """It was decided what is done about a nonconformance."""

    nonconformance: Nonconformance


class PieceReworked(Event, frozen=True, kw_only=True):
    """A piece was worked on and is "reworked n" (``round``): what these rows had come to is put aside, and they are
    measured again."""

    piece: str
    round: int
    nonconformance: str
    before: tuple[Before, ...]


class PieceLeft(Event, frozen=True, kw_only=True):
    """A piece was scrapped or returned: nothing more is asked of it."""

    piece: str
    nonconformance: str
    disposition: Disposition


class PointAnswered(Event, frozen=True, kw_only=True):
    """A point of the lead's list was answered."""

    answer: PointAnswer


class SheetMarked(Event, frozen=True, kw_only=True):
    """The sheet was marked for review."""

    mark: Mark


class MarkAnswered(Event, frozen=True, kw_only=True):
    """A mark for review was answered: the mark as it stands from now on."""

    mark: Mark


class RowReadAgain(Event, frozen=True, kw_only=True):
    """A row was read again at review."""

    again: ReadAgain


class SheetReturned(Event, frozen=True, kw_only=True):
    """The sheet went back to the bench."""

    rows: tuple[Returned, ...]


class StatementSigned(Event, frozen=True, kw_only=True):
    """A statement was made of the sheet: its canonical content as text, that text's SHA-256 in hex, the signature."""

    kind: StatementKind
    round: int
    content: str
    digest: str
    signature: Signature


class SheetReopened(Event, frozen=True, kw_only=True):
    """A new round began."""

    round: int
    reason: str


class SheetSent(Event, frozen=True, kw_only=True):
    """A file was made of the sheet."""

    form: str
    name: str
    digest: str
    layout: str = ""
    layout_issue: int = 0
    files: tuple[Attached, ...] = ()


class DocumentKept(Event, frozen=True, kw_only=True):
    """The signed PDF of a round was kept after one more signature, or a time stamp in its last one."""

    round: int
    signs: str
    files: tuple[Attached, ...]
    stamped: bool = False


AnyEvent = (
    ShopOpened
    | PersonEntered
    | InstrumentIssued
    | RulesIssued
    | LayoutIssued
    | CheckRecorded
    | UpsetReported
    | StudyRecorded
    | StudyWithdrawn
    | GaugeStudyStarted
    | StudyReadingTaken
    | StudyReadingKept
    | GaugeStudyGivenUp
    | PlanIssued
    | SheetMade
    | ReadingsCarried
    | RouteChosen
    | InstrumentChosen
    | RunChanged
    | DecisionRuleChosen
    | TemperatureLogged
    | RepeatsDeclared
    | ReadingTaken
    | ReadingsReopened
    | CellJudged
    | QuestionAsked
    | QuestionAnswered
    | ReadingTakenBack
    | ReadingPutBack
    | NoteWritten
    | HeadWritten
    | EvidenceEntered
    | EvidenceStruck
    | PlanAdopted
    | SheetSealed
    | NonconformanceRaised
    | NonconformanceDisposed
    | PieceReworked
    | PieceLeft
    | PointAnswered
    | SheetMarked
    | MarkAnswered
    | RowReadAgain
    | SheetReturned
    | StatementSigned
    | SheetReopened
    | SheetSent
    | DocumentKept
)


class Entry(Struct, frozen=True, kw_only=True):
    """Who, when, where and on what an act was based.

    ``identity`` is the journal entry's UUID, from which every new identity of its events is derived; ``at`` is
    UTC microseconds, ``day`` the shop's calendar day then (ISO). ``based_on`` is the journal entry the person saw
    last, empty if it does not matter. ``previous`` is the digest at the head of the book's chain (hex).
    """

    identity: str
    person: str
    at: int
    day: str
    station: str = ""
    based_on: str = ""
    previous: str = ""
