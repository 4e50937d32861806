"""What the Plan room asks a book: parts found by their words, and the rows that were ever read."""

from __future__ import annotations

from msgspec.structs import replace
from sqlalchemy import event

from inspection.sheet import acts
from storage.book.queries.measured_rows import measured_rows
from storage.book.queries.parts import list_parts


def asked_of(bench, ask) -> tuple[list[str], list[str]]:
    """The statements that a question took, and the steps of their plans."""
    statements: list[str] = []
    steps: list[str] = []

    def note(connection, _cursor, statement, parameters, *_rest) -> None:
        if statement.startswith(("SELECT", "WITH")):
            statements.append(statement)
            rows = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", parameters).all()
            steps.extend(row[3] for row in rows)

    engine = bench.book._engines.reading
    event.listen(engine, "before_cursor_execute", note)
    try:
        ask()
    finally:
        event.remove(engine, "before_cursor_execute", note)
    return statements, steps


def test_parts_are_found_by_number_name_and_drawing(bench):
    plan = bench.make_sheet().plan
    number, name = plan.part.number, plan.part.name
    other = replace(plan, part_identity="", part=replace(plan.part, number="ZZ_9", name="Ärmel 100 %", drawing="D-5"))
    rows = tuple(replace(row, identity="") for row in plan.characteristics)
    bench.do(acts.IssuePlan(plan=replace(other, characteristics=rows)))
    for like, found in (
        (number.lower(), [number]), (name[:4].upper(), [number]), ("d-5", ["ZZ_9"]), ("_", ["ZZ_9"]), ("%", ["ZZ_9"]),
        ("nothing", []), ("", ["ZZ_9", number]),
    ):  # fmt: skip
        assert [part.number for part in bench.book.ask(list_parts, like=like)] == found, like
    bench.do(acts.IssuePlan(plan=replace(plan, part=replace(plan.part, number="NEW-1"))))
    assert [part.number for part in bench.book.ask(list_parts, like="NEW")] == ["NEW-1"]
    assert bench.book.ask(list_parts, like=number) == []  # the newest issue counts


def test_rows_that_were_read_are_known_under_every_issue(bench):
    sheet = bench.make_sheet()
    bench.take(0)
    read = sheet.plan.characteristics[0].identity
    assert bench.book.ask(measured_rows, sheet.plan.identity) == {read}
    bench.do(acts.IssuePlan(plan=sheet.plan))
    plans = bench.book.plans_of(sheet.plan.part_identity)
    newest = max(plans.values(), key=lambda plan: plan.issue)
    assert newest.issue == 2 and bench.book.ask(measured_rows, newest.identity) == {read}
    assert bench.book.ask(measured_rows, "another") == frozenset()


def test_both_take_one_statement_on_their_indexes(bench):
    plan = bench.make_sheet().plan
    bench.take(0)
    statements, steps = asked_of(bench, lambda: bench.book.ask(measured_rows, plan.identity))
    assert len(statements) == 1 and [step for step in steps if step.startswith("SCAN")] == []
    statements, steps = asked_of(bench, lambda: bench.book.ask(list_parts, limit=5, like="b"))
    assert len(statements) == 1
    assert [step for step in steps if "reading" in step or "sheet" in step] == []
