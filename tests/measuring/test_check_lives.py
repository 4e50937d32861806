"""On which check a reading rests and what a failed one re-opens, against a slow account written from the rule alone."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import count
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.instruments.record import Instrument, InstrumentKind, Standing
from inspection.measuring.checks import Configuration
from inspection.measuring.checks_life import (
    MICROSECONDS_PER_MINUTE,
    CheckRules,
    Happened,
    Made,
    Rest,
    Upset,
    Used,
    measuring_issue,
    mismatches,
    reopened,
    rests,
    standing,
)
from inspection.words.say import say

HOUR = 60 * MICROSECONDS_PER_MINUTE
INCH = Configuration("in")
MM = Configuration("mm")
LONG = Configuration("in", fitted="rod 2–3")
ROD = Configuration("in", fitted="rod 1–2")
_names = count()


def check(at: float, passed: bool = True, by: str = "Mira", set_up: Configuration = INCH, **given: Any) -> Made:
    name = given.pop("name", f"check {next(_names)}")
    return Made(
        name, given.pop("instrument", "m"), given.pop("issue", 1), set_up, by, round(at * HOUR), passed, **given
    )


def use(at: float, by: str = "Mira", set_up: Configuration = INCH, **given: Any) -> Used:
    name = given.pop("name", f"use {next(_names)}")
    return Used(name, given.pop("instrument", "m"), given.pop("issue", 1), set_up, by, round(at * HOUR))


def told(rest: Rest) -> str:
    return say(rest.why) if rest.why else ""


# --- the account from the rule ----------------------------------------------------------------------------------


def in_order(checks: Sequence[Made], readings: Sequence[Used], happened: Sequence[Happened]) -> list[Any]:
    ranked = [(x.at, 0, n, x) for n, x in enumerate(happened)]
    ranked += [(x.at, 1, n, x) for n, x in enumerate(checks)]
    ranked += [(x.at, 2, n, x) for n, x in enumerate(readings)]
    return [each[-1] for each in sorted(ranked, key=lambda each: each[:3])]


def rested_on(reading: Used, line: list[Any], life: int) -> str:
    """The last check before the reading, if it passed, is of the same instrument, issue, configuration and hand, is not
    older than its life, and nothing but uses like this one came between, none of them too late either."""
    before = line[: line.index(reading)]
    checks = [i for i, each in enumerate(before) if isinstance(each, Made)]
    if not checks:
        return ""
    last = before[checks[-1]]
    between = [*before[checks[-1] + 1 :], reading]
    if not last.passed or any(isinstance(each, Happened) for each in between):
        return ""
    alike = all(
        (each.issue, each.configuration, each.by) == (last.issue, last.configuration, last.by) for each in between
    )
    return last.identity if alike and reading.at - last.at <= life else ""


def reopened_by(reading: Used, line: list[Any], good_since: int | None) -> str:
    """The first failed check after the reading with the same thing fitted, if no good one with it came between."""
    if good_since is not None and reading.at <= good_since:
        return ""
    for each in line[line.index(reading) + 1 :]:
        if isinstance(each, Made) and each.configuration.fitted == reading.configuration.fitted:
            return "" if each.passed else each.identity
    return ""


MOMENTS = st.integers(0, 24)
SET_UPS = st.sampled_from([INCH, MM, LONG, ROD])
HANDS = st.sampled_from(["Mira", "Bo"])
INSTRUMENTS = st.sampled_from(["m", "n"])
CHECKS = st.builds(check, MOMENTS, st.booleans(), HANDS, SET_UPS, instrument=INSTRUMENTS, issue=st.integers(1, 2))
USES = st.builds(use, MOMENTS, HANDS, SET_UPS, instrument=INSTRUMENTS, issue=st.integers(1, 2))
ALIKE = st.builds(check, MOMENTS, st.booleans()) | st.builds(check, MOMENTS, st.booleans(), set_up=st.just(ROD))
MISHAPS = st.builds(lambda at, which: Happened(which, at * HOUR), MOMENTS, INSTRUMENTS)


@settings(max_examples=300)
@given(
    st.lists(CHECKS | ALIKE, max_size=10),
    st.lists(USES | st.builds(use, MOMENTS), max_size=14),
    st.lists(MISHAPS, max_size=2),
    st.integers(1, 20),
    st.none() | st.integers(0, 24),
)
def test_any_time_line(
    checks: list[Made], readings: list[Used], happened: list[Happened], hours: int, calibrated: int | None
) -> None:
    good_since = {} if calibrated is None else {"m": calibrated * HOUR}
    found = rests(checks, readings, happened, CheckRules(hours * 60), good_since)
    assert [rest.reading for rest in found] == [reading.identity for reading in readings]
    for reading, rest in zip(readings, found, strict=True):
        own = [[x for x in each if x.instrument == reading.instrument] for each in (checks, readings, happened)]
        line = in_order(*own)
        assert rest.check == rested_on(reading, line, hours * HOUR)
        assert rest.reopened_by == reopened_by(reading, line, good_since.get(reading.instrument))
        assert (rest.why is None) == bool(rest.check)
        assert rest.counts == (bool(rest.check) and not rest.reopened_by)
    assert set(reopened(found)) == {rest.reading for rest in found if rest.reopened_by}


@given(st.lists(CHECKS, max_size=8), st.lists(USES, max_size=8), st.lists(MISHAPS, max_size=2), USES)
def test_what_the_bench_is_told_is_what_comes(
    checks: list[Made], readings: list[Used], happened: list[Happened], wanted: Used
) -> None:
    """A reading that is asked about before it is taken rests on the same once it is taken, later things aside."""
    now = standing(wanted, checks, readings, happened)
    before = [[x for x in each if x.at <= wanted.at] for each in (checks, readings, happened)]
    after = rests(before[0], [*before[1], wanted], before[2])[-1]
    assert (now.check, now.why) == (after.check, after.why)
    assert now.reopened_by == ""


# --- one rule a test --------------------------------------------------------------------------------------------


def test_a_check_lives_to_the_last_moment_of_its_life() -> None:
    made = check(8)
    at_last, after = rests([made], [use(16), use(16 + 1 / 3600)])
    assert at_last.check == made.identity
    assert told(after) == "Its last check is over 8 h old."
    assert rests([made], [use(9.1)], rules=CheckRules(60))[0].check == ""


@pytest.mark.parametrize(
    ("later", "sentence"),
    [
        (use(9, by="Bo"), "It has changed hands since its last check."),
        (use(9, set_up=LONG), "What is fitted has changed since its last check: – then, rod 2–3 later."),
        (use(9, set_up=MM), "The unit has changed since its last check: in then, mm later."),
        (
            use(9, set_up=Configuration("in", low=0, high=5)),
            "Its range has changed since its last check.",
        ),
        (use(9, issue=2), "Its record has changed since its last check: issue 1 then, issue 2 now."),
    ],
)
def test_another_hand_or_configuration_ends_a_check_for_good(later: Used, sentence: str) -> None:
    first, other, again = rests([check(8)], [use(8.5), later, use(10)])
    assert first.check and not other.check and not again.check
    assert told(other) == told(again) == sentence


@pytest.mark.parametrize("what", list(Upset))
def test_a_drop_ends_a_check_but_not_what_was_read_before(what: Upset) -> None:
    before, after = rests([check(8)], [use(8.5), use(9.5)], [Happened("m", 9 * HOUR, what)])
    assert before.counts and not after.counts
    assert told(after) == f"It was {what.value} since its last check."


def test_a_failed_check_reopens_back_to_the_last_good_and_no_others() -> None:
    good, middle, bad = check(8), check(10), check(12, passed=False, closing=True)
    readings = [use(9), use(10.5), use(11, by="Bo"), use(11.5, set_up=ROD), use(11.6, instrument="n"), use(13)]
    found = rests([good, middle, bad], readings)
    assert reopened(found) == (readings[1].identity, readings[2].identity)
    assert found[1].check == middle.identity and not found[1].counts
    assert found[1].last_good == middle.identity
    assert found[0].counts
    assert told(found[5]) == "Its last check failed."


def test_a_failed_check_in_millimetres_reopens_what_was_read_in_inches() -> None:
    found = rests([check(8), check(10, passed=False, set_up=MM)], [use(9)])
    assert found[0].reopened_by


def test_without_a_good_check_before_all_is_reopened_since_the_calibration() -> None:
    readings = [use(1), use(5), use(6)]
    bad = [check(7, passed=False)]
    assert reopened(rests(bad, readings)) == tuple(each.identity for each in readings)
    since = rests(bad, readings, good_since={"m": 5 * HOUR})
    assert reopened(since) == (readings[2].identity,)
    assert since[2].last_good == ""


def test_a_good_check_after_a_failed_one_closes_nothing_again() -> None:
    found = rests([check(8), check(10, passed=False), check(11)], [use(9), use(12)])
    assert found[0].reopened_by and not found[0].counts
    assert found[1].counts


def test_two_failed_checks_each_reopen_their_own() -> None:
    first, second = check(10, passed=False), check(12, passed=False)
    found = rests([first, second], [use(9), use(11)])
    assert [rest.reopened_by for rest in found] == [first.identity, second.identity]


def test_an_instrument_never_checked_says_so() -> None:
    assert told(standing(use(9), [check(8, instrument="n")])) == "It was not checked before."


def test_a_check_of_another_hand_or_configuration_is_none_for_this() -> None:
    reasons = mismatches(check(8, instrument="n", by="Bo", set_up=ROD), use(9, set_up=LONG))
    assert [say(reason) for reason in reasons] == [
        "That check was made on another instrument.",
        "What is fitted has changed since its last check: rod 1–2 then, rod 2–3 later.",
        "It has changed hands since its last check.",
    ]
    assert not list(mismatches(check(8), use(20)))


# --- issues that measure alike ----------------------------------------------------------------------------------


def test_a_new_place_or_holder_is_the_same_instrument_to_measure_with() -> None:
    first = Instrument("m", 1, "M-1", InstrumentKind.OUTSIDE_MICROMETER, "micrometer", resolution=10)

    def issue(n: int, **given: Any) -> Instrument:
        return Instrument("m", n, "M-1", InstrumentKind.OUTSIDE_MICROMETER, "micrometer", **{"resolution": 10, **given})

    issues = {
        ("m", 1): first,
        ("m", 2): issue(2, place="drawer 2"),
        ("m", 3): issue(3, place="drawer 2", holder="Bo"),
        ("m", 4): issue(4, resolution=5),
        ("m", 5): issue(5, resolution=5, standing=Standing.OUT_OF_SERVICE),
    }
    assert [measuring_issue(issues, "m", n) for n in range(1, 6)] == [1, 1, 1, 4, 5]
    with pytest.raises(KeyError):
        measuring_issue(issues, "m", 9)
