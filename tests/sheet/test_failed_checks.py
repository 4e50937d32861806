"""A failed check re-opens what was read since the last good one of the same instrument as fitted, and nothing else."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from inspection.measuring.checks import configured
from inspection.sheet import acts
from inspection.sheet.cells import open_cells, waiting_slots
from inspection.sheet.people import Duty
from inspection.words.say import say

ROWS = (
    {"number": "1", "kind": "length", "requirement": ".500 ±.005"},
    {"number": "2", "kind": "length", "requirement": ".600 ±.005"},
    {"number": "3", "kind": "outside diameter", "requirement": "⌀.7500 ±.0005"},
)


@pytest.fixture
def bench(life_kind: Any) -> Any:
    """Rows 1 and 2 go by C-05, row 3 by M-01; both were checked."""
    life = life_kind().open(checks=True)
    begin(life)
    life.check("C-05")
    life.check("M-01")
    return life


def begin(life: Any, serial: str = "001") -> None:
    """A sheet on which rows 1 and 2 are read by the caliper and row 3 by the micrometer."""
    life.make((serial,), *ROWS)
    life.choose("1", "C-05")
    life.choose("2", "C-05")


def numbers_open(life: Any) -> list[str]:
    return sorted(life.sheet.characteristic(row).number for row, _ in open_cells(life.sheet))


def test_only_what_was_read_since_the_last_good_check_is_reopened(bench: Any) -> None:
    bench.take("1", ".5005")
    good = bench.check("C-05")
    bench.take("2", ".6005")
    bench.take("3", ".7500")
    assert numbers_open(bench) == []
    failed = bench.check("C-05", bad="wipe", closing=False)
    assert (failed.last_good, failed.since) == (good.made.identity, good.at)
    assert numbers_open(bench) == ["2"]
    assert [say(reason) for reason in bench.judgement("2").reasons] == [
        "One reading of 1 is still missing.",
        "One reading counts no longer: C-05 failed the check that followed.",
    ]
    assert (bench.verdict("1"), bench.verdict("3")) == ("conforming", "conforming")


def test_a_reopened_row_is_read_again(bench: Any) -> None:
    bench.take("1", ".5005")
    bench.check("C-05", bad="wipe")
    assert [slot.role.value for slot in waiting_slots(bench.shop, bench.sheet, bench.cell("1"))] == ["value"]
    bench.check("C-05")
    bench.take("1", ".5010")
    assert bench.verdict("1") == "conforming"
    assert bench.judgement("1").results == (12_725_400_000,)
    assert len(bench.sheet.readings) == 2, "the first stays legible"


def test_another_instrument_settles_a_reopened_row(bench: Any) -> None:
    bench.take("1", ".5005")
    bench.check("C-05", bad="wipe")
    bench.take("1", ".5002", method=bench.method("M-01"), reason="caliper failed")
    assert bench.verdict("1") == "conforming"


def test_a_check_with_other_things_fitted_reopens_nothing_of_this(bench: Any) -> None:
    bench.take("1", ".5005")
    other = configured(bench.shop.by_tag("C-05"), fitted="depth base")
    bench.check("C-05", bad="wipe", configuration=other)
    assert numbers_open(bench) == ["2", "3"]
    assert bench.verdict("1") == "conforming"


def test_every_hand_s_readings_are_reopened(bench: Any) -> None:
    bo = bench.enter("Bo Birch", Duty.INSPECTOR)
    bench.take("1", ".5005", person=bo)
    bench.take("2", ".6005")
    bench.check("C-05", bad="wipe", person=bo)
    assert numbers_open(bench) == ["1", "2", "3"]


def test_without_a_good_check_all_since_calibration_is_reopened(life_kind: Any) -> None:
    life = life_kind().open(checks=True)
    life.change_instrument("C-05", certified="2026-03-01")
    begin(life)
    life.take("1", ".5005")
    failed = life.check("C-05", bad="wipe")
    assert failed.last_good == ""
    assert failed.since > 0, "the end of the day of calibration"
    assert numbers_open(life) == ["1", "2", "3"]


def test_a_withdrawn_reading_is_left_alone(bench: Any) -> None:
    taken = bench.take("1", ".5005")
    bench.take("1", ".5002", replaces=taken.identity, reason="held askew")
    bench.check("C-05", bad="wipe")
    assert len(bench.sheet.reopened) == 1
    assert taken.identity not in bench.sheet.reopened


def test_other_sheets_are_reopened_too(bench: Any) -> None:
    bench.take("1", ".5005")
    first = bench.sheet_id
    begin(bench, "002")
    bench.take("1", ".5005")
    second = bench.sheet_id
    bench.check("C-05", bad="wipe")
    assert {len(bench.sheets[name].reopened) for name in (first, second)} == {1}


def test_a_sealed_sheet_keeps_its_verdicts_and_is_marked(bench: Any) -> None:
    bench.take("1", ".5005")
    bench.sign("two rows wait")
    bench.check("C-05", bad="wipe")
    assert bench.verdict("1") == "conforming"
    assert len(bench.sheet.suspect) == 1 and not bench.sheet.reopened
    assert bench.counting("1") == [".5005"], "what is sealed stays as it was sealed"
    bench.reopen("the caliper failed")
    assert bench.verdict("1") == "open"
    assert len(bench.sheet.reopened) == 1 and not bench.sheet.suspect


def test_a_failed_check_twice_reopens_once(bench: Any) -> None:
    bench.take("1", ".5005")
    bench.check("C-05", bad="wipe")
    before = bench.sheet
    bench.check("C-05", bad="wipe")
    assert bench.sheet == before


def test_the_same_readings_are_never_reopened_by_a_good_check(bench: Any) -> None:
    bench.take("1", ".5005")
    good = bench.check("C-05")
    act = acts.ReopenReadings(sheet=bench.sheet_id, check=good.made.identity)
    assert bench.codes(act) == ["check.not_failed"]


def test_removal_for_cause_reopens_back_to_the_last_good_check(bench: Any) -> None:
    bench.take("1", ".5005")
    bench.check("C-05")
    bench.take("2", ".6005")
    bench.do(acts.RemoveForCause(instrument=bench.shop.by_tag("C-05").identity, reason="a jaw is bent"))
    assert numbers_open(bench) == ["2", "3"]
    assert bench.shop.by_tag("C-05").standing.value == "out of service"
    (name,) = bench.sheet.reopened.values()
    failed = bench.sheet.checks[name]
    assert [say(finding.reason) for finding in failed.findings] == ["C-05 was taken out of service: a jaw is bent."]


# --- the closing check ------------------------------------------------------------------------------------------------


def test_a_tight_row_asks_for_a_closing_check_before_signing(bench: Any) -> None:
    """Bands under .001 in by default; row 3 has just .001 and asks for none, ±.0004 does."""
    tight = {"number": "3", "kind": "outside diameter", "requirement": "⌀.7500 ±.0004"}
    bench.make(("001",), tight)
    bench.take("3", ".7500")
    tag = bench.shop.issues[
        tuple(
            getattr(bench.sheet.assignments[bench.row("3").identity].assessment.method.parts[0], name)
            for name in ("identity", "issue")
        )
    ].tag
    refused = bench.codes(acts.SignSheet(sheet=bench.sheet_id), sign=bench.signer())
    assert refused == ["sign.closing_check"]
    bench.check(tag, closing=True)
    bench.sign()
    assert bench.sheet.sealed


def test_a_closing_check_may_be_done_without_for_a_reason(bench: Any) -> None:
    tight = {"number": "3", "kind": "outside diameter", "requirement": "⌀.7500 ±.0004"}
    bench.make(("001",), tight)
    bench.take("3", ".7500")
    bench.sign("the micrometer was taken to another job")
    assert bench.sheet.sealed


def test_a_failed_closing_check_leaves_the_right_rows_open(bench: Any) -> None:
    bench.take("1", ".5005")
    bench.take("2", ".6005")
    bench.take("3", ".7500")
    answers = tuple(
        replace(one, readings=tuple(count + 12_700_000 for count in one.readings)) if one.line == "zero_again" else one
        for one in closing_answers(bench, "M-01")
    )
    failed = bench.check("M-01", closing=True, answers=answers)
    assert not failed.made.passed
    assert numbers_open(bench) == ["3"]


def closing_answers(life: Any, tag: str) -> tuple[Any, ...]:
    from inspection.measuring.checks_good import good_answers

    return good_answers(life.shop.by_tag(tag), closing=True)
