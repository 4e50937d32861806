"""A row that is compared with blocks: the size of the part is what is entered, whatever the indicator alone shows."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from inspection.instruments.starter import starter_crib
from inspection.sheet.helping import budget_told, given_on, remedies_for
from inspection.sheet.points import points
from inspection.sheet.pull_list import pull_list

DAY, THOU = "2026-03-02", 25_400_000
TAGS = ("I-01", "H-11", "G-01", "M-01")
HALF_THOU = {"resolution": THOU // 2, "repeatability": THOU // 10}


def made(life_kind: Any, requirement: str, **changes: Any) -> Any:
    crib = tuple(one for one in starter_crib(due="2027-01-01") if one.tag in TAGS)
    crib = tuple(replace(one, **changes) if one.tag == "I-01" else one for one in crib)
    life = life_kind().open(crib)
    life.make(("001",), {"number": "1", "kind": "length", "requirement": requirement})
    return life


def test_the_entry_takes_the_size_of_the_part(life_kind: Any) -> None:
    life = made(life_kind, "6.500 ±.001")
    life.take("1", "6.5003")
    assert (life.verdict("1"), life.sheet.open_questions()) == ("conforming", ())
    stops, crib = life.sheet.stops, life.shop.crib
    found = pull_list(life.sheet.plan.characteristics, life.sheet.assignments, stops, crib, DAY)
    assert [pull.instrument.tag for pull in found.pulls] == ["I-01", "H-11", "G-01"]
    (built,) = found.pulls[-1].stacks
    assert [block.size // (10 * THOU) for block in built.stacks[0].blocks] == [400, 200, 50]


def test_its_budget_is_told_by_its_lines_and_what_would_help(life_kind: Any) -> None:
    """± .0007: T / 2E is 3.5, so a tighter indicator is what helps."""
    life = made(life_kind, "6.5000 ±.0007")
    given, row = given_on(life.shop, life.sheet, DAY, 0), life.row("1")
    method = life.sheet.assignments[row.identity].assessment.method
    told = budget_told(given, row, method)
    assert told.budget is not None
    assert [line.name for line in told.budget.lines].count("gauge class") == 3
    assert "doubt.remedy.tighter" in [each.reason.code for each in remedies_for(given, row, method)]


@pytest.mark.parametrize(("reading", "asked"), [("6.5003", False), ("6.50035", True)])
def test_stack_and_difference_together_have_finer_steps_than_the_indicator(
    life_kind: Any, reading: str, asked: bool
) -> None:
    """Half a thou over blocks by tenths."""
    life = made(life_kind, "6.5000 ±.0050", **HALF_THOU)
    life.take("1", reading)
    assert bool(life.sheet.open_questions()) is asked
    listed = points(life.shop, life.sheet)
    assert ("off_grid" in {point.code for point in listed}) is asked, "the lead's list asks as the entry does"
