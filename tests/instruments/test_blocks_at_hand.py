"""The shop's own sets: which may be used, in which order they are built from, and what a stack of them is known to."""

from __future__ import annotations

import csv
from fractions import Fraction
from math import sqrt
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from inspection.instruments.blocks import blocks_text, stack_of
from inspection.instruments.blocks_at_hand import block_to_check, sets_at_hand, stack_at_hand, told_unit
from inspection.instruments.blocks_grades import FILM, doubt_reasons, stack_budget, stack_expanded
from inspection.instruments.record import Instrument, InstrumentKind, Member, Standing
from inspection.instruments.sets import read_members
from inspection.instruments.starter import starter_crib
from inspection.quantity.units import UNITS
from inspection.reasons import Refused
from inspection.standards.tables import steps
from inspection.words.say import say

DAY = "2026-03-02"
INCH, MM, MICROINCH = UNITS["in"].count, UNITS["mm"].count, UNITS["µin"].count
SETS = Path(__file__).parents[1] / "reference" / "gauge_block_sets.csv"


def held(tag: str, **changes: Any) -> Instrument:
    found = next(one for one in starter_crib(due="2027-01-01") if one.tag == tag)
    return replace(found, identity=tag, **changes)


INCH_81, METRIC_87, METRIC_112 = held("G-01"), held("G-02"), held("G-03")


@pytest.mark.parametrize(
    ("name", "tag"), [("81-piece inch", "G-01"), ("87-piece metric", "G-02"), ("112-piece metric (M112)", "G-03")]
)
def test_the_sets_are_those_in_print(name: str, tag: str) -> None:
    with SETS.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["set"] == name]
    sizes: list[int] = []
    for row in (row for row in rows if row["kind"] == "series"):
        first, last = (steps(row[f"series_{end}"], row["unit"]) for end in ("from", "to"))
        by = steps(row["step"], row["unit"]) if row["step"] else MM
        sizes += range(first, last + 1, by)
    assert sorted(sizes) == [member.size for member in held(tag).members]
    assert len(sizes) == next(int(row["pieces"]) for row in rows if row["kind"] == "total")


def test_sets_of_the_unit_come_first_and_unusable_ones_only_where_there_is_no_other() -> None:
    crib = [METRIC_87, INCH_81, held("C-05")]
    assert [one.tag for one in sets_at_hand(crib, DAY, "in")] == ["G-01", "G-02"]
    lost = replace(INCH_81, standing=Standing.OUT_OF_SERVICE)
    assert [one.tag for one in sets_at_hand([METRIC_87, lost], DAY, "in")] == ["G-02"]
    assert [one.tag for one in sets_at_hand([lost], DAY, "in")] == ["G-01"]
    empty = replace(INCH_81, missing=tuple(member.size for member in INCH_81.members))
    assert sets_at_hand([empty], DAY) == ()


def test_a_size_is_built_from_one_set_then_several_then_another_unit() -> None:
    """1.0005 is in the 112-piece set alone, and 90 in the 87-piece set alone: 91.0005 by two blocks needs both."""
    few = replace(METRIC_112, missing=tuple(m.size for m in METRIC_112.members if m.size > 5 * MM))
    sets = (METRIC_87, few)
    found = stack_at_hand(sets, 91_000_500_000, "mm")
    assert found.stack is not None
    assert {block.instrument for block in found.stack.blocks} == {"G-02", "G-03"}
    tags = {one.identity: one.tag for one in sets}
    assert blocks_text(found.stack, "mm", tags) == "90 (G-02) + 1.0005 (G-03)"
    metric = stack_at_hand((INCH_81, METRIC_87), 37_528 * MM // 1000, "in")
    assert metric.stack is not None
    assert told_unit(metric, (INCH_81, METRIC_87), "in") == "mm"


def test_the_nearest_is_that_of_the_unit_asked_for() -> None:
    found = stack_at_hand((METRIC_112, INCH_81), 123_456 * INCH // 100_000, "in")
    assert found.below is not None and found.above is not None
    assert (found.below.size, found.above.size) == (12_345 * INCH // 10_000, 12_346 * INCH // 10_000)


def test_wear_blocks_are_put_on_where_there_is_a_pair_or_asked_for() -> None:
    box = Instrument(
        "G-8", 1, "G-8", InstrumentKind.GAUGE_BLOCKS, "wear", "in", members=read_members(".05 (wear); .05 (wear)", "in")
    )
    plain = stack_at_hand((INCH_81,), INCH, "in")
    worn = stack_at_hand((INCH_81, box), INCH, "in")
    assert plain.stack is not None and worn.stack is not None
    assert [block.label for block in plain.stack.blocks] == [""]
    assert [block.label for block in worn.stack.blocks] == ["wear", "", "wear"]
    assert blocks_text(worn.stack, "in") == "0.05 (wear) + 0.9 + 0.05 (wear)"
    without = stack_at_hand((INCH_81, box), INCH, "in", wear=False)
    assert without.stack is not None and len(without.stack.blocks) == 1
    with pytest.raises(Refused) as refused:
        stack_at_hand((INCH_81, METRIC_87), INCH, "in", wear=True)
    assert refused.value.reasons[0].code == "blocks.no_wear"


def test_a_range_beyond_two_blocks_gets_a_stack_within_it() -> None:
    far = Instrument("m", 1, "M-9", InstrumentKind.OUTSIDE_MICROMETER, "micrometer", low=9 * INCH, high=10 * INCH)
    stack = block_to_check((INCH_81,), 9 * INCH + INCH // 2, far)
    assert stack is not None
    assert far.low <= stack.size <= far.high
    assert len(stack.blocks) > 2
    beyond = replace(far, low=40 * INCH, high=41 * INCH)
    assert block_to_check((INCH_81,), 40 * INCH, beyond) is None


# --- how well a stack is known ----------------------------------------------------------------------------------


def test_each_block_and_each_film_enters_the_uncertainty_once() -> None:
    """By hand: half-widths of grade 0 (inch, from memory of ASME B89.1.9) 10, 6, 5 and 5 µin, three films of 1 µin;
    u is the root of the sum of squares over 3 (JCGM 100:2008, 4.3.7), U is twice that, rounded up to two digits."""
    stack = stack_of([INCH_81], [INCH * n // 10_000 for n in (30_000, 7_500, 1_260, 1_002)])
    budget = stack_budget(stack, [INCH_81])
    assert budget is not None
    squares = 10**2 + 6**2 + 5**2 + 5**2 + 3 * 1**2
    assert budget.variance == Fraction(squares * MICROINCH**2, 3)
    assert FILM == MICROINCH
    expanded = stack_expanded(stack, [INCH_81])
    assert expanded is not None
    assert (expanded.unit, expanded.count) == ("µin", 16 * MICROINCH)
    assert 15 < 2 * sqrt(squares / 3) <= 16
    assert [say(reason) for reason in doubt_reasons(stack, [INCH_81])] == [
        "U = 16 µin at 20 °C (k = 2), by grade 0 and the films between 4 blocks; at worst 26 µin off, and the films "
        "besides."
    ]


def test_one_block_has_no_film() -> None:
    stack = stack_of([METRIC_87], [30 * MM])
    assert [say(reason) for reason in doubt_reasons(stack, [METRIC_87])] == [
        "U = 0.47 µm at 20 °C (k = 2), by grade 1."  # 2 × 0.4 / √3 is 0.4619
    ]


def test_a_better_grade_is_known_better_and_an_unknown_one_not_at_all() -> None:
    sizes = [INCH, INCH // 2]
    known = []
    for grade in ("00", "0", "AS-1", "AS-2"):
        graded = replace(INCH_81, gauge_class=grade)
        expanded = stack_expanded(stack_of([graded], sizes), [graded])
        assert expanded is not None
        known.append(expanded.count)
    assert known == sorted(known) and len(set(known)) == 4
    bare = replace(INCH_81, gauge_class="")
    assert stack_expanded(stack_of([bare], sizes), [bare]) is None
    assert [say(reason) for reason in doubt_reasons(stack_of([bare], sizes), [bare])] == [
        "U is not known: the record of G-01 names no grade with a known limit at these sizes."
    ]


def test_a_block_longer_than_the_table_is_not_known() -> None:
    long = replace(METRIC_87, members=(Member(5_000 * MM),))
    assert stack_expanded(stack_of([long], [5_000 * MM]), [long]) is None
