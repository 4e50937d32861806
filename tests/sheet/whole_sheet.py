"""A sheet that lacks nothing, and what is left out of it to meet each code of the table of what is missing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from msgspec.structs import replace

from inspection.attached import Attached
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.sheet import acts
from inspection.sheet.evidence import Approval, Evidence, EvidenceKind
from inspection.sheet.head import Head
from inspection.sheet.measured import measurement
from inspection.sheet.missing import missing
from inspection.sheet.missing_linked import Completion
from inspection.sheet.missing_table import Missing
from inspection.sheet.nonconformance import Disposition, Leave
from inspection.sheet.people import Duty
from inspection.sheet.review import StatementKind

ROW = {"number": "1", "kind": "length", "requirement": ".500 ±.005"}
NOTE = {"number": "N1", "kind": "note", "requirement": "BLACK ANODIZE PER QS-77 REV C"}
HEAD = Head(
    customer="Lantern Hill Optical",
    order="PO 88121",
    supplier_code="L-417",
    process="router R-88 rev 2",
    detail="detail",
    cause="new_part",
)
GUARDED = DecisionRule(RuleKind.GUARDED)
PLATE = Evidence(
    "",
    EvidenceKind.MATERIAL,
    "6061-T6 plate",
    specification="QS-12",
    specification_revision="F",
    supplier="Ostrava Metals",
    approved=Approval.YES,
    certificate="55-201",
    certified="2026-02-20",
    files=(Attached("55-201.pdf", "ab" * 32, 9),),
)
ANODISE = replace(PLATE, kind=EvidenceKind.PROCESS, name="anodise", number="N1", specification="QS-77")
ANODISE = replace(ANODISE, specification_revision="C", certificate="A-9", certified="2026-03-02")
HARDNESS = Evidence("", EvidenceKind.TEST, "hardness", measurement=measurement("≥ 88.0 HRB", "89.5"))


class Whole:
    """A sheet of two rows on one piece that lacks nothing once it is signed; ``change`` alters it before that."""

    def __init__(self, life: Any) -> None:
        self.life = life
        life.make(("001",), ROW, NOTE)
        plan = life.sheet.plan
        part = replace(plan.part, drawing_revision="D", material="6061-T6")
        issued = self.issue(part=part, last_balloon="1", drawing_notes=1)
        life.do(acts.MakeSheet(plan=issued.identity, serials=("001",)))

    def issue(self, **fields: Any) -> Any:
        act = acts.IssuePlan(plan=replace(self.life.sheet.plan, identity="", **fields))
        return self.life.do(act)[0].plan

    def head(self, **fields: Any) -> None:
        self.life.do(acts.WriteHead(sheet=self.life.sheet_id, head=replace(HEAD, **fields)))

    def enter(self, *evidence: Evidence) -> None:
        for each in evidence:
            self.life.do(acts.EnterEvidence(sheet=self.life.sheet_id, evidence=each))

    def read(self, **more: Any) -> None:
        self.life.take("1", ".5000", **more)
        self.life.take("N1", "as required")

    def fill(self, *evidence: Evidence, **head: Any) -> Whole:
        self.head(**head)
        self.enter(*(evidence or (PLATE, ANODISE, HARDNESS)))
        self.read()
        self.life.sign()
        return self

    def missing(self, *completions: Completion) -> dict[str, Missing]:
        found = missing(self.life.shop, self.life.sheet, completions)
        return {each.reason.code.removeprefix("missing."): each for each in found}

    def state(self, kind: StatementKind, words: str = "") -> None:
        who = lead_of(self.life)
        act = acts.MakeStatement(sheet=self.life.sheet_id, kind=kind, words=words)
        self.life.do(act, person=who, sign=self.life.signer(who))


MET: dict[str, Callable[[Whole], None]] = {}
BEGUN = {"partial_begun": (Completion(("002",), complete=False),)}


def meets(code: str) -> Callable[[Callable[[Whole], None]], Callable[[Whole], None]]:
    def note(meet: Callable[[Whole], None]) -> Callable[[Whole], None]:
        MET[code] = meet
        return meet

    return note


def raised(whole: Whole, number: str = "NC-7") -> str:
    """Row 1 gets a nonconformance; its identity."""
    row, piece = whole.life.cell("1")
    act = acts.RaiseNonconformance(
        sheet=whole.life.sheet_id, piece=piece, characteristics=(row,), number=number, what="over by one feed step"
    )
    (event,) = whole.life.do(act)
    return str(event.nonconformance.identity)


def decided(whole: Whole, name: str, how: Disposition) -> None:
    act = acts.DisposeNonconformance(
        sheet=whole.life.sheet_id,
        nonconformance=name,
        disposition=how,
        words="as the customer and the lead agreed",
        leave=Leave("CR-118", "2026-03-02", "row 1 of piece 001") if how.by_leave else None,
    )
    whole.life.do(act, person=lead_of(whole.life))


def lead_of(life: Any) -> str:
    """Somebody who reviews and measures nothing here."""
    found = (one.identity for one in life.shop.people.values() if one.name == "Lea Lott")
    return next(found, "") or str(life.enter("Lea Lott", Duty.LEAD))


def out(whole: Whole) -> None:
    """Filled in with row 1 out, and not signed."""
    whole.head()
    whole.enter(PLATE, ANODISE, HARDNESS)
    whole.life.take("1", ".5070")
    whole.life.take("N1", "as required")
