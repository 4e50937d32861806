"""Earlier results of a whole sheet: what they are, and that asking costs the same whatever the rows."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from msgspec.structs import replace
from sqlalchemy import event

from inspection.sheet import acts
from inspection.sheet.points import points
from storage.book.queries.earlier_of_sheet import earlier_of_sheet

THOU = 25_400_000


@pytest.fixture
def several(bench: Any) -> Any:
    """Four rows read on two pieces of a first sheet, and on one of a second; a third is to be read."""
    made = bench.make_sheet()
    bench.names = [bench.sheet_id]
    for place in range(4):
        bench.take(place, 0, off=place)
        bench.take(place, 1, off=-place)
    for serial in ("003", "004"):
        bench.names.append(bench.do(acts.MakeSheet(plan=made.plan.identity, serials=(serial,))).stream)
    bench.sheet_id = bench.names[1]
    bench.take(0, off=2)
    bench.sheet_id = bench.names[2]
    return bench


def told(bench: Any, place: int, sheet: str = "", **more: Any) -> list[tuple[str, float]]:
    """Serial and thousandths from nominal of each earlier result of a row."""
    row = bench.sheet.plan.characteristics[place]
    found = bench.book.ask(earlier_of_sheet, sheet or bench.sheet_id, **more)
    return sorted((one.serial, (one.smallest - one.nominal) / THOU) for one in found.get(row.identity, ()))


def test_every_row_with_what_it_came_to_and_what_was_asked_for(several: Any) -> None:
    assert told(several, 0) == [("001", 0), ("002", 0), ("003", 2)]
    assert told(several, 3) == [("001", 3), ("002", -3)]
    asked = several.sheet.plan.characteristics[3].requirement
    found = several.book.ask(earlier_of_sheet, several.sheet_id)
    (one, _) = found[several.sheet.plan.characteristics[3].identity]
    assert (one.day, one.sheet, one.of, one.largest) == ("2026-03-02", several.names[0], 1, one.smallest)
    assert (one.nominal, one.lower, one.upper) == (asked.nominal, asked.lower, asked.upper)


def test_only_sheets_of_the_part_that_were_made_before(several: Any) -> None:
    assert told(several, 0, several.names[1]) == [("001", 0), ("002", 0)]
    assert told(several, 0, several.names[0]) == []
    assert several.book.ask(earlier_of_sheet, "no sheet") == {}
    rows = tuple(replace(row, identity="") for row in several.sheet.plan.characteristics)
    other = several.do(
        acts.IssuePlan(plan=replace(several.sheet.plan, identity="", part_identity="", characteristics=rows))
    )
    made = several.do(acts.MakeSheet(plan=other.events[0].plan.identity, serials=("1",)))
    assert several.book.ask(earlier_of_sheet, made.stream) == {}


def test_the_newest_of_a_piece_counts_and_what_was_taken_back_does_not(several: Any) -> None:
    several.sheet_id = several.names[1]
    first = next(iter(several.sheet.readings))
    several.take(0, off=4, replaces=first, reason="held askew")
    gone = several.take(1, off=1).events[0].reading
    several.do(acts.TakeBack(sheet=several.sheet_id, reading=gone.identity))
    several.sheet_id = several.names[2]
    assert told(several, 0) == [("001", 0), ("002", 0), ("003", 4)]
    assert told(several, 1) == [("001", 1), ("002", -1)]


def test_only_the_newest_sheets_are_looked_at(several: Any) -> None:
    assert told(several, 0, limit=1) == [("003", 2)]
    assert told(several, 3, limit=1) == []


def test_what_the_drawing_asked_for_is_that_of_the_sheet_s_own_issue(several: Any) -> None:
    plan = several.sheet.plan
    rows = tuple(replace(row, requirement=replace(row.requirement, nominal=1)) for row in plan.characteristics)
    issued = several.do(acts.IssuePlan(plan=replace(plan, identity="", characteristics=rows))).events[0].plan
    later = several.do(acts.MakeSheet(plan=issued.identity, serials=("9",))).stream
    found = several.book.ask(earlier_of_sheet, later)[plan.characteristics[0].identity]
    assert {one.nominal for one in found} == {plan.characteristics[0].requirement.nominal}


def test_what_is_found_is_what_the_list_takes(several: Any) -> None:
    several.take(0, off=1)
    shop, sheet = several.book.shop(), several.sheet
    history = several.book.ask(earlier_of_sheet, several.sheet_id)
    assert "history" not in {point.code for point in points(shop, sheet, history)}
    row = sheet.plan.characteristics[0].identity
    five = {
        row: tuple(
            replace(one, smallest=one.smallest - 4 * THOU, largest=one.largest - 4 * THOU) for one in 2 * history[row]
        )
    }
    assert "history" in {point.code for point in points(shop, sheet, five)}


# --- cost -----------------------------------------------------------------------------------------------------------


def seen(bench: Any, ask: Callable[[], Any]) -> list[tuple[str, Any]]:
    """The statements that something asks."""
    found: list[tuple[str, Any]] = []

    def note(_connection: Any, _cursor: Any, statement: str, parameters: Any, *_rest: Any) -> None:
        found.append((statement, parameters))

    engine = bench.book._engines.reading
    event.listen(engine, "before_cursor_execute", note)
    ask()
    event.remove(engine, "before_cursor_execute", note)
    return [each for each in found if each[0].split()[0] in ("SELECT", "WITH")]


def test_five_statements_whatever_the_rows_and_none_goes_through_a_growing_table(
    several: Any, new_bench: Any, tmp_path: Any
) -> None:
    large = new_bench(tmp_path / "large.tenthwright")
    made = large.make_sheet(rows=120)
    large.book.do_all([large.reading(place, 0) for place in range(120)], person=large.person)
    later = large.do(acts.MakeSheet(plan=made.plan.identity, serials=("9",))).stream
    few = seen(several, lambda: several.book.ask(earlier_of_sheet, several.sheet_id))
    many = seen(large, lambda: large.book.ask(earlier_of_sheet, later))
    assert len(few) == len(many) == 5
    steps = []
    with large.book._engines.reading.begin() as connection:
        for statement, parameters in many:
            rows = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", parameters).all()
            steps += [row[3] for row in rows]
    assert [step for step in steps if step.startswith("SCAN") and "json_each" not in step] == []
