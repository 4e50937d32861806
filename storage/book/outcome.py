"""What an act came to, once it is on disk."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from msgspec import Struct

from inspection.reasons import Reason
from inspection.sheet import events as ev
from inspection.sheet.events import Event
from inspection.sheet.state import Sheet, Shop


class Change(StrEnum):
    """A kind of thing that changed; views refresh by these."""

    SHOP = "shop"
    PEOPLE = "people"
    CRIB = "crib"
    CHECK = "check"
    STUDY = "study"
    RULES = "rules"
    LAYOUT = "layout"
    PLAN = "plan"
    SHEET = "sheet"
    ROUTE = "route"
    READING = "reading"
    VERDICT = "verdict"
    QUESTION = "question"
    NOTE = "note"
    HEAD = "head"
    EVIDENCE = "evidence"
    TEMPERATURE = "temperature"
    SEAL = "seal"
    NONCONFORMANCE = "nonconformance"
    REVIEW = "review"
    SENT = "sent"


_CHANGES: dict[type[Event], Change] = {
    ev.ShopOpened: Change.SHOP,
    ev.PersonEntered: Change.PEOPLE,
    ev.InstrumentIssued: Change.CRIB,
    ev.RulesIssued: Change.RULES,
    ev.LayoutIssued: Change.LAYOUT,
    ev.CheckRecorded: Change.CHECK,
    ev.UpsetReported: Change.CHECK,
    ev.StudyRecorded: Change.CHECK,
    ev.StudyWithdrawn: Change.CHECK,
    ev.GaugeStudyStarted: Change.STUDY,
    ev.StudyReadingTaken: Change.STUDY,
    ev.StudyReadingKept: Change.STUDY,
    ev.GaugeStudyGivenUp: Change.STUDY,
    ev.PlanIssued: Change.PLAN,
    ev.SheetMade: Change.SHEET,
    ev.PlanAdopted: Change.SHEET,
    ev.ReadingsCarried: Change.READING,
    ev.RouteChosen: Change.ROUTE,
    ev.InstrumentChosen: Change.ROUTE,
    ev.RunChanged: Change.ROUTE,
    ev.DecisionRuleChosen: Change.SHEET,
    ev.TemperatureLogged: Change.TEMPERATURE,
    ev.RepeatsDeclared: Change.READING,
    ev.ReadingTaken: Change.READING,
    ev.ReadingsReopened: Change.READING,
    ev.ReadingTakenBack: Change.READING,
    ev.ReadingPutBack: Change.READING,
    ev.CellJudged: Change.VERDICT,
    ev.QuestionAsked: Change.QUESTION,
    ev.QuestionAnswered: Change.QUESTION,
    ev.NoteWritten: Change.NOTE,
    ev.HeadWritten: Change.HEAD,
    ev.EvidenceEntered: Change.EVIDENCE,
    ev.EvidenceStruck: Change.EVIDENCE,
    ev.SheetSealed: Change.SEAL,
    ev.NonconformanceRaised: Change.NONCONFORMANCE,
    ev.NonconformanceDisposed: Change.NONCONFORMANCE,
    ev.PieceReworked: Change.NONCONFORMANCE,
    ev.PieceLeft: Change.NONCONFORMANCE,
    ev.PointAnswered: Change.REVIEW,
    ev.SheetMarked: Change.REVIEW,
    ev.MarkAnswered: Change.REVIEW,
    ev.RowReadAgain: Change.REVIEW,
    ev.SheetReturned: Change.REVIEW,
    ev.StatementSigned: Change.SEAL,
    ev.SheetReopened: Change.SEAL,
    ev.SheetSent: Change.SENT,
    ev.DocumentKept: Change.SENT,
}


class Outcome(Struct, frozen=True):
    """An act that is on disk: the journal entry's identity and place, what followed, and the state after it.

    ``stream`` is "shop", or the identity of the part, sheet or gauge study. ``notices`` say what the person should
    know though nothing was refused (another hand was at the same feature meanwhile). ``followed`` are the entries that
    this one brought with it on sheets: readings that a failed check re-opened, a route weighed anew.
    """

    entry: str
    sequence: int
    at: int
    stream: str
    events: tuple[Event, ...]
    changed: frozenset[Change]
    shop: Shop
    sheet: Sheet | None = None
    notices: tuple[Reason, ...] = ()
    followed: tuple[Outcome, ...] = ()


def changes(events: Iterable[Event]) -> frozenset[Change]:
    """The kinds of things that these events change."""
    return frozenset(_CHANGES[type(event)] for event in events)
