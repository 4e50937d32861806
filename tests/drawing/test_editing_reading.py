"""A draft read row by row, issued, and begun again from what was issued; and counted against its drawing."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from inspection.drawing import editing, editing_numbers
from inspection.drawing.characteristic import FeatureKind
from inspection.drawing.complete import Counted, counted, open_points, runs, whole
from inspection.drawing.editing import Draft, DraftRow
from inspection.drawing.editing_issue import counted_of, draft_of, faults_of, plan_of, reader_of, unused_of
from inspection.drawing.rows import characteristic
from inspection.drawing.title_block import default_name, read_title_block, texts_of
from inspection.quantity.units import PICOMETRES_PER_INCH as INCH
from inspection.reasons import Reason, Refused
from inspection.words.say import say

HEAD = {
    "number": "KT-114", "revision": "B", "unit": "in", "default .xx": "±.01", "default .xxx": "±.005",
    "fraction": "±1/32", "angle": "±0.5°", "general": "mK", "last_balloon": "9", "drawing_notes": "1",
}  # fmt: skip
ROWS = (
    {"number": "1", "kind": "note", "requirement": "BREAK EDGES"},
    {"number": "2", "kind": "od", "requirement": "⌀.7500 +.0000/-.0005", "places": "top; foot", "key": "◆"},
    {"number": "3", "kind": "bore", "requirement": "4X ⌀.136 ±.003", "bore_length": ".375", "set_up": "mill"},
    {"number": "4", "kind": "width", "requirement": "9.5 ±0.1", "unit": "mm", "reach": "4", "soft": "yes"},
    {"number": "5", "kind": "width", "requirement": ".0612345 MAX", "band": ".004"},
    {"number": "6", "kind": "length", "requirement": "1.25", "repeats": "3", "sampling": "first-last", "blind": "x"},
    {"number": "7", "kind": "angle", "requirement": "60°"},
    {"number": "8", "kind": "roughness", "requirement": "Ra 63 µin MAX", "tooling": "F-12"},
    {"number": "9A", "kind": "thread", "requirement": "8-32 UNC-2B", "condition": "after plating"},
)  # fmt: skip


@pytest.fixture
def typed() -> Draft:
    return Draft(HEAD, tuple(DraftRow(dict(row)) for row in ROWS))


def test_a_row_reads_as_a_file_reads_it(typed: Draft) -> None:
    reader = reader_of(typed)
    for row in typed.rows:
        assert reader.read(row).found == characteristic(row.cells, reader.title_block)
    assert reader.read(typed.rows[5]).requirement.lower == INCH * 124 // 100


def test_a_fault_stands_under_its_character(typed: Draft) -> None:
    reader = reader_of(typed)
    fault = reader.read(DraftRow({"number": "1", "kind": "bore", "requirement": "⌀.750 ±.00O5"})).fault_of(
        "requirement"
    )
    assert fault is not None and fault.parts["at"] == 10
    assert reader.read(DraftRow({"number": "1", "kind": "boar", "requirement": ".5"})).fault_of("kind") is not None
    assert reader.read(DraftRow({"name": " "})).faults == ()


@pytest.mark.parametrize(
    ("text", "code", "at"), [("a\u200bb", "plan.odd_character", 1), ("x" * 2001, "plan.cell_long", 2000)]
)
def test_what_cannot_be_shown_is_a_fault_of_its_cell(text: str, code: str, at: int) -> None:
    row = DraftRow({"number": "1", "kind": "length", "requirement": ".5 ±.01", "name": text})
    fault = reader_of(Draft()).read(row).fault_of("name")
    assert fault is not None and (fault.code, fault.parts["at"]) == (code, at)
    fine = DraftRow({**row.cells, "name": "two\nlines\tand more"})
    assert reader_of(Draft()).read(fine).faults == ()


def test_what_was_issued_begins_again_as_it_was(typed: Draft) -> None:
    plan = plan_of(typed, reader_of(typed))
    assert plan.characteristics[-1].number == "GT"
    issued = replace(
        plan,
        identity="P",
        part_identity="K",
        characteristics=tuple(replace(row, identity=row.number) for row in plan.characteristics),
    )
    again = draft_of(issued)
    assert plan_of(again, reader_of(again)) == replace(issued, identity="", issue=0)
    assert [row.text("count") for row in again.rows[2:6]] == ["1 of 4", "2 of 4", "3 of 4", "4 of 4"]
    joined = editing_numbers.join(again, 3, ())
    made = plan_of(joined, reader_of(joined)).characteristics
    assert [(row.number, row.identity) for row in made[2:6]] == [("3.1", "3.1"), ("3.2", ""), ("3.3", ""), ("3.4", "")]


def test_a_changed_default_is_read_by_the_rows_that_rely_on_it(typed: Draft) -> None:
    changed = editing.type_head(typed, "default .xx", "±.02")
    before, after = plan_of(typed, reader_of(typed)), plan_of(changed, reader_of(changed))
    differs = [a.number for a, b in zip(before.characteristics, after.characteristics, strict=True) if a != b]
    assert differs == ["6"]


def test_every_fault_is_told_with_its_place(typed: Draft) -> None:
    wrong = editing.type_head(editing.type_head(typed, "default .xx", "±"), "revision", "")
    wrong = editing.type_cells(editing.type_cells(wrong, 1, {"requirement": "⌀.75 ±"}), 3, {"number": "1"})
    wrong = editing.type_head(wrong, "drawing_notes", "two")
    found = faults_of(wrong, reader_of(wrong))
    assert [(fault.row, fault.field) for fault in found] == [
        (-1, "revision"), (-1, "default .xx"), (-1, "drawing_notes"),
        (1, "requirement"), (3, "number"),
    ]  # fmt: skip
    with pytest.raises(Refused) as refused:
        plan_of(wrong, reader_of(wrong))
    assert len(refused.value.reasons) == 5  # row 6 only lacks the default that cannot be read
    assert all("[" not in say(reason) for reason in refused.value.reasons)


def test_a_draft_without_rows_is_no_plan() -> None:
    empty = Draft({"number": "A", "revision": "1"}, (DraftRow(), DraftRow({"note": "  "})))
    with pytest.raises(Refused) as refused:
        plan_of(empty, reader_of(empty))
    assert [reason.code for reason in refused.value.reasons] == ["plan.empty"]


# --- the title block ------------------------------------------------------------------------------------------


def test_a_title_block_is_written_as_it_reads() -> None:
    texts = {"unit": "in", "default .xx": "±.01", "default .xxx": "±.0005", "default x": "±.1", "general": "mK"}
    texts |= {"metric default .x": "±0.2", "fraction": "±.03125", "angle": "±0°20'"}
    block, faults = read_title_block(texts)
    assert faults == ()
    assert block.inch == {0: INCH // 10, 2: INCH // 100, 3: INCH // 2000} and block.metric == {1: 200_000_000}
    assert read_title_block(texts_of(block)) == (block, ())
    assert read_title_block({"fraction": "1/32"})[0] == read_title_block({"fraction": "±1/32"})[0]


def test_a_fault_of_a_default_is_told_in_its_text() -> None:
    _, (fault,) = read_title_block({"default .xx": "± .o1"})
    assert fault.parts["field"] == "default .xx" and fault.parts["at"] == 2
    assert [reason.code for reason in read_title_block({"unit": "ell", "general": "q", "angle": "0"})[1]] == [
        "intake.not_a_unit", "intake.not_a_tolerance", "intake.not_general",
    ]  # fmt: skip
    assert default_name("Default .XXX") == "default .xxx" and default_name("default") is None


# --- counted against the drawing ------------------------------------------------------------------------------


def test_a_whole_plan_leaves_nothing_open(typed: Draft) -> None:
    assert open_points(counted_of(typed)) == ()
    assert open_points(counted(plan_of(typed, reader_of(typed)))) == ()
    assert "9" in say(whole(counted_of(typed)))


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        (Counted(("1", "2.1", "2.2", "4A"), 0, "6", (), 0), [("plan.gaps", "3, 5–6")]),
        (Counted(("1", "2", "4"), 0, "4", ("3",), 0), []),
        (Counted(("1", "2", "3"), 0, "2", (), 0), [("plan.beyond", "3")]),
        (Counted(("1", "2", "3"), 0, "3", ("2",), 0), [("plan.unused_used", "2")]),
        (Counted(("1", "2", "2"), 0, "2", (), 0), [("plan.doubled", "2")]),
        (Counted(("1", "GT"), 1, "1", (), 3), [("plan.notes_short", None)]),
        (Counted(("1",), 1, "1", (), 0), [("plan.notes_over", None)]),
        (
            Counted(("1", "3"), 0, "", (), None),
            [("plan.gaps", "2"), ("plan.last_unknown", None), ("plan.notes_unknown", None)],
        ),
        (Counted(("1",), 0, "none", (), 0), [("plan.last_unclear", None)]),
    ],
)  # fmt: skip
def test_what_is_open_is_told(asked: Counted, expected: list[tuple[str, str | None]]) -> None:
    found = open_points(asked)
    assert [(reason.code, reason.parts.get("numbers")) for reason in found] == expected
    assert all("[" not in say(reason) for reason in found)


def test_runs_are_short() -> None:
    assert runs(range(1, 500)) == "1–499"
    assert runs(range(1, 99, 2)).endswith("23 …")
    assert unused_of("8, 11-13; 15A") == ("8", "11", "12", "13", "15A")


def test_kinds_of_drafts_are_counted_before_they_can_be_read() -> None:
    made = Draft({}, (DraftRow({"number": "1", "kind": " Material "}), DraftRow({"number": "2", "kind": "boar"})))
    assert counted_of(made).notes == 1
    assert FeatureKind.NOTE == "note" and isinstance(open_points(counted_of(made))[0], Reason)
