"""Of equally cheap instruments those read in the drawing's unit are taken (common practice: nothing is converted)."""

from __future__ import annotations

from msgspec.structs import replace

from inspection.drawing.plan import TitleBlock
from inspection.drawing.rows import characteristic
from inspection.instruments.route import plan_route
from inspection.instruments.rules import Rules
from inspection.instruments.starter import starter_crib

MICROMETERS = ("M-01", "M-02", "M-11", "M-12")


def tags(unit: str, *asked: str) -> list[str]:
    rows = [
        row
        for number, text in enumerate(asked, start=1)
        for row in characteristic(
            {"number": str(number), "kind": "outside diameter", "requirement": text}, TitleBlock(unit=unit)
        )
    ]

    rows = [replace(row, identity=row.number) for row in rows]
    crib = {one.tag: replace(one, identity=one.tag) for one in starter_crib("2030-01-01") if one.tag in MICROMETERS}
    given, _ = plan_route(rows, crib, Rules(), "2027-03-09")
    return [one.assessment.method.parts[0].identity for one in given if one.assessment]


def test_a_metric_drawing_gets_metric_micrometers_and_an_inch_drawing_inch_ones() -> None:
    assert tags("mm", "⌀20 ±0.02", "⌀40 ±0.02") == ["M-11", "M-12"]
    assert tags("in", "⌀.750 ±.001", "⌀1.500 ±.001") == ["M-01", "M-02"]


def test_a_single_metric_row_on_an_inch_drawing_costs_no_second_pick_up() -> None:
    assert tags("in", "⌀.750 ±.001", "⌀.625 ±.001", "⌀20mm ±0.02mm") == ["M-01", "M-01", "M-01"]
