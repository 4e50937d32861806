"""What is taken out of sets for a sheet: each stack exact, once, from what is there, and the pins of every bore."""

from __future__ import annotations

from itertools import combinations
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from inspection.drawing.plan import TitleBlock
from inspection.drawing.rows import characteristic
from inspection.instruments.blocks import NEAR
from inspection.instruments.comparing import compared
from inspection.instruments.method import Assessment, Assignment, Fitness, InstrumentIssue, Method, Stop
from inspection.instruments.record import Direction, Instrument, Member, Standing, Use
from inspection.instruments.sets import read_members
from inspection.instruments.starter import starter_crib
from inspection.quantity.units import UNITS
from inspection.sheet.pull_list import Pull, PullList, pull_list
from inspection.sheet.pull_page import PullPage, pull_page
from inspection.sheet.pull_sets import blocks_for, pins_for
from inspection.words.say import say

DAY = "2026-03-02"
INCH, MM = UNITS["in"].count, UNITS["mm"].count
THOU = INCH // 1000
HELD = ("C-05", "M-01", "M-02", "M-11", "P-02", "P-13", "P-32", "G-01", "G-02", "G-03", "EYE", "H-01", "H-11", "I-01")
TITLE = TitleBlock(inch={3: INCH // 200})


def held(tag: str, **changes: Any) -> Instrument:
    found = next(one for one in starter_crib(due="2027-01-01") if one.tag == tag)
    return replace(found, identity=tag, issue=1, **changes)


def crib_of(*tags: str, **changed: dict[str, Any]) -> dict[str, Instrument]:
    return {tag: held(tag, **changed.get(tag.replace("-", ""), {})) for tag in tags}


def row_of(requirement: str, kind: str = "outside diameter", number: str = "1", **given: str) -> Any:
    row = {"number": number, "kind": kind, "requirement": requirement, **given}
    return replace(characteristic(row, TITLE)[0], identity=number)


def one_stop(rows: list[Any], *tags: str, crib: dict[str, Instrument], use: Use = Use.OUTSIDE) -> PullList:
    """The list of a route with one stop, at which these instruments are in hand together for all rows."""
    method = Method(use, tuple(InstrumentIssue(tag, 1) for tag in tags))
    assigned = {row.identity: Assignment(row.identity, Assessment(method, Fitness.FIT)) for row in rows}
    return pull_list(rows, assigned, [Stop(method.key, "", tuple(assigned))], crib, DAY)


def of_tag(found: PullList, tag: str) -> Pull:
    return next(pull for pull in found.pulls if pull.instrument.tag == tag)


def sizes(pull: Pull) -> list[list[float]]:
    """The stacks of a set, each by its blocks in inches."""
    return [[block.size / INCH for block in built.stacks[0].blocks] for built in pull.stacks]


# --- blocks to check on -----------------------------------------------------------------------------------------


def test_the_block_that_a_micrometer_is_read_on_is_fetched_with_its_set() -> None:
    crib = crib_of("M-01", "G-01", "G-02")
    found = one_stop([row_of("⌀.7500 ±.0005")], "M-01", crib=crib)
    assert [pull.instrument.tag for pull in found.pulls] == ["M-01", "G-01"]
    assert sizes(of_tag(found, "G-01")) == [[0.75]]
    (built,) = of_tag(found, "G-01").stacks
    assert (built.checks, built.rows, built.legs) == (("M-01",), (), (1,))
    assert "Read a gauge block near 0.75 in, 3 times." in [say(line) for line in of_tag(found, "M-01").checks]
    assert [say(line) for line in of_tag(found, "G-01").checks][:2] == [
        "Wipe faces and reference surface.",
        "No burr or nick.",
    ]


def test_a_set_is_fetched_once_and_a_stack_told_once_for_all_that_are_checked_on_it() -> None:
    crib = crib_of("M-01", "C-05", "M-02", "G-01", "G-02", "G-03")
    rows = [
        row_of("⌀.7500 ±.0005", number="1"),
        row_of(".745 ±.005", "length", "2"),
        row_of("⌀1.140 ±.001", number="3"),
    ]
    ways = {"1": "M-01", "2": "C-05", "3": "M-02"}
    methods = {n: Method(Use.OUTSIDE, (InstrumentIssue(tag, 1),)) for n, tag in ways.items()}
    assigned = {n: Assignment(n, Assessment(method, Fitness.FIT)) for n, method in methods.items()}
    stops = [Stop(method.key, "", (n,)) for n, method in methods.items()]
    found = pull_list(rows, assigned, stops, crib, DAY)
    assert [pull.instrument.tag for pull in found.pulls] == ["M-01", "G-01", "C-05", "M-02"]
    sets = of_tag(found, "G-01")
    assert sets.legs == (1, 2, 3)
    assert {built.checks: built.legs for built in sets.stacks} == {("M-01", "C-05"): (1, 2), ("M-02",): (3,)}
    assert sizes(sets) == [[0.75], [1, 0.14]]


def test_a_metric_instrument_is_read_on_a_metric_block_and_both_sets_are_fetched() -> None:
    crib = crib_of("M-01", "M-11", "G-01", "G-02", "G-03")
    inch = one_stop([row_of("⌀.7500 ±.0005")], "M-01", "M-11", crib=crib)
    assert [pull.instrument.tag for pull in inch.pulls] == ["M-01", "M-11", "G-01", "G-03"]
    (built,) = of_tag(inch, "G-03").stacks  # 19.05 mm: the 112-piece set has 19, within a turn; the 87-piece one two
    assert (built.unit, built.found.wanted) == ("mm", 19 * MM)


def test_one_set_serves_where_it_is_near_enough() -> None:
    """10 mm from the 87-piece set; 24.4 then is 24.5 by one block of the 112-piece set, but also 20 + 4.5 of the first,
    within a turn of the thimble."""
    crib = crib_of("M-11", "G-02", "G-03") | {"M-9": replace(held("M-11"), identity="M-9", tag="M-9")}
    needed = {
        "M-11": [(1, row_of("⌀10.00 ±0.01", unit="mm"))],
        "M-9": [(2, row_of("⌀24.40 ±0.01", unit="mm"))],
    }
    found = blocks_for(needed, crib, DAY)
    assert found.sets == ("G-02",)
    assert [[block.size // (MM // 10) for block in built.stacks[0].blocks] for built in found.built] == [
        [100],
        [200, 45],
    ]


def test_a_set_that_nobody_may_use_is_passed_over_while_there_is_another() -> None:
    rows = [row_of("⌀.7500 ±.0005")]
    worn = crib_of("M-01", "G-01", "G-02", G01={"standing": Standing.OUT_OF_SERVICE})
    assert [pull.instrument.tag for pull in one_stop(rows, "M-01", crib=worn).pulls] == ["M-01", "G-02"]
    late = crib_of("M-01", "G-01", G01={"due": "2026-03-01"})
    found = one_stop(rows, "M-01", crib=late)
    assert [reason.code for reason in of_tag(found, "G-01").minds] == ["pull.overdue"]


def test_a_missing_block_is_done_without() -> None:
    lost = crib_of("M-01", "G-01", G01={"missing": (750 * THOU,)})
    (stack,) = sizes(of_tag(one_stop([row_of("⌀.7500 ±.0005")], "M-01", crib=lost), "G-01"))
    assert 0.75 not in stack
    assert abs(sum(stack) - 0.75) * INCH <= NEAR


@settings(max_examples=40)
@given(st.integers(100, 9_900), st.sets(st.sampled_from(held("G-01").members), max_size=60))
def test_nothing_in_the_set_is_nearer_than_what_is_taken(tenths: int, lost: set[Member]) -> None:
    """Brute force over every block and pair that is left, at every size a 0–1 in micrometer may be checked at."""
    missing = tuple(member.size for member in lost)
    crib = crib_of("M-01", "G-01", G01={"missing": missing})
    row = row_of(f"⌀{tenths / 10_000:.4f} ±.0005")
    found = blocks_for({"M-01": [(1, row)]}, crib, DAY)
    left = [member.size for member in crib["G-01"].members if member.size not in missing]
    pairs = [a + b for a, b in combinations(left, 2)]
    away = min(abs(size - row.requirement.nominal) for size in (*left, *pairs) if size <= INCH)
    (built,) = found.built
    got = abs(built.stacks[0].size - row.requirement.nominal)
    assert got == away or (got <= NEAR and len(built.stacks[0].blocks) == 1)


def test_a_crib_without_blocks_says_so_and_still_names_the_size() -> None:
    found = one_stop([row_of("⌀.7500 ±.0005")], "M-01", crib=crib_of("M-01"))
    assert [say(reason) for reason in found.lacks] == ["The crib holds no gauge blocks to check on: M-01."]
    assert "Read a gauge block near 0.75 in, 3 times." in [say(line) for line in of_tag(found, "M-01").checks]


def test_more_than_two_blocks_are_wrung_where_the_range_begins_beyond() -> None:
    far = replace(held("M-02"), identity="M-99", tag="M-99", low=8 * INCH, high=9 * INCH)
    found = one_stop([row_of("⌀8.400 ±.001")], "M-99", crib=crib_of("G-01") | {"M-99": far})
    (stack,) = sizes(of_tag(found, "G-01"))
    assert sum(stack) == pytest.approx(8.4)
    assert len(stack) == 4  # 4 + 3 + 1 + .4


def test_a_range_that_no_stack_reaches_is_said() -> None:
    far = replace(held("M-02"), identity="M-99", tag="M-99", low=24 * INCH, high=25 * INCH)
    found = one_stop([row_of("⌀24.400 ±.001")], "M-99", crib=crib_of("G-01") | {"M-99": far})
    assert [say(reason) for reason in found.lacks] == ["G-01 build nothing within 24 in to 25 in, to check M-99 on."]
    assert [pull.instrument.tag for pull in found.pulls] == ["M-99"]


def test_a_mistyped_set_is_passed_over_while_there_is_another() -> None:
    odd = replace(held("G-01"), identity="G-9", tag="G-9", members=tuple(Member(MM + 7**n) for n in range(9)))
    found = one_stop([row_of("⌀.7500 ±.0005")], "M-01", crib=crib_of("M-01", "G-01") | {"G-9": odd})
    assert [pull.instrument.tag for pull in found.pulls] == ["M-01", "G-01"]
    alone = one_stop([row_of("⌀.7500 ±.0005")], "M-01", crib=crib_of("M-01") | {"G-9": odd})
    assert [reason.code for reason in alone.lacks] == ["blocks.too_fine"]


def test_an_instrument_of_rows_without_a_size_is_read_in_the_middle_of_its_range() -> None:
    row = row_of("position ⌀.010", "geometric tolerance")
    found = one_stop([row], "H-01", "I-01", "H-11", crib=crib_of("H-01", "I-01", "H-11", "G-01"), use=Use.HEIGHT)
    assert sizes(of_tag(found, "G-01")) == [[4, 2]]


# --- blocks to measure over -------------------------------------------------------------------------------------


def over_blocks(requirement: str, **changed: dict[str, Any]) -> PullList:
    crib = crib_of("I-01", "H-11", "G-01", "G-02", **changed)
    return one_stop([row_of(requirement, "length")], "I-01", "H-11", "G-01", crib=crib, use=Use.HEIGHT)


def test_an_indicator_over_blocks_gets_the_stack_of_its_row() -> None:
    """3.9762 from four blocks of an 81-piece set, a worked stack in print (tests/reference/gauge_block_stacks.csv)."""
    found = over_blocks("3.9762 ±.0005")
    (built,) = of_tag(found, "G-01").stacks
    assert sizes(of_tag(found, "G-01")) == [[3, 0.75, 0.126, 0.1002]]
    assert (built.rows, built.checks, built.found.short) == (("1",), (), 0)


def test_wear_blocks_close_the_ends_where_the_shop_has_a_pair() -> None:
    wear = read_members(".05 (wear); .05 (wear)", "in")
    found = over_blocks("1.2345 ±.0005", G01={"members": (*held("G-01").members, *wear)})
    (built,) = of_tag(found, "G-01").stacks
    labels = [block.label for block in built.stacks[0].blocks]
    assert (labels[0], labels[-1], set(labels[1:-1])) == ("wear", "wear", {""})
    assert built.stacks[0].size == 12_345 * THOU // 10


def test_a_size_that_is_not_built_gets_the_nearest_and_what_is_left_over() -> None:
    """One stack, from which the indicator reads the rest."""
    for written, near, short, over in (("1.23456", 12_346, None, 4), ("1.23453", 12_345, 3, None)):
        (built,) = of_tag(over_blocks(f"{written} ±.0005"), "G-01").stacks
        assert built.found.stack is None
        assert [stack.size for stack in built.stacks] == [near * THOU // 10]
        assert (built.found.short, built.found.over) == tuple(n and n * THOU // 100 for n in (short, over))


def test_the_stack_that_is_fetched_is_the_one_that_the_row_is_weighed_with() -> None:
    for written in ("3.9762 ±.0005", "1.23456 ±.0005", ".4995 / .5000", ".060 MIN"):
        crib = crib_of("I-01", "H-11", "G-01")
        row = row_of(written, "length")
        found = one_stop([row], "I-01", "H-11", "G-01", crib=crib, use=Use.HEIGHT)
        (built,) = of_tag(found, "G-01").stacks
        assert built.stacks == (compared(row, crib["G-01"]).stack,)


# --- pins -------------------------------------------------------------------------------------------------------


def pins(direction: Direction, tolerance: int, *missing: int) -> Instrument:
    members = tuple(Member(n * THOU) for n in range(90, 121))
    lost = tuple(n * THOU for n in missing)
    made = replace(held("P-02"), members=members, direction=direction, class_tolerance=tolerance, gauge_class="")
    return replace(made, missing=lost)


@settings(max_examples=80)
@given(
    st.sampled_from(Direction),
    st.integers(1, 20),
    st.integers(900, 1150),
    st.integers(5, 150),
    st.sets(st.integers(90, 120), max_size=20),
)
def test_the_pair_is_what_trying_every_two_pins_finds(
    direction: Direction, tenths: int, lower: int, band: int, lost: set[int]
) -> None:
    """Brute force over all pairs left: GO surely not under the lower limit wherever it lies in N … N + t (plus) or
    N − t … N (minus), NO-GO surely not over the upper one; the smallest such GO and the largest such NO-GO."""
    tenth = THOU // 10
    held_pins = pins(direction, tenths * tenth, *lost)
    low, high = lower * tenth, (lower + band) * tenth
    row = row_of(f"⌀{lower / 10_000:.4f}–{(lower + band) / 10_000:.4f}", "bore")
    assert (row.requirement.lower, row.requirement.upper) == (low, high)
    down, up = (0, tenths * tenth) if direction is Direction.PLUS else (tenths * tenth, 0)
    there = [n * THOU for n in range(90, 121) if n not in lost]
    go = min((size for size in there if size - down >= low), default=None)
    no_go = max((size for size in there if size + up <= high), default=None)
    found = pins_for(held_pins, [row])
    if go is None or no_go is None or go >= no_go:
        assert found.pairs == () and [reason.code for reason in found.lacks] == ["pull.no_pair"]
    else:
        (paired,) = found.pairs
        assert paired.pair.go is not None and paired.pair.no_go is not None
        assert (paired.pair.go.size, paired.pair.no_go.size, paired.rows) == (go, no_go, ("1",))
    taken = [size for run in found.runs for size in run]
    assert not set(taken) & set(held_pins.missing)
    assert taken == [size for size in there if not taken or taken[0] <= size <= taken[-1]][: len(taken)]


def test_holes_that_share_their_limits_share_a_pair_and_pins_are_taken_as_runs() -> None:
    rows = [
        row_of("⌀.1000–.1040", "bore", "1"),
        row_of("⌀.1000–.1040", "bore", "2"),
        row_of("⌀.1150–.1180", "bore", "3"),
    ]
    found = pins_for(pins(Direction.PLUS, 2 * THOU // 10, 102), rows)
    assert [each.rows for each in found.pairs] == [("1", "2"), ("3",)]
    assert [[size // THOU for size in run] for run in found.runs] == [
        [99, 100, 101, 103, 104],
        [114, 115, 116, 117, 118],
    ]


def test_where_no_number_is_asked_only_the_pair_is_taken() -> None:
    ends = (Member(100 * THOU, "GO"), Member(103 * THOU, "NOT GO"))
    plug = replace(pins(Direction.PLUS, THOU // 10), members=ends)
    row = row_of("⌀.1000–.1040", "bore", attribute_allowed="yes")
    assert pins_for(plug, [row]).runs == ((100 * THOU, 103 * THOU),)


def test_a_row_read_blind_is_told_no_pair() -> None:
    found = pins_for(pins(Direction.PLUS, THOU // 10), [row_of("⌀.1000–.1040", "bore", blind="yes")])
    assert found.pairs == ()
    assert found.runs


def test_one_limit_has_one_end() -> None:
    (paired,) = pins_for(pins(Direction.PLUS, THOU // 10), [row_of("⌀.100 MIN", "bore", band=".01")]).pairs
    assert paired.pair.no_go is None
    assert paired.pair.go is not None and paired.pair.go.size == 100 * THOU


# --- in words ---------------------------------------------------------------------------------------------------


@pytest.fixture
def page(life_kind: Any) -> PullPage:
    life = life_kind().open(tuple(one for one in starter_crib(due="2027-01-01") if one.tag in HELD))
    life.make(
        ("001",),
        {"number": "1", "kind": "outside diameter", "requirement": "⌀.7500 ±.0005"},
        {"number": "2", "kind": "outside diameter", "requirement": "⌀1.1400 ±.0005"},
        {"number": "3", "kind": "bore", "requirement": "2X ⌀.136 +.004/-.001"},
    )
    return pull_page(life.sheet, life.shop, DAY)


def test_every_stack_is_written_by_its_blocks_and_its_sum(page: PullPage) -> None:
    """U by hand from grade 0 of the inch table, from memory: 1 in within 6 µin, .14 within 5, a film of 1 µin: twice
    the root of (36 + 25 + 1) / 3 is 9.09, told as 9.1."""
    (line,) = [one for one in page.pulls if one.tag == "G-01"]
    assert [take.told for take in line.takes] == [
        "0.75 in, to check M-01, U = 7 µin",
        "1.14 in = 1 + 0.14, to check M-02, U = 9.1 µin",
    ]


def test_a_stack_that_is_not_built_is_told_by_the_nearest_and_what_is_left_over(life_kind: Any) -> None:
    tags = ("I-01", "H-11", "G-01", "M-02")
    life = life_kind().open(tuple(one for one in starter_crib(due="2027-01-01") if one.tag in tags))
    life.make(("001",), {"number": "7", "kind": "length", "requirement": "1.23456 ±.0005"})
    method = Method(Use.HEIGHT, tuple(life.method(tag).parts[0] for tag in tags[:3]))
    name = life.row("7").identity
    assigned = {name: Assignment(name, Assessment(method, Fitness.FIT))}
    page = pull_page(replace(life.sheet, assignments=assigned, stops=(Stop(method.key, "", (name,)),)), life.shop, DAY)
    (line,) = [one for one in page.pulls if one.tag == "G-01"]
    assert [take.told for take in line.takes] == [
        "1.2346 in = 1 + 0.134 + 0.1006, for row 7, 0.00004 in over 1.23456 in",
    ]
    assert (line.rows, line.stops) == ("7", "1")


def test_a_set_that_many_are_checked_on_tells_its_first_and_last_stop(life_kind: Any) -> None:
    life = life_kind().open(tuple(one for one in starter_crib(due="2027-01-01") if one.tag in ("M-01", "G-01")))
    row = {"kind": "outside diameter", "requirement": "⌀.7500 ±.0005"}
    life.make(("001",), *({**row, "number": str(n), "set_up": f"op {n} {n % 2}"} for n in range(1, 6)))
    page = pull_page(life.sheet, life.shop, DAY)
    assert {one.tag: one.stops for one in page.pulls} == {"M-01": "1, 2, 3, 4, 5", "G-01": "1 … 5"}


def test_the_pair_and_the_pins_to_step_through_are_told(page: PullPage) -> None:
    (line,) = [one for one in page.pulls if one.tag.startswith("P-")]
    assert line.tag == "P-02"  # ZZ minus: .135 may be .1348, which is no GO
    assert [take.told for take in line.takes] == ["GO 0.136 in, NO-GO 0.140 in, for rows 3.1, 3.2"]
    assert line.sizes == ("0.135 in … 0.141 in (7 pins)", "class ZZ minus")
