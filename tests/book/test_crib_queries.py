"""What the crib asks a book: the issues of an instrument, and the sheets that its readings touch."""

from __future__ import annotations

from collections import Counter

from msgspec.structs import replace
from sqlalchemy import event

from inspection.sheet import acts
from storage.book.queries.instrument_history import instrument_history
from storage.book.queries.touched_sheets import touched_sheets


def used(bench) -> str:
    """The identity of the instrument that the rows are read with."""
    sheet = bench.sheet
    return next(one.assessment.method.parts[0].identity for one in sheet.assignments.values() if one.assessment)


def statements(bench, ask) -> int:
    told: list[str] = []

    def note(_connection, _cursor, statement, *_rest) -> None:
        told.append(statement)

    engine = bench.book._engines.reading
    event.listen(engine, "before_cursor_execute", note)
    try:
        ask()
    finally:
        event.remove(engine, "before_cursor_execute", note)
    return len([one for one in told if one.startswith("SELECT") or one.startswith("WITH")])


def test_every_issue_is_told_with_who_and_when(bench):
    bench.make_sheet()
    identity = used(bench)
    for due in ("2027-03-01", "2028-03-01"):
        bench.do(acts.IssueInstrument(instrument=replace(bench.book.shop().crib[identity], due=due)))
    found = bench.book.ask(instrument_history, identity)
    assert [one.issue for one in found] == [3, 2, 1]
    assert {one.person for one in found} == {bench.person}
    assert found[0].at > found[1].at > found[2].at
    assert found[0].day == "2026-03-02"
    assert [one.issue for one in bench.book.ask(instrument_history, identity, limit=1, before=3)] == [2]
    assert bench.book.ask(instrument_history, "another") == []


def test_touched_sheets_come_by_their_last_reading_with_counts(bench):
    first = bench.make_sheet()
    identity = used(bench)
    assert bench.book.ask(touched_sheets, identity).total == 0
    bench.take(0)
    bench.take(1)
    bench.sign("the rest is read tomorrow")
    second = bench.do(acts.MakeSheet(plan=first.plan.identity, serials=("9",))).stream
    row, piece = first.plan.characteristics[0].identity, bench.book.sheet(second).pieces[0].identity
    bench.do(replace(bench.reading(0), sheet=second, characteristic=row, piece=piece))
    found = bench.book.ask(touched_sheets, identity)
    assert [one.sheet for one in found.sheets] == [second, first.identity]
    assert found.total == 2
    by_hand = Counter(one.method.parts[0].identity for one in bench.book.sheet(first.identity).readings.values())
    assert [one.readings for one in found.sheets] == [1, by_hand[identity]]
    assert [(one.sealed, one.serials) for one in found.sheets] == [(False, ("9",)), (True, ("001", "002"))]
    assert (found.sheets[1].number, found.sheets[1].revision) == ("HB-7", "B")


def test_a_page_is_bounded_and_takes_as_many_statements_as_ever(bench):
    first = bench.make_sheet()
    identity = used(bench)
    bench.take(0)
    few = statements(bench, lambda: bench.book.ask(touched_sheets, identity))
    for serial in range(7):
        made = bench.do(acts.MakeSheet(plan=first.plan.identity, serials=(str(serial),))).stream
        piece = bench.book.sheet(made).pieces[0].identity
        bench.do(replace(bench.reading(0), sheet=made, piece=piece))
    page = bench.book.ask(touched_sheets, identity, limit=3)
    assert (len(page.sheets), page.total) == (3, 8)
    rest = bench.book.ask(touched_sheets, identity, limit=10, skip=3)
    every = bench.book.ask(touched_sheets, identity)
    assert page.sheets + rest.sheets == every.sheets
    assert statements(bench, lambda: bench.book.ask(touched_sheets, identity)) == few == 3


def test_the_questions_go_by_their_indexes(bench):
    bench.make_sheet()
    identity = used(bench)
    bench.take(0)
    told: list[str] = []

    def note(connection, _cursor, statement, parameters, *_rest) -> None:
        if not statement.startswith("EXPLAIN"):
            rows = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", parameters).all()
            told.extend(row[3] for row in rows)

    engine = bench.book._engines.reading
    event.listen(engine, "before_cursor_execute", note)
    try:
        bench.book.ask(touched_sheets, identity)
        bench.book.ask(instrument_history, identity)
    finally:
        event.remove(engine, "before_cursor_execute", note)
    assert any("reading_by_instrument" in step for step in told)
    growing = ("reading_instrument", "instrument_issue", "journal", "standing", "piece", "sheet", "plan_issue")
    assert [step for step in told if step.startswith("SCAN") and step.split()[1] in growing] == []
