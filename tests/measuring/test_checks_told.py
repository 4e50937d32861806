"""A check told in one go is the very check that is entered line by line; what is told and not asked is refused."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from inspection.instruments.record import Instrument
from inspection.instruments.starter import starter_crib
from inspection.measuring.checks import Asked, configured
from inspection.measuring.checks_standards import sets_of
from inspection.measuring.checks_told import Told, answered, read_groups
from inspection.measuring.checks_under_way import (
    CheckUnderWay,
    answers_of,
    begin,
    enter,
    measure_on,
    outcome,
    wanted,
)
from inspection.reasons import Refused

CRIB = {one.tag: one for one in starter_crib("2027-01-01")}


def of(tag: str, *, closing: bool = False) -> CheckUnderWay:
    instrument: Instrument = CRIB[tag]
    return begin(instrument, closing=closing, sets=sets_of(CRIB, instrument.unit))


def codes(tag: str, told: Told, *, closing: bool = False) -> list[str]:
    with pytest.raises(Refused) as caught:
        answered(of(tag, closing=closing), told)
    return [reason.code for reason in caught.value.reasons]


def by_hand(check: CheckUnderWay, told: Told) -> CheckUnderWay:
    """As at the panel: Enter for everything to look at, a size, and one reading after the other."""
    for line in check.lines:
        if not line.asked.is_read:
            check = enter(check, "")
            continue
        texts = (told.zeros if line.asked is Asked.ZEROS else told.readings).split()
        if line.asked.has_size:
            check = measure_on(check, f"{told.standard} {told.block}".strip())
        for text in texts:
            check = enter(check, text)
    return check


@pytest.mark.parametrize(
    ("tag", "told"),
    [
        ("M-01", Told(all_seen=True, zeros="0 .0001 0", block=".5", readings=".5 .5001 .5")),
        ("C-05", Told(all_seen=True, zeros="0 -.0005 0", block="1", standard="G-01", readings="1 1 1.0005")),
        ("B-11", Told(all_seen=True, block="7", standard="R-7", readings="7 7 7.001")),
        ("G-01", Told(all_seen=True)),
    ],
)
def test_it_is_the_check_that_is_entered_line_by_line(tag: str, told: Told) -> None:
    check = answered(of(tag), told)
    assert answers_of(check) == answers_of(by_hand(of(tag), told))
    assert wanted(check) == "nothing" or check.at in {line.code for line in check.lines}


def test_the_zero_of_a_thimble_is_no_reading_where_the_range_begins_higher() -> None:
    """A micrometer for 25 to 50 mm stands at zero on a standard of 25 mm (common practice) and reads 25 mm there: a 0
    is refused, and not kept as a failed check that re-opens what was read."""
    told = Told(all_seen=True, zeros="0 0 .001", block="19.5+18.5", readings="38 38.001 38")
    assert codes("M-12", told).count("check.refused.zero_of_thimble") == 3
    assert wanted(answered(of("M-12"), replace(told, zeros="25 25.000 25.001"))) == "nothing"
    off = answered(of("M-12"), replace(told, zeros="24.9 24.9 24.9"))
    assert not outcome(off).passed, "one that is out of true still fails"


def test_a_set_alone_gives_its_nearest_block_and_a_suggestion_alone_gives_none() -> None:
    told = Told(all_seen=True, zeros="0 0 0", standard="G-01", readings=".5 .5 .5")
    (block,) = (answer for answer in answers_of(answered(of("M-01"), told)) if answer.size)
    assert block.standard == "G-01"
    assert codes("M-01", Told(readings=".5 .5 .5")) == ["check.refused.no_size"]


def test_one_line_may_be_told_otherwise_than_all() -> None:
    check = answered(of("M-01"), Told(seen={"ratchet": "no"}, all_seen=True))
    seen = {answer.line: answer.seen for answer in answers_of(check) if answer.seen is not None}
    assert seen == {"wipe": True, "free_travel": True, "ratchet": False, "zero": True}


def test_nothing_told_is_empty() -> None:
    assert Told().is_empty
    assert not Told(all_seen=True).is_empty


def test_every_fault_is_told_together_with_its_reading() -> None:
    told = Told(seen={"zip": "yes", "wipe": "maybe"}, zeros="0 x 0", block=".5", readings=".5 .o5 .5")
    found = codes("M-01", told)
    assert found[:2] == ["check.told.no_line", "check.told.yes_or_no"]
    assert found.count("check.in_reading") == 2
    assert codes("G-01", Told(zeros="0", block="1", readings="1")) == [
        "check.told.no_zeros",
        "check.told.no_block",
        "check.told.no_readings",
    ]


def test_the_unit_that_is_shown_is_told_by_name() -> None:
    check = answered(of("C-05"), Told(seen={"unit_shown": "mm"}))
    assert check.answer("unit_shown").shown == "mm"
    assert codes("C-05", Told(seen={"unit_shown": "furlong"})) == ["check.refused.no_unit"]


def test_groups_of_a_study_are_counts_and_their_faults_have_a_place() -> None:
    caliper = CRIB["C-05"]
    assert read_groups(caliper, configured(caliper), ["1 1.0005", "1/2; 12.7 mm"]) == (
        (25_400_000_000, 25_412_700_000),
        (12_700_000_000, 12_700_000_000),
    )
    with pytest.raises(Refused) as caught:
        read_groups(caliper, configured(caliper), ["1 -1", "", "1 x"])
    told = [(reason.code, reason.parts.get("group"), reason.parts.get("n")) for reason in caught.value.reasons]
    assert [each for each in told if each[1] is not None] == [
        ("study.in_group", 1, 2),
        ("study.group_empty", 2, None),
        ("study.in_group", 3, 2),
    ]
