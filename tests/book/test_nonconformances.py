"""Nonconformances across the shop: what waits first, each as it stands now, for one statement whatever there is."""

from __future__ import annotations

import pytest
from sqlalchemy import event

from inspection.sheet import acts
from inspection.sheet.nonconformance import Disposition, Leave
from storage.book.door import Book
from storage.book.engines import driver_connection
from storage.book.queries.nonconformances import nonconformances

LEAVE = Leave("CR-118", "2026-03-01", "piece 001")


def raised(bench, place: int, number: str, piece: int = 0) -> str:
    """A row read out of its limits on a piece, and named."""
    bench.take(place, piece=piece, off=9)
    sheet = bench.sheet
    act = acts.RaiseNonconformance(
        sheet=bench.sheet_id,
        piece=sheet.pieces[piece].identity,
        characteristics=(sheet.plan.characteristics[place].identity,),
        number=number,
        what=f"over at row {place}",
    )
    return str(bench.do(act).events[0].nonconformance.identity)


@pytest.fixture
def shelf(bench):
    """Four on two sheets, of which the first and the third are decided."""
    bench.make_sheet(rows=4, serials=("A-1", "Ö-2"))
    decided = [raised(bench, 0, "NC-1")]
    raised(bench, 1, "NC-2", piece=1)
    first = bench.sheet_id
    bench.sheet_id = bench.do(acts.MakeSheet(plan=bench.sheet.plan.identity, serials=("B-1",))).stream
    decided.append(raised(bench, 0, "NC-3"))
    raised(bench, 1, "NC-4")
    second = bench.sheet_id
    how = (Disposition.REWORK, Disposition.USE_AS_IS)
    for sheet, name, disposition in zip((first, second), decided, how, strict=True):
        leave = LEAVE if disposition.by_leave else None
        bench.do(
            acts.DisposeNonconformance(
                sheet=sheet, nonconformance=name, disposition=disposition, words="as agreed", leave=leave
            )
        )
    return bench


def numbers(bench, text: str = "", **more) -> list[str]:
    return [one.number for one in bench.book.ask(nonconformances, text, **more)]


def test_what_waits_comes_first_and_each_stands_as_it_was_decided_last(shelf):
    assert numbers(shelf) == ["NC-4", "NC-2", "NC-3", "NC-1"]
    waiting, _, used, worked = shelf.book.ask(nonconformances)
    assert waiting.waits and (waiting.decided_by, waiting.decided_at, waiting.document) == ("", 0, "")
    assert (used.disposition, used.document, used.decided_by) == ("use as is", "CR-118", shelf.person)
    assert (worked.part, worked.revision, worked.serial, worked.rows) == ("HB-7", "B", "A-1", 1)
    assert worked.at < worked.decided_at


def test_one_is_found_by_whatever_is_known_of_it(shelf):
    assert numbers(shelf, "nc-2") == ["NC-2"]
    assert numbers(shelf, "ö-2") == ["NC-2"]
    assert numbers(shelf, "hb-7 rework") == ["NC-1"]
    assert numbers(shelf, "cr-118") == ["NC-3"]
    assert numbers(shelf, "over b-1") == ["NC-4", "NC-3"]
    assert numbers(shelf, "100%") == []


def test_pages_follow_each_other(shelf):
    seen: list[str] = []
    after = None
    while page := shelf.book.ask(nonconformances, limit=1, after=after):
        seen += [one.number for one in page]
        after = page[-1]
    assert seen == numbers(shelf)


def statements(book: Book, text: str = "hb-7") -> list[tuple[str, object]]:
    seen: list[tuple[str, object]] = []

    def note(_connection, _cursor, statement, parameters, *_rest):
        seen.append((statement, parameters))

    engine = book._engines.reading
    event.listen(engine, "before_cursor_execute", note)
    book.ask(nonconformances, text)
    event.remove(engine, "before_cursor_execute", note)
    return seen


def test_a_list_costs_one_statement_however_many_there_are(shelf):
    few = statements(shelf.book)
    raised(shelf, 2, "NC-5")
    raised(shelf, 3, "NC-6")
    many = statements(shelf.book)
    assert len(many) == len(few) == 2  # begin, and the list


def test_nothing_is_walked_but_the_nonconformances_themselves(shelf):
    statement, parameters = statements(shelf.book, "")[-1]
    connection = driver_connection(shelf.book._engines.reading)
    told = [row[3] for row in connection.execute(f"EXPLAIN QUERY PLAN {statement}", parameters)]
    assert [line for line in told if line.startswith("SCAN")] == ["SCAN raised", "SCAN anon_1"]  # and the page itself
    assert any("nonconformance_by_sheet" in line for line in told)
