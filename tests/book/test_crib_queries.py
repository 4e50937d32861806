"""What the crib asks a book: the issues of an instrument, and the sheets that its readings touch."""

from __future__ import annotations

from collections import Counter

from msgspec.structs import replace
from sqlalchemy import event

from inspection.instruments.rules import Rules
from inspection.measuring.checks import configured
from inspection.measuring.checks_life import Upset
from inspection.measuring.proofs import CheckRecord, StudyRecord, UpsetRecord
from inspection.quantity.units import UNITS
from inspection.sheet import acts
from storage.book.queries.instrument_history import instrument_history
from storage.book.queries.proofs_of import proofs_of
from storage.book.queries.rules_history import rules_history
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


def explained(bench, ask) -> list[str]:
    """How the driver carries out what is asked, step by step."""
    told: list[tuple[str, object]] = []

    def note(_connection, _cursor, statement, parameters, *_rest) -> None:
        told.append((statement, parameters))

    engine = bench.book._engines.reading
    event.listen(engine, "before_cursor_execute", note)
    try:
        ask()
    finally:
        event.remove(engine, "before_cursor_execute", note)
    asked = [each for each in told if each[0].startswith("SELECT")]
    with engine.begin() as connection:
        return [
            row[-1]
            for statement, parameters in asked
            for row in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", parameters)
        ]


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
    assert any("instrument_on_sheet" in step for step in told)
    growing = ("reading_instrument", "instrument_issue", "journal", "standing", "piece", "sheet", "plan_issue")
    assert [step for step in told if step.startswith("SCAN") and step.split()[1] in growing] == []


def test_an_instrument_s_records_are_its_own_the_newest_of_them_in_one_statement(bench):
    sheet = bench.make_sheet()
    identity, _ = bench.in_hand(sheet)
    held = bench.book.shop().crib[identity]
    bench.check(sheet)
    bench.do(acts.ReportUpset(instrument=identity, what=Upset.DROPPED, note="off the bench"))
    step = UNITS["tenth"].count
    groups = ((0, step), (10 * step, 12 * step))
    bench.do(acts.RecordStudy(instrument=identity, configuration=configured(held), groups=groups))
    other = next(one for one in bench.book.shop().crib.values() if one.identity != identity)
    bench.do(acts.ReportUpset(instrument=other.identity, what=Upset.REPAIRED))
    bench.check(sheet, good=False)
    bench.do(acts.RemoveForCause(instrument=identity, reason="the spindle sticks"))
    found = bench.book.ask(proofs_of, identity)
    assert [type(one) for one in found] == [CheckRecord, UpsetRecord, StudyRecord, CheckRecord, CheckRecord]
    assert found == tuple(one for one in bench.book.shop().proofs if one.instrument == identity)
    assert bench.book.ask(proofs_of, identity, limit=2) == found[-2:]
    assert bench.book.ask(proofs_of, "another") == ()
    assert statements(bench, lambda: bench.book.ask(proofs_of, identity)) == 1


def test_records_beyond_those_that_the_shop_holds_are_found_by_an_index(bench, monkeypatch):
    monkeypatch.setattr("inspection.measuring.proofs.NEWEST", 2)
    sheet = bench.make_sheet()
    identity, _ = bench.in_hand(sheet)
    for _ in range(5):
        bench.check(sheet)
    assert len([one for one in bench.book.shop().proofs if one.instrument == identity]) < 5
    assert len(bench.book.ask(proofs_of, identity)) == 5
    plan = explained(bench, lambda: bench.book.ask(proofs_of, identity))
    assert any("check_made USING" in step and "check_by_instrument" in step for step in plan), plan
    assert not any(step.startswith(("SCAN check_made", "SCAN journal")) for step in plan), plan


def test_the_issues_of_the_rules_say_who_when_and_what(bench):
    assert bench.book.ask(rules_history) == []
    bench.do(acts.IssueRules(rules=Rules(accuracy_needed=500)))
    bench.do(acts.IssueRules(rules=Rules(accuracy_needed=600)))
    found = bench.book.ask(rules_history)
    assert [(one.rules.issue, one.rules.accuracy_needed, one.person) for one in found] == [
        (2, 600, bench.person),
        (1, 500, bench.person),
    ]
    assert found[0].at > found[1].at
    assert found[0].day == "2026-03-02"
    assert [one.rules.issue for one in bench.book.ask(rules_history, limit=1, before=2)] == [1]
    assert statements(bench, lambda: bench.book.ask(rules_history)) == 1
