"""A study on parts entered step by step: what is taken, what is refused and where, what it comes to."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from msgspec.structs import replace

from inspection.instruments.record import Instrument
from inspection.instruments.starter import starter_crib
from inspection.measuring.checks import configured
from inspection.measuring.study_under_way import (
    MOST_PLACES,
    MOST_READINGS,
    StudyUnderWay,
    begin,
    enter,
    next_place,
    said,
    set_up,
    slip_of,
    without_last,
)
from inspection.quantity.units import UNITS
from inspection.reasons import Refused
from inspection.words.say import say

TENTH = UNITS["tenth"].count
CRIB = {one.tag: one for one in starter_crib("2099-01-01")}


def began(tag: str = "M-01", *texts: str) -> StudyUnderWay:
    """A study with these texts entered one after another, "" going on to another place."""
    study = begin(CRIB[tag], configured(CRIB[tag]))
    for text in texts:
        study = enter(study, text) if text else next_place(study)
    return study


def refused(step: Any) -> Refused:
    with pytest.raises(Refused) as caught:
        step()
    return caught.value


def test_readings_one_by_one_or_several_in_a_line_are_the_same() -> None:
    singly = began("M-01", ".5000", ".5001", ".5002", "", ".7500", ".7502")
    assert began("M-01", ".5000 .5001 .5002", "", ".7500; .7502").groups == singly.groups
    assert [[reading.written for reading in place] for place in singly.places] == [
        [".5000", ".5001", ".5002"],
        [".7500", ".7502"],
    ]


def test_what_differs_between_places_does_not_count() -> None:
    """Tenths 0, 1, 2 and 0, 2 about their means: Σ = 2 + 2, ν = 2 + 1 (JCGM 100:2008, H.3.6: pooled by squares)."""
    spread = began("M-01", ".5000 .5001 .5002", "", ".7500 .7502").spread
    assert spread is not None
    assert (spread.square, spread.freedom) == (Fraction(4 * TENTH**2, 3), 3)


def test_a_fault_points_into_the_whole_text_and_nothing_of_it_is_taken() -> None:
    study = began("M-01", ".5000")
    found = refused(lambda: enter(study, ".5001  .50x2"))
    assert [(reason.code, reason.parts["at"]) for reason in found.reasons] == [("reader.unknown_unit", 10)]
    assert study.groups == began("M-01", ".5000").groups


def test_what_the_instrument_cannot_show_is_no_reading_of_it() -> None:
    """Millimetres typed at a micrometer to 1 in, behind a good reading; .03 in past its last mark it still reads."""
    told = refused(lambda: began("M-01", ".5000 12.7")).reasons[0]
    assert (told.code, told.parts["at"]) == ("study.refused.beyond", len(".5000 "))
    assert say(told).startswith("M-01 reads 0 in to 1 in, so it cannot have shown 12.7.")
    assert began("M-01", "1.0300").is_begun


def test_one_reading_of_a_place_is_not_left_alone() -> None:
    for study, text in (
        (began("M-01"), "Place 1 has no reading yet. Read it twice at least before you go on to another."),
        (
            began("M-01", ".5 .5001", "", ".7"),
            "Place 2 has one reading. Read it at least once more, lifted and replaced: one reading shows no scatter.",
        ),
    ):
        (reason,) = refused(lambda study=study: next_place(study)).reasons
        assert say(reason) == text


def test_taking_back_goes_back_through_the_places() -> None:
    study = began("M-01", ".5 .5001", "", ".7")
    at = []
    for _ in range(5):
        study = without_last(study)
        at.append([len(place) for place in study.places])
    assert at == [[2, 0], [2], [1], [0], [0]]


def test_no_study_grows_without_end() -> None:
    full = replace(began("M-01"), places=(began("M-01", ".5").places[0] * MOST_READINGS,))
    assert [reason.code for reason in refused(lambda: enter(full, ".5")).reasons] == ["study.refused.many"]
    many = replace(full, places=full.places * MOST_PLACES)
    assert [reason.code for reason in refused(lambda: next_place(many)).reasons] == ["study.refused.many_places"]


def test_what_gives_no_reading_is_not_studied_but_what_is_read_over_another_is() -> None:
    assert [r.code for r in refused(lambda: began("G-01")).reasons] == ["study.refused.no_scale"]
    transfer = next(one for one in CRIB.values() if one.read_over)
    assert began(transfer.tag).places == ((),)


def test_another_set_up_asks_for_everything_again() -> None:
    caliper = CRIB["C-05"]
    study = began("C-05", ".5 .5005")
    metric = configured(caliper, "mm")
    assert set_up(study, study.configuration) is study
    assert set_up(study, metric) == begin(caliper, metric)
    assert enter(set_up(study, metric), "12.70").groups == ((UNITS["mm"].count * 127 // 10,),)


def test_a_turn_of_the_thimble_is_told_and_kept() -> None:
    assert slip_of(began("M-01", ".5000 .5001 .5002")) is None
    study = began("M-01", ".5000 .5001", ".5251")
    found = slip_of(study)
    assert found is not None
    assert "looks like one whole turn of the thimble. It is kept as written." in say(found)
    assert len(study.places[0]) == 3


def test_what_it_comes_to_is_said_with_its_nu_and_what_few_readings_cost() -> None:
    """k of Student's t at 95.45 %: 2.87 for ν = 4 (JCGM 100:2008, table G.2)."""
    plain: Instrument = replace(CRIB["M-01"], repeatability=0)
    study = enter(begin(plain, configured(plain)), ".5000")
    assert next(say(reason) for reason in said(begin(plain, configured(plain)))).startswith("Read one place")
    assert [reason.code for reason in said(study)] == ["study.none"]
    study = enter(study, ".5001 .5002 .5003 .5004")
    assert [say(reason) for reason in said(study)] == [
        "5 readings of one place: s = 0.000158 in (ν = 4).",
        "With ν = 4 the uncertainty is reckoned with k = 2.87 in place of 2. More readings make it smaller.",
    ]
    study = enter(study, ".5000 .5001 .5002 .5003 .5004 .5002")
    assert [reason.code for reason in said(study)] == ["study.s"]
