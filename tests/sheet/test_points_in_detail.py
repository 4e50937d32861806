"""Where each point of the lead's list begins and where it ends. Common practice throughout; E_n from memory of
ISO 13528."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from inspection.instruments.rules import CustomerRule
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.measuring.reading import Reading, Role, Slot
from inspection.sheet import acts
from inspection.sheet.people import Duty
from inspection.sheet.points_history import Earlier
from inspection.sheet.points_table import Point
from tests.sheet.points_bench import DAY, Listed, many

THOU = 25_400_000
SECOND = 1_000_000
GUARDED = DecisionRule(RuleKind.GUARDED)


@pytest.fixture
def listed(life_kind: Any) -> Listed:
    """A sheet of five rows on two pieces in a shop that asks for no checks."""
    return Listed(life_kind().open())


@pytest.fixture
def checked(life_kind: Any) -> Listed:
    """The same in a shop that asks for checks, for closing ones under .002 in."""
    life = life_kind().open(checks=True)
    life.shop = replace(life.shop, rules=replace(life.shop.rules, closing_band=2 * THOU))
    return Listed(life)


def with_rules(listed: Listed, **fields: Any) -> None:
    """Other rules of the shop, and a new sheet by them."""
    listed.life.shop = replace(listed.life.shop, rules=replace(listed.life.shop.rules, **fields))
    listed.issue(("001", "002"))


# --- the drawing ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("order", "line", "told"),
    [
        ("PO 88121 rev 2", "", []),  # the order's own
        ("PO 88121", "3", []),
        ("PO 88121", "3 rev D", []),
        ("PO 88121", "3, HB-7 Rev. B", []),
        ("PO 88121", "d-7 revision d", []),
        ("PO 88121", "HB-70 rev C", ["The order names revision C of D-7; the plan has D / B."]),
        ("PO 88121", "3 rev C", ["The order names revision C of D-7; the plan has D / B."]),
        ("PO 88121 for HB-7 rev A", "3", ["The order names revision A of HB-7; the plan has B."]),
        ("PO 88121", "HB-7 rev B, D-7 rev E", ["The order names revision E of D-7; the plan has D."]),
    ],
)
def test_the_order_s_revision_is_read_behind_the_number_it_belongs_to(
    listed: Listed, order: str, line: str, told: list[str]
) -> None:
    listed.fill().head(order=order, order_line=line)
    assert listed.told("order_revision") == told


def test_part_and_drawing_may_share_a_number(listed: Listed) -> None:
    part = replace(listed.sheet.plan.part, drawing="HB-7")
    listed.issue(("001", "002"), part=part)
    listed.fill()
    for revision in "BD":
        listed.head(order_line=f"HB-7 rev {revision}")
        assert listed.points() == ()
    listed.head(order_line="HB-7 rev C")
    assert listed.told("order_revision") == ["The order names revision C of HB-7; the plan has D / B."]


def test_only_a_newer_issue_of_the_same_part_is_newer(listed: Listed) -> None:
    listed.fill()
    plan = listed.sheet.plan
    assert listed.points(newest=plan) == ()
    assert listed.points(newest=replace(plan, issue=1)) == ()
    assert listed.points(newest=replace(plan, issue=9, part_identity="another")) == ()
    (point,) = listed.points(newest=replace(plan, issue=9))
    assert listed.told("newer_plan", newest=replace(plan, issue=9)) == [
        f"The plan has an issue 9, part and drawing revision B / D; the sheet stands on issue {plan.issue}, B / D."
    ]
    assert point.cells == ()


def test_each_gap_of_the_plan_is_a_point_of_its_own(listed: Listed) -> None:
    listed.issue(("001", "002"), last_balloon="7", unused=("3",), drawing_notes=3)
    listed.fill()
    assert listed.codes() == ["numbers", "numbers", "notes"]
    assert len({point.key for point in listed.points()}) == 3


# --- verdicts -------------------------------------------------------------------------------------------------------


def test_marginal_rows_are_told_by_instrument_and_cause_with_the_worst(life_kind: Any) -> None:
    """A caliper of .0005 in: T / r is 8 on ±.002 and 6 on ±.0015; 10 is needed (rule of ten)."""
    rows = (
        {"number": "1", "kind": "length", "requirement": ".500 ±.002"},
        {"number": "2", "kind": "length", "requirement": ".600 ±.0015"},
        {"number": "3", "kind": "length", "requirement": ".700 ±.005"},
    )
    crib = tuple(one for one in life_kind().open().shop.crib.values() if one.tag == "C-05")
    made = Listed(life_kind().open(crib), *rows, serials=("001",))
    for number, text in (("1", ".5005"), ("2", ".6005"), ("3", ".7005")):
        made.life.take(number, text)
    (point,) = made.points()
    assert (point.code, made.rows(point)) == ("marginal", ["1/001", "2/001"])
    (told,) = made.told("marginal")
    assert told.startswith("Rows 1, 2 conform, but C-05 is marginal for them. resolution 6 : 1, 10 : 1 is needed")


def test_a_row_that_only_lacks_a_check_is_no_marginal_one(checked: Listed) -> None:
    checked.life.check("M-01")
    checked.fill()
    assert checked.life.verdict("1") == "conforming, instrument marginal"
    assert "marginal" not in checked.codes()
    assert checked.told("check_missing") == [
        "Rows 1, 3 (001, 002) rest on no check of C-05 before use. C-05 was not checked before use."
    ]


def test_what_is_signed_open_says_why(listed: Listed) -> None:
    listed.fill("1", "2", "4")
    listed.life.sign(incomplete="the gauge is out")
    assert listed.told("open") == ["Row 3 (001, 002) is still open; signed all the same: “the gauge is out”."]


# --- instruments ----------------------------------------------------------------------------------------------------


def test_the_instrument_of_one_reading_is_by_hand_and_a_correction_is_not(listed: Listed) -> None:
    listed.fill()
    listed.life.take("1", ".5010", replaces=listed.reading("1").identity, reason="held askew")
    assert listed.points() == ()
    listed.life.take(
        "1",
        ".5002",
        replaces=listed.reading("1").identity,
        reason="the caliper slipped",
        method=listed.life.method("M-01"),
    )
    assert listed.told("by_hand") == ["Row 1 (001) was read with M-01, chosen by hand: “the caliper slipped”."]


def test_a_choice_that_no_reading_was_taken_with_is_no_point(listed: Listed) -> None:
    listed.fill()
    listed.life.choose("1", "M-01", reason="for the next piece")
    assert "by_hand" not in listed.codes()


def test_an_indication_says_what_bars_the_instrument(listed: Listed) -> None:
    listed.fill("2", "4")
    listed.life.change_instrument("C-05", due="2026-02-01")
    listed.fill("1", "3")
    assert listed.told("indication") == [
        "Rows 1, 3 (001, 002) were read with C-05 as an indication only; it closes nothing. "
        "calibration of C-05 was due 2026-02-01, before 2026-03-02"
    ]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (".5005", []),
        ("12.71 mm", []),  # steps of .01 mm in its other unit
        ("12.705 mm", ["Row 1 (001): the reading lies between the marks of C-05, which shows steps of 0.01 mm."]),
        (".5001", ["Row 1 (001): the reading lies between the marks of C-05, which shows steps of 0.0005 in."]),
    ],
)
def test_marks_are_those_of_the_unit_that_was_read(listed: Listed, text: str, told: list[str]) -> None:
    listed.life.take("1", text)
    assert listed.told("off_grid") == told


def test_marks_are_those_that_the_record_had_then(listed: Listed) -> None:
    listed.fill()
    listed.life.change_instrument("C-05", resolution=THOU)
    assert "off_grid" not in listed.codes()


def test_a_pin_that_is_missing_from_its_set(life_kind: Any) -> None:
    life = life_kind().open()
    life.change_instrument("P-32", missing=(round(0.4995 * 25_400_000_000),))
    made = Listed(life, {"number": "1", "kind": "bore", "requirement": "⌀.5000 +.0010 -.0010"}, serials=("001",))
    life.choose("1", "P-32", use=_inside())
    life.take("1", ".4995", slot=Slot("", 1, Role.ENTERS))
    assert made.told("off_grid") == ["Row 1: the reading is a size that P-32 does not have."]


def _inside() -> Any:
    from inspection.instruments.record import Use

    return Use.INSIDE


# --- questions and corrections --------------------------------------------------------------------------------------


def test_a_question_kept_goes_when_the_reading_is_corrected(listed: Listed) -> None:
    out = listed.life.take("1", ".6005")
    listed.life.do(acts.KeepAsWritten(sheet=listed.life.sheet_id, question=listed.life.question()))
    assert listed.told("question_kept") == [
        "Row 1 (001): 0.6005 in looks like a tenth of an inch misread; it was kept as written."
    ]
    listed.life.take("1", ".6000", replaces=out.identity, reason="read the wrong line")
    assert "question_kept" not in listed.codes()


def test_a_question_that_was_answered_by_another_out_reading_moved_nothing_in(listed: Listed) -> None:
    listed.life.take("1", ".6005")
    listed.life.take("1", ".5100", answers=listed.life.question())
    assert "moved_in" not in listed.codes()
    assert "corrected_in" not in listed.codes()


def test_readings_that_moved_in_are_counted_together(listed: Listed) -> None:
    for number, out, now in (("1", ".6005", ".5005"), ("3", "1.3490", "1.2490")):
        listed.life.take(number, out)
        listed.life.take(number, now, answers=listed.life.question())
    assert listed.told("moved_in") == ["2 readings were out and became in after a question. Rows: 1, 3 (001)."]
    listed.life.take_back(listed.reading("3"), "not sure")
    assert listed.of("moved_in").reason.parts["count"] == 1
    assert "corrected_in" not in listed.codes()


def test_out_and_then_in_without_a_question(listed: Listed) -> None:
    for number, first, now, told in (
        ("1", ".5005", ".5010", False),  # in, and in
        ("2", ".7510", ".7508", False),  # out, and out
        ("3", "1.2560", "1.2545", True),
    ):
        out = listed.life.take(number, first)
        listed.life.take(number, now, replaces=out.identity, reason="burr on the edge")
        assert ("corrected_in" in listed.codes()) is told
    assert listed.told("corrected_in") == [
        "One reading was out, was withdrawn without a question, and an in-reading stands in its place: “burr on the "
        "edge”. Row 3 (001)."
    ]


def test_taken_back_and_read_anew_is_no_way_around(listed: Listed) -> None:
    out = listed.life.take("1", ".5060")
    listed.life.take_back(out)
    assert "corrected_in" not in listed.codes()
    listed.life.take("1", ".5045")
    assert listed.told("corrected_in") == [
        "One reading was out, was withdrawn without a question, and an in-reading stands in its place. Row 1 (001)."
    ]


# --- times ----------------------------------------------------------------------------------------------------------


def timed(life: Any, *gaps: float, people: int = 1) -> Listed:
    """Lengths of one caliper (handling 15 s: a fast hand takes 3 s) so many seconds one after the other."""
    made = Listed(life, *many("length", ".5{i:02} ±.005", len(gaps) + 1), serials=("001",))
    hands = [life.person, *(life.enter(f"Bo {i}") for i in range(1, people))]
    when = made.sheet.made_at + 7 * SECOND + 123_456
    for i, gap in enumerate((0.0, *gaps)):
        when += round(gap * SECOND)
        life.take(
            str(i + 1), f"{0.5 + (i + 1) / 1000 + (i % 3 - 1) * 0.0005:.4f}", taken=when, person=hands[i % people]
        )
    return made


@pytest.mark.parametrize(
    ("gaps", "codes"),
    [
        ((2.9,) * 4, ["fast"]),
        ((2.9,) * 3, []),  # too short a stretch
        ((3.0,) * 8, []),
        ((2.0, 2.0, 9.0, 2.0, 2.0, 9.0), []),  # noted down two or three at a time
        ((0.3,) * 4, ["fast"]),  # a pasted block would be quicker yet
        ((0.004,) * 4, ["at_once"]),
        ((0.004,) * 3, []),
        ((0.004,) * 4 + (2.0,) * 4, ["fast", "at_once"]),
    ],
)
def test_a_stretch_that_is_faster_than_hands(life_kind: Any, gaps: tuple[float, ...], codes: list[str]) -> None:
    made = timed(life_kind().open(), *gaps)
    assert made.codes() == codes


def test_how_fast_is_told(life_kind: Any) -> None:
    made = timed(life_kind().open(), 1.5, 1.5, 1.5, 1.5, 60)
    assert made.told("fast") == [
        "Ann Ames wrote 5 readings within 6.0 s; a fast hand needs 12 s to measure them. Rows 1 … 5."
    ]
    assert made.told("at_once") == []


def test_two_hands_are_as_fast_as_two(life_kind: Any) -> None:
    assert timed(life_kind().open(), *(1.6,) * 12, people=2).codes() == []


def test_holes_of_one_count_go_faster_than_other_rows(life_kind: Any) -> None:
    holes = Listed(
        life_kind().open(), {"number": "1", "kind": "length", "requirement": "8X .500 ±.005"}, serials=("1",)
    )
    when = holes.sheet.made_at + 1_234_567
    for i in range(8):
        holes.life.take(f"1.{i + 1}", f".50{i % 3}5", taken=when + i * 1_600_000)
    assert "fast" not in holes.codes()


def test_another_instrument_takes_its_pick_up(life_kind: Any) -> None:
    """Caliper and micrometer in turn, 8 s apart: 15 + 30 s planned are 9 s for a fast hand."""
    rows = [
        {"number": str(i), "kind": kind, "requirement": text.format(i=i)}
        for i in range(1, 7)
        for kind, text in [(("length", ".5{i:02} ±.005"), ("outside diameter", "⌀.7{i:02}0 ±.0005"))[i % 2]]
    ]
    made = Listed(life_kind().open(), *rows, serials=("001",))
    when = made.sheet.made_at + 1_234_567
    for i in range(1, 7):
        text = f".7{i:02}{i % 3}" if i % 2 else f".5{i:02}5"
        made.life.take(str(i), text, taken=when + i * 8 * SECOND)
    assert made.codes() == ["fast"]


@pytest.mark.parametrize(("to", "told"), [(60, False), (1, False), (0, True)])
def test_times_written_to_the_minute_are_known_no_better(life_kind: Any, to: int, told: bool) -> None:
    """A file's times: four readings each 2.5 s apart, or written down to the second or the minute."""
    made = Listed(life_kind().open(), *many("length", ".5{i:02} ±.005", 9), serials=("001",))
    begin = made.sheet.made_at // (60 * SECOND) * 60 * SECOND + 60 * SECOND
    for i in range(9):
        when = begin + (i // 4 * 60 * SECOND if to == 60 else i * 2 * SECOND + (0 if to else 500_000 * i + 1))
        made.life.entries += 3
        made.life.take(str(i + 1), f".50{i + 1}{i % 2 * 5}", taken=when)
    assert ("fast" in made.codes()) is told


def test_withdrawn_readings_took_their_time_and_are_not_named(life_kind: Any) -> None:
    made = timed(life_kind().open(), *(2.0,) * 6)
    made.life.take_back(made.reading("7"))
    point = made.of("fast")
    assert point.reason.parts["count"] == 7
    assert made.rows(point) == [f"{i}/001" for i in range(1, 7)]


# --- history --------------------------------------------------------------------------------------------------------


def before(listed: Listed, number: str, *offs: float, **fields: Any) -> dict[str, tuple[Earlier, ...]]:
    """Earlier results of a row, so many thousandths of an inch from nominal."""
    row = listed.life.row(number)
    asked = row.requirement
    made = {"nominal": asked.nominal, "lower": asked.lower, "upper": asked.upper, **fields}
    counts = [round(asked.nominal + off * THOU) for off in offs]
    return {row.identity: tuple(Earlier(f"s{i}", f"E{i}", DAY, c, c, **made) for i, c in enumerate(counts))}


def test_a_result_more_than_three_s_from_history_is_told_with_what_it_is_held_against(listed: Listed) -> None:
    listed.fill()
    history = before(listed, "3", 1, 1.5, 1, 0.5, 1)
    assert listed.told("history", history)[0] == (
        "Row 3 (001) is 0.00200 in under what it came to before: mean 1.2510 in, s 0.000354 in of 5 earlier results."
    )
    assert [listed.rows(point) for point in listed.points(history)] == [["3/001"], ["3/002"]]


@pytest.mark.parametrize(
    ("offs", "fields"),
    [
        ((3, 3, 3, 3), {}),  # too few
        ((0.5, 0, 1, 0.5, 0), {}),  # it agrees
        ((3, 3.5, 3, 2.5, 3), {"nominal": 1}),  # held against another size
        ((-3, 3, -2, 2, 0, 1), {}),  # it scatters
    ],
)
def test_history_is_silent(listed: Listed, offs: tuple[float, ...], fields: dict[str, int]) -> None:
    listed.fill()
    assert listed.points(before(listed, "1", *offs, **fields)) == ()


def test_equal_results_of_history_are_believed_to_a_step(listed: Listed) -> None:
    """s = 0 is no evidence: a caliper's own .0003 in stands for it, so that 3 s is .0009 in."""
    listed.fill()
    assert listed.points(before(listed, "1", 0, 0, 0, 0, 0)) != ()
    assert [listed.rows(p) for p in listed.points(before(listed, "1", 0, 0, 0, 0, 0))] == [["1/002"]]


def test_means_are_held_against_means(life_kind: Any) -> None:
    made = Listed(
        life_kind().open(),
        {"number": "1", "kind": "length", "requirement": ".500 ±.005", "repeats": "3"},
        serials=("001",),
    )
    for i, text in enumerate((".5005", ".5000", ".5005"), 1):
        made.life.take("1", text, slot=Slot("", i))
    row = made.life.row("1")
    nominal = row.requirement.nominal
    sums = [3 * nominal + off * THOU // 2 for off in (1, 2, 3, 2, 1, 2)]
    ends = (nominal, row.requirement.lower, row.requirement.upper)
    same = {row.identity: tuple(Earlier(f"s{i}", "E", DAY, c, c, 3, *ends) for i, c in enumerate(sums))}
    assert made.points(same) == ()
    off = {
        row.identity: tuple(
            Earlier(f"s{i}", "E", DAY, c + 9 * THOU, c + 9 * THOU, 3, *ends) for i, c in enumerate(sums)
        )
    }
    assert made.codes(off) == ["history"]
    singles = {row.identity: tuple(Earlier(f"s{i}", "E", DAY, c, c, 1, *ends) for i, c in enumerate([nominal] * 6))}
    assert made.points(singles) == ()


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


# --- read again by the lead -----------------------------------------------------------------------------------------


def again(listed: Listed, number: str, text: str, tag: str = "") -> tuple[Point, ...]:
    """Row ``number`` of the first piece read again as the lead does it, at the sheet's review."""
    life = listed.life
    if not listed.sheet.sealed:
        life.sign()
    known = [person.identity for person in life.shop.people.values() if person.name == "Lea Lund"]
    lead = known[0] if known else life.enter("Lea Lund", Duty.LEAD)
    taken = life.reading(number, text)
    act = acts.ReadRowAgain(
        sheet=life.sheet_id,
        characteristic=taken.characteristic,
        piece=taken.piece,
        slot=taken.slot,
        quantity=taken.quantity,
        observed=taken.observed,
        method=life.method(tag) if tag else None,
    )
    life.do(act, lead)
    return listed.points()


def test_what_the_lead_read_again_is_compared_with_what_stands(listed: Listed) -> None:
    """U of the caliper is .0014 in: √2 U = .0020 in, and .0010 in between two readings are E_n = .5."""
    listed.fill()
    (point,) = again(listed, "1", ".5015")
    expanded = listed.life.judgement("1").expanded
    assert expanded is not None
    e_n = (0.001 * 25_400_000_000) / (2 * expanded**2) ** 0.5
    assert (point.code, point.must_answer) == ("again", False)
    assert point.reason.parts["e_n"].text == f"{int(e_n * 100) / 100:.2f}"  # type: ignore[union-attr]
    assert listed.told("again")[0].startswith(
        "Row 1 (001), read again: 0.5015 in after 0.5005 in. They are 0.00100 in apart and agree"
    )


def test_two_readings_differ_from_e_n_over_one_on(listed: Listed) -> None:
    listed.fill()
    expanded = listed.life.judgement("1").expanded
    assert expanded is not None
    steps = int((2 * expanded**2) ** 0.5 / (THOU / 2))
    for more, code in ((0, "again"), (1, "again_differs")):
        text = f"{0.5005 - 0.0005 * (steps + more):.4f}"
        (point,) = again(listed, "1", text)
        assert point.code == code, text


def test_the_finer_instrument_s_own_uncertainty_counts(listed: Listed) -> None:
    listed.fill()
    coarse = again(listed, "1", ".4990")[0].reason.parts["e_n"].text  # type: ignore[union-attr]
    fine = again(listed, "1", ".4990", "M-01")[0].reason.parts["e_n"].text  # type: ignore[union-attr]
    assert float(fine) > 1.3 * float(coarse)


@pytest.mark.parametrize(("first", "second", "said"), [(".5045", ".5055", "outside"), (".5055", ".5045", "inside")])
def test_a_limit_between_two_readings_is_told_however_near_they_are(
    listed: Listed, first: str, second: str, said: str
) -> None:
    listed.life.take("1", first)
    listed.fill("2", "3", "4")
    listed.life.take("1", ".5050", 1)
    found = {point.code: point for point in again(listed, "1", second)}
    assert found["again_outside"].reason.code == f"points.again_{said}"


def test_what_was_seen_again_is_the_same_or_not(listed: Listed) -> None:
    listed.fill()
    assert [point.reason.code for point in again(listed, "4", "as required")] == ["points.again_seen"]
    found = again(listed, "4", "not as required")
    assert [(point.code, point.reason.code) for point in found] == [("again_outside", "points.again_seen_differs")]


def test_what_was_read_again_in_an_earlier_round_is_past(listed: Listed) -> None:
    listed.fill()
    assert again(listed, "1", ".5015") != ()
    listed.life.reopen()
    assert listed.points() == ()


def test_a_method_without_a_budget_is_only_shown(listed: Listed) -> None:
    listed.fill()
    first = listed.reading("1")
    nobody: Reading = replace(first, method=replace(first.method, parts=(replace(first.method.parts[0], issue=99),)))
    (point,) = listed.points(again={first.identity: replace(nobody, identity="again")})
    assert (point.code, point.reason.code) == ("again", "points.again_unknown")


def test_a_reading_that_counts_no_longer_is_compared_with_nothing(listed: Listed) -> None:
    listed.fill()
    first = listed.reading("1")
    listed.life.take("1", ".5010", replaces=first.identity, reason="held askew")
    assert listed.points(again={first.identity: replace(first, identity="again")}) == ()
    assert listed.points(again={"nobody": first}) == ()
