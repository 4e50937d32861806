"""Refusals by who and when, and of acts on shop and plans."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from msgspec.structs import replace

from inspection.quantity.units import Kind
from inspection.sheet import acts
from inspection.sheet.people import Duty, Person
from inspection.words.say import say
from tests.sheet.refusals.meetings import meets

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


@meets("instrument.certified_later")
def _(life: Any) -> Any:
    caliper = life.shop.by_tag("C-05")
    life.do(acts.IssueInstrument(instrument=replace(caliper, certificate="K-7", certified=life.day)))
    later = replace(life.shop.by_tag("C-05"), certified="2099-03-01")
    # one that bears such a day already can be lent out like any other
    life.shop = replace(life.shop, crib={**life.shop.crib, caliper.identity: later})
    life.do(acts.IssueInstrument(instrument=replace(later, holder="Bo")))
    return life.refused(acts.IssueInstrument(instrument=replace(later, certified="2099-03-02")))


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
