"""A check while it is made: what is asked next, what an entry makes of it, what is refused and where, what is kept."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from inspection.instruments.record import Instrument, InstrumentKind, Standing
from inspection.instruments.starter import starter_crib
from inspection.measuring.checks import Answer, Configuration, checked_answers, checklist, configured
from inspection.measuring.checks_cautions import cautions
from inspection.measuring.checks_standards import Sets, Standard, read_standard, sets_of, suggested
from inspection.measuring.checks_under_way import (
    CheckUnderWay,
    Wanted,
    answers_of,
    asks,
    begin,
    enter,
    go_back,
    go_on,
    is_answered,
    lacks,
    line_of,
    measure_on,
    outcome,
    resume,
    see,
    set_up,
    take_back,
    taken_up,
    wanted,
)
from inspection.quantity.units import UNITS
from inspection.reasons import Reason, Refused
from inspection.words.say import known, say

INCH, MM, TENTH = UNITS["in"].count, UNITS["mm"].count, UNITS["tenth"].count
CRIB = {each.tag: replace(each, identity=each.tag) for each in starter_crib(due="2099-01-01")}
SETS = sets_of(CRIB, "in", "2026-03-02")
MICROMETER, SECOND, CALIPER, DEPTH, RULE, LEVER, BORE, PINS = (
    CRIB[tag] for tag in ("M-01", "M-02", "C-05", "M-31", "R-01", "I-01", "B-04", "P-02")
)

NOT_OWN = (
    "If it is a stack, write its blocks with + between them. "
    "If it is not the shop's own, write its mark before the size."
)


def check_of(instrument: Instrument, size: int | None = INCH // 2, **more: object) -> CheckUnderWay:
    return begin(instrument, size=size, sets=SETS, **more)  # type: ignore[arg-type]


def entered(check: CheckUnderWay, *texts: str) -> CheckUnderWay:
    for text in texts:
        check = enter(check, text)
    return check


def refused(step: object, *given: object) -> list[str]:
    with pytest.raises(Refused) as found:
        step(*given)  # type: ignore[operator]
    return [say(reason) for reason in found.value.reasons]


def to(check: CheckUnderWay, code: str) -> CheckUnderWay:
    return replace(check, at=code)


# --- a whole check ----------------------------------------------------------------------------------------------


def test_a_caliper_is_checked_with_few_entries() -> None:
    """Looked at, zeroed three times, a block read three times, the unit agreed to: one entry for each."""
    check = check_of(CALIPER)
    assert (check.at, wanted(check)) == ("wipe", Wanted.LOOK)
    check = entered(check, "", "", "", "")
    assert (check.at, wanted(check), lacks(check, check.lines[4])) == ("zero_again", Wanted.READING, 3)
    check = entered(check, "0", "0", "-.0005")
    assert (check.at, wanted(check)) == ("block", Wanted.READING)
    check = entered(check, ".5", ".5000", ".5005")
    assert (check.at, wanted(check)) == ("unit_shown", Wanted.UNIT)
    check = entered(check, "")
    assert (check.at, check.line, wanted(check)) == ("", None, Wanted.NOTHING)
    found = outcome(check)
    assert found.passed
    assert found.zeros is not None and found.zeros.readings == (0, 0, -5 * TENTH)
    answer = check.answer("block")
    assert (answer.size, answer.standard, answer.written) == (INCH // 2, "G-01", (".5", ".5000", ".5005"))
    assert check.answer("unit_shown").shown == "in"


def test_the_answers_are_those_that_the_check_itself_asks_for() -> None:
    check = entered(check_of(CALIPER), "", "", "", "", "0", "0", "0", ".5", ".5", ".5", "")
    assert checked_answers(CALIPER, check.configuration, answers_of(check))
    assert [answer.line for answer in answers_of(check)] == [line.code for line in checklist(CALIPER)]


def test_what_is_not_as_it_should_be_fails_the_check() -> None:
    check = see(check_of(RULE), as_it_should_be=True)
    check = see(check, as_it_should_be=False)
    check = entered(check, "")
    assert [say(reason) for reason in outcome(check).against] == [
        "Not as it should be: Stand it on its edge to read it; graduations legible."
    ]


def test_more_readings_than_the_least_are_taken_after_going_back() -> None:
    check = entered(to(check_of(MICROMETER), "zero_again"), "0", "0", "0")
    assert check.at == "block"
    check = go_back(check)
    check = entered(check, "0", ".0001")
    assert (check.at, len(check.answer("zero_again").readings)) == ("zero_again", 5)
    assert entered(check, "").at == "block"


def test_a_closing_check_asks_only_for_what_is_read() -> None:
    check = check_of(MICROMETER, closing=True)
    check = entered(check, "0", "0", "0", ".5", ".5", ".5")
    assert wanted(check) is Wanted.NOTHING and outcome(check).passed


def test_a_spot_and_a_closed_zero_may_lie_under_zero_and_a_block_may_not() -> None:
    spot = entered(to(check_of(LEVER), "repeat"), "-.0002", "0", "-.0001")
    assert spot.answer("repeat").readings == (-2 * TENTH, 0, -TENTH)
    assert "sign" in refused(enter, to(check_of(MICROMETER), "block"), "-.5")[0]
    at_an_inch = to(check_of(SECOND, INCH), "zero_again")
    assert "sign" in refused(enter, at_an_inch, "-1.0")[0]
    assert entered(at_an_inch, "1.0", "1.0", "1.0001").at != "zero_again"


# --- what is asked next -----------------------------------------------------------------------------------------


def test_going_back_and_on_never_leaves_the_list() -> None:
    check = go_back(check_of(RULE))
    assert check.at == "wipe"
    assert go_back(check, -9).at == "end_worn"
    assert wanted(check) is Wanted.LOOK


def test_from_the_end_back_to_the_last_line_and_on_to_the_end_again() -> None:
    check = entered(check_of(RULE), "", "", "")
    last = go_back(check)
    assert last.at == "end_worn"
    assert go_back(last, -1).at == ""
    assert entered(last, "").at == ""


def test_a_line_left_out_is_asked_for_before_the_end() -> None:
    check = go_back(check_of(RULE), -1)
    check = entered(check, "", "")
    assert check.at == "wipe"
    assert entered(check, "").at == ""


def test_a_line_that_lacks_readings_is_not_left_by_enter() -> None:
    check = entered(to(check_of(MICROMETER), "zero_again"), "0")
    assert refused(enter, check, "") == ["3 readings are needed, 1 entered: zero, opened and closed between."]
    assert refused(go_on, check) == refused(enter, check, " ")


@given(st.lists(st.sampled_from(["", "0", ".5", "N", "back", "on", "undo"]), max_size=30))
def test_whatever_is_done_the_end_comes_exactly_when_nothing_is_lacking(steps: list[str]) -> None:
    check = check_of(CALIPER)
    does = {
        "N": lambda each: see(each, as_it_should_be=False),
        "back": go_back,
        "on": lambda each: go_back(each, -1),
        "undo": take_back,
    }
    for step in steps:
        try:
            check = does[step](check) if step in does else enter(check, step)
        except Refused as no:
            assert all(known(reason.code) for reason in no.reasons)
        assert (check.at == "") <= all(is_answered(check, line) for line in check.lines)
        assert {answer.line for answer in check.answers} <= {line.code for line in check.lines}
        assert all(len(answer.readings) == len(answer.written) for answer in check.answers)


# --- refused ----------------------------------------------------------------------------------------------------


def test_a_number_where_one_looks_and_a_look_where_a_number_is_asked() -> None:
    check = check_of(CALIPER)
    assert refused(enter, check, "0.5")[0].startswith("Here you look and type nothing.")
    with pytest.raises(Refused) as no:
        see(to(check, "block"), as_it_should_be=False)
    assert say(no.value.reasons[0]).startswith("Here a number is asked for.")


def test_a_reading_that_cannot_be_read_tells_the_character() -> None:
    with pytest.raises(Refused) as no:
        enter(to(check_of(MICROMETER), "block"), " .50x")
    assert no.value.reasons[0].parts["at"] == 4


def test_readings_are_read_in_the_unit_that_the_instrument_is_set_to() -> None:
    check = begin(CALIPER, configured(CALIPER, "mm"), size=INCH // 2, sets=SETS)
    assert entered(to(check, "block"), "12.7").answer("block").readings == (INCH // 2,)
    assert entered(to(check, "block"), ".5 in").answer("block").readings == (INCH // 2,)


def test_a_reading_is_taken_back_and_none_where_there_is_none() -> None:
    check = entered(to(check_of(MICROMETER), "zero_again"), "0", ".001")
    once = take_back(check)
    assert once.answer("zero_again") == Answer("zero_again", readings=(0,), written=("0",))
    twice = take_back(once)
    assert not twice.is_begun
    assert refused(take_back, twice) == ["There is no reading on this line to take back."]


def test_the_unit_that_it_shows_is_one_that_it_has() -> None:
    check = to(check_of(CALIPER), "unit_shown")
    assert entered(check, "mm").answer("unit_shown").shown == "mm"
    assert see(check, as_it_should_be=False).answer("unit_shown").shown == "mm"
    assert see(check, as_it_should_be=True).answer("unit_shown").shown == "in"
    assert refused(enter, check, "ft") == ["C-05 cannot show ft; it shows in, mm."]
    assert refused(enter, check, "stone") == ["Enter the unit that C-05 shows."]
    one = to(begin(replace(CALIPER, other_unit="")), "unit_shown")
    with pytest.raises(Refused, match=r"check\.refused\.no_unit"):
        see(one, as_it_should_be=False)


def test_a_check_that_could_not_be_judged_is_not_begun() -> None:
    bare = replace(MICROMETER, permissible=(), resolution=0)
    assert refused(begin, bare) == [
        "The record of M-01 states neither permissible error nor smallest step at 0 in. Enter one in the crib, then "
        "check it."
    ]
    eye = Instrument("e", 1, "EYE", InstrumentKind.EYE, "by eye")
    assert refused(begin, eye) == ["EYE, by eye: nothing is to be recorded for it."]
    assert refused(begin, DEPTH, Configuration("mm")) == ["M-31 cannot show mm; it shows in."]


def test_a_refusal_finds_its_line() -> None:
    check = check_of(MICROMETER)
    assert line_of(check, Reason("check.refused.unanswered", {"line": "ratchet"})) == "ratchet"
    assert line_of(check, Reason("check.refused.block_outside")) == "block"
    assert line_of(check_of(RULE), Reason("check.refused.unit")) == "end_worn"


# --- blocks and setting standards -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tag", "size", "name", "take"),
    [
        ("M-01", INCH // 2, "G-01", "Take 0.5 in from G-01."),
        ("M-01", 5_003 * TENTH, "G-01", "Take 0.5 in from G-01."),
        ("M-02", 13 * INCH // 8, "G-01: 0.85 + 0.8", "Wring 0.85 + 0.8 in from G-01."),
        ("C-05", 30 * INCH, "G-01: 4 + 2", "Wring 4 + 2 in from G-01."),
        ("C-05", None, "G-01", "Take 3 in from G-01."),
    ],
)
def test_a_block_near_the_size_is_suggested(tag: str, size: int | None, name: str, take: str) -> None:
    """Nearest out of the 81-piece inch set: one block within a thimble's turn, else a stack of two."""
    found = suggested(CRIB[tag], configured(CRIB[tag]), size, SETS)
    assert found is not None and found.take is not None
    assert say(found.take) == take
    assert found.name == name


def test_a_caliper_set_to_millimetres_is_given_a_metric_block() -> None:
    found = suggested(CALIPER, configured(CALIPER, "mm"), 20 * MM, sets_of(CRIB, "mm"))
    assert found is not None and (found.size, found.name[:4]) == (20 * MM, "G-02")


def test_a_fitted_rod_moves_the_block_into_its_range() -> None:
    rod = configured(DEPTH, fitted="rod 2-3", low=2 * INCH, high=3 * INCH)
    found = suggested(DEPTH, rod, INCH // 2, SETS)
    assert found is not None and 2 * INCH <= found.size <= 3 * INCH


def test_sets_out_of_service_or_past_due_come_last_or_never() -> None:
    out = {"a": replace(CRIB["G-01"], standing=Standing.OUT_OF_SERVICE)}
    assert sets_of(out, "in").blocks == ()
    late = Sets((replace(CRIB["G-01"], due="2026-03-01"),), "2026-03-02")
    found = suggested(MICROMETER, configured(MICROMETER), INCH // 2, late)
    assert found is not None
    assert [say(mind) for mind in found.minds] == ["G-01 is overdue since 2026-03-01: not for acceptance."]
    both = Sets((*late.blocks, replace(CRIB["G-01"], identity="other", tag="G-09")), "2026-03-02")
    found = suggested(MICROMETER, configured(MICROMETER), INCH // 2, both)
    assert found is not None and (found.name, found.minds) == ("G-09", ())


def test_without_sets_the_size_of_the_block_is_asked_for_first() -> None:
    check = to(begin(MICROMETER, size=INCH // 2), "block")
    assert wanted(check) is Wanted.SIZE
    assert refused(enter, check, "") == ["Enter the size of what was read: the gauge block."]
    check = enter(check, ".5")
    assert (wanted(check), check.standard) == (Wanted.READING, Standard(INCH // 2))
    assert not check.is_begun


@pytest.mark.parametrize(
    ("text", "size", "name"),
    [
        (".75", INCH * 3 // 4, "G-01"),
        (".4 + .1005", 5_005 * TENTH, "G-01: 0.4 + 0.1005"),
        ("g-01 .75", INCH * 3 // 4, "G-01"),
        ("12.5 mm", 125 * MM // 10, "G-03"),
        ("X-7 .3333", 3_333 * TENTH, "X-7"),
        ("check block 3 .3333", 3_333 * TENTH, "check block 3"),
        ("G-01", INCH // 2, "G-01"),
        ("1/2", INCH // 2, "G-01"),
    ],
)
def test_another_block_is_said_by_size_stack_or_mark(text: str, size: int, name: str) -> None:
    found = read_standard(text, MICROMETER, configured(MICROMETER), SETS, INCH // 2)
    assert (found.size, found.name) == (size, name)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (".3333", f"0.3333 in is no block of G-01, G-02, G-03. {NOT_OWN}"),
        ("G-01 .3333", "0.3333 in is no block of G-01."),
        (".5 + .5", f"There is one block of 0.5 in only; it cannot be used twice. {NOT_OWN}"),
        ("2", "A block of 2 in is outside the range 0 in to 1 in of M-01 as it is set up."),
    ],
)
def test_a_block_that_cannot_be_is_refused(text: str, said: str) -> None:
    check = to(check_of(MICROMETER), "block")
    assert " ".join(refused(measure_on, check, text)) == said


@pytest.mark.parametrize(("text", "at"), [(".5x", 2), ("ring 7 .5x", 9), (".4 + .1x", 7), ("  .5x", 4)])
def test_a_size_that_cannot_be_read_tells_the_character(text: str, at: int) -> None:
    with pytest.raises(Refused) as no:
        measure_on(to(check_of(MICROMETER), "block"), text)
    assert no.value.reasons[0].parts["at"] == at


def test_a_setting_ring_is_of_any_size_within_the_range_and_has_a_mark() -> None:
    check = to(begin(BORE, sets=SETS), "setting")
    assert wanted(check) is Wanted.SIZE
    (told,) = refused(enter, check, ".6000")
    assert told.startswith("Which setting standard is read has to be told, so that it can be traced")
    check = enter(check, "R-3 .6000")
    check = entered(check, ".6", ".6001", ".6")
    answer = check.answer("setting")
    assert (answer.size, answer.standard, answer.written) == (6_000 * TENTH, "R-3", (".6", ".6001", ".6"))
    unnamed = [replace(each, standard=" ") for each in check.answers]
    with pytest.raises(Refused) as no:
        checked_answers(BORE, check.configuration, unnamed)
    assert "check.refused.unnamed" in [reason.code for reason in no.value.reasons], "the door asks for it as well"


def test_another_size_said_later_keeps_the_readings() -> None:
    check = entered(to(check_of(MICROMETER), "block"), ".75")
    check = measure_on(check, ".75")
    answer = check.answer("block")
    assert (answer.readings, answer.size) == ((INCH * 3 // 4,), INCH * 3 // 4)
    assert refused(measure_on, to(check, "zero_again"), ".75") == ["No block or setting standard is read on this line."]


def test_what_a_line_asks_is_said_in_the_unit_it_is_set_to() -> None:
    check = begin(CALIPER, configured(CALIPER, "mm"), size=127 * MM // 10, sets=SETS)
    line = next(line for line in check.lines if line.code == "block")
    assert say(asks(check, line)) == "Read a gauge block near 12.7 mm, 3 times."


# --- set up otherwise, kept, taken up ---------------------------------------------------------------------------


def test_another_unit_keeps_what_was_seen_and_begins_anew_what_was_read() -> None:
    check = entered(check_of(CALIPER), "", "", "", "", "0", "0")
    metric = set_up(check, Configuration("mm"))
    assert {answer.line for answer in metric.answers} == {"wipe", "free_travel", "light_gap", "zero"}
    assert metric.at == "zero_again"
    assert set_up(check, check.configuration) == check


def test_something_else_fitted_begins_anew() -> None:
    check = entered(check_of(DEPTH), "", "")
    rod = set_up(check, Configuration("in", "rod 2-3", 2 * INCH, 3 * INCH))
    assert not rod.is_begun
    assert {line.at for line in rod.lines if line.code == "zero_again"} == {2 * INCH}
    assert refused(set_up, check, Configuration("mm")) == ["M-31 cannot show mm; it shows in."]


def test_a_check_taken_up_for_another_row_is_suggested_another_block_until_one_is_read() -> None:
    check = check_of(MICROMETER)
    other = resume(check, INCH * 3 // 4, SETS)
    assert other.standard is not None and other.standard.size == INCH * 3 // 4
    read = entered(to(check, "block"), ".5")
    kept = resume(read, INCH * 3 // 4, SETS)
    assert kept.standard == read.standard and kept.at == "block"


def test_what_was_handed_over_can_be_taken_up_again() -> None:
    check = entered(check_of(CALIPER), "", "", "", "", "0", "0", "0", ".5", ".5", ".5", "")
    again = taken_up(CALIPER, check.configuration, answers_of(check))
    assert answers_of(again) == answers_of(check)
    assert again.at == "" and outcome(again) == outcome(check)


# --- cautions ---------------------------------------------------------------------------------------------------


def test_every_kind_that_is_checked_has_cautions_in_words() -> None:
    for kind in InstrumentKind:
        found = cautions(kind)
        assert bool(found) == bool(checklist(Instrument("i", 1, "I-1", kind, "instrument"))), kind
        assert all(known(reason.code) for reason in found)


def test_an_indicator_is_not_turned_by_hand_under_drive() -> None:
    assert any("drive isolated" in say(reason) for reason in cautions(InstrumentKind.INDICATOR))


def test_gauge_pins_are_only_looked_at() -> None:
    check = check_of(PINS)
    assert {wanted(to(check, line.code)) for line in check.lines} == {Wanted.LOOK}
