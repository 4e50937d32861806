"""What can happen by chance is told of nobody: honest sheets stay silent, and what no honest hand writes is told.

Two hundred sheets of every make are pieces of a process read by hands and rounded to the marks of their instruments;
how capable a process and how fast a hand can be is common practice.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from random import Random
from typing import Any

import pytest
from msgspec.structs import replace

from inspection.instruments.starter import starter_crib
from inspection.measuring.reading import Role, Slot
from inspection.sheet.points import points
from inspection.sheet.points_copies import NEARLY, compared
from inspection.sheet.points_history import Earlier
from inspection.sheet.points_table import Point
from inspection.sheet.state import Sheet
from tests.sheet.honest import BEST, Process, honest, template
from tests.sheet.points_bench import DAY, Listed, many

BY_CHANCE = {"identical", "all_nominal", "copied", "copied_earlier", "fast", "at_once"}
KINDS = (
    ("length", ".{} ±.005", 500),
    ("outside diameter", "⌀.{}0 ±.0005", 600),
    ("length", ".{} ±.010", 310),
    ("bore", "⌀.{}0 +.0010 -.0010", 390),
    ("length", "{}.00 ±.03", 1),
)
MAKES = {"few rows, many pieces": (6, 10), "a small part": (14, 3), "a part": (30, 2), "a large part": (60, 1)}
Made = Callable[[int, int], Any]


def rows(n: int) -> list[dict[str, str]]:
    kinds = ((i, *KINDS[i % len(KINDS)]) for i in range(n))
    return [
        {"number": str(i + 1), "kind": kind, "requirement": text.format(first + i // len(KINDS))}
        for i, kind, text, first in kinds
    ]


@pytest.fixture(scope="module")
def made(life_kind: Any) -> Made:
    """Sheets of so many rows and pieces, every row read at nominal, each made once."""
    held: dict[tuple[int, int], Any] = {}

    def make(n: int, pieces: int) -> Any:
        if (n, pieces) not in held:
            serials = tuple(f"{i:03}" for i in range(1, pieces + 1))
            life = life_kind().open(tuple(starter_crib(due="2027-01-01")))
            held[n, pieces] = template(life, rows(n), serials)
        return held[n, pieces]

    return make


def by_chance(life: Any, sheet: Sheet) -> list[Point]:
    return [point for point in points(life.shop, sheet, {}, DAY) if point.code in BY_CHANCE]


# --- honest ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("make", sorted(MAKES))
@pytest.mark.parametrize("process", [Process(), BEST], ids=["usual", "best"])
def test_two_hundred_honest_sheets_are_silent(made: Made, make: str, process: Process) -> None:
    life = made(*MAKES[make])
    told = Counter[str]()
    for seed in range(200):
        told.update({point.code for point in by_chance(life, honest(life.shop, life.sheet, Random(seed), process))})
    assert sum(told.values()) <= 2, told


def test_honest_pieces_agree_with_no_earlier_ones(made: Made) -> None:
    """Twelve earlier pieces of the same process, on two hundred sheets."""
    life = made(14, 3)
    told = 0
    for seed in range(200):
        before = honest(life.shop, life.sheet, Random(f"before {seed}"), BEST)
        now = honest(life.shop, life.sheet, Random(seed), BEST)
        history: dict[str, list[Earlier]] = {}
        for reading in before.readings.values():
            assert reading.count is not None
            one = Earlier("before", reading.piece, DAY, reading.count, reading.count)
            history.setdefault(reading.characteristic, []).append(one)
        told += any(point.code == "copied_earlier" for point in points(life.shop, judged(now), history, DAY))
    assert told <= 2


def judged(sheet: Sheet) -> Sheet:
    """The sheet with the results that its readings come to."""
    held = {
        (reading.characteristic, reading.piece): replace(
            sheet.judgement(reading.characteristic, reading.piece), results=(reading.count,)
        )
        for reading in sheet.readings.values()
    }
    return replace(sheet, judgements=held)


# --- written and not measured ---------------------------------------------------------------------------------------


def test_a_piece_written_off_another_is_told(made: Made) -> None:
    life = made(30, 3)
    _, second, third = (piece.identity for piece in life.sheet.pieces)
    for seed in range(40):
        sheet = honest(life.shop, life.sheet, Random(seed), Process(coarse=0))
        copied = copy(sheet, second, third)
        (one,) = by_chance(life, copied)
        assert (one.code, {piece for _, piece in one.cells}) == ("copied", {third})
        assert (one.reason.parts["serial"], one.reason.parts["other"]) == ("003", "002")


def copy(sheet: Sheet, of: str, to: str, but: int = 0) -> Sheet:
    """The sheet with one piece's numbers written off another's, all but the first few."""
    was = {one.characteristic: one.count for one in sheet.readings.values() if one.piece == of}
    rest = list(was)[but:]
    held = {
        name: replace(one, count=was[one.characteristic]) if one.piece == to and one.characteristic in rest else one
        for name, one in sheet.readings.items()
    }
    return replace(sheet, readings=held)


def test_a_copy_with_a_row_changed_is_told_and_one_with_many_changed_is_none(made: Made) -> None:
    life = made(60, 2)
    first, second = (piece.identity for piece in life.sheet.pieces)
    sheet = honest(life.shop, life.sheet, Random(3), Process(coarse=0))
    nearly = by_chance(life, copy(sheet, first, second, but=3))
    assert [point.code for point in nearly] == ["copied"]
    assert (nearly[0].reason.parts["of"], len(nearly[0].cells)) == (60, nearly[0].reason.parts["equal"])
    assert by_chance(life, copy(sheet, first, second, but=20)) == []


def test_rows_that_any_part_comes_to_prove_no_copy() -> None:
    """Without weight, twenty equal places say nothing; with it they do, and one in ten may differ."""
    same = {str(i): i for i in range(20)}
    assert compared(same, same, lambda _place: 0, 9_966) is None
    found = compared(same, same, lambda _place: 750, 9_966)
    assert found is not None and (len(found.equal), found.of, found.beyond) == (20, 20, 15_000 - 9_966)
    two = same | {"0": -1, "1": -1}
    assert compared(same, two, lambda _place: 1_500, 9_966) is not None
    assert compared(same, two | {"2": -1}, lambda _place: 9_000, 9_966) is None
    assert NEARLY == 10


def test_only_what_both_have_is_compared() -> None:
    same = {str(i): i for i in range(20)}
    half = {place: value for place, value in same.items() if int(place) < 10}
    found = compared(same, half, lambda _place: 1_000, 5_000)
    assert found is not None and found.of == 10
    assert compared(same, {}, lambda _place: 1_000, 0) is None


# --- runs -----------------------------------------------------------------------------------------------------------


def one_row(life: Any, requirement: str, value: str, n: int, tag: str = "") -> Listed:
    serials = tuple(f"{i:03}" for i in range(1, n + 1))
    made = Listed(life, {"number": "1", "kind": "length", "requirement": requirement}, serials=serials)
    if tag:
        life.choose("1", tag)
    for piece in range(n):
        life.take("1", value, piece)
    return made


@pytest.mark.parametrize(("n", "told"), [(10, False), (22, True)])
def test_one_number_on_piece_after_piece(life_kind: Any, n: int, told: bool) -> None:
    made = one_row(life_kind().open(), ".500 ±.005", ".5015", n)
    assert ("identical" in made.codes()) is told
    if told:
        point = made.of("identical")
        assert len(point.cells) == len(point.readings) == n
        assert made.told("identical")[0].startswith("22 readings of one requirement are all 0.5015 in.")


def test_a_rule_reads_alike_for_ever(life_kind: Any) -> None:
    made = one_row(life_kind().open(), "1.500 ±.060", "1 1/2", 60, "R-02")
    assert {"identical", "all_nominal"} & set(made.codes()) == set()


def test_one_number_that_another_one_parts_is_no_run(life_kind: Any) -> None:
    made = Listed(
        life_kind().open(),
        {"number": "1", "kind": "length", "requirement": ".500 ±.005"},
        serials=tuple(f"{i:03}" for i in range(26)),
    )
    for piece in range(26):
        made.life.take("1", ".5015" if piece % 9 else ".5010", piece)
    assert "identical" not in made.codes()


def test_a_row_all_at_nominal_is_told_once(life_kind: Any) -> None:
    made = one_row(life_kind().open(), ".500 ±.005", ".5000", 30)
    assert [point.code for point in made.points() if point.code in BY_CHANCE] == ["all_nominal"]


def test_the_same_distance_under_nominal_from_row_to_row(life_kind: Any) -> None:
    made = Listed(life_kind().open(), *many("length", ".5{i:02} ±.005", 30), serials=("001",))
    for i in range(1, 31):
        made.life.take(str(i), f"{0.5 + i / 1000 - 0.0015:.4f}")
    assert made.told("identical") == [
        "30 readings one after another are all 0.0015 in under nominal. With C-05 honest readings do that on fewer "
        "than one sheet in a thousand. Rows: 1 … 30."
    ]


def test_somebody_who_reads_to_the_thousandth_may_be_at_nominal_more_often(life_kind: Any) -> None:
    """A caliper of .0005 in read to .001: nominal is then likelier, and as many rows say less."""

    def nominal(last: str) -> list[str]:
        made = Listed(life_kind().open(), *many("length", ".5{i:02} ±.005", 26), serials=("001",))
        for i in range(1, 26):
            made.life.take(str(i), f".5{i:02}0")
        made.life.take("26", last)
        return made.codes()

    assert "all_nominal" in nominal(".5265")
    assert "all_nominal" not in nominal(".5270")


def test_findings_and_pins_make_no_runs(life_kind: Any) -> None:
    notes = [{"number": str(i), "kind": "note", "requirement": f"NOTE {i}"} for i in range(1, 31)]
    bore = {"number": "31", "kind": "bore", "requirement": "⌀.1340 +.0030 -.0030"}
    crib = tuple(one for one in starter_crib(due="2027-01-01") if one.tag in ("P-02", "EYE"))
    made = Listed(life_kind().open(crib), *notes, bore, serials=tuple(f"{i:03}" for i in range(30)))
    for piece in range(30):
        for i in range(1, 31):
            made.life.take(str(i), "as required", piece)
        made.life.take("31", ".133", piece, Slot("", 1, Role.ENTERS))
        made.life.take("31", ".135", piece, Slot("", 1, Role.STOPS))
    assert BY_CHANCE & set(made.codes()) == set()
