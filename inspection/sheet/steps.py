"""Who may do what, and when in a sheet's life: one table."""

from __future__ import annotations

from msgspec import Struct

from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.people import Duty
from inspection.sheet.state import Sheet, Shop

EVERYBODY = frozenset(Duty)
MEASURING = frozenset({Duty.INSPECTOR, Duty.LEAD})
PLANNING = frozenset({Duty.INSPECTOR, Duty.LEAD, Duty.OFFICE})
KEEPING = frozenset({Duty.KEEPER, Duty.LEAD})


class Step(Struct, frozen=True):
    """The duties of which one is needed, and whether the sheet must be open (True), sealed (False) or either."""

    duties: frozenset[Duty]
    while_open: bool | None = None

    @property
    def duties_code(self) -> str:
        """The catalogue's code for who may do it."""
        return "duties." + "_".join(duty.name.lower() for duty in Duty if duty in self.duties)


STEPS: dict[type[acts.Act], Step] = {
    acts.EnterPerson: Step(KEEPING),
    acts.IssueInstrument: Step(KEEPING | MEASURING),
    acts.IssueInstruments: Step(KEEPING | MEASURING),
    acts.IssueRules: Step(KEEPING),
    acts.RecordCheck: Step(MEASURING),
    acts.RemoveForCause: Step(KEEPING | MEASURING),
    acts.ReportUpset: Step(EVERYBODY),
    acts.RecordStudy: Step(MEASURING),
    acts.IssuePlan: Step(PLANNING),
    acts.MakeSheet: Step(PLANNING),
    acts.ChooseRoute: Step(MEASURING, while_open=True),
    acts.ChooseInstrument: Step(MEASURING, while_open=True),
    acts.RunBy: Step(MEASURING, while_open=True),
    acts.ChooseDecisionRule: Step(KEEPING, while_open=True),
    acts.LogTemperature: Step(MEASURING, while_open=True),
    acts.DeclareRepeats: Step(MEASURING, while_open=True),
    acts.ReopenReadings: Step(MEASURING),
    acts.Reweigh: Step(MEASURING),
    acts.TakeReading: Step(MEASURING, while_open=True),
    acts.KeepAsWritten: Step(MEASURING, while_open=True),
    acts.LeaveOpen: Step(MEASURING, while_open=True),
    acts.TakeBack: Step(MEASURING, while_open=True),
    acts.PutBack: Step(MEASURING, while_open=True),
    acts.WriteNote: Step(EVERYBODY, while_open=True),
    acts.WriteHead: Step(PLANNING, while_open=True),
    acts.EnterEvidence: Step(PLANNING, while_open=True),
    acts.StrikeEvidence: Step(PLANNING, while_open=True),
    acts.AdoptPlan: Step(PLANNING, while_open=True),
    acts.SignSheet: Step(MEASURING, while_open=True),
    acts.Reopen: Step(MEASURING, while_open=False),
    acts.RecordSent: Step(EVERYBODY),
}


def require(shop: Shop, sheet: Sheet | None, act: acts.Act, person: str) -> None:
    """Raise Refused unless this person may do this act now; OpenShop is judged by itself."""
    name = f"act.{type(act).__name__}"
    who = shop.people.get(person)
    if who is None:
        raise Refused(Reason("life.nobody", {"act": name}))
    step = STEPS[type(act)]
    if not step.duties.intersection(who.duties):
        raise Refused(Reason("life.duty", {"person": who.name, "act": name, "duties": step.duties_code}))
    if sheet is None or step.while_open is None or step.while_open is not sheet.sealed:
        return
    raise Refused(Reason("life.sealed" if sheet.sealed else "life.not_sealed", {"act": name}))
