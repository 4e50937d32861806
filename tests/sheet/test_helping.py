"""Budgets told, what would help, and what settles a doubt: the same numbers as the choice and the verdict go by.

The pairs and their ratios are the well-known ones of the shop's practice (common practice; reckoned by hand)."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from inspection.instruments.record import Instrument, InstrumentKind, Use
from inspection.measuring.checks import Configuration, configured
from inspection.measuring.checks_good import good_answers
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.measuring.reading import Slot
from inspection.measuring.remedies import Check
from inspection.measuring.verdict import Verdict
from inspection.sheet import acts
from inspection.sheet.helping import (
    Given,
    budget_told,
    doubts_of,
    given_on,
    method_with,
    remedies_for,
    settling_of,
)
from inspection.sheet.proving import known_now
from inspection.words.say import say

GUARDED = DecisionRule(RuleKind.GUARDED)
TIGHT = {"number": "1", "kind": "outside diameter", "requirement": "⌀.9000 ±.0005"}
COARSE = {"number": "2", "kind": "length", "requirement": "3.250 ±.003"}
SHAFT = {"number": "3", "kind": "thread", "requirement": "1/4-20 UNC-2B"}
THOU = 25_400_000


def now(life: Any) -> int:
    return life.entry().at


def given_of(life: Any) -> Given:
    return given_on(life.shop, life.sheet, life.entry().day, now(life))


def without_a_sheet(life: Any, material: str = "") -> Given:
    return Given(life.shop, life.shop.rules, life.entry().day, material, known_now(life.shop, now(life)))


def judged_by(life: Any, decision: DecisionRule = GUARDED) -> Any:
    life.shop = replace(life.shop, rules=replace(life.shop.rules, decision=decision))
    life.make(("001", "002"), TIGHT, COARSE, SHAFT)
    return life


def study(life: Any, tag: str, *groups: tuple[int, ...]) -> None:
    instrument = life.shop.by_tag(tag)
    life.do(acts.RecordStudy(instrument=instrument.identity, configuration=configured(instrument), groups=groups))


def test_the_budget_is_the_one_that_the_choice_went_by(shop_life: Any) -> None:
    life = judged_by(shop_life)
    for number in ("1", "2"):
        row = life.row(number)
        chosen = life.sheet.assignments[row.identity].assessment
        told = budget_told(given_of(life), row, chosen.method)
        assert told.assessment.ratios == chosen.ratios
        assert told.budget is not None
        assert told.budget.expanded == chosen.expanded
        assert sum(line.share for line in told.budget.lines) in range(98, 103)
        assert told.budget.lines[0].name == "permissible"
        assert told.why == ()


def test_it_is_the_budget_of_the_verdict(shop_life: Any) -> None:
    life = judged_by(shop_life)
    life.take("1", ".9000")
    told = budget_told(given_of(life), life.row("1"), life.method("M-01"))
    assert told.budget == life.sheet.judgement(*life.cell("1")).budget


def test_a_study_is_seen_in_it_and_a_plan_without_a_sheet_has_one_too(shop_life: Any) -> None:
    life = judged_by(shop_life)
    before = budget_told(given_of(life), life.row("1"), life.method("M-01"))
    study(life, "M-01", (0, 3_000_000, 0, 3_000_000, 0))
    after = budget_told(without_a_sheet(life), life.row("1"), life.method("M-01"))
    assert before.budget is not None and after.budget is not None
    assert (before.budget.freedom, after.budget.freedom != "") == ("", True)
    assert after.budget.expanded != before.budget.expanded


def test_what_reads_no_scale_says_why_there_is_no_budget(shop_life: Any) -> None:
    life = judged_by(shop_life)
    told = budget_told(given_of(life), life.row("3"), life.method("T-06", Use.THREAD))
    assert told.budget is None
    assert [reason.code for reason in told.why] == ["help.no_scale"]
    assert say(told.why[0]).startswith("T-06")


def test_the_best_method_with_an_instrument_is_found(shop_life: Any) -> None:
    life = judged_by(shop_life)
    given, row = given_of(life), life.row("1")
    found = method_with(given, row, [life.shop.by_tag("C-05")])
    assert found is not None and found.key == life.method("C-05").key
    assert method_with(given, row, [life.shop.by_tag("T-06")]) is None
    assert method_with(given, row, [life.shop.by_tag("C-05"), life.shop.by_tag("M-01")]) is None


# --- what would help --------------------------------------------------------------------------------------------


def test_nothing_is_offered_where_every_ratio_holds_or_there_is_none(shop_life: Any) -> None:
    life = judged_by(shop_life)
    given = given_of(life)
    assert remedies_for(given, life.row("1"), life.method("M-01")) == ()
    assert remedies_for(given, life.row("3"), life.method("T-06", Use.THREAD)) == ()


def test_a_caliper_on_three_thou_needs_a_tighter_error(shop_life: Any) -> None:
    """E .001 on ±.003 holds accuracy at 3 : 1; repeats mend no accuracy, so only a tighter E is offered."""
    life = judged_by(shop_life)
    row = life.row("2")
    told = budget_told(given_of(life), row, life.method("C-05"))
    assert {ratio.name: ratio.holds for ratio in told.assessment.ratios} == {
        "resolution": True,
        "accuracy": False,
        "uncertainty": False,
    }
    (remedy,) = remedies_for(given_of(life), row, life.method("C-05"))
    assert remedy.check is Check.ACCURACY
    assert float(remedy.ratio) >= 4


def test_repeats_are_offered_where_only_the_hand_is_in_the_way_and_hold_what_they_promise(shop_life: Any) -> None:
    """s .00007 on ±.0005 with a micrometer of E .0001 is marginal by U alone; a mean mends it."""
    life = judged_by(shop_life)
    study(life, "M-01", *[(0, 1_778_000 * 2, 0, 1_778_000 * 2)] * 12)
    row, method = life.row("1"), life.method("M-01")
    found = remedies_for(given_of(life), row, method)
    repeats = next(remedy for remedy in found if remedy.repeats)
    assert repeats.check is Check.UNCERTAINTY
    assert given_of(life).assessed(replace(row, repeats=repeats.repeats - 1), method).fitness != "fit"
    mended = given_of(life).assessed(replace(row, repeats=repeats.repeats), method)
    assert mended.fitness == "fit"
    assert next(ratio.got for ratio in mended.ratios if ratio.name == "uncertainty") == repeats.ratio


def thermometer(life: Any) -> None:
    known = Instrument("", 0, "T-1", InstrumentKind.THERMOMETER, "contact thermometer", kelvin=200)
    life.do(acts.IssueInstrument(instrument=known))


def test_a_room_that_nobody_measured_is_mended_by_the_shops_thermometer(shop_life: Any) -> None:
    """Aluminium .9 in, room within 5 °C, a steel micrometer: the bound alone spoils U; measured and corrected it is
    well again."""
    life = judged_by(shop_life)
    life.shop = replace(life.shop, rules=replace(life.shop.rules, temperature_room=8_000))
    row, method = life.row("1"), life.method("M-01")

    def found() -> list[str]:
        given = without_a_sheet(life, "6061-T6 aluminium")
        return [remedy.reason.code for remedy in remedies_for(given, row, method)]

    assert "doubt.remedy.correct_temperature" not in found()
    thermometer(life)
    assert "doubt.remedy.correct_temperature" in found()


def test_an_error_that_a_check_showed_is_reckoned_with_and_not_in_another_instrument(shop_life: Any) -> None:
    """What stays of a check adds to U of the instrument in hand; ``remedies_for`` goes by the same budget."""
    life = judged_by(shop_life)
    check(life, "M-01", off=THOU // 10)
    given, row, method = given_of(life), life.row("1"), life.method("M-01")
    told = budget_told(given, row, method)
    assert [each.name for each in told.corrections] == ["check"]
    holds = all(ratio.holds for ratio in told.assessment.ratios)
    assert holds is (remedies_for(given, row, method) == ())


def check(life: Any, tag: str, off: int = 0) -> None:
    instrument = life.shop.by_tag(tag)
    set_up: Configuration = configured(instrument)
    answers = tuple(
        replace(each, readings=tuple(count + off for count in each.readings)) if each.size else each
        for each in good_answers(instrument, set_up, 3 * instrument.high // 4)
    )
    act = acts.RecordCheck(instrument=instrument.identity, issue=1, configuration=set_up, answers=answers)
    life.do(act)


# --- a doubt ----------------------------------------------------------------------------------------------------


def test_a_doubt_of_the_hand_is_settled_by_the_mean_that_is_told(shop_life: Any) -> None:
    life = judged_by(shop_life)
    study(life, "M-01", *[(0, 1_651_000 * 4, 0, 1_651_000 * 4)] * 12)  # s = .00015 in
    life.take("1", ".90035")
    assert life.verdict("1") == Verdict.DOUBT_INSIDE
    found = settling_of(life.shop, life.sheet, life.cell("1"))
    assert found is not None and found.needed is not None
    m = found.needed
    assert say(found.reason).startswith(f"the mean of {m} readings")
    row, piece = life.cell("1")
    life.do(acts.DeclareRepeats(sheet=life.sheet_id, characteristic=row, piece=piece, repeats=m))
    for n in range(2, m + 1):
        assert life.verdict("1") == Verdict.OPEN
        life.take("1", ".90035", slot=Slot("", n))
    assert life.verdict("1") == Verdict.CONFORMING
    assert settling_of(life.shop, life.sheet, life.cell("1")) is None


def test_a_doubt_stays_where_the_permissible_error_dominates(shop_life: Any) -> None:
    life = judged_by(shop_life)
    life.take("2", "3.2525")
    assert life.verdict("2") == Verdict.DOUBT_INSIDE
    found = settling_of(life.shop, life.sheet, life.cell("2"))
    assert found is not None and found.needed is None
    assert found.reason.parts["part"] == "permissible"


def test_every_piece_in_doubt_is_told_and_no_other(shop_life: Any) -> None:
    life = judged_by(shop_life)
    life.take("2", "3.2525")
    life.take("2", "3.2500", piece=1)
    life.take("1", ".9000")
    told = list(doubts_of(life.shop, life.sheet, [life.row(number).identity for number in ("1", "2", "3")]))
    assert [cell for cell, _ in told] == [life.cell("2")]


@pytest.mark.parametrize("decision", [DecisionRule(), DecisionRule(RuleKind.PROBABILITY)])
def test_only_a_rule_that_doubts_has_anything_to_settle(shop_life: Any, decision: DecisionRule) -> None:
    life = judged_by(shop_life, decision)
    life.take("2", "3.2525")
    found = settling_of(life.shop, life.sheet, life.cell("2"))
    assert (found is not None) is (life.verdict("2") == Verdict.DOUBT_INSIDE) is (decision.kind is not RuleKind.SIMPLE)
