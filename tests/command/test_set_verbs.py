"""Blocks and pins on the command line: what the sets hold, what is left over, and clear refusals."""

from __future__ import annotations

import json
from io import StringIO
from pathlib import Path

import pytest

from app.command.main import run
from inspection.quantity.units import UNITS
from storage.book.clock import Moment

INCH, MM = UNITS["in"].count, UNITS["mm"].count
TENTH = INCH // 10_000
FEATURES = """\
# part,QF-11
# revision,A
# serials,"A1"
number,kind,requirement
1,outside diameter,⌀.7500 ±.0005
3,bore,2X ⌀.136 +.004/-.001
4,note,DEBURR ALL EDGES
"""


class Shop:
    """A book with the starter crib, asked by command lines on the first of March 2026."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.ticks = folder, 1_772_323_200_000_000
        assert self.ask("new", "--shop", "Quillfeather Machine", "--person", "Mira Oduya", "--starter-crib")[0] == 0

    def clock(self) -> Moment:
        self.ticks += 1000
        return Moment(self.ticks, "2026-03-01")

    def ask(self, *words: str) -> tuple[int, str, str]:
        out, err = StringIO(), StringIO()
        environ = {"TENTHWRIGHT_PASSPHRASE": "long enough"}
        line = [*words, "--book", str(self.folder / "shop.tenthwright")]
        code = run(line, clock=self.clock, environ=environ, out=out, err=err)
        return code, out.getvalue(), err.getvalue()

    def change(self, text: str) -> None:
        file = self.folder / "changes.csv"
        file.write_text(text, encoding="utf-8")
        assert self.ask("crib-take-in", str(file))[0] == 0

    def sheet(self) -> None:
        file = self.folder / "features.csv"
        file.write_text(FEATURES, encoding="utf-8")
        assert self.ask("take-in", str(file))[0] == 0


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(tmp_path)


# --- blocks -----------------------------------------------------------------------------------------------------


def test_a_stack_is_shown_by_its_blocks_its_sum_and_its_uncertainty(shop: Shop) -> None:
    """A worked stack in print (tests/reference/gauge_block_stacks.csv); U by hand in tests/instruments."""
    code, out, err = shop.ask("blocks", "3.9762")
    assert (code, err) == (0, "")
    assert out.splitlines()[0] == "3.9762 in from 4 blocks: 3 + 0.75 + 0.126 + 0.1002."
    assert [line.split()[0] for line in out.splitlines()[4:8]] == ["3", "0.75", "0.126", "0.1002"]
    assert out.splitlines()[-1].startswith("U = 16 µin at 20 °C (k = 2), by grade 0 ")
    told = json.loads(shop.ask("blocks", "3.9762", "--json")[1])
    assert sum(block["size"] for block in told["stack"]["blocks"]) == told["size"] == 39_762 * TENTH
    assert {block["set"] for block in told["stack"]["blocks"]} == {"G-01"}
    assert told["stack"]["expanded"] == 16 * INCH // 1_000_000


def test_the_unit_is_that_of_the_set_named_or_the_one_written(shop: Shop) -> None:
    assert shop.ask("blocks", "37.528", "--set", "G-02")[1].startswith("37.528 mm from 4 blocks: ")
    assert shop.ask("blocks", "37.528mm")[1].startswith("37.528 mm from ")
    assert shop.ask("blocks", "1-1/4")[1].startswith("1.25 in from ")


def test_a_missing_block_is_left_out(shop: Shop) -> None:
    shop.change("tag,missing\nG-01,0.75; 0.126\n")
    told = json.loads(shop.ask("blocks", "3.9762", "--json")[1])
    sizes = [block["size"] for block in told["stack"]["blocks"]]
    assert sum(sizes) == 39_762 * TENTH
    assert not {7_500 * TENTH, 1_260 * TENTH} & set(sizes)


def test_wear_blocks_close_the_ends_where_they_are_asked_for(shop: Shop) -> None:
    code, _, err = shop.ask("blocks", "1.2345", "--wear")
    assert code == 3
    assert err.startswith("No pair of wear blocks in G-01, ")
    shop.change("tag,kind,name,unit,members\nG-9,gauge blocks,wear blocks,in,.05 (wear); .05 (wear)\n")
    told = json.loads(shop.ask("blocks", "1.2345", "--wear", "--json")[1])
    made = told["stack"]["blocks"]
    assert [made[0]["set"], made[-1]["set"]] == ["G-9", "G-9"]
    assert told["stack"]["size"] == 12_345 * TENTH
    assert "G-9" not in shop.ask("blocks", "1.2345")[1]


def test_what_is_not_built_says_what_is_left_over_and_leaves_with_one(shop: Shop) -> None:
    code, out, _ = shop.ask("blocks", "1.23456")
    assert code == 1
    assert out.splitlines() == [
        "These blocks do not build 1.23456 in.",
        "Nearest below: 1.2345 in from 1 + 0.134 + 0.1005; 0.00006 in short.",
        "Nearest above: 1.2346 in from 1 + 0.134 + 0.1006; 0.00004 in over.",
    ]


def test_a_set_that_is_overdue_is_used_where_it_is_named_and_said(shop: Shop) -> None:
    shop.change("tag,due\nG-01,2026-02-28\n")
    assert "G-01 is overdue since 2026-02-28: not for acceptance." in shop.ask("blocks", "1", "--set", "G-01")[1]
    assert " mm from " in shop.ask("blocks", "1")[1].splitlines()[0]


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        (("blocks", "0"), "0 in is no size for gauge blocks. Enter one over zero."),
        (("blocks", "abc"), "“abc” is not a number."),
        (
            ("blocks", "1", "--set", "G-77"),
            "The crib holds no instrument G-77. Sets of this kind are: G-01, G-02, ",
        ),
        (("blocks", "1", "--set", "C-05"), "C-05, digital caliper 6 in, is no set of gauge blocks."),
        (("pins", ".140", ".134"), "This runs backwards, from .140 down to .134."),
        (("pins", "-", "-"), "Both sides are open. Name at least one limit of the bore."),
        (("pins", ".1340", ".1341", "--set", "P-02"), "P-02: no GO and NO-GO for a bore of 0.1340 in to 0.1341 in."),
        (("pins", ".134", ".140", "--set", "G-01"), "G-01, gauge blocks, 81 pieces, inch, is no set of gauge pins."),
        (("pins", "3"), "The book has no sheet yet."),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(shop: Shop, line: tuple[str, ...], sentence: str) -> None:
    code, out, err = shop.ask(*line)
    assert (code, out) == (3, "")
    assert err.startswith(sentence)


# --- pins -------------------------------------------------------------------------------------------------------


def test_two_limits_show_the_pairs_of_every_set(shop: Shop) -> None:
    code, out, err = shop.ask("pins", ".134", ".140")
    assert (code, err) == (0, "")
    rows = {line.split()[0]: line for line in out.splitlines() if line.startswith("P-")}
    assert "0.135 in  0.140 in  30" in rows["P-02"] and "ZZ minus" in rows["P-02"]
    assert "0.134 in  0.139 in  30" in rows["P-13"] and "ZZ plus" in rows["P-13"]
    told = json.loads(shop.ask("pins", "6", "6.02mm", "--json")[1])
    assert (told["lower"], told["upper"]) == (6 * MM, 6_020 * MM // 1000)
    assert [one["set"] for one in told["sets"]] == ["P-41"]


def test_an_open_side_has_one_end(shop: Shop) -> None:
    told = json.loads(shop.ask("pins", "-", ".140", "--set", "P-02", "--json")[1])
    (one,) = told["sets"]
    assert (one["go"], one["no_go"], told["lower"]) == (None, 1_400 * TENTH, None)


def test_a_number_stands_for_the_bore_of_that_row(shop: Shop) -> None:
    shop.sheet()
    code, out, _ = shop.ask("pins", "3.2", "--sheet", "QF-11", "--set", "P-02")
    assert code == 0
    assert out.splitlines()[0] == "Row 3.2, 2X ⌀.136 +.004/-.001: 0.135 in to 0.140 in"
    assert "0.136 in  0.140 in  25" in out
    assert shop.ask("pins", "3", "--set", "P-02")[1].splitlines()[2:] == out.splitlines()[2:]
    assert shop.ask("pins", "1")[2].startswith("Row 1 is no bore with a limit.")
    assert shop.ask("pins", "4")[2].startswith("Row 4 is no bore with a limit.")
    assert shop.ask("pins", "9")[2].startswith("The sheet has no row 9.")


def test_asking_changes_nothing(shop: Shop) -> None:
    before = (shop.folder / "shop.tenthwright").read_bytes()
    for line in (("blocks", "1.2345"), ("pins", ".134", ".140")):
        assert shop.ask(*line)[0] == 0
    assert (shop.folder / "shop.tenthwright").read_bytes() == before
