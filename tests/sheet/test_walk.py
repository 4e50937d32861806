"""The walk along the route gives what the plain search gives, from any cell, and knows when it is out of date."""

from __future__ import annotations

from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.plan import Part, Plan, TitleBlock
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.method import Stop
from inspection.instruments.rules import Rules
from inspection.measuring.reading import Slot
from inspection.sheet.cells import waiting
from inspection.sheet.head import Head, Piece
from inspection.sheet.state import Rows, Sheet, Shop
from inspection.sheet.walk import Walk


def row(name: str, form: Form = Form.LIMITS) -> Characteristic:
    return Characteristic(name, name, FeatureKind.LENGTH, Requirement("1", form, lower=0, upper=1), places=("a", "b"))


def sheet_of(order: str = "piece") -> Sheet:
    rows = (row("1"), row("2", Form.BASIC), row("3"), row("4"))
    plan = Plan("plan", "part", 1, Part("P", "A"), TitleBlock(), rows)
    pieces = (Piece("p", "001"), Piece("q", "002"))
    stops = (Stop("m", "", ("3", "1")), Stop("n", "", ("4",)))
    return Sheet("s", plan, Head(), pieces, Rules(), "", 0, order=order, stops=stops, rows=Rows.of(plan))


def test_it_gives_what_the_plain_search_gives():
    for order in ("piece", "feature"):
        sheet = sheet_of(order)
        walk = Walk.of(sheet)
        for after in (None, *walk.cells):
            assert list(walk.waiting(Shop(), sheet, after=after)) == list(waiting(Shop(), sheet, after=after))
        assert [cell for cell in walk.cells if cell[0] == "2"] == []


def test_beyond_a_cell_it_comes_last():
    sheet = sheet_of()
    walk = Walk.of(sheet)
    found = [each[:2] for each in walk.waiting(Shop(), sheet, after=("1", "p"), beyond=True)]
    assert found[0] == ("4", "p")
    assert found[-2:] == [("1", "p"), ("1", "p")]


def test_what_is_under_way_waits_no_more():
    sheet = sheet_of()
    under_way = {("3", "p", Slot("a"))}
    assert next(Walk.of(sheet).waiting(Shop(), sheet, under_way=under_way)) == ("3", "p", Slot("b"))


def test_it_holds_until_the_route_changes():
    sheet = sheet_of()
    walk = Walk.of(sheet)
    assert walk.holds_for(replace(sheet, last_entry="x", readings={}))
    assert not walk.holds_for(replace(sheet, order="feature"))
    assert not walk.holds_for(replace(sheet, stops=()))
