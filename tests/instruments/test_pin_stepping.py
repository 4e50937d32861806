"""Stepping up pins: every bore is found between its two pins, in few tries, and never claimed finer than the class."""

from __future__ import annotations

from math import log2

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.instruments.record import Direction, Instrument, InstrumentKind, Member
from inspection.instruments.starter import starter_crib
from inspection.instruments.stepping import Sized, Step, Tried, next_pin, pins_to_take, sized_by
from inspection.quantity.units import UNITS
from inspection.reasons import Refused
from inspection.words.say import say

THOU = UNITS["thou"].count
TENTH = THOU // 10


def pins(
    *missing: int, first: int = 480, last: int = 520, direction: Direction | None = Direction.MINUS, **given: object
) -> Instrument:
    """A set in steps of a thou with a class tolerance of two tenths."""
    given = {"class_tolerance": 2 * TENTH, "kind": InstrumentKind.GAUGE_PINS, **given}
    members = tuple(Member(n * THOU) for n in range(first, last + 1))
    lost = tuple(n * THOU for n in missing)
    return Instrument(
        "p",
        1,
        "P-1",
        name="pins",
        members=members,
        missing=lost,
        direction=direction,
        **given,  # type: ignore[arg-type]
    )


def stepped(held: Instrument, likely: int, bore: int, true: dict[int, int]) -> tuple[Step, list[Tried]]:
    """Try pins as told until nothing more is told; a pin enters if its ``true`` size is not over the bore."""
    tried: list[Tried] = []
    while (step := next_pin(held, likely, tried)).pin is not None:
        assert step.pin.size not in [each.size for each in tried], "no pin is asked for twice"
        tried.append(Tried(step.pin.size, true[step.pin.size] <= bore))
        assert len(tried) <= len(held.members)
    return step, tried


@given(
    st.integers(470 * 10, 530 * 10),
    st.integers(475 * 10, 525 * 10),
    st.sets(st.integers(480, 520), max_size=35),
    st.sampled_from([*Direction, None]),
    st.data(),
)
def test_every_bore_is_found_between_neighbours(
    bore: int, likely: int, lost: set[int], direction: Direction | None, data: st.DataObject
) -> None:
    """Whatever the true sizes within the class: the bounds hold the bore, and no pin left lies between the two."""
    held = pins(*lost, direction=direction)
    there = [member.size for member in held.members if member.size not in held.missing]
    down, up = {Direction.PLUS: (0, 2), Direction.MINUS: (2, 0), None: (2, 2)}[direction]
    off = data.draw(st.integers(-down, up))
    true = {size: size + off * TENTH for size in there}
    step, tried = stepped(held, likely * TENTH, bore * TENTH, true)
    entered, stopped = step.sized.entered, step.sized.stopped
    assert (entered.size if entered else None) == max((s for s in there if true[s] <= bore * TENTH), default=None)
    assert (stopped.size if stopped else None) == min((s for s in there if true[s] > bore * TENTH), default=None)
    assert step.sized.least is None or step.sized.least <= bore * TENTH
    assert step.sized.most is None or step.sized.most >= bore * TENTH
    assert len(tried) <= 2 * log2(len(there)) + 3
    assert len(step.reasons) >= 1


def test_the_usual_bore_takes_three_pins() -> None:
    """Likely .5000, the bore a little over .5003: the pin at the likely size enters, then two to close in."""
    held = pins()
    true = {member.size: member.size for member in held.members}
    step, tried = stepped(held, 500 * THOU, 500 * THOU + 3 * TENTH, true)
    assert [each.size // THOU for each in tried] == [500, 501]
    assert [say(reason) for reason in step.reasons] == [
        "0.500 in enters, 0.501 in does not: by class and direction the bore is 0.4998 in to 0.501 in."
    ]


def test_it_begins_under_the_likely_size_and_strides_out() -> None:
    held = pins()
    true = {member.size: member.size for member in held.members}
    _, up = stepped(held, 500 * THOU + 7 * TENTH, 509 * THOU, true)
    assert [each.size // THOU for each in up] == [500, 501, 503, 507, 515, 511, 509, 510]
    _, down = stepped(held, 500 * THOU, 494 * THOU, true)
    assert [each.size // THOU for each in down] == [500, 499, 497, 493, 495, 494]


def test_a_missing_pin_is_passed_over_and_said() -> None:
    held = pins(501)
    true = {member.size: member.size for member in held.members}
    step, _ = stepped(held, 500 * THOU, 501 * THOU, true)
    assert step.sized.stopped is not None and step.sized.stopped.size == 502 * THOU
    assert say(step.reasons[1]) == (
        "One pin between 0.500 in and 0.502 in is missing from P-1; with it the bore could be told finer."
    )


@pytest.mark.parametrize(
    ("bore", "sentence"),
    [
        (600, "0.520 in, the largest of P-1, enters. Take a larger set."),
        (400, "0.480 in, the smallest of P-1, does not enter. Take a smaller set, and look for a burr."),
    ],
)
def test_the_end_of_a_set_is_said(bore: int, sentence: str) -> None:
    held = pins()
    step, _ = stepped(held, 500 * THOU, bore * THOU, {member.size: member.size for member in held.members})
    assert [say(reason) for reason in step.reasons] == [sentence]


def test_a_bore_is_shown_within_limits_only_beyond_the_class() -> None:
    """Minus pins: .500 may be .4998, so that it does not show a lower limit of .500; plus pins show it, and lose the
    upper one."""
    limits = (500 * THOU, 502 * THOU)
    tried = (Tried(500 * THOU, True), Tried(502 * THOU, False))
    assert not sized_by(pins(), tried).within(*limits)
    assert sized_by(pins(), tried).within(None, limits[1])
    assert not sized_by(pins(direction=Direction.PLUS), tried).within(*limits)
    assert sized_by(pins(direction=Direction.PLUS), tried).within(limits[0], None)
    assert sized_by(pins(), (Tried(501 * THOU, True), Tried(502 * THOU, False))).within(*limits)
    assert not Sized().within(*limits)
    assert Sized().within(None, None)


def test_pins_whose_classes_overlap_may_enter_the_other_way_round() -> None:
    """Steps of a thou and t of three: .501 may be .498 and .500 be .500."""
    wide = pins(class_tolerance=3 * THOU)
    step = next_pin(wide, 500 * THOU, (Tried(500 * THOU, False), Tried(501 * THOU, True)))
    assert step.pin is None
    assert (step.sized.least, step.sized.most) == (498 * THOU, 500 * THOU)
    assert [say(reason) for reason in step.reasons] == [
        "0.501 in enters, 0.500 in does not, though it is marked smaller: within their class they may be the other way "
        "round. The bore is 0.498 in to 0.500 in."
    ]


@given(st.integers(4850, 5150), st.lists(st.integers(-30, 0), min_size=41, max_size=41))
def test_wherever_pins_lie_in_a_wide_class_the_bounds_hold_the_bore(bore: int, off: list[int]) -> None:
    wide = pins(class_tolerance=3 * THOU)
    true = {member.size: member.size + by * TENTH for member, by in zip(wide.members, off, strict=True)}
    step, _ = stepped(wide, 500 * THOU, bore * TENTH, true)
    assert step.sized.least is not None and step.sized.most is not None
    assert step.sized.least <= bore * TENTH < step.sized.most


@pytest.mark.parametrize(
    ("direction", "first", "last"), [(Direction.MINUS, 499, 503), (Direction.PLUS, 498, 502), (None, 498, 503)]
)
def test_pins_to_take_reach_surely_past_both_limits(direction: Direction | None, first: int, last: int) -> None:
    """⌀.4990 … .5020: the first is surely not over the lower limit and the last surely not under the upper one."""
    found = pins_to_take(pins(direction=direction), 499 * THOU, 502 * THOU)
    assert [gauge.size // THOU for gauge in found] == list(range(first, last + 1))


def test_pins_to_take_leave_out_what_is_missing_and_stop_at_the_ends() -> None:
    assert [g.size // THOU for g in pins_to_take(pins(499, 503), 499 * THOU, 502 * THOU)] == [498, 500, 501, 502, 504]
    assert [g.size // THOU for g in pins_to_take(pins(), 470 * THOU, 481 * THOU)] == [480, 481, 482]
    assert [g.size // THOU for g in pins_to_take(pins(), None, 502 * THOU)] == [502, 503]


@pytest.mark.parametrize(
    ("held", "likely", "tried", "sentences"),
    [
        (pins(), 0, (), ["0 in is no size of a bore. Enter one over zero."]),
        (pins(), -THOU, (), ["-0.001 in is no size of a bore. Enter one over zero."]),
        (
            pins(503),
            500 * THOU,
            (Tried(503 * THOU, True), Tried(900 * THOU, True)),
            [
                "P-1 has no pin of 0.503 in that is there and of known class.",
                "P-1 has no pin of 0.900 in that is there and of known class.",
            ],
        ),
        (
            pins(),
            500 * THOU,
            (Tried(502 * THOU, True), Tried(501 * THOU, False)),
            [
                "0.502 in enters where 0.501 in does not. Clean bore and pins, look for a burr or a bore that is not "
                "round, and try both again."
            ],
        ),
        (
            pins(),
            500 * THOU,
            (Tried(502 * THOU, True), Tried(502 * THOU, False)),
            ["0.502 in is entered both as going in and as not going in. Try it again."],
        ),
        (
            pins(class_tolerance=0),
            500 * THOU,
            (),
            ["No pin of P-1 is there with a known class. Enter its class in the crib."],
        ),
        (pins(kind=InstrumentKind.GAUGE_BLOCKS), 500 * THOU, (), ["P-1, pins, is no set of gauge pins."]),
    ],
)
def test_what_cannot_be_is_refused(
    held: Instrument, likely: int, tried: tuple[Tried, ...], sentences: list[str]
) -> None:
    with pytest.raises(Refused) as refused:
        next_pin(held, likely, tried)
    assert [say(reason) for reason in refused.value.reasons] == sentences


@pytest.mark.parametrize(
    ("lower", "upper", "sentence"),
    [
        (None, None, "This bore has no limit to choose pins for."),
        (2 * THOU, THOU, "The lower limit 0.002 in is over the upper one 0.001 in."),
    ],
)
def test_limits_that_are_none_are_refused(lower: int | None, upper: int | None, sentence: str) -> None:
    with pytest.raises(Refused) as refused:
        pins_to_take(pins(), lower, upper)
    assert [say(reason) for reason in refused.value.reasons] == [sentence]


def test_the_starter_sets_can_be_stepped() -> None:
    for held in (each for each in starter_crib() if each.kind is InstrumentKind.GAUGE_PINS):
        middle = held.members[len(held.members) // 2].size
        step, _ = stepped(held, middle, middle, {member.size: member.size for member in held.members})
        assert step.sized.entered is not None and step.sized.entered.size == middle
