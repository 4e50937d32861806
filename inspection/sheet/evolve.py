"""Folding: what events make of the shop and of a sheet. Values in, new values out.

One entry at a bench changes one cell of a sheet that may hold thousands, and opening a book folds thousands of
entries at once. So a fold works on a draft that copies a mapping the first time it is written to, and hands out
frozen values only at the end: entry costs one shallow copy, opening costs none.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from msgspec.structs import replace

from inspection.drawing.plan import Plan
from inspection.measuring.proofs import Proof, kept
from inspection.sheet import events as ev
from inspection.sheet.events import Entry, Event
from inspection.sheet.review import Return
from inspection.sheet.state import Cell, Document, Note, Rows, Seal, Sent, Sheet, Shop, Statement, Withdrawal
from inspection.studies.conducted import Conducted, Ended

Step = tuple[Event, Entry]


def fold_shop(shop: Shop, steps: Iterable[Step]) -> Shop:
    """The shop after these events; events that are not the shop's change nothing."""
    people, crib, issues = dict(shop.people), dict(shop.crib), dict(shop.issues)
    name, rules, layouts = shop.name, shop.rules, dict(shop.layouts)
    proofs: list[Proof] = []
    for event, _ in steps:
        match event:
            case ev.ShopOpened():
                name = event.name
            case ev.PersonEntered(person=person):
                people[person.identity] = person
            case ev.InstrumentIssued(instrument=instrument):
                crib[instrument.identity] = instrument
                issues[instrument.identity, instrument.issue] = instrument
            case ev.RulesIssued():
                rules = event.rules
            case ev.LayoutIssued(layout=layout):
                layouts[layout.identity] = layout
            case ev.CheckRecorded(check=proof) | ev.UpsetReported(upset=proof) | ev.StudyRecorded(study=proof):
                proofs.append(proof)
            case ev.StudyWithdrawn(withdrawal=withdrawal):
                proofs.append(withdrawal)
    return Shop(name, people, crib, issues, rules, _proofs(shop.proofs, proofs), layouts, shop.used_up)


def _proofs(held: tuple[Proof, ...], new: list[Proof]) -> tuple[Proof, ...]:
    """With what is new, in the order of time: a removal for cause lies in another stream than the checks."""
    return kept(sorted((*held, *new), key=lambda each: each.at)) if new else held


def fold_sheet(sheet: Sheet | None, steps: Iterable[Step], plans: Mapping[str, Plan]) -> Sheet:
    """The sheet after these events; ``plans`` finds plan issues by identity.

    Raises ValueError if a sheet does not begin with SheetMade, KeyError for a plan issue that is not given.
    """
    return SheetFold(sheet).on(steps, plans)


class SheetFold:
    """A sheet folded entry by entry, for one who looks at each state only until the next: nothing is copied between
    them, so that a sheet of thousands of rows costs no more an entry than a small one."""

    def __init__(self, sheet: Sheet | None = None) -> None:
        self._draft = _Draft(sheet) if sheet else None

    def on(self, steps: Iterable[Step], plans: Mapping[str, Plan]) -> Sheet:
        """The sheet after these events too; what was handed out before holds no longer. Raises as ``fold_sheet``."""
        for event, entry in steps:
            if isinstance(event, ev.SheetMade):
                self._draft = _Draft(_begin(event, entry, plans[event.plan]))
                continue
            draft = self._draft
            if draft is None:
                raise ValueError("a sheet begins with SheetMade")
            if isinstance(event, ev.PlanAdopted):
                draft.values["plan"] = plans[event.plan]
                draft.values["rows"] = Rows.of(plans[event.plan])
            elif fold := _FOLDS.get(type(event)):
                fold(draft, event, entry)
            draft.values["last_entry"] = entry.identity
        if self._draft is None:
            raise ValueError("a sheet begins with SheetMade")
        return self._draft.frozen()


def fold_study(study: Conducted | None, steps: Iterable[Step]) -> Conducted:
    """A gauge study after these events. Raises ValueError if it does not begin with GaugeStudyStarted."""
    for event, entry in steps:
        if isinstance(event, ev.GaugeStudyStarted):
            study = Conducted(event.study)
        elif study is None:
            break
        elif isinstance(event, ev.StudyReadingTaken):
            study = study.with_reading(event.reading)
        elif isinstance(event, ev.StudyReadingKept):
            study = study.with_answer(event.reading)
        elif isinstance(event, ev.GaugeStudyGivenUp):
            study = replace(study, ended=Ended(entry.person, entry.at, event.reason))
    if study is None:
        raise ValueError("a gauge study begins with GaugeStudyStarted")
    return study


def _begin(event: ev.SheetMade, entry: Entry, plan: Plan) -> Sheet:
    return Sheet(
        identity=event.sheet,
        plan=plan,
        head=event.head,
        pieces=event.pieces,
        rules=event.rules,
        made_by=entry.person,
        made_at=entry.at,
        last_entry=entry.identity,
        rows=Rows.of(plan),
        only=frozenset(event.only),
        completes=event.completes,
        amends=event.amends,
        amend_reason=event.reason,
    )


class _Draft:
    """A sheet being folded: plain values, and mappings copied before the first write."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.values: dict[str, Any] = {}

    def own(self, name: str) -> dict[Any, Any]:
        """The draft's own copy of one of the sheet's mappings."""
        if name not in self.values:
            self.values[name] = dict(getattr(self.sheet, name))
        own: dict[Any, Any] = self.values[name]
        return own

    def now(self, name: str) -> Any:
        """A field as the draft stands."""
        return self.values.get(name, getattr(self.sheet, name))

    def frozen(self) -> Sheet:
        return replace(self.sheet, **self.values)

    def cell_of(self, reading: str) -> Cell:
        kept = self.now("readings")[reading]
        return kept.characteristic, kept.piece


def _route(draft: _Draft, event: ev.RouteChosen, entry: Entry) -> None:
    draft.values["assignments"] = {a.characteristic: a for a in event.assignments}
    draft.values["stops"] = event.stops


def _instrument(draft: _Draft, event: ev.InstrumentChosen, entry: Entry) -> None:
    draft.own("assignments")[event.assignment.characteristic] = event.assignment
    draft.values["stops"] = event.stops


def _run(draft: _Draft, event: ev.RunChanged, entry: Entry) -> None:
    draft.values["order"] = event.order


def _taken(draft: _Draft, event: ev.ReadingTaken, entry: Entry) -> None:
    reading = event.reading
    cell = (reading.characteristic, reading.piece)
    draft.own("readings")[reading.identity] = reading
    standing = draft.own("standing")
    counting = tuple(name for name in standing.get(cell, ()) if name != reading.replaces)
    standing[cell] = (*counting, reading.identity)
    if event.checks:
        draft.own("checks").update((check.made.identity, check) for check in event.checks)
    if reading.replaces:
        why = Withdrawal(entry.person, entry.at, reading.reason, replaced_by=reading.identity)
        draft.own("withdrawn")[reading.replaces] = why


def _reopened_readings(draft: _Draft, event: ev.ReadingsReopened, entry: Entry) -> None:
    check = event.check.made.identity
    draft.own("checks")[check] = event.check
    draft.own("suspect" if draft.now("sealed") else "reopened").update(dict.fromkeys(event.readings, check))


def _decided_by(draft: _Draft, event: ev.DecisionRuleChosen, entry: Entry) -> None:
    draft.values["rules"] = replace(draft.now("rules"), decision=event.decision)
    draft.values["decision_reason"] = event.reason


def _logged(draft: _Draft, event: ev.TemperatureLogged, entry: Entry) -> None:
    draft.values["temperatures"] = (*draft.now("temperatures"), event.log)


def _repeats(draft: _Draft, event: ev.RepeatsDeclared, entry: Entry) -> None:
    draft.own("repeats")[event.characteristic, event.piece] = event.repeats


def _carried(draft: _Draft, event: ev.ReadingsCarried, entry: Entry) -> None:
    readings, standing = draft.own("readings"), draft.own("standing")
    for reading in event.readings:
        cell = (reading.characteristic, reading.piece)
        readings[reading.identity] = reading
        standing[cell] = (*standing.get(cell, ()), reading.identity)
    for each in event.judged:
        draft.own("judgements")[each.characteristic, each.piece] = each.judgement
    draft.own("checks").update((check.made.identity, check) for check in event.checks)
    draft.values["temperatures"] = event.temperatures
    draft.values["amends_seal"] = event.seal
    draft.values["under_seal"] = frozenset(reading.identity for reading in event.readings)


def _judged(draft: _Draft, event: ev.CellJudged, entry: Entry) -> None:
    draft.own("judgements")[event.characteristic, event.piece] = event.judgement


def _asked(draft: _Draft, event: ev.QuestionAsked, entry: Entry) -> None:
    draft.own("questions")[event.question.identity] = event.question


def _answered(draft: _Draft, event: ev.QuestionAnswered, entry: Entry) -> None:
    draft.own("answers")[event.question] = event


def _taken_back(draft: _Draft, event: ev.ReadingTakenBack, entry: Entry) -> None:
    cell = draft.cell_of(event.reading)
    standing = draft.own("standing")
    standing[cell] = tuple(name for name in standing.get(cell, ()) if name != event.reading)
    why = Withdrawal(entry.person, entry.at, event.reason, replaced_by=event.replaced_by)
    draft.own("withdrawn")[event.reading] = why


def _put_back(draft: _Draft, event: ev.ReadingPutBack, entry: Entry) -> None:
    cell = draft.cell_of(event.reading)
    standing = draft.own("standing")
    counting = {*standing.get(cell, ()), event.reading}
    in_order = {name: place for place, name in enumerate(draft.now("readings"))}
    standing[cell] = tuple(sorted(counting, key=in_order.__getitem__))
    draft.own("withdrawn").pop(event.reading, None)


def _noted(draft: _Draft, event: ev.NoteWritten, entry: Entry) -> None:
    note = Note(event.characteristic, event.piece, event.text, entry.person, entry.at)
    draft.values["notes"] = (*draft.now("notes"), note)


def _headed(draft: _Draft, event: ev.HeadWritten, entry: Entry) -> None:
    draft.values["head"] = event.head


def _evidence(draft: _Draft, event: ev.EvidenceEntered, entry: Entry) -> None:
    draft.own("evidence")[event.evidence.identity] = event.evidence


def _struck(draft: _Draft, event: ev.EvidenceStruck, entry: Entry) -> None:
    draft.own("evidence").pop(event.evidence, None)


def _nonconformance(draft: _Draft, event: Any, entry: Entry) -> None:
    draft.own("nonconformances")[event.nonconformance.identity] = event.nonconformance


def _reworked(draft: _Draft, event: ev.PieceReworked, entry: Entry) -> None:
    draft.own("reworked")[event.piece] = event.round
    standing, judgements, before = draft.own("standing"), draft.own("judgements"), draft.own("before")
    for held in event.before:
        cell = (held.characteristic, event.piece)
        before[cell] = (*before.get(cell, ()), held)
        standing.pop(cell, None)
        judgements.pop(cell, None)


def _left(draft: _Draft, event: ev.PieceLeft, entry: Entry) -> None:
    draft.own("left")[event.piece] = event.disposition


def _point(draft: _Draft, event: ev.PointAnswered, entry: Entry) -> None:
    draft.own("point_answers")[event.answer.point] = event.answer


def _marked(draft: _Draft, event: ev.SheetMarked | ev.MarkAnswered, entry: Entry) -> None:
    draft.own("marks")[event.mark.identity] = event.mark


def _read_again(draft: _Draft, event: ev.RowReadAgain, entry: Entry) -> None:
    draft.values["read_again"] = (*draft.now("read_again"), event.again)


def _returned(draft: _Draft, event: ev.SheetReturned, entry: Entry) -> None:
    back = Return(draft.now("round"), event.rows, entry.person, entry.at)
    draft.values["returns"] = (*draft.now("returns"), back)


def _stated(draft: _Draft, event: ev.StatementSigned, entry: Entry) -> None:
    made = Statement(event.kind, event.round, entry.person, entry.at, event.content, event.digest, event.signature)
    draft.values["statements"] = (*draft.now("statements"), made)


def _sealed(draft: _Draft, event: ev.SheetSealed, entry: Entry) -> None:
    seal = Seal(
        event.round, entry.person, entry.at, event.content, event.digest, event.signature, incomplete=event.incomplete
    )
    draft.values["seals"] = (*draft.now("seals"), seal)
    draft.values["sealed"] = True
    draft.values["under_seal"] = frozenset(draft.now("readings"))


def _reopened(draft: _Draft, event: ev.SheetReopened, entry: Entry) -> None:
    draft.values["sealed"] = False
    draft.values["round"] = event.round
    if suspect := draft.now("suspect"):
        draft.own("reopened").update(suspect)
        draft.values["suspect"] = {}


def _sent(draft: _Draft, event: ev.SheetSent, entry: Entry) -> None:
    sent = Sent(
        event.form, event.name, event.digest, entry.person, entry.at, event.layout, event.layout_issue, event.files
    )
    draft.values["sent"] = (*draft.now("sent"), sent)


def _kept(draft: _Draft, event: ev.DocumentKept, entry: Entry) -> None:
    documents = draft.own("documents")
    before = documents[event.round].signed if event.round in documents else ()
    signed = before if event.stamped else (*before, event.signs)
    documents[event.round] = Document(event.round, signed, event.files, entry.person, entry.at)


_FOLDS: dict[type[Event], Callable[[_Draft, Any, Entry], None]] = {
    ev.RouteChosen: _route,
    ev.InstrumentChosen: _instrument,
    ev.RunChanged: _run,
    ev.ReadingsCarried: _carried,
    ev.DecisionRuleChosen: _decided_by,
    ev.TemperatureLogged: _logged,
    ev.RepeatsDeclared: _repeats,
    ev.ReadingTaken: _taken,
    ev.ReadingsReopened: _reopened_readings,
    ev.CellJudged: _judged,
    ev.QuestionAsked: _asked,
    ev.QuestionAnswered: _answered,
    ev.ReadingTakenBack: _taken_back,
    ev.ReadingPutBack: _put_back,
    ev.NoteWritten: _noted,
    ev.HeadWritten: _headed,
    ev.EvidenceEntered: _evidence,
    ev.EvidenceStruck: _struck,
    ev.NonconformanceRaised: _nonconformance,
    ev.NonconformanceDisposed: _nonconformance,
    ev.PieceReworked: _reworked,
    ev.PieceLeft: _left,
    ev.PointAnswered: _point,
    ev.SheetMarked: _marked,
    ev.MarkAnswered: _marked,
    ev.RowReadAgain: _read_again,
    ev.SheetReturned: _returned,
    ev.StatementSigned: _stated,
    ev.SheetSealed: _sealed,
    ev.SheetReopened: _reopened,
    ev.SheetSent: _sent,
    ev.DocumentKept: _kept,
}
