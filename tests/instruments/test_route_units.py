"""A row goes to an instrument read in its own unit where that costs little (common practice: nothing is converted)."""

from __future__ import annotations

from msgspec.structs import replace

from inspection.drawing.plan import TitleBlock
from inspection.drawing.rows import characteristic
from inspection.instruments.route import plan_route
from inspection.instruments.rules import Rules
from inspection.instruments.starter import starter_crib

MICROMETERS = ("M-01", "M-02", "M-11", "M-12")


def tags(unit: str, *asked: str, quick: str = "") -> list[str]:
    """The micrometer of each row; those whose tag begins with ``quick`` take three seconds less."""
    rows = [
        row
        for number, text in enumerate(asked, start=1)
        for row in characteristic(
            {"number": str(number), "kind": "outside diameter", "requirement": text}, TitleBlock(unit=unit)
        )
    ]

    rows = [replace(row, identity=row.number) for row in rows]
    crib = {one.tag: replace(one, identity=one.tag) for one in starter_crib("2030-01-01") if one.tag in MICROMETERS}
    for tag in filter(lambda tag: quick and tag.startswith(quick), crib):
        crib[tag] = replace(crib[tag], handling_seconds=crib[tag].handling_seconds - 3)
    given, _ = plan_route(rows, crib, Rules(), "2027-03-09")
    return [one.assessment.method.parts[0].identity for one in given if one.assessment]


def test_a_metric_drawing_gets_metric_micrometers_and_an_inch_drawing_inch_ones() -> None:
    assert tags("mm", "⌀20 ±0.02", "⌀40 ±0.02") == ["M-11", "M-12"]
    assert tags("in", "⌀.750 ±.001", "⌀1.500 ±.001") == ["M-01", "M-02"]


def test_a_single_metric_row_on_an_inch_drawing_costs_no_second_pick_up() -> None:
    assert tags("in", "⌀.750 ±.001", "⌀.625 ±.001", "⌀20mm ±0.02mm") == ["M-01", "M-01", "M-01"]


def test_a_little_less_handling_does_not_put_an_instrument_of_the_other_unit_on_a_row() -> None:
    assert tags("in", "⌀.750 ±.001", "⌀1.500 ±.001", quick="M-1") == ["M-01", "M-02"]
    assert tags("mm", "⌀20 ±0.02", "⌀40 ±0.02", quick="M-0") == ["M-11", "M-12"]


def test_of_a_drawing_in_two_units_each_row_has_its_own_where_there_are_enough_of_them() -> None:
    both = [f"⌀{size} ±.001" for size in (".750", ".7505", ".751", ".7515", ".752", ".7525", ".753")]
    both += [f"⌀{size}mm ±0.02mm" for size in ("19.1", "19.2", "19.3", "19.4", "19.5", "19.6", "19.7")]
    assert tags("in", *both) == ["M-01"] * 7 + ["M-11"] * 7
