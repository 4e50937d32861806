"""On which check a reading rests, what a missing or dead one does to its verdict, and what checks say.

How a check lives and dies is trade practice ("common practice"), as the shop's rules have it.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from msgspec.structs import replace

from inspection.measuring.checks import Answer, configured
from inspection.measuring.checks_life import Upset
from inspection.measuring.proofs import NEWEST, CheckRecord, kept
from inspection.quantity.reader import read
from inspection.sheet import acts
from inspection.sheet.people import Duty
from inspection.sheet.proving import evidence_of, known_now
from inspection.words.say import say

MARGINAL = "conforming, instrument marginal"
TIGHT = {"number": "2", "kind": "outside diameter", "requirement": "⌀.7500 ±.0005"}
ROWS = (
    {"number": "1", "kind": "length", "requirement": ".500 ±.005"},
    TIGHT,
    {"number": "4", "kind": "note", "requirement": "DEBURR ALL EDGES"},
)


@pytest.fixture
def bench(life_kind: Any) -> Any:
    """A shop that asks for checks, with a sheet of three rows; row 1 goes by C-05, row 2 by M-01."""
    life = life_kind().open(checks=True)
    life.make(("001",), *ROWS)
    life.choose("1", "C-05")
    return life


def told(life: Any, number: str) -> list[str]:
    return [say(reason) for reason in life.judgement(number).reasons]


def test_a_reading_without_a_check_is_marginal_and_says_so(bench: Any) -> None:
    reading = bench.take("1", ".5002")
    assert (reading.checks, [reason.code for reason in reading.unproven]) == ((), ["unproven.never"])
    assert bench.verdict("1") == MARGINAL
    assert told(bench, "1") == ["C-05 was not checked before use."]


def test_a_reading_rests_on_the_check_before_it(bench: Any) -> None:
    check = bench.check("C-05")
    reading = bench.take("1", ".5002")
    assert (reading.checks, reading.unproven) == ((check.made.identity,), ())
    assert bench.verdict("1") == "conforming"
    assert bench.sheet.checks == {check.made.identity: check}


def test_what_is_seen_by_eye_needs_no_check(bench: Any) -> None:
    bench.take("4", "as required")
    assert bench.verdict("4") == "conforming"


def test_a_nonconforming_result_needs_no_check_to_be_one(bench: Any) -> None:
    bench.take("1", ".5062")
    assert bench.verdict("1") == "not conforming"


@pytest.mark.parametrize(
    "ends,told_so",
    [
        (lambda life: life.check("C-05", bad="wipe"), "The last check of C-05 failed."),
        (lambda life: upset(life, "C-05"), "C-05 was dropped and not checked since."),
        (lambda life: [life.do(idle(life)) for _ in range(490)], "The last check of C-05 is over 8 h old."),
        (
            lambda life: life.change_instrument("C-05", permissible=()),
            "The record of C-05 has changed since its last check: issue 1 then, issue 2 now.",
        ),
    ],
    ids=["failed", "dropped", "aged", "record"],
)
def test_a_check_dies(bench: Any, ends: Any, told_so: str) -> None:
    bench.check("C-05")
    permissible = bench.shop.by_tag("C-05").permissible
    ends(bench)
    if not bench.shop.by_tag("C-05").permissible:
        bench.change_instrument("C-05", permissible=permissible, resolution=bench.shop.by_tag("C-05").resolution + 1)
        told_so = told_so.replace("issue 2 now", "issue 3 now")
    bench.take("1", ".5002")
    assert told(bench, "1") == [told_so]
    assert bench.verdict("1") == MARGINAL


def upset(life: Any, tag: str) -> Any:
    return life.do(acts.ReportUpset(instrument=life.shop.by_tag(tag).identity, what=Upset.DROPPED))


def idle(life: Any) -> Any:
    return acts.RunBy(sheet=life.sheet_id, order="piece")


def test_another_place_or_name_in_the_record_ends_no_check(bench: Any) -> None:
    check = bench.check("C-05")
    bench.change_instrument("C-05", place="bench 2", holder="Bo")
    assert bench.take("1", ".5002").checks == (check.made.identity,)


def test_another_hand_ends_a_check(bench: Any) -> None:
    bo = bench.enter("Bo Birch", Duty.INSPECTOR)
    bench.check("C-05")
    bench.take("1", ".5002", person=bo)
    assert told(bench, "1") == ["C-05 has changed hands since its last check."]
    assert bench.take("1", ".5003", replaces=bench.counted("1"), reason="read again").unproven, "it was Bo's meanwhile"


def test_a_use_by_another_hand_between_two_of_ones_own_ends_a_check(bench: Any) -> None:
    bo = bench.enter("Bo Birch", Duty.INSPECTOR)
    bench.choose("2", "C-05")
    check = bench.check("C-05")
    assert bench.take("1", ".5002").checks == (check.made.identity,)
    bench.take("2", ".7502", person=bo)
    again = bench.take("1", ".5003", replaces=bench.counted("1"), reason="read again")
    assert [reason.code for reason in again.unproven] == ["unproven.hand"]


def test_a_use_on_another_sheet_is_told_by_the_book(bench: Any) -> None:
    """The pure rules know only this sheet; what the book tells of others ends a check as well."""
    from inspection.measuring.checks_life import Used
    from inspection.sheet.proving import rests_of

    check = bench.check("C-05")
    caliper = bench.shop.by_tag("C-05")
    at = check.at + 1_000_000

    def elsewhere(instrument: str, since: int, person: str) -> list[Used]:
        assert (instrument, since, person) == (caliper.identity, check.at, bench.person)
        return [Used("r", instrument, caliper.issue, configured(caliper), "bo", at)]

    method = bench.method("C-05")
    found = rests_of(bench.shop, bench.sheet, method, bench.person, at + 1, elsewhere=elsewhere)
    assert [reason.code for reason in found.unproven] == ["unproven.hand"]
    assert rests_of(bench.shop, bench.sheet, method, bench.person, at + 1).unproven == ()


def test_a_configuration_that_the_instrument_has_not_is_refused(bench: Any) -> None:
    strange = replace(configured(bench.shop.by_tag("C-05")), unit="°")
    assert bench.codes(bench.reading("1", ".5", configuration=strange)) == ["check.refused.unit"]


def test_something_else_fitted_ends_a_check(bench: Any) -> None:
    caliper = bench.shop.by_tag("C-05")
    bench.check("C-05")
    bench.take("1", ".5", configuration=configured(caliper, fitted="depth base"))
    assert told(bench, "1") == ["What is fitted to C-05 has changed since its last check: – then, depth base later."]


def test_a_shop_that_asks_for_no_checks_is_not_told_of_them(life: Any) -> None:
    life.take("1", ".5")
    assert (life.verdict("1"), life.counting("1")) == ("conforming", [".5"])


# --- what checks say --------------------------------------------------------------------------------------------------


def block(life: Any, tag: str, *readings: str, size: str = ".5") -> tuple[Answer, ...]:
    """Good answers of a check, but for what was read on the block."""
    from inspection.measuring.checks_good import good_answers

    counts = tuple(read(text, unit="in").count for text in readings)
    given = good_answers(life.shop.by_tag(tag))
    at = read(size, unit="in").count
    return tuple(replace(one, readings=counts, size=at) if one.line == "block" else one for one in given)


def test_checks_are_pooled_with_their_degrees_of_freedom(bench: Any) -> None:
    """Pooled by hand, in steps r: (0, 2, 1) gives Σ(x − x̄)² = 2, (1, 1, 0) gives 2/3; ν = 4."""
    bench.check("C-05", answers=block(bench, "C-05", ".5000", ".5010", ".5005"))
    bench.check("C-05", answers=block(bench, "C-05", ".5005", ".5005", ".5000"))
    held = evidence_of(bench.shop, bench.shop.by_tag("C-05"), "")
    assert held is not None and held.block is not None
    step = 12_700_000
    assert (held.block.square, held.block.freedom) == (Fraction(8, 3) / 4 * step**2, 4)
    assert held.checked is not None and held.checked.error == Fraction(2, 3) * step


def test_readings_that_differ_by_one_step_show_the_step_alone(bench: Any) -> None:
    """Three readings that differ by a step would weigh as two degrees of freedom against the shop's own figure: the
    budget already holds the step as r/√12."""
    bench.check("M-01", answers=block(bench, "M-01", ".5000", ".5001", ".5000"))
    held = evidence_of(bench.shop, bench.shop.by_tag("M-01"), "")
    assert held is not None and held.block is None
    assert held.checked is not None and held.checked.of == 3, "what it says of the error stays"


def test_readings_that_never_differ_are_no_evidence(bench: Any) -> None:
    bench.check("M-01")
    held = evidence_of(bench.shop, bench.shop.by_tag("M-01"), "")
    assert held is not None and held.block is None and held.zeros is None


def test_a_failed_check_is_no_evidence(bench: Any) -> None:
    bench.check("M-01", bad="wipe", answers=block(bench, "M-01", ".5000", ".5001", ".5001"))
    assert evidence_of(bench.shop, bench.shop.by_tag("M-01"), "") is None


def test_a_fresh_check_changes_what_is_suggested_at_once(bench: Any) -> None:
    """A caliper whose readings of a block scatter is no longer fine enough; the row says so at once."""
    before = bench.sheet.assignments[bench.row("1").identity].assessment
    assert before.fitness.value == "fit"
    scatter = block(bench, "C-05", ".5000", ".5010", ".5000")
    bench.check("C-05", answers=scatter, sheet=bench.sheet_id)
    after = bench.sheet.assignments[bench.row("1").identity].assessment
    assert after.method == before.method, "it was taken by hand, and stays"
    assert after.fitness.value == "marginal"
    assert [ratio.name for ratio in after.ratios if not ratio.holds] == ["uncertainty"]


def test_a_study_on_parts_replaces_the_default(bench: Any) -> None:
    caliper = bench.shop.by_tag("C-05")
    groups = ((12_700_000_000, 12_725_400_000), (12_700_000_000, 12_700_000_000))
    bench.do(acts.RecordStudy(instrument=caliper.identity, configuration=configured(caliper), groups=groups))
    held = known_now(bench.shop).evidence[caliper.identity]
    assert held.study is not None and held.study.freedom == 2
    bench.do(acts.Reweigh(sheet=bench.sheet_id))
    assert bench.sheet.assignments[bench.row("1").identity].assessment is not None
    bench.check("C-05")
    bench.take("1", ".5")
    budget = bench.judgement("1").budget
    assert any(line.freedom == "2" for line in budget.lines), [line.freedom for line in budget.lines]


# --- what is held -----------------------------------------------------------------------------------------------------


def test_the_newest_are_held_and_the_last_good_ones(bench: Any) -> None:
    """However the records come in, one by one or all at once, the same are held."""
    good = bench.check("C-05")
    bad = bench.check("M-01", bad="wipe")
    many = [replace(bad, made=replace(bad.made, identity=str(n))) for n in range(NEWEST + 5)]
    at_once = kept((good, bad, *many))
    one_by_one: tuple[Any, ...] = ()
    for each in (good, bad, *many):
        one_by_one = kept((*one_by_one, each))
    assert at_once == one_by_one
    assert at_once[0] == good and len(at_once) == NEWEST + 1
    assert all(isinstance(each, CheckRecord) for each in at_once)
