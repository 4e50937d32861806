"""Checks before use: their lists by kind, what they are held against, what they yield, and what is no check."""

from __future__ import annotations

import tomllib
from fractions import Fraction
from importlib.resources import files
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from inspection.instruments.record import Instrument, InstrumentKind
from inspection.instruments.starter import starter_crib
from inspection.measuring.checks import (
    CLOSING_BAND,
    Answer,
    Asked,
    CheckLine,
    Configuration,
    checklist,
    closing_wanted,
    configured,
    line_reason,
)
from inspection.measuring.checks_outcome import Outcome, limit_at, outcome_of
from inspection.measuring.spread import Seen
from inspection.quantity.units import UNITS, Kind
from inspection.reasons import Refused
from inspection.words.say import known, say

INCH, THOU = UNITS["in"].count, UNITS["thou"].count
TENTH = UNITS["tenth"].count
MM = UNITS["mm"].count


def of(tag: str) -> Instrument:
    return next(each for each in starter_crib() if each.tag == tag)


MICROMETER, SECOND, CALIPER, DEPTH = (of(tag) for tag in ("M-01", "M-02", "C-05", "M-31"))
INCHES = Configuration("in")


def good(instrument: Instrument, line: CheckLine, size: int) -> Answer:
    """The answer of an instrument in order that reads the block exactly."""
    if line.asked is Asked.SEEN:
        return Answer(line.code, seen=True)
    if line.asked is Asked.UNIT:
        return Answer(line.code, shown=instrument.unit)
    if line.asked is Asked.ZEROS:
        return Answer(line.code, readings=(line.at,) * line.least)
    return Answer(line.code, readings=(size,) * line.least, size=size)


def answers(instrument: Instrument, size: int = INCH // 2, **other: Answer | None) -> list[Answer]:
    """Answers to the whole list, all in order but for those given by line; None leaves a line out."""
    found = {line.code: good(instrument, line, size) for line in checklist(instrument)}
    found |= other  # type: ignore[arg-type]
    return [answer for answer in found.values() if answer is not None]


def outcome(instrument: Instrument, size: int = INCH // 2, **other: Answer | None) -> Outcome:
    return outcome_of(instrument, Configuration(instrument.unit), answers(instrument, size, **other))


def zeros(*readings: int) -> Answer:
    return Answer("zero_again", readings=tuple(each * TENTH for each in readings))


def block(size: int, *readings: int) -> Answer:
    return Answer("block", readings=tuple(each * TENTH for each in readings), size=size * TENTH)


def against(found: Outcome) -> list[str]:
    return [say(reason) for reason in found.against]


# --- lists ------------------------------------------------------------------------------------------------------


def test_every_line_of_every_kind_has_words_and_a_sketch() -> None:
    sketches = tomllib.loads((files("resources") / "symbols" / "sketches.toml").read_text(encoding="utf-8"))
    drawn = {sketch["line"] for sketch in sketches["sketch"]}
    lines = {line for each in starter_crib() for line in checklist(each)}
    assert {line.code for line in lines if line.code not in drawn} == set()
    assert {line.code for line in lines if not known(f"check.{line.code}")} == set()
    assert {line.code for line in lines if line.asked.is_read and not known(f"check.to_read.{line.code}")} == set()


@pytest.mark.parametrize("kind", list(InstrumentKind))
def test_every_kind_has_a_list_but_the_eye(kind: InstrumentKind) -> None:
    lines = checklist(Instrument("i", 1, "I-1", kind, "instrument"))
    assert bool(lines) == (kind is not InstrumentKind.EYE)
    assert len({line.code for line in lines}) == len(lines)


def test_a_micrometer_is_asked_for_zero_repeats_and_a_block() -> None:
    lines = {line.code: line for line in checklist(MICROMETER)}
    assert (lines["zero_again"].asked, lines["zero_again"].least, lines["zero_again"].at) == (Asked.ZEROS, 3, 0)
    assert (lines["block"].asked, lines["block"].least) == (Asked.BLOCK, 3)
    assert lines["ratchet"].asked is Asked.SEEN
    assert say(line_reason(lines["block"], MICROMETER, INCH // 2)) == "Read a gauge block near 0.5 in, 3 times."
    assert say(line_reason(lines["block"], MICROMETER)) == "Read a gauge block 3 times."


def test_a_range_that_begins_at_an_inch_is_zeroed_there() -> None:
    lines = {line.code: line for line in checklist(SECOND)}
    assert "zero" not in lines and lines["zero_standard"].at == INCH
    assert say(line_reason(lines["zero_standard"], SECOND)) == "Zero on its setting standard."
    found = outcome(SECOND, 3 * INCH // 2)
    assert found.passed and found.zeros is not None and found.zeros.bias == 0


def test_a_rod_that_is_fitted_moves_the_zero() -> None:
    rod = configured(DEPTH, fitted=" rod 2–3 ", low=2 * INCH, high=3 * INCH)
    assert rod.fitted == "rod 2–3"
    assert {line.at for line in checklist(DEPTH, rod) if line.asked is Asked.ZEROS} == {2 * INCH}


def test_a_closing_check_asks_only_for_what_is_read() -> None:
    assert [line.code for line in checklist(CALIPER, closing=True)] == ["zero_again", "block"]
    given = [zeros(0, 0, 0), block(5000, 5000, 5000, 5000)]
    assert outcome_of(CALIPER, INCHES, given, closing=True).passed


@pytest.mark.parametrize(
    ("bands", "wanted"),
    [
        ([(Kind.LENGTH, THOU - 1)], True),
        ([(Kind.LENGTH, THOU)], False),
        ([(Kind.LENGTH, 5 * THOU), (Kind.LENGTH, TENTH)], True),
        ([(Kind.ANGLE, 10), (Kind.LENGTH, None)], False),
        ([], False),
    ],
)
def test_a_closing_check_is_wanted_under_a_thou(bands: list[Any], wanted: bool) -> None:
    assert THOU == CLOSING_BAND
    assert closing_wanted(bands) is wanted


# --- held against the record ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("off", "spread", "passed"),
    [(0, 0, True), (1, 0, True), (-1, 0, True), (2, 0, False), (-1, 2, False), (0, 1, True)],
)
def test_a_micrometer_may_read_a_block_a_tenth_off(off: int, spread: int, passed: bool) -> None:
    """E ±.0001 to 3 in and r .0001 in: a tenth off and a tenth apart are allowed, two are not."""
    found = outcome(MICROMETER, block=block(5000, 5000 + off, 5000 + off + spread, 5000 + off))
    assert found.passed is passed


def test_what_failed_is_said_with_what_was_allowed() -> None:
    found = outcome(MICROMETER, block=block(5000, 5002, 5000, 5002), zero_again=zeros(0, -3, 0))
    assert against(found) == [
        "Zero, 3 times: at most -0.0003 in off, 0.0001 in allowed.",
        "Zeros differ by 0.0003 in, 0.0001 in allowed.",
        "0.5 in, read 3 times: at most 0.0002 in off, 0.0001 in allowed.",
        "The readings differ by 0.0002 in, 0.0001 in allowed.",
    ]


def test_a_line_that_is_not_as_it_should_be_fails_the_check() -> None:
    found = outcome(CALIPER, light_gap=Answer("light_gap", seen=False), unit_shown=Answer("unit_shown", shown="mm"))
    assert against(found) == [
        "Not as it should be: Close the jaws against the light: no gap.",
        "It shows mm, not in.",
    ]
    assert len(found.findings) == len(answers(CALIPER)) + 2  # zero and block are each held against two things


def test_a_caliper_is_given_what_its_record_gives() -> None:
    """±.001 to 6 in outside, ±.0015 over."""
    assert outcome(CALIPER, block=block(5000, 5010, 5005, 5010)).passed
    assert not outcome(CALIPER, block=block(5000, 5015, 5015, 5015)).passed
    twelve = of("C-06")
    assert outcome(twelve, block=block(80_000, 80_015, 80_015, 80_015)).passed


def test_where_no_error_is_stated_the_step_is_all_that_is_allowed() -> None:
    bare = replace(MICROMETER, permissible=())
    assert limit_at(bare, INCH) == bare.resolution
    with pytest.raises(Refused) as refused:
        outcome(replace(bare, resolution=0))
    assert [say(reason) for reason in refused.value.reasons] == [
        "The record of M-01 states neither permissible error nor smallest step at 0 in. Enter one in the crib, then "
        "check it."
    ]


def test_an_indicator_is_held_to_repeat_one_spot() -> None:
    lever = of("I-01")
    assert outcome(lever, repeat=Answer("repeat", readings=(30 * TENTH, 31 * TENTH, 32 * TENTH))).passed
    found = outcome(lever, repeat=Answer("repeat", readings=(30 * TENTH, 31 * TENTH, 33 * TENTH)))
    assert against(found) == ["The same spot, 3 times: readings differ by 0.0003 in, 0.0002 in allowed."]
    assert found.block is None and found.zeros is None


def test_amounts_are_told_in_the_unit_it_is_set_to() -> None:
    caliper = of("C-05")
    metric = configured(caliper, "mm")
    given = answers(caliper, 10 * MM, unit_shown=Answer("unit_shown", shown="mm"))
    found = outcome_of(caliper, metric, given)
    assert "10 mm, read 3 times: at most 0 mm off, 0.0254 mm allowed." in [say(f.reason) for f in found.findings]


# --- what it yields ---------------------------------------------------------------------------------------------


def test_zero_repeats_and_block_readings_become_spread_and_bias() -> None:
    """Readings 1, 0, 1 tenths off: bias 2/3, s² = 1/3 with ν = 2."""
    found = outcome(MICROMETER, block=block(5000, 5001, 5000, 5001), zero_again=zeros(0, 1, 0, 0))
    assert found.block is not None and found.zeros is not None
    assert found.block.bias == Fraction(2 * TENTH, 3)
    assert found.block.spread is not None
    assert (found.block.spread.square, found.block.spread.freedom) == (Fraction(TENTH**2, 3), 2)
    assert found.zeros.spread is not None
    assert (found.zeros.spread.square, found.zeros.spread.freedom) == (Fraction(TENTH**2, 4), 3)
    assert (found.zeros.seen, found.zeros.n) == (Seen.ZERO, 4)


def test_readings_that_never_differ_are_no_evidence() -> None:
    found = outcome(MICROMETER)
    assert found.block is not None and found.block.spread is None and found.block.bias == 0
    assert found.zeros is not None and found.zeros.spread is None


@given(st.lists(st.integers(-3, 3), min_size=3, max_size=8), st.lists(st.integers(-3, 3), min_size=3, max_size=8))
def test_a_check_passes_exactly_when_every_comparison_holds(zero: list[int], read: list[int]) -> None:
    found = outcome(MICROMETER, zero_again=zeros(*zero), block=block(5000, *(5000 + off for off in read)))
    holds = all(abs(x) <= 1 for x in (*zero, *read)) and max(zero) - min(zero) <= 1 and max(read) - min(read) <= 1
    assert found.passed is holds
    assert bool(found.against) is not holds


# --- no check ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"block": None}, "3 readings are needed, 0 entered: the gauge block."),
        ({"block": block(5000, 5000, 5000)}, "3 readings are needed, 2 entered: the gauge block."),
        ({"zero_again": zeros()}, "3 readings are needed, 0 entered: zero, opened and closed between."),
        ({"light_gap": None}, "Still to be answered: Close the jaws against the light: no gap."),
        ({"wipe": Answer("wipe")}, "Still to be answered: Wipe faces and reference surface."),
        ({"unit_shown": Answer("unit_shown")}, "Enter the unit that C-05 shows."),
        ({"block": Answer("block", readings=(1, 1, 1))}, "Enter the size of what was read: the gauge block."),
        ({"block": block(-5000, 5000, 5000, 5000)}, "-0.5 in is no size for a block. Enter one over zero."),
        ({"block": block(0, 0, 0, 0)}, "0 in is no size for a block. Enter one over zero."),
        (
            {"block": block(70_000, 70_000, 70_000, 70_000)},
            "A block of 7 in is outside the range 0 in to 6 in of C-05 as it is set up.",
        ),
        (
            {"rod_seated": Answer("rod_seated", seen=True)},
            "“rod_seated” is not on the list for this instrument as it is set up.",
        ),
    ],
)
def test_what_is_no_answer_is_refused(given: dict[str, Answer | None], sentence: str) -> None:
    with pytest.raises(Refused) as refused:
        outcome(CALIPER, **given)
    assert [say(reason) for reason in refused.value.reasons] == [sentence]


def test_every_fault_is_told_at_once() -> None:
    with pytest.raises(Refused) as refused:
        outcome_of(CALIPER, INCHES, [Answer("wipe", seen=True), Answer("wipe", seen=False)])
    said = [say(reason) for reason in refused.value.reasons]
    assert said[0] == "Answered twice: Wipe faces and reference surface. Keep one."
    assert len(said) == len(checklist(CALIPER))


def test_nothing_is_checked_on_the_eye() -> None:
    eye = Instrument("e", 1, "EYE", InstrumentKind.EYE, "by eye")
    with pytest.raises(Refused) as refused:
        outcome_of(eye, INCHES, [])
    assert [say(reason) for reason in refused.value.reasons] == ["EYE, by eye: nothing is to be recorded for it."]


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"unit": "mm"}, "M-31 cannot show mm; it shows in."),
        ({"unit": "stone"}, "M-31 cannot show stone; it shows in."),
        (
            {"low": 3 * INCH, "high": 2 * INCH},
            "3 in to 2 in is no range for M-31. Enter its lower end first; neither can be negative.",
        ),
        (
            {"low": -INCH, "high": 2 * INCH},
            "-1 in to 2 in is no range for M-31. Enter its lower end first; neither can be negative.",
        ),
        (
            {"low": 5 * INCH, "high": 7 * INCH},
            "M-31 cannot be set up for 5 in to 7 in: its record says 0 in to 6 in.",
        ),
    ],
)
def test_a_configuration_that_the_instrument_has_not_is_refused(given: dict[str, Any], sentence: str) -> None:
    with pytest.raises(Refused) as refused:
        configured(DEPTH, **given)
    assert [say(reason) for reason in refused.value.reasons] == [sentence]
    with pytest.raises(Refused) as refused:
        outcome_of(DEPTH, Configuration(**{"unit": "in", **given}), answers(DEPTH))
    assert say(refused.value.reasons[0]) == sentence
