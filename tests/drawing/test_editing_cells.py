"""A plan under way: cells, blocks and numbers, and where identities go."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.drawing import editing, editing_numbers
from inspection.drawing.editing import Draft, DraftRow
from inspection.drawing.editing_history import History
from inspection.drawing.editing_text import block_of, text_of
from inspection.reasons import Reason, Refused
from storage.intake.heads import field_of, names

HEADS = {"number": "number", "callout": "requirement", "kind": "kind"}


def draft(*rows: tuple[str, str], identities: str = "ABCDEFGH", **more: str) -> Draft:
    return Draft(
        rows=tuple(
            DraftRow({"number": number, "requirement": requirement, **more}, identity)
            for (number, requirement), identity in zip(rows, identities, strict=False)
        )
    )


def told(made: Draft) -> list[tuple[str, str, str]]:
    return [(row.text("number"), row.text("requirement"), row.identity) for row in made.rows]


def codes(refused: pytest.ExceptionInfo[Refused]) -> list[str]:
    return [reason.code for reason in refused.value.reasons]


# --- the text of a block --------------------------------------------------------------------------------------


def test_a_block_as_spreadsheets_write_it() -> None:
    text = '7\t"BREAK ALL\r\nSHARP EDGES"\t\r\n8\t"say ""when"""\t1/2" PIPE\r\n'
    assert block_of(text) == (("7", "BREAK ALL\nSHARP EDGES", ""), ("8", 'say "when"', '1/2" PIPE'))
    assert block_of("") == ()
    assert block_of("a\tb") == (("a", "b"),)
    assert block_of("a\t\n\tb\r") == (("a", ""), ("", "b"))


def test_a_quote_that_encloses_nothing_is_a_sign() -> None:
    assert block_of('"A" datum\t"open\nnext') == (('"A" datum', '"open'), ("next",))


@given(st.lists(st.lists(st.text(st.characters(exclude_categories=["Cs"])), min_size=1), max_size=6))
def test_a_block_comes_back_as_it_was_written(rows: list[list[str]]) -> None:
    block = tuple(tuple(cell.replace("\r\n", "\n").replace("\r", "\n") for cell in row) for row in rows)
    assert block_of(text_of(block)) == block
    assert block_of(text_of(block).replace("\n", "\r\n")) == block  # breaks as the other system writes them


# --- cells and rows -------------------------------------------------------------------------------------------


def test_typing_below_the_last_row_begins_one() -> None:
    made = editing.type_cells(draft(("1", ".5")), 1, {"number": "2"})
    assert told(made) == [("1", ".5", "A"), ("2", "", "")]
    assert editing.type_cells(made, 0, {"requirement": ""}).rows[0].cells == {"number": "1"}


def test_what_stays_the_same_is_the_same() -> None:
    was = draft(("1", ".5"), ("2", ".6"))
    assert editing.type_cells(was, 0, {"number": "1"}) is was
    assert History(was).did(Reason("plan.step.type"), was) == History(was)


def test_rows_move_with_their_identity() -> None:
    was = draft(("1", ".5"), ("2", ".6"), ("3", ".7"), ("4", ".8"))
    assert told(editing.move(was, [2, 3], 1)) == [told(was)[i] for i in (0, 2, 3, 1)]
    assert told(editing.move(was, [0], 4)) == [told(was)[i] for i in (1, 2, 3, 0)]
    assert editing.move(was, [1], 1).rows == was.rows


def test_a_deleted_identity_is_gone() -> None:
    was = draft(("1", ".5"), ("2", ".6"))
    made = editing.insert(editing.delete(was, [1]), 1, {"number": "2", "requirement": ".6"})
    assert told(made) == [("1", ".5", "A"), ("2", ".6", "")]


# --- pasting --------------------------------------------------------------------------------------------------


def test_a_copied_block_pasted_below_is_new() -> None:
    was = draft(("1", ".5"), ("2", ".6"))
    block = editing.copied(was, [0, 1], ["number", "requirement"])
    pasted = editing.paste(was, block, [], ["number", "requirement", "name"])
    assert told(pasted.draft) == [*told(was), ("1", ".5", ""), ("2", ".6", "")]
    assert pasted.rows == (2, 3)


def test_a_paste_overflows_into_new_rows() -> None:
    was = draft(("1", ".5"), ("2", ".6"))
    pasted = editing.paste(was, (("a",), ("b",), ("c",)), [1], ["name", "zone"])
    assert [row.text("name") for row in pasted.draft.rows] == ["", "a", "b", "c"]
    assert [row.identity for row in pasted.draft.rows] == ["A", "B", "", ""]


def test_a_paste_too_wide_is_refused() -> None:
    with pytest.raises(Refused) as refused:
        editing.paste(draft(("1", ".5")), (("a", "b"),), [0], ["note"])
    assert codes(refused) == ["plan.paste_wide"]


@pytest.mark.parametrize(
    ("lines", "identities"),
    [
        ((("1", ".55"), ("2", ".6")), "AB"),  # a tolerance changed under its number
        ((("2", ".6"), ("1", ".5")), "BA"),  # the rows in another order
        ((("2", ".5"), ("1", ".6")), "AB"),  # renumbered in a spreadsheet
        ((("9", ".9"), ("1", ".5")), " A"),  # a row put in above: B is overwritten and gone
        ((("8", ".8"), ("9", ".9")), "  "),  # other rows altogether
        ((("1", ".6"), ("2", ".5")), "BA"),  # the requirements changed numbers
        ((("7", ".7"), ("2", ".61")), " B"),
    ],
)
def test_an_identity_stays_with_its_requirement_or_its_number(lines, identities) -> None:
    pasted = editing.paste(draft(("1", ".5"), ("2", ".6")), lines, [0, 1], ["number", "requirement"])
    assert [row.identity or " " for row in pasted.draft.rows] == list(identities)


def test_pasting_numbers_alone_renumbers() -> None:
    pasted = editing.paste(draft(("1", ".5"), ("2", ".6")), (("2",), ("1",)), [0, 1], ["number", "requirement"])
    assert told(pasted.draft) == [("2", ".5", "A"), ("1", ".6", "B")]


def test_heads_say_where_columns_go() -> None:
    block = (("Callout", "Number", "colour"), (".5", "1", "red"), (".6", "2", "blue"))
    pasted = editing.paste(Draft(), block, [], ["note"], lambda head: HEADS.get(head.casefold()))
    assert told(pasted.draft) == [("1", ".5", ""), ("2", ".6", "")]
    assert pasted.left_out == ("colour",)


def test_the_heads_of_files_are_known() -> None:
    block = (("Balloon No.", "Dimension", "Feature", "Set-up"), ("1", ".5", "length", "mill"))
    pasted = editing.paste(Draft(), block, [], ["number"], lambda head: field_of(head, names("features")))
    assert pasted.draft.rows[0].cells == {"number": "1", "kind": "length", "requirement": ".5", "set_up": "mill"} | {}


def test_a_row_that_only_looks_like_heads_is_none() -> None:
    pasted = editing.paste(Draft(), (("number", "7"),), [], ["name", "zone"], HEADS.get)
    assert pasted.draft.rows[0].cells == {"name": "number", "zone": "7"}


# --- counts and numbers ---------------------------------------------------------------------------------------


def test_a_count_is_split_and_joined() -> None:
    was = draft(("6", ".5"), ("7", "4X ⌀.250"), ("8", ".6"), kind="bore", set_up="mill")
    made = editing_numbers.split(was, 1)
    assert [row.text("number") for row in made.rows] == ["6", "7.1", "7.2", "7.3", "7.4", "8"]
    assert [row.identity for row in made.rows] == ["A", "B", "", "", "", "C"]
    assert made.rows[2].cells["count"] == "2 of 4" and made.rows[2].cells["place"] == "2"
    joined = editing_numbers.join(made, 3, set())
    assert told(joined) == told(was) and joined.rows[1].cells["count"] == "4"


def test_named_places_go_to_their_rows() -> None:
    was = draft(("7", "2X .250"), place="left; right")
    made = editing_numbers.split(was, 0)
    assert [row.text("place") for row in made.rows] == ["left", "right"]
    assert editing_numbers.join(made, 0, set()).rows[0].text("place") == "left; right"


def test_what_cannot_be_split_says_why() -> None:
    with pytest.raises(Refused) as refused:
        editing_numbers.split(draft(("7", ".250")), 0)
    assert codes(refused) == ["plan.split_one"]
    with pytest.raises(Refused) as refused:
        editing_numbers.split(draft(("7", "3X .250"), place="left; right"), 0)
    assert codes(refused) == ["plan.split_places"]


def test_what_cannot_be_joined_says_why() -> None:
    made = editing_numbers.split(draft(("7", "3X .250")), 0)
    with pytest.raises(Refused) as refused:
        editing_numbers.join(made, 0, {"A"})
    assert codes(refused) == ["plan.join_measured"]
    with pytest.raises(Refused) as refused:
        editing_numbers.join(editing.delete(made, [2]), 0, set())
    assert codes(refused) == ["plan.join_missing"]
    with pytest.raises(Refused) as refused:
        editing_numbers.join(editing.type_cells(made, 1, {"requirement": "3X .251"}), 0, set())
    assert codes(refused) == ["plan.join_differs"]
    with pytest.raises(Refused) as refused:
        editing_numbers.join(draft(("7", ".250")), 0, set())
    assert codes(refused) == ["plan.join_none"]


def test_numbers_shift_with_their_ends() -> None:
    was = draft(("6", "a"), ("7.9", "b"), ("12A", "c"), ("GT", "d"))
    made = editing_numbers.shift(was, [1, 2, 3], 2)
    assert told(made) == [("6", "a", "A"), ("9.9", "b", "B"), ("14A", "c", "C"), ("GT", "d", "D")]
    with pytest.raises(Refused) as refused:
        editing_numbers.shift(draft(("6", "a"), ("7", "b")), [1], -1)
    assert codes(refused) == ["plan.shift_meets"]
    with pytest.raises(Refused) as refused:
        editing_numbers.shift(was, [0], -6)
    assert codes(refused) == ["plan.shift_below"]


def test_numbers_in_order_keep_gaps_and_suffixes() -> None:
    was = draft(("12", "a"), ("7.10", "b"), ("3A", "c"), ("7.9", "d"), ("3", "e"))
    made = editing_numbers.number_in_order(was)
    assert [number for number, _, _ in told(made)] == ["3", "3A", "7.9", "7.10", "12"]
    assert [identity for _, _, identity in told(made)] == list("ABCDE")


def test_the_places_of_a_count_keep_together() -> None:
    was = editing.move(editing_numbers.split(draft(("1", "a"), ("7", "2X .5"), ("4", "c")), 1), [3], 0)
    made = editing_numbers.number_in_order(was)
    assert [number for number, _, _ in told(made)] == ["1", "4", "7.1", "7.2"]
    assert [number for number, _, _ in told(editing_numbers.renumber(made, 3, "9"))] == ["1", "4", "9.1", "9.2"]
    assert [number for number, _, _ in told(editing_numbers.renumber(made, 3, "9.2"))] == ["1", "4", "9.1", "9.2"]


def test_rows_in_order_of_their_numbers() -> None:
    was = draft(("7.10", "a"), ("", "b"), ("7.9", "c"), ("2", "d"))
    assert [identity for _, _, identity in told(editing_numbers.sort_by_number(was))] == list("DCAB")


# --- undo -----------------------------------------------------------------------------------------------------


def test_everything_can_be_undone_and_done_again() -> None:
    first = History(draft(("1", ".5")))
    second = first.did(Reason("plan.step.insert"), editing.insert(first.present, 0))
    third = second.did(Reason("plan.step.delete"), editing.delete(second.present, [0, 1]))
    assert third.undone().present == second.present
    assert third.undone().undone().present == first.present
    assert third.undone().undone().undone() == third.undone().undone()
    assert third.undone().undone().redone().redone() == third
    assert third.redone() is third
    assert third.undone().did(Reason("plan.step.insert"), first.present).future == ()
