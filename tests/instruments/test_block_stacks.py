"""Block stacks: exact, of fewest blocks, from what is there; held against every subset of small sets, an integer
programme on the real ones, and worked stacks in print."""

from __future__ import annotations

import csv
import random
import time
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy.optimize import Bounds, LinearConstraint, milp

from inspection.instruments.blocks import (
    MOST_BLOCKS,
    Stack,
    block_near,
    block_sets,
    stack_for,
    stack_of,
    stacking_reasons,
)
from inspection.instruments.record import Instrument, InstrumentKind, Member
from inspection.instruments.sets import read_members
from inspection.instruments.starter import starter_crib
from inspection.quantity.units import UNITS
from inspection.reasons import Refused
from inspection.standards.tables import steps
from inspection.words.say import say

REFERENCE = Path(__file__).parents[1] / "reference" / "gauge_block_stacks.csv"
INCH, MM = UNITS["in"].count, UNITS["mm"].count
TENTH = INCH // 10_000


def crib(tag: str) -> Instrument:
    return next(each for each in starter_crib() if each.tag == tag)


INCH_81, METRIC_87, METRIC_112 = (crib(tag) for tag in ("G-01", "G-02", "G-03"))
PRINTED = {
    "81-piece inch": INCH_81,
    "87-piece metric": METRIC_87,
    "112-piece metric (M112)": METRIC_112,
}


def blocks(*sizes: int, tag: str = "G-9", unit: str = "mm", labels: dict[int, str] | None = None) -> Instrument:
    """A set of these sizes in thousandths of a millimetre."""
    members = tuple(Member(size * MM // 1000, (labels or {}).get(size, "")) for size in sizes)
    return Instrument(tag, 1, tag, InstrumentKind.GAUGE_BLOCKS, "blocks", unit, members=members)


def is_of(stack: Stack, *sets: Instrument) -> bool:
    """Whether the stack uses blocks that are there, each of them once, and its size is their sum."""
    there = [(each.identity, m.size, m.label) for each in sets for m in each.members if m.size not in each.missing]
    for block in stack.blocks:
        there.remove((block.instrument, block.size, block.label))
    return stack.size == sum(block.size for block in stack.blocks)


# --- against outside --------------------------------------------------------------------------------------------


def printed() -> list[dict[str, str]]:
    with REFERENCE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", printed(), ids=lambda row: row["item"])
def test_a_worked_stack_in_print_is_matched_or_beaten(row: dict[str, str]) -> None:
    """The note of a row says how few blocks that set needs; print has one stack of five where four do."""
    size = steps(row["item"].partition(" = ")[0], row["unit"])
    stack = stack_for([PRINTED[row["set"]]], size).stack
    assert stack is not None and stack.size == size and is_of(stack, PRINTED[row["set"]])
    assert len(stack.blocks) == int(row["note"].rpartition(" ")[2])
    assert len(stack.blocks) <= int(row["pieces"])


def fewest_by_programme(sizes: tuple[int, ...], wanted: int, step: int) -> int | None:
    """The fewest of these sizes that make ``wanted``, by an integer programme: one variable of 0 or 1 a block."""
    row = np.array([[size // step for size in sizes]], dtype=float)
    target = wanted // step
    found = milp(
        np.ones(len(sizes)), constraints=LinearConstraint(row, target, target), integrality=1, bounds=Bounds(0, 1)
    )
    return round(found.fun) if found.success else None


@pytest.mark.parametrize(
    ("held", "step"), [(INCH_81, TENTH), (METRIC_87, MM // 1000), (METRIC_112, MM // 2000)], ids=lambda x: str(x)[:1]
)
def test_an_integer_programme_finds_no_fewer(held: Instrument, step: int) -> None:
    chance = random.Random(step)
    sizes = tuple(member.size for member in held.members)
    for _ in range(4):
        wanted = chance.randrange(2 * sizes[0] // step, sizes[-1] // step) * step
        lost = tuple(chance.sample(sizes, 8))
        left = replace(held, missing=lost)
        stack = stack_for([left], wanted).stack
        fewest = fewest_by_programme(tuple(size for size in sizes if size not in lost), wanted, step)
        assert (len(stack.blocks) if stack else None) == (fewest if fewest and fewest <= MOST_BLOCKS else None)
        assert stack is None or is_of(stack, left)


def every_stack(sizes: list[int], most: int) -> dict[int, list[tuple[int, ...]]]:
    """All sums of up to ``most`` of the sizes, each with all its stacks of fewest, sorted from thin to thick."""
    found: dict[int, list[tuple[int, ...]]] = {}
    for count in range(1, most + 1):
        for chosen in combinations(sizes, count):
            held = found.setdefault(sum(chosen), [])
            if not held or len(held[0]) == count:
                held.append(tuple(sorted(chosen)))
    return found


@settings(max_examples=60)
@given(st.lists(st.integers(1, 60), min_size=1, max_size=9), st.integers(1, 150), st.integers(1, 5))
def test_every_subset_says_the_same(sizes: list[int], wanted: int, most: int) -> None:
    """Sets of any composition, equal blocks among them: built or not, how few, which, and the nearest on both sides."""
    held = blocks(*sizes)
    all_of_them = every_stack([size * MM // 1000 for size in sizes], most)
    found = stack_for([held], wanted * MM // 1000, most=most)
    target = wanted * MM // 1000
    if target in all_of_them:
        assert found.stack is not None and is_of(found.stack, held)
        assert tuple(sorted(block.size for block in found.stack.blocks)) == max(all_of_them[target])
        assert (found.below, found.above, found.short, found.over) == (None, None, 0, 0)
        return
    assert found.stack is None
    below = max((size for size in all_of_them if size < target), default=None)
    above = min((size for size in all_of_them if size > target), default=None)
    assert (found.below.size if found.below else None, found.above.size if found.above else None) == (below, above)
    for near in filter(None, (found.below, found.above)):
        assert is_of(near, held) and len(near.blocks) == len(all_of_them[near.size][0])
    assert found.short == (None if below is None else target - below)
    assert found.over == (None if above is None else above - target)


@settings(max_examples=80)
@given(st.sampled_from([INCH_81, METRIC_87, METRIC_112]), st.data())
def test_a_stack_of_a_real_set_sums_exactly_and_uses_each_block_once(held: Instrument, data: st.DataObject) -> None:
    sizes = [member.size for member in held.members]
    lost = data.draw(st.sets(st.sampled_from(sizes), max_size=30))
    wanted = data.draw(st.integers(1, 2 * sizes[-1]))
    left = replace(held, missing=tuple(lost))
    found = stack_for([left], wanted)
    for stack in filter(None, (found.stack, found.below, found.above)):
        assert is_of(stack, left) and len(stack.blocks) <= MOST_BLOCKS
    if found.stack is not None:
        assert found.stack.size == wanted
    else:
        assert found.below is None or found.below.size < wanted
        assert found.above is None or found.above.size > wanted


# --- what a set is ----------------------------------------------------------------------------------------------


def test_a_missing_block_is_done_without() -> None:
    wanted = 12_345 * TENTH
    first = stack_for([INCH_81], wanted).stack
    assert first is not None
    without = stack_for([replace(INCH_81, missing=(first.blocks[0].size,))], wanted).stack
    assert without is not None and without.size == wanted
    assert first.blocks[0] not in without.blocks


def test_what_only_the_missing_block_could_do_is_left_over() -> None:
    """.1007 is the only block of its last digit but for pairs; with all tenths blocks gone nothing ends in a tenth."""
    lost = tuple(member.size for member in INCH_81.members if member.size % (10 * TENTH))
    found = stack_for([replace(INCH_81, missing=lost)], 6_237 * TENTH)
    assert found.stack is None and found.below is not None and found.above is not None
    assert (found.below.size, found.short, found.above.size, found.over) == (
        6_230 * TENTH,
        7 * TENTH,
        6_240 * TENTH,
        3 * TENTH,
    )
    said = [say(reason) for reason in stacking_reasons(found, "in")]
    assert said[0] == "These blocks do not build 0.6237 in."
    assert said[1].startswith("Nearest below: 0.623 in from ") and said[1].endswith("; 0.0007 in short.")
    assert said[2].startswith("Nearest above: 0.624 in from ") and said[2].endswith("; 0.0003 in over.")


def test_a_stack_is_told_thickest_first() -> None:
    found = stack_for([INCH_81], 39_762 * TENTH)
    assert [say(reason) for reason in stacking_reasons(found, "in")] == [
        "3.9762 in from 4 blocks: 3 + 0.75 + 0.126 + 0.1002."
    ]


def test_thin_blocks_are_left_alone_where_as_few_do_without() -> None:
    stack = stack_for([blocks(500, 1000, 1500, 2000)], 2500 * MM // 1000).stack
    assert stack is not None and [block.size * 1000 // MM for block in stack.blocks] == [1500, 1000]


def test_sets_are_put_together_only_if_said_so() -> None:
    one, other = blocks(1000, 5000, tag="G-8"), blocks(3000, tag="G-9")
    assert stack_for([one, other], 4 * MM).stack is None
    stack = stack_for([one, other], 4 * MM, together=True).stack
    assert stack is not None and [block.instrument for block in stack.blocks] == ["G-9", "G-8"]


def test_the_set_that_needs_fewer_builds_it() -> None:
    one, other = blocks(1000, 1500, 2500, tag="G-8"), blocks(4000, 1000, tag="G-9")
    stack = stack_for([one, other], 5 * MM).stack
    assert stack is not None and {block.instrument for block in stack.blocks} == {"G-9"}


def test_wear_blocks_close_both_ends_and_stand_nowhere_else() -> None:
    """92.357 from the 112-piece set between two wear blocks of 2.5 is 87.357, which four blocks make (in print)."""
    wear = read_members("2.5 (wear); 2.5 (wear)", "mm")
    held = replace(METRIC_112, members=(*METRIC_112.members, *wear))
    stack = stack_for([held], 92_357 * MM // 1000, wear=True).stack
    assert stack is not None and is_of(stack, held) and len(stack.blocks) == 6
    assert [block.label for block in stack.blocks] == ["wear", "", "", "", "", "wear"]
    plain = stack_for([held], 5 * MM).stack
    assert plain is not None and [block.label for block in plain.blocks] == [""]


def test_wear_blocks_may_lie_in_a_box_of_their_own() -> None:
    box = blocks(1000, 1000, tag="G-7", labels={1000: "wear"})
    stack = stack_for([METRIC_87, box], 12 * MM, wear=True).stack
    assert stack is not None and [block.size // MM for block in stack.blocks] == [1, 10, 1]
    thin = stack_for([METRIC_87, box], MM, wear=True)
    assert thin.stack is thin.below is None
    assert thin.above is not None and thin.above.size == 2 * MM


def test_blocks_worn_out_of_a_set_do_not_change_the_others() -> None:
    """Sizes written with more digits than the rest of a set are built on all the same."""
    odd = blocks(1000, 1500, 2000)
    fine = replace(odd, members=(*odd.members, Member(MM + 25_400)))
    stack = stack_for([fine], 3 * MM + 25_400).stack
    assert stack is not None and [block.size for block in stack.blocks] == [2 * MM, MM + 25_400]


@pytest.mark.measured
def test_a_stack_takes_no_longer_than_a_blink() -> None:
    """The first answer of a set too. A blink is 20 ms."""
    chance = random.Random(7)
    slowest = 0.0
    for lost in chance.sample([member.size for member in METRIC_112.members], 5):
        left = replace(METRIC_112, missing=(lost,))
        for wanted in (chance.randrange(2_000, 250_000) * MM // 2000 for _ in range(10)):
            tries = []
            for _ in range(3):
                began = time.perf_counter()
                stack_for([left], wanted)
                tries.append(time.perf_counter() - began)
            slowest = max(slowest, min(tries))
    assert slowest < 0.02


# --- refused ----------------------------------------------------------------------------------------------------

GAUGE = replace(METRIC_87, kind=InstrumentKind.GAUGE_PINS, tag="P-1", name="pins")


@pytest.mark.parametrize(
    ("sets", "size", "given", "sentence"),
    [
        ([METRIC_87], 0, {}, "0 mm is no size for gauge blocks. Enter one over zero."),
        ([METRIC_87], -MM, {}, "-1 mm is no size for gauge blocks. Enter one over zero."),
        (
            [],
            MM,
            {},
            "There is no set of gauge blocks to build from: the crib holds none that may be used for acceptance today. "
            "Enter one in the Crib (Ctrl+N, a template of gauge blocks) or by “tenthwright crib-take-in”, or name one "
            "that it holds.",
        ),
        ([GAUGE], MM, {}, "P-1, pins, is no set of gauge blocks."),
        (
            [METRIC_87, INCH_81],
            MM,
            {"together": True},
            "G-02, G-01 are in inch and in millimetre. Build a stack from sets of one unit.",
        ),
        (
            [METRIC_87],
            9 * MM,
            {"wear": True},
            "No pair of wear blocks in G-02. Label both of a pair “wear” in the crib, or build without.",
        ),
        ([replace(blocks(1000), missing=(MM,))], MM, {}, "Every block of G-9 is entered as missing."),
        (
            [replace(blocks(1000, 2000), members=tuple(Member(MM + 7**n) for n in range(9)))],
            9 * MM,
            {},
            "The sizes of G-9 have no common step to build with. Look for a mistyped size in its record.",
        ),
    ],
)
def test_what_cannot_be_asked_is_refused(sets: list[Instrument], size: int, given: dict, sentence: str) -> None:
    with pytest.raises(Refused) as refused:
        stack_for(sets, size, **given)
    assert [say(reason) for reason in refused.value.reasons] == [sentence]


# --- a stack that a person wrung --------------------------------------------------------------------------------


def test_a_stack_as_it_was_wrung_is_taken() -> None:
    sizes = [INCH // 2, 1004 * TENTH]
    stack = stack_of([INCH_81], sizes, sum(sizes))
    assert [block.size for block in stack.blocks] == sizes and is_of(stack, INCH_81)


@pytest.mark.parametrize(
    ("sizes", "wanted", "sentences"),
    [
        ([], None, ["No block was named. Enter the blocks that were wrung."]),
        ([3 * MM], None, ["3 mm is no block of G-9."]),
        ([2 * MM], None, ["The block of 2 mm is missing from G-9."]),
        ([MM, MM], None, ["There is one block of 1 mm only; it cannot be used twice."]),
        ([5 * MM], 3 * MM, ["The block of 5 mm is larger than the 3 mm it is for."]),
        ([MM, 5 * MM], 5 * MM, ["These blocks make 6 mm, not 5 mm."]),
        (
            [-MM, 8 * MM],
            None,
            ["-1 mm is no size for gauge blocks. Enter one over zero.", "8 mm is no block of G-9."],
        ),
    ],
)
def test_a_stack_that_cannot_have_been_is_refused(sizes: list[int], wanted: int | None, sentences: list[str]) -> None:
    held = replace(blocks(1000, 2000, 5000), missing=(2 * MM,))
    with pytest.raises(Refused) as refused:
        stack_of([held], sizes, wanted)
    assert [say(reason) for reason in refused.value.reasons] == sentences


# --- the block to check on --------------------------------------------------------------------------------------


def micrometer(low: int, high: int, unit: str = "in") -> Instrument:
    return Instrument("m", 1, "M-1", InstrumentKind.OUTSIDE_MICROMETER, "micrometer", unit, low=low, high=high)


@pytest.mark.parametrize(
    ("size", "low", "high", "expected"),
    [
        (7_500, 0, 10_000, [7_500]),
        (7_512, 0, 10_000, [7_500]),  # within one turn of the thimble: one block is enough
        (6_234, 0, 10_000, [6_000]),
        (9_990, 0, 10_000, [10_000]),
        (11_400, 10_000, 20_000, [10_000, 1_400]),
        (10_020, 10_000, 20_000, [10_000]),
    ],
)
def test_one_block_is_enough_if_near_else_two(size: int, low: int, high: int, expected: list[int]) -> None:
    stack = block_near([METRIC_112, INCH_81], size * TENTH, micrometer(low * TENTH, high * TENTH))
    assert stack is not None
    assert [block.size // TENTH for block in stack.blocks] == expected


def test_the_block_lies_within_the_instruments_range() -> None:
    stack = block_near([INCH_81], 9_000 * TENTH, micrometer(10_000 * TENTH, 20_000 * TENTH))
    assert stack is not None and stack.size == INCH
    assert block_near([INCH_81], 90_000 * TENTH, micrometer(90_000 * TENTH, 100_000 * TENTH)) is None


@settings(max_examples=60)
@given(st.integers(1, 5 * INCH), st.integers(0, 3), st.sets(st.sampled_from(INCH_81.members), max_size=40))
def test_no_block_or_pair_in_range_is_nearer(size: int, low: int, lost: set[Member]) -> None:
    held = replace(INCH_81, missing=tuple(member.size for member in lost))
    used = micrometer(low * INCH, (low + 1) * INCH)
    left = [member.size for member in held.members if member not in lost]
    there = [s for s in left if used.low <= s <= used.high]
    pairs = [a + b for a, b in combinations(left, 2) if used.low <= a + b <= used.high]
    target = min(max(size, used.low), used.high)
    stack = block_near([held], size, used)
    assert (stack is None) == (not there and not pairs)
    if stack is None:
        return
    away = abs(stack.size - target)
    alone = min((abs(s - target) for s in there), default=None)
    if alone is not None and alone <= INCH // 40:
        assert away == alone and len(stack.blocks) == 1
    else:
        assert away == min(abs(s - target) for s in (*there, *pairs))


def test_the_other_unit_stands_in_where_the_own_has_nothing() -> None:
    used = micrometer(25 * MM, 50 * MM, "mm")
    sets = block_sets(starter_crib(), "mm")
    assert [each.tag for each in sets] == ["G-02", "G-03", "G-01"]
    found = block_near(sets, 30 * MM, used)
    assert found is not None and found.size == 30 * MM
    only_inch = block_near([INCH_81], 30 * MM, used)
    assert only_inch is not None and used.low <= only_inch.size <= used.high
