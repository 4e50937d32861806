"""A sheet laid out on a layout: what each column says, patterns in one row, pieces and pages."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest
from msgspec.structs import replace

from inspection.attached import Attached
from inspection.instruments.starter import starter_crib
from inspection.layout.filling import filling
from inspection.layout.layout import HEAD_FIELDS, RESULT_FIELDS, ROW_FIELDS, Column, Grow, HeadPlace, Layout, Table
from inspection.measuring.reading import Role, Slot
from inspection.reasons import Refused
from inspection.sheet.reporting import report
from inspection.words.say import known

HERE = Path(__file__).parent
TABLE = Table("A", 5, 4, (Column("number", 1), Column("result", 2, 0), Column("verdict", 3)), grow=Grow.SHEETS)
LAYOUT = Layout(
    customer="Rowan & Pike",
    name="FAI",
    workbook=Attached("f.xlsx", "0" * 64, 1),
    heads=(HeadPlace("page", "A", 1, 1), HeadPlace("pages", "A", 1, 2), HeadPlace("serial", "A", 1, 3)),
    tables=(TABLE,),
    words={"conforming": "ok", "not conforming": "bad"},
)


def module(path):
    spec = importlib.util.spec_from_file_location(path.stem, path)
    found = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(found)
    return found


@pytest.fixture(scope="module")
def lives():
    return module(HERE.parent / "sheet" / "conftest.py")


@pytest.fixture(scope="module")
def make(lives):
    forms = module(HERE.parent / "dispatch" / "customer_forms" / "conftest.py")
    return lambda *serials: forms.measured_life(lives, serials or ("001",))


def laid(life, layout):
    return filling(life.sheet, life.shop, report(life.sheet, life.shop), layout)


def column(found, field, copy=0):
    return [each.said.text for each in found.rows if each.column.field == field and each.copy == copy]


def test_lines_flow_over_pages_that_know_their_number(make):
    found = laid(make("001", "002"), LAYOUT)  # eleven lines on four rows, one piece a page
    assert found.copies == {"A": 5}
    heads = [[each.said.text for each in found.heads if each.copy == copy] for copy in (0, 5)]
    assert heads == [["1", "6", "001"], ["6", "6", "002"]]
    assert [column(found, "number", copy) for copy in (0, 2, 5)] == [
        ["1", "2", "3", "4"], ["7.3", "8", "9"], ["7.3", "8", "9"],
    ]  # fmt: skip
    assert column(found, "verdict", 5)[-1] == "bad"  # .3060 on the second piece


def test_a_hole_pattern_in_one_row_names_what_is_out(make):
    life = make()
    (pattern,) = [
        each.said.text
        for each in laid(life, replace(LAYOUT, pattern=True)).rows
        if each.column.field == "result" and each.block == 2 and each.copy == 1
    ]
    assert pattern == "0.799 … 0.799 (n = 3)"
    life.take("7.2", ".790", replaces=life.counted("7.2"), reason="read at the other end")
    told = [each.said.text for each in laid(life, replace(LAYOUT, pattern=True)).rows if each.column.field == "result"]
    assert "0.790 … 0.799 (n = 3); 7.2: 0.790" in told


def test_what_stands_in_words_is_in_the_unit_wanted_too(make, lives):
    """The sizes of gauge pins, and what is out of a pattern told in one row: 1 in is 25.4 mm exactly."""
    life = lives.Life().open(tuple(one for one in starter_crib(due="2099-01-01") if one.tag in ("P-02", "M-01")))
    life.make(("001",), {"number": "1", "kind": "bore", "requirement": "⌀.1360 +.004/-.001"})
    life.take("1", ".135", slot=Slot("", 1, Role.ENTERS))
    life.take("1", ".140", slot=Slot("", 1, Role.STOPS))
    assert column(laid(life, LAYOUT), "result") == ["0.1350 enters, 0.1400 does not enter"]
    assert column(laid(life, replace(LAYOUT, unit="mm")), "result") == ["3.429 enters, 3.556 does not enter"]
    life = make()
    life.take("7.2", ".790", replaces=life.counted("7.2"), reason="read at the other end")
    told = [each.said.text for each in laid(life, replace(LAYOUT, pattern=True, unit="mm")).rows]
    assert "20.066 … 20.2946 (n = 3); 7.2: 20.066" in told


def test_a_lower_deviation_has_its_sign_where_a_minus_tolerance_is_taken_off(lives):
    """⌀62 h7 is 0/-30 µm and ⌀62 p6 +51/+32 µm (ISO 286-2:2010, from memory): a form that asks for "unteres Abmaß" is
    told them so, and one that asks for "Tol -" how far below the nominal the limit lies."""
    life = lives.Life().open(tuple(one for one in starter_crib(due="2099-01-01") if one.tag == "M-13"))
    rows = [{"number": str(n), "kind": "outside diameter", "requirement": f"⌀62 {fit}", "unit": "mm"}
            for n, fit in enumerate(("h7", "p6"), 1)]  # fmt: skip
    life.make(("001",), *rows)
    columns = (*TABLE.columns, Column("plus", 4), Column("minus", 5), Column("lower_deviation", 6))
    found = laid(life, replace(LAYOUT, tables=(replace(TABLE, columns=columns),)))
    told = {field: column(found, field) for field in ("plus", "minus", "lower_deviation")}
    assert [float(each) for each in told["plus"]] == [0, 0.051]
    assert [float(each) for each in told["lower_deviation"]] == [-0.03, 0.032]
    assert [float(each) for each in told["minus"]] == [0.03, -0.032]


def test_units_decimals_and_days_as_the_customer_wants_them(make):
    columns = (
        *TABLE.columns,
        Column("lower", 4),
        Column("upper", 5),
        Column("calibration_due", 6),
        Column("deviation", 7),
    )
    table = replace(TABLE, columns=columns, rows=20)
    wish = replace(LAYOUT, tables=(table,), unit="mm", decimals=2, outward=True, day="%d.%m.%Y")
    found = laid(make(), wish)
    first = {each.column.field: each.said.text for each in found.rows if each.block == 1}
    assert (first["lower"], first["upper"]) == ("19.0373", "19.0627")  # ⌀.7500 ±.0005: limits are never rounded
    assert (first["result"], first["calibration_due"]) == ("19.05", "01.01.2027")
    assert first["deviation"] == "0.00"


def test_when_an_instrument_was_calibrated_is_not_when_it_is_due(make):
    columns = (*TABLE.columns, Column("instrument_tag", 4), Column("calibrated_on", 5), Column("calibration_due", 6))
    wish, life = replace(LAYOUT, tables=(replace(TABLE, columns=columns, rows=20),)), make()
    bare = laid(life, wish)
    tags = sorted({*column(bare, "instrument_tag")} - {""})
    assert {*column(bare, "calibrated_on")} <= {""}
    assert {*column(bare, "calibration_due")} - {""} == {"2027-01-01"}
    assert {each.code: each.parts for each in bare.notices} == {"layout.calibration_unknown": {"tags": ", ".join(tags)}}
    issues = {key: replace(one, certified="2026-01-01") for key, one in life.shop.issues.items()}
    life.shop = replace(life.shop, issues=issues)
    known = laid(life, wish)
    assert not known.notices
    assert {*column(known, "calibrated_on")} - {""} == {"2026-01-01"}
    assert column(known, "calibration_due") == column(bare, "calibration_due")


def test_a_form_that_may_not_grow_is_refused_with_what_to_do(make):
    kept = replace(LAYOUT, tables=(replace(TABLE, rows=20, grow=Grow.NO),))
    with pytest.raises(Refused) as caught:
        laid(make("001", "002"), kept)
    assert [reason.code for reason in caught.value.reasons] == ["layout.too_many_pieces"]


def test_every_value_has_a_name_and_something_to_say(make):
    """No field that a layout may name is unknown to whoever fills it."""
    life = make()
    fields = [*dict.fromkeys((*ROW_FIELDS, *RESULT_FIELDS))]
    columns = tuple(Column(field, place) for place, field in enumerate(fields, 1))
    heads = tuple(HeadPlace(field, "A", 1, place) for place, field in enumerate(HEAD_FIELDS, 1))
    found = laid(life, replace(LAYOUT, heads=heads, tables=(replace(TABLE, columns=columns, rows=20),)))
    assert all(known(f"layout.field.{field}") for field in (*fields, *HEAD_FIELDS))
    said = {each.column.field for each in found.rows}
    assert said >= {
        "number",
        "requirement",
        "nominal",
        "plus",
        "minus",
        "tolerance",
        "deviation",
        "instrument",
        "accept",
    }
    heads = {each.place.field: each.said.text for each in found.heads}
    assert heads.keys() >= {"part", "drawing", "order", "quantity", "report", "verdict"}
    assert heads["report"] == f"HB-7-{life.sheet.identity[:8]}"  # 36 signs are too many for a customer's box
