"""Corrections of a layout: each line that is told reads back, and what cannot be is refused with its reason."""

from __future__ import annotations

import pytest

from inspection.attached import Attached
from inspection.layout.as_written import corrected, lines_of
from inspection.layout.layout import Column, Grow, HeadPlace, Layout, Table, check_layout, issued
from inspection.reasons import Refused

BARE = Layout(customer="Rowan & Pike", name="FAI", workbook=Attached("f.xlsx", "0" * 64, 1))
FULL = Layout(
    customer="Rowan & Pike",
    name="FAI",
    workbook=BARE.workbook,
    heads=(HeadPlace("part", "Page 1", 3, 2), HeadPlace("serial", "Page 1", 4, 28, piece=1)),
    tables=(
        Table(
            "Page 1",
            9,
            12,
            (
                Column("number", 1),
                Column("result", 4, 0),
                Column("result", 5, 0, unit="mm"),
                Column("verdict", 4, offset=1),
            ),
            2,
            Grow.SHEETS,
        ),
    ),
    words={"conforming": "Pass"},
    unit="in",
    decimals=4,
    outward=True,
)


def test_every_line_reads_back():
    told = [f"{name}={value}" for name, value, _ in lines_of(FULL)]
    again = corrected(BARE, [f"worksheet={FULL.tables[0].sheet}", *told])
    assert {*again.heads} == {*FULL.heads}
    assert {*again.tables[0].columns} == {*FULL.tables[0].columns}
    assert (again.tables[0].first, again.tables[0].rows, again.tables[0].height, again.tables[0].grow) == (
        9,
        12,
        2,
        "sheets",
    )
    assert (again.words, again.unit, again.decimals, again.outward) == ({"conforming": "Pass"}, "in", 4, True)
    check_layout(again)


def test_customer_and_unit_are_settings_and_places_too():
    there = corrected(FULL, ["customer=C7", "customer='Page 1'!D8", "unit=I9", "unit=J"])
    assert (there.customer, there.unit) == ("Rowan & Pike", "in")
    assert {(each.field, each.row, each.column) for each in there.heads} >= {("customer", 8, 4)}
    units = [*there.heads, *there.tables[0].columns]
    assert [each.column for each in units if each.field == "unit"] == [9, 10]
    settled = corrected(FULL, ["customer=Lantern Hill", "unit=mm"])
    assert (settled.customer, settled.unit, settled.heads) == ("Lantern Hill", "mm", FULL.heads)


def test_a_value_is_moved_taken_off_and_pushed_aside():
    moved = corrected(FULL, ["part=D7", "result:1=F", "verdict="])
    assert HeadPlace("part", "Page 1", 7, 4) in moved.heads
    assert [(each.field, each.column) for each in moved.tables[0].columns] == [
        ("number", 1),
        ("result", 5),
        ("result", 6),
    ]
    assert not [each for each in corrected(FULL, ["serial:2="]).heads if each.field == "serial"]
    over = corrected(FULL, ["order='Page 1'!B3"])
    assert [each.field for each in over.heads] == ["serial", "order"]


def test_a_value_of_the_head_may_stand_on_each_page():
    def at(layout):
        return [(each.sheet, each.row) for each in layout.heads if each.field == "part"]

    both = corrected(FULL, ["part=D7", "part=D50"])
    assert at(both) == [("Page 1", 7), ("Page 1", 50)]  # the one there was is moved, the other comes beside it
    assert at(corrected(both, ["part=D90"])) == [("Page 1", 7), ("Page 1", 50), ("Page 1", 90)]  # neither is meant
    assert at(corrected(both, ["part=D50"])) == at(both)
    assert at(corrected(both, ["part=", "part=D8"])) == [("Page 1", 8)]
    assert at(corrected(FULL, ["part=Back!D7"])) == [("Page 1", 3), ("Back", 7)]
    told = [f"{name}={value}" for name, value, _ in lines_of(both)]
    assert {*corrected(BARE, ["worksheet=Page 1", *told]).heads} == {*both.heads}


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("part", "layout.correction"),
        ("Part no=B4", "layout.correction"),
        ("colour=B4", "layout.field_unknown"),
        ("decimals=-1", "layout.correction_value"),
        ("first=0", "layout.correction_value"),
        ("grow=maybe", "layout.correction_value"),
        ("outward=perhaps", "layout.correction_value"),
        ("word so so=ok", "layout.word_unknown"),
        ("result=Elsewhere!C", "layout.no_table"),
    ],
)
def test_what_is_no_correction_is_refused(text, code):
    with pytest.raises(Refused) as caught:
        corrected(FULL, [text])
    assert [reason.code for reason in caught.value.reasons] == [code]


def test_faults_of_a_layout_are_told_together():
    wrong = Layout(
        customer=" ",
        name="",
        workbook=BARE.workbook,
        heads=(HeadPlace("colour", "A", 1, 1), HeadPlace("part", "A", 1, 1)),
        tables=(Table("A", 0, 1, (Column("number", 1), Column("zone", 1))),),
        words={"nice": "ok"},
        unit="cubits",
        decimals=40,
    )
    with pytest.raises(Refused) as caught:
        check_layout(wrong)
    codes = {reason.code.removeprefix("layout.") for reason in caught.value.reasons}
    assert codes == {
        "no_customer", "no_name", "no_result", "field_unknown", "unit_unknown", "word_unknown", "decimals",
        "table_nowhere", "twice",
    }  # fmt: skip


def test_issues_count_and_names_are_one_layouts_own():
    first = issued(FULL, {}, "L1")
    again = issued(first, {"L1": first}, "L2")
    assert [(each.identity, each.issue) for each in (first, again)] == [("L1", 1), ("L1", 2)]
    for layout, held, code in ((FULL, {"L1": first}, "layout.name_known"), (again, {}, "layout.unknown")):
        with pytest.raises(Refused) as caught:
            issued(layout, held, "L3")
        assert [reason.code for reason in caught.value.reasons] == [code]
