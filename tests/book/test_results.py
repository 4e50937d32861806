"""Results in time and readings of an instrument, as the queries bring them: held against the sheets themselves."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from app.jobs.looking_back import part_series
from inspection.measuring.found_error import Outcome
from inspection.measuring.verdict import Verdict
from inspection.sheet import acts
from inspection.sheet.traced import sheets_to_be_seen, traced
from inspection.studies.history import series_of
from storage.book.engines import driver_connection
from storage.book.queries.earlier_of_sheet import earlier_of_sheet
from storage.book.queries.earlier_results import earlier_results
from storage.book.queries.read_with import last_good_check, read_with, serials_on
from storage.book.queries.results import results_of_characteristic, results_of_part
from storage.book.tables import PROJECTION
from tests.benchmarks.answered_in_sql import PART, ROW, ROW_RESULTS, TRACE

THOU = 25_400_000
INCH = 1_000 * THOU
FAR = 2**53


@pytest.fixture
def several(bench: Any) -> Any:
    """Two pieces read on a first sheet, corrected and taken back in places; one on a second of a further revision, with
    limits closed in; a third sheet that is not begun."""
    made = bench.make_sheet()
    bench.names = [bench.sheet_id]
    for place in range(4):
        bench.take(place, 0, off=place)
        bench.take(place, 1, off=-place)
    first = next(iter(bench.sheet.readings.values()))
    bench.take(0, 0, off=2, replaces=first.identity, reason="held askew")
    gone = bench.take(1, 0, off=4, replaces=list(bench.sheet.readings.values())[2].identity, reason="a burr")
    bench.do(acts.TakeBack(sheet=bench.sheet_id, reading=gone.events[0].reading.identity))
    rows = tuple(
        replace(row, requirement=replace(row.requirement, upper=row.requirement.nominal + 3 * THOU))
        for row in made.plan.characteristics
    )
    again = replace(made.plan, identity="", part=replace(made.plan.part, revision="C"), characteristics=rows)
    issued = bench.do(acts.IssuePlan(plan=again)).events[0].plan
    for serial in ("003", "004"):
        bench.names.append(bench.do(acts.MakeSheet(plan=issued.identity, serials=(serial,))).stream)
    bench.sheet_id = bench.names[1]
    for place in range(4):
        bench.take(place, 0, off=4)
    return bench


def as_folded(bench: Any, row: str) -> list[tuple[str, str, Verdict, int, int, str]]:
    """What the sheets themselves say of a characteristic: sheet, serial, verdict, result, U, plan."""
    told = []
    for name in bench.names:
        sheet = bench.book.sheet(name)
        for piece in sheet.pieces:
            judged = sheet.judgement(row, piece.identity)
            if judged.verdict is not Verdict.OPEN:
                told.append(
                    (name, piece.serial, judged.verdict, judged.results[0], judged.expanded, sheet.plan.identity)
                )
    return told


def test_results_are_those_of_the_sheets(several: Any) -> None:
    part = several.sheet.plan.part_identity
    all_rows = several.book.ask(results_of_part, part)
    for row in several.sheet.plan.characteristics:
        found = several.book.ask(results_of_characteristic, part, row.identity)
        told = [(r.sheet, r.serial, r.verdict, r.smallest, r.expanded, r.plan) for r in found]
        assert sorted(told) == sorted(as_folded(several, row.identity))
        assert sorted(all_rows[row.identity], key=repr) == sorted(found, key=repr)
        assert [each.at for each in found] == sorted(each.at for each in found)
        assert all(each.by == several.person and each.instrument and each.day == "2026-03-02" for each in found)


def test_a_result_that_followed_from_taking_back_knows_its_reading(several: Any) -> None:
    """The second row's correction was taken back: the result is the first reading again, by whom and with what."""
    row = several.sheet.plan.characteristics[1]
    (first,) = (
        each
        for each in several.book.ask(results_of_characteristic, several.sheet.plan.part_identity, row.identity)
        if each.serial == "001"
    )
    assert first.smallest == row.requirement.nominal + THOU
    assert (first.by, bool(first.instrument), bool(first.plan)) == (several.person, True, True)


def test_no_more_than_is_asked_for(several: Any) -> None:
    part, row = several.sheet.plan.part_identity, several.sheet.plan.characteristics[0].identity
    newest = several.book.ask(results_of_characteristic, part, row, limit=1)
    assert [each.serial for each in newest] == ["003"]
    assert {each.sheet for each in several.book.ask(results_of_part, part, sheets=2)[row]} == {several.names[1]}
    assert several.book.ask(results_of_characteristic, part, "no row") == ()
    assert several.book.ask(results_of_part, "no part") == {}


def test_a_series_knows_the_limits_then(several: Any) -> None:
    part = several.sheet.plan.part_identity
    row = several.sheet.plan.characteristics[2]
    results = several.book.ask(results_of_characteristic, part, row.identity)
    found = series_of(row, results, several.book.plans_of(part))
    uppers = [then.requirement.upper - row.requirement.nominal for then in found.then if then is not None]
    assert uppers == [5 * THOU, 5 * THOU, 3 * THOU]
    assert found.values == (row.requirement.nominal + 4 * THOU,)
    assert found.out == 1


def test_what_a_slip_question_waits_about_is_told_and_not_reckoned_with(several: Any) -> None:
    """A tenth of an inch over at a part that is otherwise within a few thousandths: through every answer that the
    question may have."""
    part, plan = several.sheet.plan.part_identity, several.sheet.plan
    plans, row = several.book.plans_of(part), plan.characteristics[0]
    several.sheet_id = several.names[2]

    def seen() -> tuple[int, int, list[str]]:
        found = series_of(row, several.book.ask(results_of_characteristic, part, row.identity), plans)
        assert several.book.ask(results_of_part, part)[row.identity] == tuple(
            sorted((*found.results, *found.waiting), key=lambda each: each.at)
        )
        earlier = several.book.ask(earlier_of_sheet, later).get(row.identity, ())
        card = several.book.ask(earlier_results, part, row.identity, later)
        assert [each.serial for each in card if each.waits] == [each.serial for each in found.waiting]
        assert len(earlier) == len(found.results)
        return len(found.results), found.out, [each.serial for each in found.waiting]

    later = several.do(acts.MakeSheet(plan=plan.identity, serials=("005",))).stream
    before = seen()
    several.sheet_id = several.names[2]
    several.take(0, off=100)
    (question,) = several.sheet.open_questions()
    several.take(1, off=1)
    assert seen() == (*before[:2], ["004"])
    several.do(acts.LeaveOpen(sheet=several.sheet_id, question=question.identity))
    assert seen() == (*before[:2], ["004"])
    again = several.take(0, off=1, answers=question.identity).events[0].reading
    assert seen() == (before[0] + 1, before[1], [])
    several.do(acts.TakeBack(sheet=several.sheet_id, reading=again.identity))
    assert seen() == (*before[:2], ["004"]), "it waits again"
    several.do(acts.KeepAsWritten(sheet=several.sheet_id, question=question.identity))
    assert seen() == (before[0] + 1, before[1] + 1, [])


def test_readings_with_an_instrument_are_those_that_count(several: Any) -> None:
    instrument = several.in_hand(several.sheet)[0]
    found = several.book.ask(read_with, instrument, 0, FAR)
    counting = {
        reading.identity
        for name in several.names
        for reading in several.book.sheet(name).readings.values()
        if reading.identity not in several.book.sheet(name).withdrawn and reading.method.parts[0].identity == instrument
    }
    assert {each.reading for each in found} == counting
    assert [each.taken for each in found] == sorted(each.taken for each in found)
    third = found[2].taken
    assert several.book.ask(read_with, instrument, third, FAR) == found[3:]
    assert several.book.ask(read_with, instrument, 0, third) == found[:3]
    assert several.book.ask(read_with, instrument, 0, FAR, limit=2) == found[:2]
    assert several.book.ask(read_with, "nothing", 0, FAR) == ()


def test_a_found_error_is_traced_to_what_it_changes(several: Any) -> None:
    """Found 3 thousandths small at half an inch: every reading that left less room than that at the top is out."""
    instrument = several.in_hand(several.sheet)[0]
    plans = several.book.plans_of(several.sheet.plan.part_identity)
    reads = several.book.ask(read_with, instrument, 0, FAR)
    found = traced(reads, plans, -3 * THOU, INCH // 2)
    assert len(found) == len(reads)
    assert all(each.is_near for each in found)
    for each in found:
        asked, now = each.row.requirement, each.read.amount + 3 * THOU
        assert (each.weighed.after >= 0) is (asked.lower <= now <= asked.upper)
    serials = several.book.ask(serials_on, several.names)
    taken_out = [serials[each.read.sheet, each.read.piece] for each in found if each.outcome is Outcome.TAKEN_OUT]
    assert taken_out == ["001"], "three over and three more is one too many"
    assert found[0].outcome is Outcome.TAKEN_OUT
    assert several.names[0] in sheets_to_be_seen(found)
    asked = found[-1].read.cell
    waits = traced(reads, plans, -3 * THOU, 40 * INCH, {asked})
    (one,) = [each for each in waits if each.read.cell == asked]
    assert (one.outcome, one.weighed.rooms, one.is_to_be_seen) == (Outcome.QUESTIONED, None, True)
    far = traced(reads, plans, -3 * THOU, 40 * INCH)
    assert not any(each.is_near for each in far)


def in_sql(bench: Any, statement: str, **more: Any) -> list[Any]:
    """What a statement of the tests' own answers, on the driver's bare connection."""
    asked = {"part": bench.sheet.plan.part_identity, **more}
    return driver_connection(bench.book._engines.reading).execute(statement, asked).fetchall()


def test_what_is_reckoned_of_rows_is_what_sql_reckons(several: Any) -> None:
    several.sheet_id = several.names[2]
    several.take(0, off=100)
    assert several.sheet.open_questions()
    found = {each.row.identity: each for each in part_series(several.book, several.sheet.plan.part_identity)}
    answered = in_sql(several, PART)
    assert {row for row, *_ in answered} == {row for row, each in found.items() if each.results}
    for row, n, out, count, total, squares, ranges, low, high in answered:
        (alone,) = in_sql(several, ROW, row=row)
        assert alone == (row, n, out, count, total, squares, ranges, low, high)
        series = found[row]
        off = [value - series.row.requirement.nominal for value in series.values]
        assert (n, out, count) == (len(series.results), series.out, len(off))
        if off:
            assert (total, squares, low, high) == (sum(off), sum(each * each for each in off), min(off), max(off))
            assert ranges == (sum(series.chart.ranges) if series.chart else None)
    row = several.sheet.plan.characteristics[0].identity
    told = [(at, serial, verdict) for at, serial, verdict, *_ in in_sql(several, ROW_RESULTS, row=row)]
    assert told == [(each.at, each.serial, each.verdict.value) for each in found[row].results]


@pytest.mark.parametrize("error", [-3 * THOU, 0, 7 * THOU])
def test_a_trace_is_what_sql_traces(several: Any, error: int) -> None:
    instrument = several.in_hand(several.sheet)[0]
    found = traced(
        several.book.ask(read_with, instrument, 0, FAR),
        several.book.plans_of(several.sheet.plan.part_identity),
        error,
    )
    answered = in_sql(several, TRACE, instrument=instrument, error=error, since=0, most=100)
    gravest = list(Outcome)
    assert [(name, gravest[outcome - 1], before, after) for name, *_, before, after, outcome in answered] == [
        (each.read.reading, each.outcome, each.weighed.before, each.weighed.after) for each in found
    ]
    assert len(found) >= 8


def test_the_last_good_check_near_a_size(bench: Any) -> None:
    sheet = bench.make_sheet()
    instrument, _ = bench.in_hand(sheet)
    assert bench.book.ask(last_good_check, instrument, FAR, None, 0) is None
    first, second = (bench.check(sheet).events[0].check for _ in range(2))
    bench.check(sheet, good=False)
    assert bench.book.ask(last_good_check, instrument, FAR, None, 0) == second
    assert bench.book.ask(last_good_check, instrument, second.at, None, 0) == first
    sizes = [answer.size for answer in second.answers if answer.size is not None]
    assert sizes
    assert bench.book.ask(last_good_check, instrument, FAR, sizes[0] + 5, 5) == second
    assert bench.book.ask(last_good_check, instrument, FAR, sizes[0] + 50 * INCH, 5) is None


def test_questions_go_by_their_indexes(several: Any) -> None:
    """No table that grows with the book is gone through from end to end."""
    from sqlalchemy import event

    told: list[str] = []

    def note(connection: Any, _cursor: Any, statement: str, parameters: Any, *_rest: Any) -> None:
        if not statement.startswith("EXPLAIN"):
            rows = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", parameters).all()
            told.extend(row[3] for row in rows)

    engine, part = several.book._engines.reading, several.sheet.plan.part_identity
    event.listen(engine, "before_cursor_execute", note)
    try:
        several.book.ask(results_of_characteristic, part, several.sheet.plan.characteristics[0].identity)
        several.book.ask(results_of_part, part)
        several.book.ask(read_with, several.in_hand(several.sheet)[0], 0, FAR)
        several.book.ask(last_good_check, several.in_hand(several.sheet)[0], FAR, None, 0)
    finally:
        event.remove(engine, "before_cursor_execute", note)
    assert told
    scanned = {step.split()[1] for step in told if step.startswith("SCAN")}
    assert scanned.isdisjoint(PROJECTION)
