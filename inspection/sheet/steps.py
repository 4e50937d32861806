"""Who may do what, and when in a sheet's life: one table."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.people import Duty, Person
from inspection.sheet.state import Sheet, Shop, Stage

EVERYBODY = frozenset(Duty)
MEASURING = frozenset({Duty.INSPECTOR, Duty.LEAD})
PLANNING = frozenset({Duty.INSPECTOR, Duty.LEAD, Duty.OFFICE})
KEEPING = frozenset({Duty.KEEPER, Duty.LEAD})
SENDING = frozenset({Duty.OFFICE, Duty.KEEPER})


_OPEN = frozenset({Stage.OPEN})
_SIGNED = frozenset({Stage.SIGNED})
_APPROVED = frozenset({Stage.APPROVED})
LEADING = frozenset({Duty.LEAD})


class Step(Struct, frozen=True):
    """The duties of which one is needed, and the stages at which it may be done; None: at any, or on no sheet."""

    duties: frozenset[Duty]
    stages: frozenset[Stage] | None = None

    @property
    def duties_code(self) -> str:
        """The catalogue's code for who may do it."""
        return "duties." + "_".join(duty.name.lower() for duty in Duty if duty in self.duties)


STEPS: dict[type[acts.Act], Step] = {
    acts.EnterPerson: Step(KEEPING),
    acts.IssueInstrument: Step(KEEPING | MEASURING),
    acts.IssueInstruments: Step(KEEPING | MEASURING),
    acts.IssueRules: Step(KEEPING),
    acts.IssueLayout: Step(SENDING),
    acts.RecordCheck: Step(MEASURING),
    acts.RemoveForCause: Step(KEEPING | MEASURING),
    acts.ReportUpset: Step(EVERYBODY),
    acts.RecordStudy: Step(MEASURING),
    acts.TakeStudyIntoUse: Step(LEADING),
    acts.WithdrawStudy: Step(LEADING),
    acts.StartGaugeStudy: Step(MEASURING),
    acts.TakeStudyReading: Step(MEASURING),
    acts.KeepStudyReading: Step(MEASURING),
    acts.GiveUpStudy: Step(MEASURING),
    acts.IssuePlan: Step(PLANNING),
    acts.MakeSheet: Step(PLANNING),
    acts.AmendSheet: Step(LEADING),
    acts.ChooseRoute: Step(MEASURING, _OPEN),
    acts.ChooseInstrument: Step(MEASURING, _OPEN),
    acts.RunBy: Step(MEASURING, _OPEN),
    acts.ChooseDecisionRule: Step(KEEPING, _OPEN),
    acts.LogTemperature: Step(MEASURING, _OPEN),
    acts.DeclareRepeats: Step(MEASURING, _OPEN),
    acts.ReopenReadings: Step(MEASURING),
    acts.Reweigh: Step(MEASURING),
    acts.TakeReading: Step(MEASURING, _OPEN),
    acts.KeepAsWritten: Step(MEASURING, _OPEN),
    acts.LeaveOpen: Step(MEASURING, _OPEN),
    acts.TakeBack: Step(MEASURING, _OPEN),
    acts.PutBack: Step(MEASURING, _OPEN),
    acts.WriteNote: Step(EVERYBODY, _OPEN),
    acts.WriteHead: Step(PLANNING, _OPEN),
    acts.EnterEvidence: Step(PLANNING, _OPEN),
    acts.StrikeEvidence: Step(PLANNING, _OPEN),
    acts.AdoptPlan: Step(PLANNING, _OPEN),
    acts.SignSheet: Step(MEASURING, _OPEN),
    acts.Reopen: Step(MEASURING, _SIGNED),
    acts.RaiseNonconformance: Step(MEASURING, _OPEN | _SIGNED),
    acts.DisposeNonconformance: Step(LEADING, _OPEN | _SIGNED),
    acts.AnswerPoint: Step(LEADING, _SIGNED),
    acts.MarkForReview: Step(LEADING),
    acts.AnswerMark: Step(LEADING),
    acts.ReadRowAgain: Step(LEADING, _SIGNED),
    acts.ReturnSheet: Step(LEADING, _SIGNED),
    acts.MakeStatement: Step(LEADING, _SIGNED | _APPROVED),
    acts.RecordSent: Step(EVERYBODY),
    acts.KeepDocument: Step(MEASURING, _SIGNED | _APPROVED),
}


def require(shop: Shop, sheet: Sheet | None, act: acts.Act, person: str) -> None:
    """Raise Refused unless this person may do this act now; OpenShop is judged by itself."""
    against = not_now(shop, sheet, type(act), person)
    if against is not None and not _locks_own_key(shop.people.get(person), act):
        raise Refused(against)


def not_now(shop: Shop, sheet: Sheet | None, kind: type[acts.Act], person: str) -> Reason | None:
    """Why this person may not do acts of this kind now, on this sheet or on none; None if they may."""
    name = f"act.{kind.__name__}"
    who = shop.people.get(person)
    if who is None:
        return Reason("life.nobody", {"act": name})
    step = STEPS[kind]
    if not step.duties.intersection(who.duties):
        return Reason("life.duty", {"person": who.name, "act": name, "duties": step.duties_code})
    if sheet is None or step.stages is None or sheet.stage in step.stages:
        return None
    return Reason(_OTHERWISE[sheet.stage], {"act": name})


def _locks_own_key(who: Person | None, act: acts.Act) -> bool:
    """Whether all that an act changes is the passphrase of one's own key, which is nobody else's business."""
    if who is None or not isinstance(act, acts.EnterPerson):
        return False
    return act.person != who and replace(act.person, locked_key=who.locked_key) == who


#: What is said of an act that is for another stage, by the stage at which the sheet is.
_OTHERWISE = {Stage.OPEN: "life.not_sealed", Stage.SIGNED: "life.sealed", Stage.APPROVED: "life.approved"}
