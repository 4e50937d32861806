"""Where points about checks, temperature, dates and rules begin and where they end. Common practice throughout."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from inspection.instruments.rules import CustomerRule
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.sheet import acts
from inspection.sheet.people import Duty
from tests.sheet.points_bench import DAY, Listed

THOU = 25_400_000
SECOND = 1_000_000
GUARDED = DecisionRule(RuleKind.GUARDED)


def with_rules(listed: Listed, **fields: Any) -> None:
    """Other rules of the shop, and a new sheet by them."""
    listed.life.shop = replace(listed.life.shop, rules=replace(listed.life.shop.rules, **fields))
    listed.issue(("001", "002"))


# --- checks ---------------------------------------------------------------------------------------------------------


def test_a_check_after_the_last_reading_closes(checked: Listed) -> None:
    for tag in ("C-05", "M-01"):
        checked.life.check(tag)
    checked.fill()
    assert checked.told("closing_check") == [
        "M-01 was not checked again after row 2 (001, 002), whose tolerance asks for it."
    ]
    checked.life.check("M-01", closing=True)
    assert checked.points() == ()


def test_why_there_is_no_check_decides_how_bad_it_is(checked: Listed) -> None:
    checked.life.check("M-01")
    checked.fill("2")
    checked.life.check("M-01", closing=True)
    checked.life.check("C-05", bad="wipe")
    checked.fill("1")
    checked.life.check("C-05")
    checked.life.entries += 600
    checked.fill("3", "4")
    assert checked.codes() == ["check_failed", "check_aged"]
    assert checked.told("check_aged") == [
        "Row 3 (001, 002) was read with C-05 after its check had run out. The last check of C-05 is over 8 h old."
    ]


def test_what_failed_is_told_with_what_it_re_opened(checked: Listed) -> None:
    checked.life.check("C-05")
    checked.fill("1")
    checked.life.check("C-05", bad="wipe")
    told = checked.told("reopened")
    assert told[0].startswith("2 readings count no longer: C-05 failed the check that followed. Rows: 1 (001, 002).")
    assert len(told[0]) > 90
    checked.life.check("C-05")
    checked.life.take_back(checked.sheet.readings[checked.of("reopened").readings[0]], "read again")
    assert checked.of("reopened").reason.parts["count"] == 1


# --- temperature ----------------------------------------------------------------------------------------------------


def log(listed: Listed, part: int, instrument: int) -> None:
    act = acts.LogTemperature(
        sheet=listed.life.sheet_id, part=part, instrument=instrument, thermometer="T-1", within=200
    )
    listed.life.do(act)


def test_temperatures_within_the_shop_s_are_no_point(listed: Listed) -> None:
    with_rules(listed, temperature_room=2_000)
    log(listed, 22_000, 21_000)
    assert listed.fill().points() == ()


def test_a_log_that_no_reading_rests_on_is_no_point(listed: Listed) -> None:
    with_rules(listed, temperature_room=2_000)
    log(listed, 29_000, 25_000)
    log(listed, 20_500, 20_000)
    assert listed.fill().points() == ()


def test_a_shop_that_states_no_room_has_none_to_leave(listed: Listed) -> None:
    log(listed, 29_000, 28_500)
    assert "temperature_out" not in listed.fill().codes()


def test_where_temperature_is_a_tenth_of_the_band(life_kind: Any) -> None:
    """⌀1.9 ±.0015 of steel: 2 α L d / √3 is a tenth of .003 in at d = 11.9 °C (α = 11.5e-6)."""
    row = {"number": "1", "kind": "outside diameter", "requirement": "⌀1.9000 ±.0015"}
    for spread, told in ((11_700, []), (12_100, ["temperature_missing"])):
        made = Listed(life_kind().open(), row, serials=("001",))
        made.life.shop = replace(made.life.shop, rules=replace(made.life.shop.rules, temperature_spread=spread))
        made.issue(("001",))
        made.life.take("1", "1.9002")
        assert made.codes() == told
        log(made, 20_000, 20_000)
        made.life.take("1", "1.9003", replaces=made.reading("1").identity, reason="with the thermometer beside it")
        assert made.points() == ()


# --- dates ----------------------------------------------------------------------------------------------------------


def test_calibrated_on_the_day_is_in_time(listed: Listed) -> None:
    listed.life.change_instrument("C-05", certified=DAY, certificate="K-7")
    assert listed.fill().points() == ()


def test_a_later_calibration_is_none_of_the_reading_s(listed: Listed) -> None:
    listed.fill()
    listed.life.change_instrument("C-05", certified="2026-03-20", certificate="K-8")
    assert listed.points(day="2026-04-01") == ()


def test_a_reading_is_not_before_its_sheet_in_one_that_stands_in_its_place(listed: Listed) -> None:
    listed.fill()
    later = replace(listed.sheet, made_at=listed.sheet.made_at + 10**12)
    listed.life.sheets[listed.life.sheet_id] = later
    assert listed.codes() == ["read_before_sheet"]
    listed.life.sheets[listed.life.sheet_id] = replace(later, amends="the sheet before")
    assert listed.points() == ()


def test_the_next_signature_covers_what_came_after_the_last(listed: Listed) -> None:
    listed.fill("1", "2", "4")
    listed.life.sign(incomplete="row 3 waits")
    listed.life.reopen()
    listed.fill("3")
    assert listed.told("read_after_signing") == [
        "2 readings came after the last signature, of round 1 on 2026-03-02. Rows: 3 (001, 002)."
    ]
    listed.life.sign()
    assert listed.points() == ()


# --- rules ----------------------------------------------------------------------------------------------------------


def agreed(listed: Listed, decision: DecisionRule) -> None:
    rules = replace(listed.life.shop.rules, customers=(CustomerRule("Harrow Mills", decision),))
    listed.life.shop = replace(listed.life.shop, rules=rules)


def chosen(listed: Listed, decision: DecisionRule) -> None:
    keeper = listed.life.enter("Kit", Duty.KEEPER, Duty.LEAD)
    act = acts.ChooseDecisionRule(sheet=listed.life.sheet_id, decision=decision, reason="by letter of May")
    listed.life.do(act, keeper)


def test_the_rule_that_is_agreed_is_no_point(listed: Listed) -> None:
    agreed(listed, GUARDED)
    listed.head(customer="Harrow Mills")
    chosen(listed, GUARDED)
    assert listed.fill().points() == ()


def test_another_rule_than_the_shop_s_without_a_customer_s(listed: Listed) -> None:
    listed.fill()
    chosen(listed, GUARDED)
    (told,) = listed.told("other_rule")
    assert told.startswith("The sheet is judged by another decision rule than the shop's: “by letter of May”. ")


def test_a_shop_that_changed_its_rule_since_has_changed_none_of_its_sheets(listed: Listed) -> None:
    listed.fill()
    rules = replace(listed.life.shop.rules, decision=GUARDED)
    listed.life.shop = replace(listed.life.shop, rules=rules)
    assert listed.points() == ()


def test_the_rule_that_was_agreed_when_the_sheet_was_made_stands(listed: Listed) -> None:
    agreed(listed, GUARDED)
    part = replace(listed.sheet.plan.part, customer="Harrow Mills")
    listed.issue(("001", "002"), part=part)
    listed.fill()
    agreed(listed, DecisionRule(RuleKind.PROBABILITY))
    assert listed.points() == ()
