"""Two sheets of a part side by side: rows by identity through another issue, differences done by hand in thousandths,
and what is told of what is not as it was."""

from __future__ import annotations

from fractions import Fraction

from msgspec.structs import replace

from inspection.quantity.units import UNITS
from inspection.sheet import acts
from inspection.sheet.beside import BesideRow, beside, difference_text, limits_text, results_text
from inspection.sheet.state import Sheet
from inspection.words.say import say
from tests.sheet.conftest import ROWS, Life

INCH = UNITS["in"].count


def two(life: Life) -> tuple[Sheet, Sheet]:
    """A sheet of piece 001, and one of pieces 001 and 002 on an issue with row 1 renumbered and tightened, row 4 gone
    and a row more."""
    life.make(("001",), *ROWS[:4])
    for number, text in (("1", ".5010"), ("3", "1.2505")):
        life.choose(number, "M-02" if number == "3" else "M-01")
        life.take(number, text)
    earlier = life.sheet
    rows = list(earlier.plan.characteristics)
    tight = replace(rows[0].requirement, written=".500 ±.003", lower=INCH * 497 // 1000, upper=INCH * 503 // 1000)
    rows[0] = replace(rows[0], number="11", requirement=replace(tight, band=INCH * 6 // 1000))
    more = replace(rows[3], identity="", number="12")
    plan = life.issue((*rows[:3], more), earlier.plan.part_identity)
    life.do(acts.MakeSheet(plan=plan.identity, serials=("001", "002")))
    life.choose("11", "C-03")
    life.take("11", ".5025")
    life.take("11", ".4990", 1)
    for question in life.sheet.open_questions():  # the caliper has no mark at .5025
        life.do(acts.KeepAsWritten(sheet=life.sheet_id, question=question.identity))
    return earlier, life.sheet


def by_number(rows: tuple[BesideRow, ...]) -> dict[str, BesideRow]:
    return {row.row.number: row for row in rows}


def test_rows_stand_beside_each_other_by_identity(shop_life: Life) -> None:
    earlier, later = two(shop_life)
    tags = {name: one.tag for name, one in shop_life.shop.crib.items()}
    rows = beside(earlier, later, tags)
    assert [row.row.number for row in rows] == ["11", "2", "3", "12", "4"]
    found = by_number(rows)
    one = found["11"]
    assert one.same == ("001",)
    assert one.difference == Fraction(INCH * 15, 10_000), "of the piece that stands on both, .5025 − .5010"
    assert difference_text(one) == "+0.0015"
    assert limits_text(one.row) == "0.497 … 0.503 in"
    assert (results_text(one.earlier), results_text(one.later)) == ("0.501", "0.499 … 0.5025 (n = 2)")
    said = [say(each) for each in one.changes]
    assert said == [
        "Was number 1.",
        "Limits were 0.495 … 0.505 in.",
        "Was conforming.",
        "Was read with M-01.",
        "Larger by 25 % of the band.",
    ]
    assert [say(each) for each in found["12"].changes] == ["Not on the earlier sheet."]
    assert [say(each) for each in found["4"].changes] == ["Not on the later sheet."]
    assert results_text(found["12"].earlier) == ""
    assert found["2"].changes == ()
    assert found["3"].difference is None


def test_what_may_be_a_slip_is_told_and_differs_from_nothing(shop_life: Life) -> None:
    """A radius typed for the diameter of piece 002, asked about and left: the difference is that of piece 001 alone,
    and both numbers stand as they were read."""
    life = shop_life
    life.make(("001", "002"), ROWS[0])
    life.choose("1", "M-01")
    for piece in (0, 1):
        life.take("1", ".5010", piece)
    earlier = life.sheet
    life.do(acts.MakeSheet(plan=earlier.plan.identity, serials=("001", "002")))
    life.choose("1", "M-01")
    life.take("1", ".5020", 0)
    life.take("1", "5.0110", 1)
    (one,) = beside(earlier, life.sheet, {})
    assert (one.difference, one.same) == (Fraction(INCH, 1_000), ("001",))
    assert results_text(one.later) == "0.502 … 5.011 (n = 2)"
    assert "Later, a question waits (002)." in map(say, one.changes)


def test_sheets_without_a_piece_in_common_differ_by_their_means(shop_life: Life) -> None:
    earlier, later = two(shop_life)
    others = tuple(replace(piece, serial=f"{piece.serial}a") for piece in later.pieces)
    one = beside(earlier, replace(later, pieces=others), {})[0]
    assert one.same == ()
    assert one.difference == Fraction(INCH * (5025 + 4990), 20_000) - Fraction(INCH * 5010, 10_000)
    assert difference_text(one) == "−0.00025"


def test_a_sheet_beside_itself_differs_in_nothing(shop_life: Life) -> None:
    earlier, _ = two(shop_life)
    assert all(row.changes == () and not row.difference for row in beside(earlier, earlier, {}))
