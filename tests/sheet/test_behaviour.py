"""How an instrument behaves, told: proven or not, evidence with figures reckoned by hand, what checks read, records."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from inspection.measuring.checks import Answer, configured
from inspection.measuring.checks_good import good_answers
from inspection.measuring.checks_life import Upset, Used
from inspection.quantity.units import UNITS
from inspection.sheet import acts
from inspection.sheet.alive import alive_for
from inspection.sheet.behaviour import Read, errors_seen, evidence_now, evidence_said, remembered, stands
from inspection.sheet.people import Duty
from inspection.words.say import say

INCH, THOU, TENTH = UNITS["in"].count, UNITS["thou"].count, UNITS["tenth"].count
EIGHT_HOURS = 8 * 3600 * 1_000_000


@pytest.fixture
def life(life_kind: Any) -> Any:
    return life_kind().open(checks=True)


def answers(life: Any, tag: str, zeros: tuple[int, ...], block: tuple[int, ...]) -> tuple[Answer, ...]:
    """A check at which zero and a block of half an inch read off by these tenths."""
    held = life.shop.by_tag(tag)
    found = []
    for answer in good_answers(held, configured(held), INCH // 2):
        off, size = (block, answer.size) if answer.size else (zeros, 0)
        read = tuple(size + each * TENTH for each in off)
        anew = replace(answer, readings=read, written=tuple("x" for _ in read))
        found.append(anew if answer.readings else answer)
    return tuple(found)


def told(life: Any, tag: str, at: int, uses: tuple[Used, ...] = (), by: str = "", person: str = "") -> Any:
    found = alive_for(life.shop, life.shop.by_tag(tag), by or life.person, at, uses)
    return stands(life.shop, found, person or life.person, str)


def evidence(life: Any, tag: str) -> list[str]:
    held = evidence_now(life.shop, life.shop.by_tag(tag))
    return [say(reason) for reason in evidence_said(life.shop.by_tag(tag), held)] if held else []


def of(life: Any, tag: str) -> list[Any]:
    return [each for each in life.shop.proofs if each.instrument == life.shop.by_tag(tag).identity]


# --- whether it is proven -----------------------------------------------------------------------------------------


def test_a_check_proves_it_for_its_hand_until_its_life_ends(life: Any) -> None:
    made = life.check("C-05")
    found = told(life, "C-05", made.at + EIGHT_HOURS)
    assert found.proven
    assert [say(each) for each in found.said] == [
        f"Proven until {made.at + EIGHT_HOURS}: checked {made.at} by Ann Ames."
    ]
    assert not told(life, "C-05", made.at + EIGHT_HOURS + 1).proven
    bo = life.enter("Bo Birch", Duty.INSPECTOR)
    assert say(told(life, "C-05", made.at, person=bo).said[0]) == (
        f"Proven for Ann Ames until {made.at + EIGHT_HOURS}. In another hand it is checked again before it is used."
    )


@pytest.mark.parametrize(
    ("tag", "ends", "why"),
    [
        ("C-05", None, "It was not checked before."),
        ("C-05", "failed", "Its last check failed."),
        ("C-05", "dropped", "It was dropped since its last check."),
        ("C-05", "hand", "It has changed hands since its last check."),
    ],
)
def test_what_ends_a_check_is_said(life: Any, tag: str, ends: str | None, why: str) -> None:
    uses: tuple[Used, ...] = ()
    at = life.check(tag).at if ends else 0
    if ends == "failed":
        at = life.check(tag, bad="wipe").at
    elif ends == "dropped":
        life.do(acts.ReportUpset(instrument=life.shop.by_tag(tag).identity, what=Upset.DROPPED))
        at += 60_000_000
    elif ends == "hand":
        held = life.shop.by_tag(tag)
        uses = (Used("r", held.identity, held.issue, configured(held), "somebody else", at + 1),)
        at += 2
    found = told(life, tag, at, uses)
    assert found.proven is False
    assert [say(each) for each in found.said] == ["Not proven now.", why]


def test_a_shop_that_asks_for_no_check_says_so_and_a_kind_that_is_not_checked_says_nothing(life_kind: Any) -> None:
    life = life_kind().open()
    assert told(life, "C-05", 0).proven is None
    assert say(told(life, "C-05", 0).said[0]) == "The shop asks for no check before use."
    assert told(life, "EYE", 0) is None


# --- evidence -----------------------------------------------------------------------------------------------------


def test_scatter_and_error_are_those_reckoned_by_hand(life: Any) -> None:
    """In halves of a thou, the caliper's step: zeros −1, 0, 1 give s₀ = 1, ν = 2; block 0, 1, 2: s = 1, mean 1."""
    assert evidence(life, "C-05") == []
    life.check("C-05", answers=answers(life, "C-05", (-5, 0, 5), (0, 5, 10)))
    assert evidence(life, "C-05") == [
        "On a block one reading scatters by s = 0.000500 in (ν = 2); readings of parts are reckoned with that, or with "
        "what is usual on parts where it is larger.",
        "Its zero scatters by s₀ = 0.000500 in (ν = 2).",
        "When it was last checked well it read 0.5 in by 0.000500 in too large, the mean of 3.",
        "Its zero was right then, as the mean of 3.",
    ]
    life.check("C-05", answers=answers(life, "C-05", (-5, -5, -5), (0, -5, -10)))
    assert evidence(life, "C-05")[0].startswith("On a block one reading scatters by s = 0.000500 in (ν = 4);")
    assert evidence(life, "C-05")[2:] == [
        "When it was last checked well it read 0.5 in by 0.000500 in too small, the mean of 3.",
        "Its zero was 0.000500 in too small then, the mean of 3.",
    ]


def test_readings_that_differ_by_a_step_at_most_are_no_evidence_of_scatter(life: Any) -> None:
    life.check("C-05", answers=answers(life, "C-05", (0, 0, 0), (0, 5, 0)))
    assert evidence(life, "C-05")[:2] == [
        "On a block its readings differ by no more than a step of 0.0005 in: that shows the step, and says nothing of "
        "the scatter.",
        "Its zeros differ by no more than a step of 0.0005 in.",
    ]


def test_a_study_stands_before_the_block(life: Any) -> None:
    held = life.shop.by_tag("C-05")
    groups = ((INCH, INCH + 2 * TENTH), (2 * INCH, 2 * INCH + 2 * TENTH))
    life.do(acts.RecordStudy(instrument=held.identity, configuration=configured(held), groups=groups))
    life.check("C-05", answers=answers(life, "C-05", (0, 0, 0), (0, 5, 10)))
    first, second, *_ = evidence(life, "C-05")
    assert first == (
        "On parts one reading scatters by s = 0.000141 in (ν = 2), from studies; readings are reckoned with that."
    )
    assert second == "On a block one reading scatters by s = 0.000500 in (ν = 2)."


# --- what checks read ---------------------------------------------------------------------------------------------


def test_each_check_gives_its_mean_errors_with_their_reach_and_what_was_permitted(life: Any) -> None:
    life.check("C-05", answers=answers(life, "C-05", (0, 0, 3), (1, 2, 6)))
    life.check("C-05", answers=answers(life, "C-05", (0, 0, 0), (0, 0, 11)))
    seen = errors_seen(life.shop, of(life, "C-05"))
    assert [(one.what, one.error, one.low, one.high, one.size, one.limit, one.passed) for one in seen] == [
        (Read.ZERO, TENTH, 0, 3 * TENTH, 0, THOU, True),
        (Read.BLOCK, 3 * TENTH, TENTH, 6 * TENTH, INCH // 2, THOU, True),
        (Read.ZERO, 0, 0, 0, 0, THOU, False),
        (Read.BLOCK, round(11 * TENTH / 3), 0, 11 * TENTH, INCH // 2, THOU, False),
    ]


def test_one_spot_gives_how_far_its_readings_lie_apart(life_kind: Any) -> None:
    from inspection.instruments.starter import starter_crib

    life = life_kind().open(tuple(one for one in starter_crib("2099-01-01") if one.tag == "I-01"), checks=True)
    held = life.shop.by_tag("I-01")
    spots = tuple(
        replace(one, readings=(0, held.resolution, 0), written=("0", "1", "0")) if one.readings else one
        for one in good_answers(held)
    )
    life.check("I-01", answers=spots)
    (seen,) = errors_seen(life.shop, of(life, "I-01"))
    assert (seen.what, seen.error, seen.passed) == (Read.SPOT, held.resolution, True)


# --- records ------------------------------------------------------------------------------------------------------


def test_records_are_told_the_newest_first(life: Any) -> None:
    held = life.shop.by_tag("C-05")
    life.check("C-05", answers=answers(life, "C-05", (0, 0, 3), (1, 2, 6)))
    life.do(acts.ReportUpset(instrument=held.identity, what=Upset.DROPPED, note="off the bench"))
    life.check("C-05", bad="light_gap")
    study = ((INCH, INCH + 2 * TENTH), (2 * INCH, 2 * INCH + 2 * TENTH))
    life.do(acts.RecordStudy(instrument=held.identity, configuration=configured(held), groups=study, note="bores"))
    life.check("C-05", closing=True)
    life.do(acts.RemoveForCause(instrument=held.identity, reason="a jaw is bent"))
    found = remembered(life.shop, of(life, "C-05"))
    assert [(say(one.what), one.good, [say(each) for each in one.said]) for one in found] == [
        ("out of service for cause", False, ["C-05 was taken out of service: a jaw is bent."]),
        (
            "check after use (in): passed",
            True,
            [
                "Zero, 3 times: at most 0 in off, 0.001 in allowed.",
                "3 in, read 3 times: at most 0 in off, 0.001 in allowed.",
            ],
        ),
        ("study on parts, 4 readings of 2 places", None, ["s = 0.000141 in (ν = 2)", "“bores”"]),
        (
            "check before use (in): failed",
            False,
            ["Not as it should be: Close the jaws against the light: no gap."],
        ),
        ("dropped", None, ["“off the bench”"]),
        (
            "check before use (in): passed",
            True,
            [
                "Zero, 3 times: at most 0.0003 in off, 0.001 in allowed.",
                "0.5 in, read 3 times: at most 0.0006 in off, 0.001 in allowed.",
            ],
        ),
    ]
    assert {one.by for one in found} == {life.person}
