"""Where points about the drawing, verdicts, instruments and questions begin and end. Common practice throughout."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.measuring.reading import Role, Slot
from inspection.sheet import acts
from tests.sheet.points_bench import Listed

THOU = 25_400_000
SECOND = 1_000_000
GUARDED = DecisionRule(RuleKind.GUARDED)


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
