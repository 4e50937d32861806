"""What to fetch before a sheet is measured: each instrument once, in the order of the route, with sizes and checks."""

from __future__ import annotations

from typing import Any

import pytest

from inspection.instruments.record import InstrumentKind, Standing
from inspection.quantity.units import PICOMETRES_PER_INCH
from inspection.sheet.pull_list import Pull, PullList, pull_list
from inspection.sheet.pull_page import pull_page
from inspection.sheet.pull_sets import size_of_tightest

DAY = "2026-03-02"
THOU = PICOMETRES_PER_INCH // 1000


@pytest.fixture
def measured(life_kind: Any) -> Any:
    life = life_kind().open()
    life.make()
    return life


def listed(life: Any, day: str = DAY) -> PullList:
    sheet = life.sheet
    return pull_list(sheet.plan.characteristics, sheet.assignments, sheet.stops, life.shop.crib, day)


def of_tag(found: PullList, tag: str) -> Pull:
    return next(pull for pull in found.pulls if pull.instrument.tag == tag)


def test_every_instrument_of_the_route_is_fetched_once_in_pick_up_order(measured: Any) -> None:
    sheet, found = measured.sheet, listed(measured)
    parts = {
        part.identity
        for one in sheet.assignments.values()
        if one.assessment
        for part in one.assessment.method.parts
        if measured.shop.crib[part.identity].kind is not InstrumentKind.EYE
    }
    assert {pull.instrument.identity for pull in found.pulls} == parts
    assert len(found.pulls) == len(parts)
    assert [pull.legs[0] for pull in found.pulls] == sorted(pull.legs[0] for pull in found.pulls)
    told = {number for leg in found.legs for number in leg.rows}
    assert told == {row.number for row in sheet.plan.characteristics}


def test_pins_are_told_by_size_from_below_the_lower_to_above_the_upper_limit(measured: Any) -> None:
    """⌀.5000 +.0010 -.0005: what enters and what does not lies between .4995 and .5010; the set goes by thousandths,
    so that .499, which is surely smaller, to .501, which is not under the upper limit, are enough."""
    pins = of_tag(listed(measured), "P-32")
    assert pins.rows == ("6",)
    run = [size / THOU for size in pins.pins.runs[0]]
    assert run[0] <= 499.5 and run[-1] >= 501
    inside = [one.size / THOU for one in pins.instrument.members if run[0] <= one.size / THOU <= run[-1]]
    assert run == inside


def test_a_missing_pin_is_not_told(measured: Any) -> None:
    before = of_tag(listed(measured), "P-32").pins.runs[0]
    measured.change_instrument("P-32", missing=(before[1],))
    after = [size for run in of_tag(listed(measured), "P-32").pins.runs for size in run]
    assert before[1] not in after
    assert after[0] == before[0]


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"due": "2026-03-01"}, "pull.overdue"),
        ({"standing": Standing.OUT_OF_SERVICE}, "pull.out_of_service"),
        ({"standing": Standing.REFERENCE_ONLY}, "pull.reference_only"),
    ],
)
def test_what_stands_against_an_instrument_today_is_told(measured: Any, change: dict[str, Any], code: str) -> None:
    measured.change_instrument("P-32", **change)
    assert [reason.code for reason in of_tag(listed(measured), "P-32").minds] == [code]


def test_a_block_is_asked_for_near_the_tightest_row(measured: Any) -> None:
    micrometer = of_tag(listed(measured), "M-01")
    assert "2" in micrometer.rows
    assert size_of_tightest([measured.row(number) for number in micrometer.rows], micrometer.instrument) == 750 * THOU


def test_the_page_says_where_it_lies_and_who_has_it(measured: Any) -> None:
    measured.change_instrument("M-01", place="cabinet 2, drawer 1", holder="Bo Birch")
    page = pull_page(measured.sheet, measured.shop, DAY)
    line = next(line for line in page.pulls if line.tag == "M-01")
    assert line.place == "cabinet 2, drawer 1; now with Bo Birch"
    assert line.checks[-1] == "Read a gauge block near 0.75 in, 3 times."
    assert page.counts[0] == f"{len(page.pulls)} instruments"
    assert [leg.order for leg in page.legs] == [str(n) for n in range(1, len(page.legs) + 1)]
