"""Every act: what a person may do to the shop, a plan or a sheet, with the name people read.

An act is a frozen value. Who, when, at which station and on what it was based travel beside it, in the entry.
``ACT_NAMES`` in the catalogue gives each the same words in menu, undo, journal and history.
"""

from __future__ import annotations

from msgspec import Struct

from inspection.attached import Attached
from inspection.drawing.plan import Plan
from inspection.instruments.method import Method
from inspection.instruments.record import Instrument
from inspection.instruments.rules import Rules
from inspection.layout.layout import Layout
from inspection.measuring.checks import Answer, Configuration
from inspection.measuring.checks_life import Upset
from inspection.measuring.guard import DecisionRule
from inspection.measuring.reading import Observed, Slot
from inspection.quantity.units import Quantity
from inspection.sheet.evidence import Evidence
from inspection.sheet.head import Head
from inspection.sheet.nonconformance import Disposition, Leave
from inspection.sheet.people import Person
from inspection.sheet.review import Returned, StatementKind
from inspection.studies.conducted import Specimen, StudyKind


class Act(Struct, frozen=True, kw_only=True, tag=True):
    """The base of all acts; the tag in the canonical form is the class name."""


# --- the shop -------------------------------------------------------------------------------------------------


class OpenShop(Act, frozen=True, kw_only=True):
    """Give a new book its shop. Only the first entry of a book may be this."""

    name: str
    first_person: Person


class EnterPerson(Act, frozen=True, kw_only=True):
    """Enter a person, or a further issue of one (a new certificate, other duties)."""

    person: Person


class IssueInstrument(Act, frozen=True, kw_only=True):
    """Enter an instrument or a further issue of its record; the issue number follows from the book."""

    instrument: Instrument


class IssueInstruments(Act, frozen=True, kw_only=True):
    """Enter several instruments at once, all or none."""

    instruments: tuple[Instrument, ...]


class IssueRules(Act, frozen=True, kw_only=True):
    """Issue the shop's rules."""

    rules: Rules


class IssueLayout(Act, frozen=True, kw_only=True):
    """Enter a customer's layout with the blank workbook that it is for, or a further issue of one; identity and issue
    number follow from the book."""

    layout: Layout


# --- proving the instruments ----------------------------------------------------------------------------------


class RecordCheck(Act, frozen=True, kw_only=True):
    """Record a check before use (``closing``: after it) of one issue of an instrument in one configuration; ``sheet``
    is the one it was made for, if any. A failed one re-opens what was read since the last good one."""

    instrument: str
    issue: int
    configuration: Configuration
    answers: tuple[Answer, ...]
    closing: bool = False
    sheet: str = ""


class RemoveForCause(Act, frozen=True, kw_only=True):
    """Take an instrument out of service because it can't be trusted, with the reason; what was read since it was last
    known to be good is re-opened."""

    instrument: str
    reason: str


class ReportUpset(Act, frozen=True, kw_only=True):
    """Report what happened to an instrument: its checks end."""

    instrument: str
    what: Upset
    note: str = ""


class RecordStudy(Act, frozen=True, kw_only=True):
    """Record repeated readings of parts with an instrument (counts), each group of one place, as its repeatability."""

    instrument: str
    configuration: Configuration
    groups: tuple[tuple[int, ...], ...]
    note: str = ""


class TakeStudyIntoUse(Act, frozen=True, kw_only=True):
    """Take what a gauge study showed as how the instrument reads on parts: its repeatability, and with ``people`` also
    what differs between them. ``study`` is the gauge study."""

    study: str
    people: bool = False


class WithdrawStudy(Act, frozen=True, kw_only=True):
    """Reckon no longer with a study of an instrument, recorded by itself or taken into use, with the reason. ``study``
    is the record's identity."""

    study: str
    reason: str


# --- a gauge study --------------------------------------------------------------------------------------------


class StartGaugeStudy(Act, frozen=True, kw_only=True):
    """Plan a gauge study: an instrument as fitted, who reads (identities), what, how often. ``band`` T (counts) is what
    it is held against, 0 for none; ``part``, ``characteristic`` and ``number`` say of what row, if of one."""

    kind: StudyKind
    title: str
    instrument: str
    configuration: Configuration
    people: tuple[str, ...]
    specimens: tuple[Specimen, ...]
    trials: int
    band: int = 0
    part: str = ""
    characteristic: str = ""
    number: str = ""


class OnStudy(Act, frozen=True, kw_only=True):
    """The base of acts on one gauge study."""

    study: str


class TakeStudyReading(OnStudy, frozen=True, kw_only=True):
    """Keep a reading of a run as typed: a ``quantity``, or what entered (``observed``) of a go/no-go gauge. With
    ``replaces`` it corrects that reading (``reason`` says why); with ``answers`` it is the new reading that a question
    asked for."""

    run: int
    quantity: Quantity | None = None
    observed: str = ""
    replaces: str = ""
    reason: str = ""
    answers: str = ""


class KeepStudyReading(OnStudy, frozen=True, kw_only=True):
    """Answer the question about a reading of a study: it stands as written."""

    reading: str


class GiveUpStudy(OnStudy, frozen=True, kw_only=True):
    """Give up a study that is not complete, with the reason; what was read stays on record."""

    reason: str


# --- a part's plan --------------------------------------------------------------------------------------------


class IssuePlan(Act, frozen=True, kw_only=True):
    """Issue a part's plan: the first, or a further one of the same part.

    ``plan.identity`` and ``plan.issue`` are given by the book. A characteristic with an empty identity is new and
    gets its permanent one; ``plan.part_identity`` empty means a new part.
    """

    plan: Plan


# --- a sheet --------------------------------------------------------------------------------------------------


class MakeSheet(Act, frozen=True, kw_only=True):
    """Begin a sheet on one issue of a plan, for pieces by serial; instruments and route are chosen at once.

    ``completes`` names a sheet whose first article is not complete: this is then a partial first article of the same
    part, on the rows that it owes and on the ``rows`` (characteristics) named besides."""

    plan: str
    serials: tuple[str, ...]
    head: Head = Head()
    completes: str = ""
    rows: tuple[str, ...] = ()


class AmendSheet(Act, frozen=True, kw_only=True):
    """Begin a sheet that stands in place of an approved one, with all that was read on it, and the reason."""

    amended: str
    reason: str


class OnSheet(Act, frozen=True, kw_only=True):
    """The base of acts on one sheet."""

    sheet: str


class ChooseRoute(OnSheet, frozen=True, kw_only=True):
    """Choose instruments and route afresh from the crib as it stands; rows chosen by hand keep their choice."""


class ChooseInstrument(OnSheet, frozen=True, kw_only=True):
    """Take another instrument for a row, with a reason."""

    characteristic: str
    method: Method
    reason: str


class RunBy(OnSheet, frozen=True, kw_only=True):
    """Let the route run "all features of a piece" or "this feature on every piece"."""

    order: str  # "piece" or "feature"


class ChooseDecisionRule(OnSheet, frozen=True, kw_only=True):
    """Judge the sheet by another decision rule, with the reason: what customer and shop agreed."""

    decision: DecisionRule
    reason: str


class LogTemperature(OnSheet, frozen=True, kw_only=True):
    """Log the temperatures of part and instrument (thousandths of a degree Celsius) by a thermometer known within
    ± ``within``; readings taken from now on inherit them until they are stale."""

    part: int
    instrument: int
    thermometer: str
    within: int = 0  # 0: what the thermometer's record says
    soak_minutes: int = 0
    written: tuple[str, ...] = ()
    note: str = ""


class DeclareRepeats(OnSheet, frozen=True, kw_only=True):
    """Set, before they are taken, how many readings the mean of a cell in doubt is to have, the first one included."""

    characteristic: str
    piece: str
    repeats: int


class ReopenReadings(OnSheet, frozen=True, kw_only=True):
    """Re-open what was read on the sheet with an instrument since it was last known to be good; ``check`` is the
    failed check. It follows from recording that check."""

    check: str


class Reweigh(OnSheet, frozen=True, kw_only=True):
    """Choose instruments and route afresh because an instrument was checked; it follows from recording the check."""


class TakeReading(OnSheet, frozen=True, kw_only=True):
    """Keep a reading as typed. With ``replaces`` it corrects that reading (``reason`` says why); with ``answers``
    it is the new reading that a slip question asked for. ``taken`` is UTC microseconds and ``day`` the shop's day
    where a file tells them, else the entry's own."""

    characteristic: str
    piece: str
    slot: Slot
    quantity: Quantity | None = None
    observed: Observed | None = None
    method: Method | None = None  # None: the row's method
    replaces: str = ""
    reason: str = ""
    answers: str = ""
    taken: int | None = None
    day: str = ""
    configuration: Configuration | None = None  # None: as the instrument was last checked by this person


class KeepAsWritten(OnSheet, frozen=True, kw_only=True):
    """Answer a slip question: the reading stands as written."""

    question: str


class LeaveOpen(OnSheet, frozen=True, kw_only=True):
    """Answer a slip question later: the row stays questioned and open to a further answer."""

    question: str


class TakeBack(OnSheet, frozen=True, kw_only=True):
    """Take a reading back. For one's own last entry no reason is asked, else ``reason`` must say why."""

    reading: str
    reason: str = ""


class PutBack(OnSheet, frozen=True, kw_only=True):
    """Put a reading back that was taken back."""

    reading: str
    reason: str = ""


class WriteNote(OnSheet, frozen=True, kw_only=True):
    """Write a note to a row, on one piece or (piece empty) on all."""

    characteristic: str
    text: str
    piece: str = ""


class WriteHead(OnSheet, frozen=True, kw_only=True):
    """Write the sheet's head anew: order, supplier code, process, reason for the first article …"""

    head: Head


class EnterEvidence(OnSheet, frozen=True, kw_only=True):
    """Enter a material, special process or functional test, or write one of this identity anew."""

    evidence: Evidence


class StrikeEvidence(OnSheet, frozen=True, kw_only=True):
    """Strike a material, special process or functional test off the sheet, with a reason."""

    evidence: str
    reason: str


class AdoptPlan(OnSheet, frozen=True, kw_only=True):
    """Move an unsealed sheet to another issue of its part's plan.

    ``accepted`` names the characteristics whose verdicts would change; the act is refused, listing them, unless
    they are exactly the ones accepted.
    """

    plan: str
    accepted: tuple[str, ...] = ()


class SignSheet(OnSheet, frozen=True, kw_only=True):
    """Sign the sheet as it stands; it is sealed from then on. With rows still open ``incomplete`` must say why."""

    incomplete: str = ""


class RaiseNonconformance(OnSheet, frozen=True, kw_only=True):
    """Give rows of a piece that do not conform, or are in doubt, the shop's nonconformance number."""

    piece: str
    characteristics: tuple[str, ...]
    number: str
    what: str


class DisposeNonconformance(OnSheet, frozen=True, kw_only=True):
    """Decide what is done about a nonconformance. ``affected`` are further rows to be measured again after rework or
    repair; ``leave`` is the customer's, asked for by repair and use as is."""

    nonconformance: str
    disposition: Disposition
    words: str
    affected: tuple[str, ...] = ()
    leave: Leave | None = None


class AnswerPoint(OnSheet, frozen=True, kw_only=True):
    """Answer one point of the lead's list, called by its key."""

    point: str
    words: str


class MarkForReview(OnSheet, frozen=True, kw_only=True):
    """Mark a sheet for review, sealed or not, because an instrument was found out by an ``error`` (counts) at a
    ``size`` (None: at every size): ``readings`` taken with it after ``since`` (UTC microseconds) are looked at."""

    instrument: str
    error: int
    size: int | None
    since: int
    readings: tuple[str, ...]
    words: str


class AnswerMark(OnSheet, frozen=True, kw_only=True):
    """Answer a mark for review with words: what was read again, who was told, why the result stands."""

    mark: str
    words: str


class ReadRowAgain(OnSheet, frozen=True, kw_only=True):
    """Read a row again at review, without seeing what had been read; compared, never counted."""

    characteristic: str
    piece: str
    slot: Slot
    quantity: Quantity | None = None
    observed: Observed | None = None
    method: Method | None = None  # None: the row's method


class ReturnSheet(OnSheet, frozen=True, kw_only=True):
    """Return a signed sheet to the bench with words to its rows; a new round begins."""

    rows: tuple[Returned, ...]


class MakeStatement(OnSheet, frozen=True, kw_only=True):
    """Make and sign one statement of a signed sheet. A release says within what (``words``)."""

    kind: StatementKind
    words: str = ""


class Reopen(OnSheet, frozen=True, kw_only=True):
    """Begin a new round on a sealed sheet; the old seal stays."""

    reason: str


class RecordSent(OnSheet, frozen=True, kw_only=True):
    """Record that a file was made of the sheet: its format, name and SHA-256 in hex. ``layout`` and ``layout_issue``
    are the customer's that it was laid out by; ``files`` those that a package holds, which are kept so that it can go
    out again."""

    form: str
    name: str
    digest: str
    layout: str = ""
    layout_issue: int = 0
    files: tuple[Attached, ...] = ()


class KeepDocument(OnSheet, frozen=True, kw_only=True):
    """Keep the sheet's signed PDF after one more signature: ``signs`` is the digest of the seal or statement that it
    states, ``files`` the PDF's bytes in parts, each signature's appended to those before. ``stamped`` says that the
    last part took a time stamp in, and is no further signature."""

    signs: str
    files: tuple[Attached, ...]
    stamped: bool = False


AnyAct = (
    OpenShop
    | EnterPerson
    | IssueInstrument
    | IssueInstruments
    | IssueRules
    | IssueLayout
    | RecordCheck
    | RemoveForCause
    | ReportUpset
    | RecordStudy
    | TakeStudyIntoUse
    | WithdrawStudy
    | StartGaugeStudy
    | TakeStudyReading
    | KeepStudyReading
    | GiveUpStudy
    | IssuePlan
    | MakeSheet
    | AmendSheet
    | ChooseRoute
    | ChooseInstrument
    | RunBy
    | ChooseDecisionRule
    | LogTemperature
    | DeclareRepeats
    | ReopenReadings
    | Reweigh
    | TakeReading
    | KeepAsWritten
    | LeaveOpen
    | TakeBack
    | PutBack
    | WriteNote
    | WriteHead
    | EnterEvidence
    | StrikeEvidence
    | AdoptPlan
    | SignSheet
    | RaiseNonconformance
    | DisposeNonconformance
    | AnswerPoint
    | MarkForReview
    | AnswerMark
    | ReadRowAgain
    | ReturnSheet
    | MakeStatement
    | Reopen
    | RecordSent
    | KeepDocument
)
