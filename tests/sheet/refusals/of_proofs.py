"""Refusals of checks, studies, rules, repeats and temperatures."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from inspection.instruments.record import Instrument, InstrumentKind
from inspection.instruments.rules import CustomerRule
from inspection.measuring.checks import configured
from inspection.measuring.checks_good import good_answers
from inspection.measuring.guard import DecisionRule
from inspection.measuring.reading import Role, Slot
from inspection.sheet import acts
from tests.sheet.refusals.meetings import GUARDED, meets
from tests.sheet.refusals.of_readings import signing

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
