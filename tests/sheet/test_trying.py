"""Pins tried in the bores of a sheet: where to begin, which comes next, and the two readings that are kept of them."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.instruments.record import Direction, Instrument, InstrumentKind, Member
from inspection.instruments.starter import starter_crib
from inspection.instruments.stepping import Tried, mark_text
from inspection.measuring.reading import Role, Slot
from inspection.quantity.reader import read
from inspection.quantity.units import UNITS
from inspection.reasons import Refused
from inspection.sheet.trying import likely_bore, to_keep, told_of_sized, trial_of, tries_of
from inspection.words.say import say

INCH = UNITS["in"].count
THOU, TENTH = INCH // 1000, INCH // 10_000
BOTH = (Slot("", 1, Role.ENTERS), Slot("", 1, Role.STOPS))
ROWS = (
    {"number": "1", "kind": "bore", "requirement": "2X ⌀.1360 +.004/-.001"},
    {"number": "2", "kind": "bore", "requirement": "⌀.1500–.1540", "blind": "yes"},
    {"number": "3", "kind": "bore", "requirement": "⌀.2000–.2040", "places": "top; foot"},
)


def pins(*missing: int) -> Instrument:
    members = tuple(Member(n * THOU) for n in range(480, 521))
    lost = tuple(n * THOU for n in missing)
    given = {"class_tolerance": 2 * TENTH, "direction": Direction.MINUS, "members": members, "missing": lost}
    return Instrument("p", 1, "P-1", InstrumentKind.GAUGE_PINS, "pins", **given)  # type: ignore[arg-type]


@given(st.integers(4800, 5199), st.integers(4800, 5199), st.sets(st.integers(481, 519), max_size=30))
def test_what_is_kept_of_a_bore_lies_on_either_side_of_it(bore: int, likely: int, lost: set[int]) -> None:
    """Pins of their marked size: what enters is not over the bore and what does not is, with none of the set between;
    typed again, both are read as the very pins."""
    held, tried = pins(*lost), []
    while (trial := trial_of(held, likely * TENTH, tried)).pin is not None:
        tried.append(Tried(trial.pin.size, trial.pin.size <= bore * TENTH))
    there = [member.size for member in held.members if member.size not in held.missing]
    kept = to_keep(trial, held, "", (), BOTH)
    assert [each.slot for each in kept] == list(BOTH)
    into, out = (read(each.text, unit="in").count for each in kept)
    assert into <= bore * TENTH < out
    assert not [size for size in there if into < size < out]


def test_marks_have_the_decimals_of_the_set() -> None:
    assert [mark_text(pins(), n * THOU) for n in (480, 500)] == [".480", ".500"]
    by_tag = {one.tag: one for one in starter_crib()}
    assert mark_text(by_tag["P-32"], INCH // 2) == ".5000"
    assert mark_text(by_tag["P-41"], 3_400_000_000) == "3.40"
    assert mark_text(pins(), 1_000_000_000) == "1 mm"


def test_nothing_is_kept_before_the_bore_is_sized_or_where_classes_overlap() -> None:
    held = pins()
    assert to_keep(trial_of(held, INCH // 2, ()), held, "", (), BOTH) == ()
    over = trial_of(held, INCH // 2, [Tried(520 * THOU, True)])
    assert (over.is_sized, [reason.code for reason in over.reasons]) == (False, ["stepping.over_all"])
    assert to_keep(over, held, "", (), BOTH) == ()


def test_what_cannot_be_is_said_and_asks_for_no_pin() -> None:
    trial = trial_of(pins(), INCH // 2, [Tried(502 * THOU, True), Tried(501 * THOU, False)])
    assert trial.at_fault and trial.pin is None
    assert say(trial.reasons[0]).startswith("0.502 in enters where 0.501 in does not.")


# --- on a sheet -------------------------------------------------------------------------------------------------


@pytest.fixture
def bored(life_kind: Any) -> Any:
    life = life_kind().open(tuple(one for one in starter_crib(due="2099-01-01") if one.tag in ("P-02", "M-01")))
    life.make(("001", "002"), *ROWS)
    return life


def likely(life: Any, number: str, piece: int = 0, place: str = "") -> float:
    cell = (life.row(number).identity, life.sheet.pieces[piece].identity)
    return likely_bore(life.sheet, cell, place, life.shop.by_tag("P-02")) / THOU


def take(life: Any, number: str, size: str, role: Role = Role.ENTERS, piece: int = 0, place: str = "") -> Any:
    return life.take(number, size, piece, Slot(place, 1, role))


def test_a_bore_is_begun_at_its_nominal_or_between_its_limits(bored: Any) -> None:
    assert likely(bored, "1.1") == 136
    assert likely(bored, "3") == 202


def test_like_bores_tell_where_to_begin_the_nearest_first(bored: Any) -> None:
    """Other holes of the count on this piece come before the same hole on other pieces; other places before both."""
    take(bored, "1.1", ".138")
    assert likely(bored, "1.2") == 138
    assert likely(bored, "1.1", piece=1) == 138
    take(bored, "1.2", ".139", piece=1)
    assert likely(bored, "1.1", piece=1) == 139
    take(bored, "3", ".203", place="top")
    assert likely(bored, "3", place="foot") == 203
    assert likely(bored, "3", place="top") == 202, "its own reading is no guess at itself"


def test_a_reading_that_was_taken_back_tells_nothing(bored: Any) -> None:
    bored.take_back(take(bored, "1.1", ".138"))
    assert likely(bored, "1.2") == 136


def test_a_row_read_blind_begins_in_the_middle_of_the_set(bored: Any) -> None:
    take(bored, "2", ".152", piece=1)
    assert likely(bored, "2") == 156  # .061 … .250


def test_readings_count_as_tried_at_their_own_place(bored: Any) -> None:
    take(bored, "3", ".202", place="top")
    take(bored, "3", ".203", Role.STOPS, place="top")
    cell = (bored.row("3").identity, bored.sheet.pieces[0].identity)
    readings = bored.sheet.counting(*cell)
    assert tries_of(readings, "top") == (Tried(202 * THOU, True), Tried(203 * THOU, False))
    assert tries_of(readings, "foot") == ()
    assert [say(reason) for reason in told_of_sized(bored.shop.by_tag("P-02"), readings, "top")] == [
        "0.202 in enters, 0.203 in does not: by class and direction the bore is 0.2018 in to 0.203 in."
    ]
    assert told_of_sized(bored.shop.by_tag("P-02"), readings[:1], "top") == ()


def test_another_pin_than_was_kept_is_refused_and_only_what_waits_is_kept(bored: Any) -> None:
    take(bored, "1.1", ".136")
    cell = (bored.row("1.1").identity, bored.sheet.pieces[0].identity)
    readings, held = bored.sheet.counting(*cell), bored.shop.by_tag("P-02")
    sized = trial_of(held, 136 * THOU, [*tries_of(readings, ""), Tried(137 * THOU, False)])
    assert [(each.slot, each.text) for each in to_keep(sized, held, "", readings, BOTH[1:])] == [(BOTH[1], ".137")]
    larger = trial_of(held, 136 * THOU, [*tries_of(readings, ""), Tried(137 * THOU, True), Tried(138 * THOU, False)])
    with pytest.raises(Refused) as refused:
        to_keep(larger, held, "", readings, BOTH[1:])
    assert [say(reason) for reason in refused.value.reasons] == [
        "0.137 in enters, but 0.136 in is kept as the largest that enters. F2 corrects it."
    ]
