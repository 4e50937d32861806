"""Where what the lead read again agrees and where it does not. Common practice; E_n from memory of ISO 13528."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.measuring.reading import Reading
from inspection.sheet import acts
from inspection.sheet.people import Duty
from inspection.sheet.points_table import Point
from tests.sheet.points_bench import Listed

THOU = 25_400_000
SECOND = 1_000_000
GUARDED = DecisionRule(RuleKind.GUARDED)


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
