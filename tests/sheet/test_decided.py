"""Decision rules, corrections and repeats on a sheet: what a reading comes to by what was agreed and what is known.

Guard bands are those of ISO 14253-1 (g = 1.645 u far from the other limit, from memory), reckoned here by hand from the
stated budget; temperature is the guide's own model (JCGM 100:2008 H.1).
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from msgspec.structs import replace

from inspection.instruments.rules import CustomerRule
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.quantity.reader import read
from inspection.reasons import Amount
from inspection.sheet import acts
from inspection.sheet.head import Head
from inspection.words.say import say

GUARDED = DecisionRule(RuleKind.GUARDED)
PROBABLE = DecisionRule(RuleKind.PROBABILITY)
INCH = 25_400_000_000


def judged_by(life: Any, rule: DecisionRule, *rows: dict[str, str]) -> Any:
    life.make(("001",), *(rows or ({"number": "1", "kind": "length", "requirement": ".500 ±.005"},)))
    life.do(acts.ChooseDecisionRule(sheet=life.sheet_id, decision=rule, reason="agreed by letter"))
    return life


def test_the_customer_s_rule_is_the_sheet_s(life: Any) -> None:
    rules = replace(life.shop.rules, customers=(CustomerRule("Harrow Mills", GUARDED),))
    life.shop = replace(life.shop, rules=rules)
    plan = life.issue()
    life.do(acts.MakeSheet(plan=plan.identity, serials=("1",), head=Head(customer="harrow  mills")))
    assert life.sheet.rules.decision == GUARDED
    life.do(acts.MakeSheet(plan=plan.identity, serials=("1",), head=Head(customer="Another")))
    assert life.sheet.rules.decision == DecisionRule()


@pytest.mark.parametrize(
    "text,verdict",
    [
        (".5000", "conforming"),
        (".5049", "in doubt, measured inside"),
        (".5050", "in doubt, measured inside"),
        (".5051", "in doubt, measured outside"),
        (".5100", "not conforming"),
    ],
)
def test_guarded_acceptance_has_four_answers(life: Any, text: str, verdict: str) -> None:
    judged_by(life, GUARDED).take("1", text)
    assert life.verdict("1") == verdict
    assert life.judgement("1").rule == "guarded"


def test_the_guard_band_is_what_the_budget_gives(life: Any) -> None:
    judged_by(life, GUARDED).take("1", ".5000")
    found = life.judgement("1")
    combined = float(found.budget.combined) * INCH  # ν is infinite: the normal distribution's 95 %
    assert found.budget.freedom == ""
    assert found.guard == pytest.approx(1.6449 * combined, rel=5e-3)
    assert found.expanded == found.budget.expanded
    assert found.probability == ""


def test_a_probability_is_told_and_decides(life: Any) -> None:
    judged_by(life, PROBABLE).take("1", ".5000")
    assert (life.verdict("1"), life.judgement("1").probability) == ("conforming", "1.0000")
    life.take("1", ".5050", replaces=life.counted("1"), reason="read again")
    assert life.verdict("1") == "in doubt, measured inside"
    assert life.judgement("1").probability == "0.5000", "on the limit: as likely out as in (JCGM 106, 7.4)"


def test_the_probability_is_told_beside_another_rule_only_if_agreed(life: Any) -> None:
    judged_by(life, replace(GUARDED, printed=True)).take("1", ".5050")
    assert life.judgement("1").probability == "0.5000"


def test_changing_the_rule_judges_every_cell_and_says_why(life: Any) -> None:
    life.make(("001",), {"number": "1", "kind": "length", "requirement": ".500 ±.005"})
    life.take("1", ".5050")
    assert life.verdict("1") == "conforming"
    life.do(acts.ChooseDecisionRule(sheet=life.sheet_id, decision=GUARDED, reason="order 4711, clause 3"))
    assert life.verdict("1") == "in doubt, measured inside"
    assert life.sheet.decision_reason == "order 4711, clause 3"


def test_simple_acceptance_computes_a_budget_and_no_guard_band(life: Any) -> None:
    life.take("1", ".5")
    found = life.judgement("1")
    assert found.guard is None and found.budget is not None and found.rule == "simple"
    assert {line.name for line in found.budget.lines} >= {"permissible", "reading", "zero", "part against instrument"}


def test_a_gauge_is_judged_by_its_class_whatever_the_rule(life: Any) -> None:
    judged_by(life, GUARDED, {"number": "6", "kind": "bore", "requirement": "⌀.5000 +.0030 -.0005"})
    from inspection.measuring.reading import Role, Slot

    life.take("6", ".5000", slot=Slot(role=Role.ENTERS))
    life.take("6", ".5010", slot=Slot(role=Role.STOPS))
    assert life.verdict("6").startswith("conforming")


# --- repeats after a doubt --------------------------------------------------------------------------------------------


def test_a_mean_set_after_a_doubt_takes_all_readings(life: Any) -> None:
    judged_by(life, GUARDED).take("1", ".5045")
    assert life.verdict("1") == "in doubt, measured inside"
    row, piece = life.cell("1")
    life.do(acts.DeclareRepeats(sheet=life.sheet_id, characteristic=row, piece=piece, repeats=4))
    assert life.verdict("1") == "open", "the mean is no result before its last reading"
    from inspection.measuring.reading import Slot

    for repeat, text in ((2, ".5040"), (3, ".5040"), (4, ".5040")):
        life.take("1", text, slot=Slot("", repeat))
    found = life.judgement("1")
    assert (found.results, found.of) == ((sum(read(t, unit="in").count for t in (".5045", *[".5040"] * 3)),), 4)
    assert "The mean of 4 readings was set after a doubt" in " ".join(say(reason) for reason in found.reasons)
    single = judged_by(life, GUARDED)
    single.take("1", ".5045")
    assert found.expanded < single.judgement("1").expanded, "only the scatter gets smaller"


def test_a_result_that_nobody_doubts_is_not_repeated(life: Any) -> None:
    judged_by(life, GUARDED).take("1", ".5100")
    row, piece = life.cell("1")
    act = acts.DeclareRepeats(sheet=life.sheet_id, characteristic=row, piece=piece, repeats=4)
    assert life.codes(act) == ["repeats.not_in_doubt"]


# --- temperature ------------------------------------------------------------------------------------------------------


def test_a_logged_temperature_is_corrected_openly(life_kind: Any) -> None:
    """2 in of aluminium at 25 °C read with steel: C = L(α_i − α_p)θ, by the expansions that the budget states."""
    life = aluminium(life_kind)
    life.do(acts.LogTemperature(sheet=life.sheet_id, part=25_000, instrument=25_000, thermometer="K-1", within=500))
    life.take("1", "2.0004")
    found = life.judgement("1")
    raw, got = found.raw[0], found.results[0]
    assert raw == read("2.0004", unit="in").count
    alpha = 23_600  # aluminium 6061, as the program's table has it
    exact = Fraction(2 * INCH * (11_500 - alpha) * 5_000, 10**12)
    assert got - raw == pytest.approx(float(exact), rel=0.05)
    assert [each.name for each in found.corrections] == ["temperature"]
    assert isinstance(found.corrections[0].reason.parts["C"], Amount)


def aluminium(life_kind: Any) -> Any:
    from inspection.drawing.plan import Part, Plan

    life = life_kind().open()
    rows = life_rows({"number": "1", "kind": "length", "requirement": "2.000 ±.005"})
    plan = Plan("", "", 0, Part("HB-8", "A", "plate", material="aluminium 6061-T6"), life_title(), rows)
    issued = life.do(acts.IssuePlan(plan=plan))[0].plan
    life.do(acts.MakeSheet(plan=issued.identity, serials=("1",)))
    return life


def life_title() -> Any:
    from inspection.drawing.plan import TitleBlock

    return TitleBlock(inch={2: 254_000_000, 3: 127_000_000})


def life_rows(*given: dict[str, str]) -> Any:
    from inspection.drawing.rows import characteristic

    return tuple(row for each in given for row in characteristic(each, life_title()))


def test_a_stale_log_is_inherited_by_nothing(life_kind: Any) -> None:
    life = aluminium(life_kind)
    life.do(acts.LogTemperature(sheet=life.sheet_id, part=25_000, instrument=25_000, thermometer="K-1", within=500))
    for _ in range(life.sheet.rules.temperature_minutes + 1):
        life.do(acts.RunBy(sheet=life.sheet_id, order="piece"))
    life.take("1", "2.0004")
    assert (life.judgement("1").raw, life.judgement("1").corrections) == ((), ())
    assert life.sheet.readings[life.counted("1")].log == ""


def test_what_is_not_corrected_makes_the_uncertainty_greater(life_kind: Any) -> None:
    life = aluminium(life_kind)
    life.sheets[life.sheet_id] = replace(life.sheet, rules=replace(life.sheet.rules, temperature_corrected=False))
    life.do(acts.LogTemperature(sheet=life.sheet_id, part=25_000, instrument=25_000, thermometer="K-1", within=500))
    life.take("1", "2.0004")
    found = life.judgement("1")
    assert found.results == (read("2.0004", unit="in").count,)
    assert found.budget.uncorrected > 0


def test_a_correction_can_take_a_reading_out(life_kind: Any) -> None:
    """Cold aluminium reads short: at 5 °C a part of 2.0049 is over at 20 °C."""
    life = aluminium(life_kind)
    life.do(acts.LogTemperature(sheet=life.sheet_id, part=5_000, instrument=5_000, thermometer="K-1", within=500))
    life.take("1", "2.0049")
    assert life.verdict("1") == "not conforming"
    assert life.judgement("1").out_by > 0
