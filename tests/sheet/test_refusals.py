"""Every refusal of the rules of life can be met, says what it is about in words, and changes nothing."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable
from typing import Any

import pytest
from msgspec.structs import replace

from inspection.instruments.method import Method
from inspection.instruments.record import Instrument, InstrumentKind, Use
from inspection.instruments.rules import CustomerRule
from inspection.measuring.checks import configured
from inspection.measuring.checks_good import good_answers
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.measuring.reading import Observed, Role, Slot
from inspection.quantity.reader import read
from inspection.quantity.units import Kind
from inspection.reasons import Reason
from inspection.sheet import acts
from inspection.sheet.evidence import Evidence, EvidenceKind
from inspection.sheet.head import Head, SubItem
from inspection.sheet.measured import measurement
from inspection.sheet.nonconformance import Disposition, Leave
from inspection.sheet.people import Duty, Person
from inspection.sheet.review import StatementKind
from inspection.words.catalogue import entries, files
from inspection.words.say import say

#: Sentences of the same file that are no refusal.
OTHERS = {"reading.correction_taken_back"}
GUARDED = DecisionRule(RuleKind.GUARDED)
Meet = Callable[[Any], Iterable[Reason]]
MEETINGS: dict[str, Meet] = {}


def meets(code: str) -> Callable[[Meet], Meet]:
    def note(meet: Meet) -> Meet:
        assert code not in MEETINGS
        MEETINGS[code] = meet
        return meet

    return note


def codes_of_life() -> set[str]:
    text = dict(files("en"))["life.toml"]
    return {code for code, _ in entries(tomllib.loads(text)) if not code.startswith(("duties.", "duty."))} - OTHERS


def test_every_refusal_is_met() -> None:
    assert set(MEETINGS) == codes_of_life()


@pytest.mark.parametrize("code", sorted(codes_of_life()))
def test_a_refusal_says_what_it_is_about(code: str, life: Any) -> None:
    reasons = {reason.code: reason for reason in MEETINGS[code](life)}
    assert say(reasons[code]).endswith((".", ":"))
    for reason in reasons.values():
        told = say(reason)
        assert not re.search(r"[\[\]{}@]|\b(act|verdict|observed|role|duties)\.\w", told), told


# --- who and when ---------------------------------------------------------------------------------------------------


@meets("shop.not_open")
def _(life: Any) -> Any:
    return type(life)().refused(acts.EnterPerson(person=Person("", "Bo")), person="nobody")


@meets("life.nobody")
def _(life: Any) -> Any:
    return life.refused(life.reading("1", ".5"), person="nobody")


@meets("life.duty")
def _(life: Any) -> Any:
    return life.refused(life.reading("1", ".5"), person=life.enter("Cy", Duty.OFFICE))


@meets("life.sealed")
def _(life: Any) -> Any:
    life.sign("nothing read yet")
    return life.refused(life.reading("1", ".5"))


@meets("life.not_sealed")
def _(life: Any) -> Any:
    return life.refused(acts.Reopen(sheet=life.sheet_id, reason="why not"))


# --- the shop -------------------------------------------------------------------------------------------------------


@meets("shop.already_open")
def _(life: Any) -> Any:
    return life.refused(acts.OpenShop(name="Another", first_person=Person("", "Bo")))


@meets("shop.unnamed")
def _(life: Any) -> Any:
    return type(life)().refused(acts.OpenShop(name=" ", first_person=Person("", "Bo")))


@meets("person.unnamed")
def _(life: Any) -> Any:
    return life.refused(acts.EnterPerson(person=Person("", "  ")))


@meets("person.without_duty")
def _(life: Any) -> Any:
    return life.refused(acts.EnterPerson(person=Person("", "Bo", ())))


@meets("person.last_keeper")
def _(life: Any) -> Any:
    ann = life.shop.people[life.person]
    return life.refused(acts.EnterPerson(person=replace(ann, duties=(Duty.INSPECTOR, Duty.OFFICE))))


@meets("person.known")
def _(life: Any) -> Any:
    return life.refused(acts.EnterPerson(person=Person("", " Ann Ames ")))


@meets("instrument.untagged")
def _(life: Any) -> Any:
    return life.refused(acts.IssueInstrument(instrument=replace(life.shop.by_tag("C-05"), identity="", tag=" ")))


@meets("instrument.tag_known")
def _(life: Any) -> Any:
    return life.refused(acts.IssueInstrument(instrument=replace(life.shop.by_tag("C-05"), identity="", tag=" C-05")))


# --- plans ----------------------------------------------------------------------------------------------------------


def plan_of(life: Any, change: Callable[[Any], Any], **fields: Any) -> acts.IssuePlan:
    plan = life.sheet.plan
    return acts.IssuePlan(plan=replace(plan, characteristics=tuple(change(plan.characteristics)), **fields))


@meets("plan.unknown")
def _(life: Any) -> Any:
    life.refused(acts.MakeSheet(plan="none", serials=("1",)))
    stranger = plan_of(life, lambda rows: [replace(rows[0], identity="")], part_identity="no such part")
    assert life.codes(stranger) == ["plan.unknown"]
    return life.refused(acts.AdoptPlan(sheet=life.sheet_id, plan="none"))


@meets("plan.empty")
def _(life: Any) -> Any:
    return life.refused(plan_of(life, lambda rows: []))


@meets("plan.unnumbered")
def _(life: Any) -> Any:
    return life.refused(plan_of(life, lambda rows: [rows[0], replace(rows[1], number=" ")]))


@meets("plan.number_twice")
def _(life: Any) -> Any:
    return life.refused(plan_of(life, lambda rows: [rows[0], replace(rows[1], number="1")]))


@meets("plan.identity_twice")
def _(life: Any) -> Any:
    return life.refused(plan_of(life, lambda rows: [rows[0], replace(rows[0], number="2")]))


@meets("plan.stranger")
def _(life: Any) -> Any:
    return life.refused(plan_of(life, lambda rows: [replace(rows[0], identity="from elsewhere")]))


@meets("plan.row_with_readings_gone")
def _(life: Any) -> Any:
    life.take_back(life.take("1", ".501"))  # one that no longer counts must stay legible too
    life.do(acts.WriteNote(sheet=life.sheet_id, characteristic=life.row("9").identity, text="burr"))
    issued = life.issue_again(lambda rows: rows[1:-1])
    reasons = life.refused(acts.AdoptPlan(sheet=life.sheet_id, plan=issued.identity))
    assert [reason.parts["number"] for reason in reasons] == ["1", "9"]
    return reasons


@meets("plan.row_of_another_kind")
def _(life: Any) -> Any:
    life.take("1", ".501")

    def into_degrees(rows: Any) -> Any:
        angle = replace(rows[0].requirement, kind=Kind.ANGLE, unit="°", written="45° ±1°")
        return [replace(rows[0], requirement=angle), *rows[1:]]

    return life.refused(acts.AdoptPlan(sheet=life.sheet_id, plan=life.issue_again(into_degrees).identity))


def narrower(rows: Any) -> Any:
    """Row 1 to .499 … .501."""
    mid = rows[0].requirement.nominal
    requirement = replace(rows[0].requirement, lower=mid - 25_400_000, upper=mid + 25_400_000)
    return [replace(rows[0], requirement=requirement), *rows[1:]]


@meets("plan.verdict_changes")
def _(life: Any) -> Any:
    life.take("1", ".504")
    act = acts.AdoptPlan(sheet=life.sheet_id, plan=life.issue_again(narrower).identity)
    (reason,) = life.refused(act)
    assert "from conforming to not conforming" in say(reason)
    return (reason,)


@meets("plan.verdict_stays")
def _(life: Any) -> Any:
    life.take("1", ".5005")
    act = acts.AdoptPlan(
        sheet=life.sheet_id, plan=life.issue_again(lambda rows: rows).identity, accepted=(life.row("1").identity,)
    )
    return life.refused(act)


# --- sheets ---------------------------------------------------------------------------------------------------------


@meets("sheet.unknown")
def _(life: Any) -> Any:
    return life.refused(acts.RunBy(sheet="none", order="piece"))


@meets("sheet.no_such_row")
def _(life: Any) -> Any:
    life.refused(replace(life.reading("1", ".5"), characteristic="none"))
    life.refused(acts.WriteNote(sheet=life.sheet_id, characteristic="none", text="burr"))
    return life.refused(
        acts.ChooseInstrument(sheet=life.sheet_id, characteristic="none", method=life.method("M-01"), reason="x")
    )


@meets("sheet.no_such_piece")
def _(life: Any) -> Any:
    life.refused(acts.WriteNote(sheet=life.sheet_id, characteristic=life.row("1").identity, piece="no", text="burr"))
    return life.refused(replace(life.reading("1", ".5"), piece="none"))


@meets("sheet.without_serial")
def _(life: Any) -> Any:
    life.refused(acts.MakeSheet(plan=life.sheet.plan.identity, serials=()))
    return life.refused(acts.MakeSheet(plan=life.sheet.plan.identity, serials=("1", " ")))


@meets("sheet.serial_twice")
def _(life: Any) -> Any:
    return life.refused(acts.MakeSheet(plan=life.sheet.plan.identity, serials=("1", "1 ")))


@meets("sheet.no_such_order")
def _(life: Any) -> Any:
    return life.refused(acts.RunBy(sheet=life.sheet_id, order="weight"))


@meets("sheet.reopened_without_reason")
def _(life: Any) -> Any:
    life.sign("nothing read yet")
    return life.refused(acts.Reopen(sheet=life.sheet_id, reason=" "))


@meets("note.empty")
def _(life: Any) -> Any:
    return life.refused(acts.WriteNote(sheet=life.sheet_id, characteristic=life.row("1").identity, text="\n "))


@meets("sent.no_digest")
def _(life: Any) -> Any:
    life.refused(acts.RecordSent(sheet=life.sheet_id, form="pdf", name="a.pdf", digest="AB" * 32))
    return life.refused(acts.RecordSent(sheet=life.sheet_id, form="pdf", name="a.pdf", digest="ab" * 31))


# --- the head, materials, processes and tests -----------------------------------------------------------------------


def heading(life: Any, **fields: Any) -> Any:
    return life.refused(acts.WriteHead(sheet=life.sheet_id, head=Head(**fields)))


def entering(life: Any, name: str = "bead blast", kind: EvidenceKind = EvidenceKind.TEST, **fields: Any) -> Any:
    evidence = Evidence(fields.pop("identity", ""), kind, name, **fields)
    return life.refused(acts.EnterEvidence(sheet=life.sheet_id, evidence=evidence))


@meets("head.extent")
def _(life: Any) -> Any:
    return heading(life, extent="half")


@meets("head.detail")
def _(life: Any) -> Any:
    return heading(life, detail="fixture")


@meets("head.sub_items_of_detail")
def _(life: Any) -> Any:
    heading(life, sub_items=(SubItem("HB-8"),))
    return heading(life, detail="detail", sub_items=(SubItem("HB-8"),))


@meets("head.sub_item_unnumbered")
def _(life: Any) -> Any:
    return heading(life, detail="assembly", sub_items=(SubItem("HB-8"), SubItem(" ", name="screw")))


@meets("head.same")
def _(life: Any) -> Any:
    life.do(acts.WriteHead(sheet=life.sheet_id, head=Head(order="4711")))
    return heading(life, order="4711")


@meets("evidence.unknown")
def _(life: Any) -> Any:
    life.refused(acts.StrikeEvidence(sheet=life.sheet_id, evidence="none", reason="not used"))
    (entered,) = life.do(acts.EnterEvidence(sheet=life.sheet_id, evidence=Evidence("", EvidenceKind.TEST, "leak")))
    life.do(acts.StrikeEvidence(sheet=life.sheet_id, evidence=entered.evidence.identity, reason="not asked for"))
    return entering(life, "leak", identity=entered.evidence.identity)


@meets("evidence.unnamed")
def _(life: Any) -> Any:
    return entering(life, " ")


@meets("evidence.no_day")
def _(life: Any) -> Any:
    entering(life, certified="20260301")
    return entering(life, certified="2026-02-30")


@meets("evidence.measured_no_test")
def _(life: Any) -> Any:
    return entering(life, kind=EvidenceKind.PROCESS, measurement=measurement("≥ 45 HRC", "46"))


@meets("evidence.passed")
def _(life: Any) -> Any:
    return entering(life, passed="maybe")


@meets("evidence.passed_is_derived")
def _(life: Any) -> Any:
    return entering(life, passed="yes", measurement=measurement("≥ 45 HRC", "46"))


@meets("evidence.struck_without_reason")
def _(life: Any) -> Any:
    (entered,) = life.do(acts.EnterEvidence(sheet=life.sheet_id, evidence=Evidence("", EvidenceKind.TEST, "leak")))
    return life.refused(acts.StrikeEvidence(sheet=life.sheet_id, evidence=entered.evidence.identity, reason=" "))


@meets("evidence.measured_otherwise")
def _(life: Any) -> Any:
    typed = replace(measurement("≥ 45 HRC", "44"), count=measurement("≥ 45 HRC", "46").count)
    return entering(life, measurement=typed)


# --- instruments of a row -------------------------------------------------------------------------------------------


def choosing(life: Any, method: Method, reason: str = "at hand") -> acts.ChooseInstrument:
    row = life.row("1").identity
    return acts.ChooseInstrument(sheet=life.sheet_id, characteristic=row, method=method, reason=reason)


@meets("instrument.unknown")
def _(life: Any) -> Any:
    method = life.method("C-05")
    life.refused(choosing(life, Method(Use.OUTSIDE, ())))
    return life.refused(choosing(life, replace(method, parts=(replace(method.parts[0], identity="none"),))))


@meets("instrument.choice_without_reason")
def _(life: Any) -> Any:
    return life.refused(choosing(life, life.method("M-01"), " "))


@meets("instrument.unsuitable")
def _(life: Any) -> Any:
    life.change_instrument("C-03", due="2026-03-01")
    reasons = life.refused(choosing(life, life.method("C-03")))
    assert len(reasons) > 1, "the reasons against it are told with it"
    return reasons


@meets("reading.no_instrument")
def _(life: Any) -> Any:
    life.make(("1",), {"number": "1", "kind": "length", "requirement": "9.000 ±.005"})
    return life.refused(life.reading("1", "9"))


@meets("reading.other_instrument")
def _(life: Any) -> Any:
    return life.refused(life.reading("1", ".5", method=life.method("M-01"), reason=" "))


# --- readings -------------------------------------------------------------------------------------------------------


def taken_back(life: Any, number: str, text: str) -> Any:
    reading = life.take(number, text)
    life.take_back(reading)
    return reading


def back(life: Any, reading: Any, **given: Any) -> Any:
    return life.refused(acts.TakeBack(sheet=life.sheet_id, reading=reading.identity), **given)


def put(life: Any, reading: Any, **given: Any) -> Any:
    return life.refused(acts.PutBack(sheet=life.sheet_id, reading=reading.identity), **given)


def two_ways(code: str, meet: Callable[[Any, str, str], Any]) -> None:
    """A refusal that names a reading: a number as written, or what was seen."""
    MEETINGS[code] = lambda life: meet(life, "1", ".501")
    MEETINGS[f"{code}_seen"] = lambda life: meet(life, "4", "as required")


def slot_taken(life: Any, number: str, text: str) -> Any:
    life.take(number, text)
    return life.refused(life.reading(number, text))


def withdrawn_already(life: Any, number: str, text: str) -> Any:
    reading = taken_back(life, number, text)
    life.refused(life.reading(number, text, replaces=reading.identity, reason="again"))
    return back(life, reading)


def not_taken_back(life: Any, number: str, text: str) -> Any:
    reading = life.take(number, text)
    life.take(number, text, replaces=reading.identity, reason="held askew")
    return put(life, reading)


def correction_without_reason(life: Any, number: str, text: str) -> Any:
    return life.refused(life.reading(number, text, replaces=life.take(number, text).identity, reason=" "))


def take_back_without_reason(life: Any, number: str, text: str) -> Any:
    reading = life.take(number, text)
    back(life, reading, person=life.enter("Bo"))
    life.take("9", ".3")
    return back(life, reading)


def put_back_without_reason(life: Any, number: str, text: str) -> Any:
    return put(life, taken_back(life, number, text), person=life.enter("Bo"))


def under_seal(life: Any, number: str, text: str) -> Any:
    reading = life.take(number, text)
    life.sign("more to come")
    life.reopen()
    return back(life, reading)


for code, meeting in {
    "reading.slot_taken": slot_taken,
    "reading.withdrawn_already": withdrawn_already,
    "reading.not_taken_back": not_taken_back,
    "reading.correction_without_reason": correction_without_reason,
    "reading.take_back_without_reason": take_back_without_reason,
    "reading.put_back_without_reason": put_back_without_reason,
    "reading.under_seal": under_seal,
}.items():
    two_ways(code, meeting)


@meets("reading.no_such_slot")
def _(life: Any) -> Any:
    life.refused(life.reading("1", ".5", slot=Slot(repeat=2)))
    life.refused(life.reading("2", ".75", slot=Slot("middle")))
    life.refused(life.reading("4", ".5"))
    return life.refused(life.reading("1", ".5", slot=Slot(role=Role.NOT_GO)))


@meets("reading.other_slot")
def _(life: Any) -> Any:
    top = life.take("2", ".75")
    return life.refused(life.reading("2", ".75", slot=Slot("foot"), replaces=top.identity, reason="other end"))


@meets("reading.not_a_number")
def _(life: Any) -> Any:
    life.refused(life.reading("1", "enters", slot=Slot()))
    return life.refused(replace(life.reading("1", ".5"), quantity=None))


@meets("reading.not_observed")
def _(life: Any) -> Any:
    go = Slot(role=Role.GO)
    life.refused(life.reading("5", "as required", slot=go))
    life.refused(replace(life.reading("4", "as required"), observed=Observed.ENTERS))
    return life.refused(replace(life.reading("5", "enters", slot=go), quantity=read(".25", unit="in")))


@meets("reading.wrong_kind")
def _(life: Any) -> Any:
    angle = read("45", unit="°", kind=Kind.ANGLE)
    return life.refused(replace(life.reading("1", ".5"), quantity=angle))


@meets("reading.unknown")
def _(life: Any) -> Any:
    life.refused(acts.TakeBack(sheet=life.sheet_id, reading="none"))
    life.refused(acts.PutBack(sheet=life.sheet_id, reading="none"))
    elsewhere = life.take("9", ".3")
    return life.refused(life.reading("1", ".5", replaces=elsewhere.identity, reason="wrong row"))


@meets("reading.from_the_future")
def _(life: Any) -> Any:
    return life.refused(life.reading("1", ".5", taken=life.entry().at + 1))


@meets("reading.no_such_day")
def _(life: Any) -> Any:
    return life.refused(life.reading("1", ".5", day="2026-02-30"))


@meets("reading.day_apart")
def _(life: Any) -> Any:
    """A day long ago would let an instrument pass that is overdue now."""
    return life.refused(life.reading("1", ".5", day="2025-03-02"))


# --- questions and signing ------------------------------------------------------------------------------------------


@meets("question.not_open")
def _(life: Any) -> Any:
    life.refused(acts.LeaveOpen(sheet=life.sheet_id, question="none"))
    life.take("1", "12.7")
    question = life.question()
    life.do(acts.KeepAsWritten(sheet=life.sheet_id, question=question))
    life.refused(life.reading("1", ".5", answers=question))
    return life.refused(acts.KeepAsWritten(sheet=life.sheet_id, question=question))


def signing(life: Any, incomplete: str = "", **given: Any) -> Any:
    return life.refused(acts.SignSheet(sheet=life.sheet_id, incomplete=incomplete), **given)


@meets("sign.row_open")
def _(life: Any) -> Any:
    reasons = signing(life, " ", sign=life.signer())
    assert len(reasons) == 20, "ten rows are judged, on two pieces each"
    return reasons


@meets("sign.nothing_open")
def _(life: Any) -> Any:
    life.make(("1",), {"number": "1", "kind": "length", "requirement": ".500 ±.005"})
    life.take("1", ".5")
    return signing(life, "not all read", sign=life.signer())


@meets("sign.question_open")
def _(life: Any) -> Any:
    life.take("1", "12.7")
    return signing(life, "more to come", sign=life.signer())


@meets("sign.without_key")
def _(life: Any) -> Any:
    return signing(life, "more to come")


@meets("sign.other_key")
def _(life: Any) -> Any:
    return signing(life, "more to come", sign=life.signer(life.enter("Bo")))


# --- proving the instruments ----------------------------------------------------------------------------------------


def check(life: Any, tag: str = "C-05", **changes: Any) -> acts.RecordCheck:
    """A good check of an instrument, with what is to be otherwise."""
    instrument = life.shop.by_tag(tag)
    given = {"issue": instrument.issue, "configuration": configured(instrument), "answers": good_answers(instrument)}
    return acts.RecordCheck(instrument=instrument.identity, **{**given, **changes})


@meets("check.other_issue")
def _(life: Any) -> Any:
    old = check(life)
    life.change_instrument("C-05", permissible=())
    return life.refused(old)


@meets("check.not_failed")
def _(life: Any) -> Any:
    good = life.do(check(life))[0].check
    return life.refused(acts.ReopenReadings(sheet=life.sheet_id, check=good.made.identity))


@meets("instrument.removed_without_reason")
def _(life: Any) -> Any:
    return life.refused(acts.RemoveForCause(instrument=life.shop.by_tag("C-05").identity, reason=" "))


@meets("instrument.out_already")
def _(life: Any) -> Any:
    act = acts.RemoveForCause(instrument=life.shop.by_tag("C-05").identity, reason="a jaw is bent")
    life.do(act)
    return life.refused(act)


@meets("study.no_evidence")
def _(life: Any) -> Any:
    caliper = life.shop.by_tag("C-05")
    groups = ((12_700_000_000,) * 5, (10,))
    return life.refused(acts.RecordStudy(instrument=caliper.identity, configuration=configured(caliper), groups=groups))


def issue(life: Any, **fields: Any) -> Any:
    return life.refused(acts.IssueRules(rules=replace(life.shop.rules, **fields)))


@meets("rules.ratio_nothing")
def _(life: Any) -> Any:
    return issue(life, accuracy_needed=0)


@meets("rules.marginal_above")
def _(life: Any) -> Any:
    return issue(life, gauge_class_marginal=2_001)


@meets("rules.below_nothing")
def _(life: Any) -> Any:
    return issue(life, check_minutes=-1)


@meets("rules.customer_nameless")
def _(life: Any) -> Any:
    return issue(life, customers=(CustomerRule(" ", GUARDED),))


@meets("rules.customer_twice")
def _(life: Any) -> Any:
    return issue(life, customers=(CustomerRule("Harrow", GUARDED), CustomerRule("harrow ", DecisionRule())))


@meets("rule.without_reason")
def _(life: Any) -> Any:
    return life.refused(acts.ChooseDecisionRule(sheet=life.sheet_id, decision=GUARDED, reason=" "))


@meets("rule.the_same")
def _(life: Any) -> Any:
    return life.refused(acts.ChooseDecisionRule(sheet=life.sheet_id, decision=DecisionRule(), reason="agreed"))


def repeats(life: Any, number: str, m: int) -> acts.DeclareRepeats:
    row, piece = life.cell(number)
    return acts.DeclareRepeats(sheet=life.sheet_id, characteristic=row, piece=piece, repeats=m)


@meets("repeats.not_in_doubt")
def _(life: Any) -> Any:
    life.take("1", ".5")
    return life.refused(repeats(life, "1", 4))


@meets("repeats.number")
def _(life: Any) -> Any:
    life.do(acts.ChooseDecisionRule(sheet=life.sheet_id, decision=GUARDED, reason="agreed"))
    life.take("1", ".5049")
    assert life.verdict("1") == "in doubt, measured inside"
    return (*life.refused(repeats(life, "1", 13)), *life.refused(repeats(life, "1", 1)))


@meets("repeats.no_numbers")
def _(life: Any) -> Any:
    life.make(("1",), {"number": "5", "kind": "thread", "requirement": "1/4-20 UNC-2B", "key": "KC"})
    life.shop = replace(life.shop, rules=replace(life.shop.rules, check_minutes=480))
    life.make(("1",), {"number": "5", "kind": "thread", "requirement": "1/4-20 UNC-2B"})
    life.take("5", "enters", slot=Slot(role=Role.GO))
    life.take("5", "does not enter", slot=Slot(role=Role.NOT_GO))
    assert life.verdict("5") == "conforming, instrument marginal"
    return life.refused(repeats(life, "5", 4))


@meets("sign.closing_check")
def _(life: Any) -> Any:
    life.shop = replace(life.shop, rules=replace(life.shop.rules, closing_band=25_400_000))
    life.make(("1",), {"number": "2", "kind": "outside diameter", "requirement": "⌀.7500 ±.0004"})
    life.take("2", ".7500")
    return signing(life, "", sign=life.signer())


def log(life: Any, **changes: Any) -> acts.LogTemperature:
    given = {"part": 20_000, "instrument": 20_000, "thermometer": "T-1", "within": 500}
    return acts.LogTemperature(sheet=life.sheet_id, **{**given, **changes})


@meets("temperature.absurd")
def _(life: Any) -> Any:
    return life.refused(log(life, part=75_000, instrument=-40_000))


@meets("temperature.no_thermometer")
def _(life: Any) -> Any:
    return life.refused(log(life, thermometer=" "))


@meets("temperature.within_unknown")
def _(life: Any) -> Any:
    return life.refused(log(life, within=0))


@meets("temperature.soak_negative")
def _(life: Any) -> Any:
    return life.refused(log(life, soak_minutes=-1))


@meets("temperature.not_a_thermometer")
def _(life: Any) -> Any:
    return life.refused(log(life, thermometer="C-05"))


@meets("temperature.thermometer_barred")
def _(life: Any) -> Any:
    overdue = Instrument("", 0, "T-9", InstrumentKind.THERMOMETER, "thermometer", due="2026-03-01", kelvin=500)
    life.do(acts.IssueInstrument(instrument=overdue))
    return life.refused(log(life, thermometer="T-9", within=0))


# --- nonconformance and review --------------------------------------------------------------------------------------


def lead_of(life: Any) -> str:
    known = next((name for name, one in life.shop.people.items() if one.name == "Lea"), "")
    return known or str(life.enter("Lea", Duty.LEAD))


def out(life: Any) -> None:
    """A sheet of one piece on which row 1 is out."""
    life.make(("001",), row(1), row(2))
    life.take("1", ".5070")
    life.take("2", ".6000")


def row(n: int) -> dict[str, str]:
    return {"number": str(n), "kind": "length", "requirement": f".{n + 4}00 ±.005"}


def raising(life: Any, *numbers: str, **changes: Any) -> acts.RaiseNonconformance:
    given = {
        "piece": life.sheet.pieces[0].identity,
        "characteristics": tuple(life.row(number).identity for number in numbers),
        "number": "NC-7",
        "what": "over",
    }
    return acts.RaiseNonconformance(sheet=life.sheet_id, **{**given, **changes})


def deciding(life: Any, how: Disposition = Disposition.REWORK, **changes: Any) -> acts.DisposeNonconformance:
    name = next(iter(life.sheet.nonconformances), "none")
    given = {"nonconformance": name, "disposition": how, "words": "turn it down"}
    return acts.DisposeNonconformance(sheet=life.sheet_id, **{**given, **changes})


def stating(life: Any, kind: StatementKind, **given: Any) -> Any:
    act = acts.MakeStatement(sheet=life.sheet_id, kind=kind)
    who = given.pop("person", "") or lead_of(life)
    return life.refused(act, person=who, sign=life.signer(who))


@meets("life.approved")
def _(life: Any) -> Any:
    approve(life)
    return life.refused(life.reading("1", ".5"))


def approve(life: Any) -> None:
    life.make(("001",), row(1))
    life.take("1", ".5000")
    life.sign()
    who = lead_of(life)
    act = acts.MakeStatement(sheet=life.sheet_id, kind=StatementKind.APPROVED)
    life.do(act, person=who, sign=life.signer(who))


@meets("nonconformance.unnumbered")
def _(life: Any) -> Any:
    out(life)
    return life.refused(raising(life, "1", number=" "))


@meets("nonconformance.number_known")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    return life.refused(raising(life, "1"))


@meets("nonconformance.row_known")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    return life.refused(raising(life, "1", number="NC-8"))


@meets("nonconformance.without_words")
def _(life: Any) -> Any:
    out(life)
    return life.refused(raising(life, "1", what=" "))


@meets("nonconformance.no_rows")
def _(life: Any) -> Any:
    out(life)
    return life.refused(raising(life))


@meets("nonconformance.conforms")
def _(life: Any) -> Any:
    out(life)
    return life.refused(raising(life, "2"))


@meets("nonconformance.unknown")
def _(life: Any) -> Any:
    return life.refused(deciding(life), person=lead_of(life))


@meets("nonconformance.decided")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    life.do(deciding(life), person=lead_of(life))
    return life.refused(deciding(life), person=lead_of(life))


@meets("nonconformance.decided_without_words")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    return life.refused(deciding(life, words=" "), person=lead_of(life))


@meets("nonconformance.without_leave")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    return life.refused(deciding(life, Disposition.USE_AS_IS), person=lead_of(life))


@meets("nonconformance.leave_no_day")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    leave = Leave("CR-1", "31.3.2026", "all")
    return life.refused(deciding(life, Disposition.USE_AS_IS, leave=leave), person=lead_of(life))


@meets("nonconformance.sheet_signed")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    life.sign()
    return life.refused(deciding(life), person=lead_of(life))


@meets("nonconformance.affected_for_nothing")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    affected = (life.row("2").identity,)
    return life.refused(deciding(life, Disposition.SCRAP, affected=affected), person=lead_of(life))


@meets("approve.undecided")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    life.sign()
    return stating(life, StatementKind.APPROVED)


@meets("approve.not_named")
def _(life: Any) -> Any:
    out(life)
    life.sign()
    return stating(life, StatementKind.APPROVED)


@meets("review.answer_without_words")
def _(life: Any) -> Any:
    life.sign("nothing yet")
    return life.refused(acts.AnswerPoint(sheet=life.sheet_id, point="doubt:1", words=" "), person=lead_of(life))


def marking(life: Any, **fields: Any) -> acts.MarkForReview:
    """A mark of one reading of row 1."""
    reading = next(iter(life.sheet.readings.values()), None) or life.take("1", ".5000")
    given = {
        "instrument": reading.method.parts[0].identity,
        "error": 5_080_000,
        "size": None,
        "since": 0,
        "readings": (reading.identity,),
        "words": "found out",
    }
    return acts.MarkForReview(sheet=life.sheet_id, **{**given, **fields})


@meets("mark.without_words")
def _(life: Any) -> Any:
    return life.refused(marking(life, words=" "), person=lead_of(life))


@meets("mark.no_readings")
def _(life: Any) -> Any:
    return life.refused(marking(life, readings=()), person=lead_of(life))


@meets("mark.other_readings")
def _(life: Any) -> Any:
    return life.refused(marking(life, readings=("another",)), person=lead_of(life))


@meets("mark.known")
def _(life: Any) -> Any:
    lead = lead_of(life)
    life.do(marking(life), person=lead)
    return life.refused(marking(life), person=lead)


@meets("mark.unknown")
def _(life: Any) -> Any:
    return life.refused(acts.AnswerMark(sheet=life.sheet_id, mark="another", words="seen"), person=lead_of(life))


@meets("mark.answer_without_words")
def _(life: Any) -> Any:
    lead = lead_of(life)
    name = life.do(marking(life), person=lead)[0].mark.identity
    return life.refused(acts.AnswerMark(sheet=life.sheet_id, mark=name, words=" "), person=lead)


@meets("review.returned_without_words")
def _(life: Any) -> Any:
    life.sign("nothing yet")
    return life.refused(acts.ReturnSheet(sheet=life.sheet_id, rows=()), person=lead_of(life))


@meets("review.own_sheet")
def _(life: Any) -> Any:
    out(life)
    life.sign()
    return stating(life, StatementKind.APPROVED, person=life.person)


@meets("review.suspect")
def _(life: Any) -> Any:
    life.make(("001",), row(1))
    tag = "C-05"
    life.choose("1", tag)
    life.take("1", ".5000")
    life.sign()
    good = good_answers(life.shop.by_tag(tag))
    bad = tuple(replace(one, seen=False) if one.seen else one for one in good)
    life.do(check(life, tag, answers=bad))
    return stating(life, StatementKind.APPROVED)


@meets("review.unanswered")
def _(life: Any) -> Any:
    life.make(("001",), row(1))
    life.choose("1", "C-05")
    life.take("1", ".5000")
    life.sign()
    return stating(life, StatementKind.APPROVED)


@meets("review.clock_set_back")
def _(life: Any) -> Any:
    who = lead_of(life)
    life.make(("001",), row(1))
    life.take("1", ".5000")
    life.sign()
    life.entries -= 3
    return stating(life, StatementKind.APPROVED, person=who)


@meets("review.not_approved")
def _(life: Any) -> Any:
    life.sign("nothing yet")
    return stating(life, StatementKind.COMPLETE)


@meets("review.stated_already")
def _(life: Any) -> Any:
    approve(life)
    return stating(life, StatementKind.APPROVED)


@meets("review.not_complete")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    leave = Leave("CR-1", "2026-03-31", "all")
    who = lead_of(life)
    life.do(deciding(life, Disposition.USE_AS_IS, leave=leave), person=who)
    life.sign()
    life.do(acts.MakeStatement(sheet=life.sheet_id, kind=StatementKind.APPROVED), person=who, sign=life.signer(who))
    return stating(life, StatementKind.COMPLETE)


@meets("review.no_piece_left")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    who = lead_of(life)
    life.do(deciding(life, Disposition.SCRAP), person=who)
    life.sign()
    life.do(acts.MakeStatement(sheet=life.sheet_id, kind=StatementKind.APPROVED), person=who, sign=life.signer(who))
    return stating(life, StatementKind.COMPLETE)


@meets("review.not_complete_without_words")
def _(life: Any) -> Any:
    approve(life)
    return stating(life, StatementKind.NOT_COMPLETE)


@meets("review.released_without_words")
def _(life: Any) -> Any:
    approve(life)
    return stating(life, StatementKind.RELEASED)


# --- sheets that follow ---------------------------------------------------------------------------------------------


def used_as_is(life: Any, *, stated: bool = True) -> str:
    """An approved sheet whose row 1 is out and used as is; stated as not complete."""
    out(life)
    life.do(raising(life, "1"))
    who = lead_of(life)
    life.do(deciding(life, Disposition.USE_AS_IS, leave=Leave("CR-1", "2026-03-31", "all")), person=who)
    life.sign()
    life.do(acts.MakeStatement(sheet=life.sheet_id, kind=StatementKind.APPROVED), person=who, sign=life.signer(who))
    if stated:
        said = acts.MakeStatement(sheet=life.sheet_id, kind=StatementKind.NOT_COMPLETE, words="row 1")
        life.do(said, person=who, sign=life.signer(who))
    return str(life.sheet_id)


def following(life: Any, baseline: str, *numbers: str) -> acts.MakeSheet:
    rows = tuple(life.row(number).identity for number in numbers)
    return acts.MakeSheet(plan=life.sheet.plan.identity, serials=("9",), completes=baseline, rows=rows)


@meets("review.not_completed_here")
def _(life: Any) -> Any:
    life.do(following(life, used_as_is(life), "2"))
    life.take("2", ".6000")
    life.sign()
    who = lead_of(life)
    life.do(acts.MakeStatement(sheet=life.sheet_id, kind=StatementKind.APPROVED), person=who, sign=life.signer(who))
    return stating(life, StatementKind.COMPLETE)


@meets("partial.other_part")
def _(life: Any) -> Any:
    baseline = used_as_is(life)
    life.make(("1",), row(1))
    return life.refused(following(life, baseline))


@meets("partial.baseline_not_stated")
def _(life: Any) -> Any:
    return life.refused(following(life, used_as_is(life, stated=False)))


@meets("partial.nothing_left")
def _(life: Any) -> Any:
    approve(life)
    who = lead_of(life)
    said = acts.MakeStatement(sheet=life.sheet_id, kind=StatementKind.NOT_COMPLETE, words="the notes are missing")
    life.do(said, person=who, sign=life.signer(who))
    return life.refused(following(life, life.sheet_id))


@meets("amend.without_reason")
def _(life: Any) -> Any:
    return life.refused(acts.AmendSheet(amended=used_as_is(life), reason=" "), person=lead_of(life))


@meets("amend.not_approved")
def _(life: Any) -> Any:
    return life.refused(acts.AmendSheet(amended=life.sheet_id, reason="one more"), person=lead_of(life))
