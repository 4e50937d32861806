"""Finding sheets: every way of looking alone and combined, page by page, at the same cost in a book of any size."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest
from msgspec.structs import replace
from sqlalchemy import event

from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.sheet import acts
from inspection.sheet.evidence import EvidenceKind
from inspection.sheet.head import Head
from inspection.sheet.report_number import report_number
from inspection.sheet.review import Returned, StatementKind
from storage.book.door import Book
from storage.book.engines import driver_connection
from storage.book.queries.earlier_results import earlier_results
from storage.book.queries.found_sheets import Came, State, Wanted, found_sheets
from storage.book.queries.sheets import list_sheets
from storage.book.tally import counted


@pytest.fixture
def shelf(bench):
    """Four sheets: of one part with two revisions, and heads of several kinds."""
    first = bench.make_sheet(rows=2, serials=("A-1", "A-2"))
    bench.names = [first.identity]
    later = replace(first.plan, identity="", part=replace(first.plan.part, revision="C"))
    issued = bench.do(acts.IssuePlan(plan=later)).events[0].plan
    for plan, serials, head in (
        (first.plan, ("B-7",), Head(customer="Lantern Hill Optical", order="9000", lot="L 100%")),
        (issued, ("B-8", "B-9"), Head(order="9001")),
        (issued, ("Ö-1",), Head(customer="Ørsted & Daughter")),
    ):
        bench.names.append(bench.do(acts.MakeSheet(plan=plan.identity, serials=serials, head=head)).stream)
    return bench


def places(bench, **wanted) -> list[int]:
    """Which sheets are found, by the order in which they were made."""
    return [bench.names.index(found.listed.sheet) for found in bench.book.ask(found_sheets, Wanted(**wanted))]


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        ({}, [3, 2, 1, 0]),
        ({"text": "hb-7"}, [3, 2, 1, 0]),
        ({"text": "hinge"}, [3, 2, 1, 0]),
        ({"text": "nobody"}, [3, 2, 1, 0]),  # the part's customer
        ({"text": "B-"}, [3, 2, 1, 0]),  # the part's number, and two serials
        ({"text": "b-9"}, [2]),
        ({"text": "hinge b-9"}, [2]),
        ({"text": "lantern b-9"}, []),
        ({"text": "9000"}, [1]),
        ({"text": "100%"}, [1]),
        ({"text": "1%0"}, []),
        ({"text": "ørsted"}, [3]),
        ({"text": "ö-1"}, [3]),
        ({"serial": "A-2"}, [0]),
        ({"revision": "B"}, [1, 0]),
        ({"revision": "C", "order": "9001"}, [2]),
        ({"customer": "nobody"}, [2, 0]),  # where the head names none, it is the part's
        ({"customer": "lantern"}, [1]),
        ({"order": "4711"}, [0]),
        ({"part": "another"}, []),
        ({"person": "another"}, []),
        ({"since": "2026-03-02", "until": "2026-03-02"}, [3, 2, 1, 0]),
        ({"since": "2026-03-03"}, []),
        ({"until": "2026-03-01"}, []),
    ],
)
def test_a_sheet_is_found_by_what_it_is_about(shelf, wanted, found):
    assert places(shelf, **wanted) == found


def test_a_sheet_is_found_by_the_report_number_that_a_customer_quotes(shelf):
    for place, identity in enumerate(shelf.names):
        assert places(shelf, text=report_number("HB-7", identity).upper()) == [place]


def test_part_and_person_are_found_by_identity(shelf):
    assert places(shelf, part=shelf.sheet.plan.part_identity, person=shelf.person, serial="b-") == [2, 1]


def test_a_head_written_later_counts_in_place_of_the_first(shelf):
    shelf.do(acts.WriteHead(sheet=shelf.names[1], head=Head(order="9500")))
    assert places(shelf, text="9500") == [1]
    assert places(shelf, text="9000") == []
    assert places(shelf, order="9000") == []
    assert places(shelf, customer="lantern") == []
    assert places(shelf, customer="nobody") == [2, 1, 0]
    listed = {one.sheet: one for one in shelf.book.ask(list_sheets)}[shelf.names[1]]
    assert (listed.order, listed.lot, listed.customer) == ("9500", "", "Nobody & Sons")
    shelf.do(acts.WriteHead(sheet=shelf.names[1], head=Head(order="9600")))
    assert places(shelf, text="9500") == []


def test_a_note_finds_its_sheet(shelf):
    row = shelf.sheet.plan.characteristics[0].identity
    shelf.do(acts.WriteNote(sheet=shelf.names[0], characteristic=row, text="burr on the far edge"))
    assert places(shelf, text="BURR edge") == [0]


def test_lot_and_heat_find_what_was_made_of_them(shelf):
    """A lot stands in the head; a heat in the head or on the certificate of what the part is made of, until struck."""
    shelf.sheet_id = shelf.names[3]
    bar = shelf.enter("2024-T351 plate", EvidenceKind.MATERIAL, certificate="55-201").events[0].evidence
    assert places(shelf, lot="100%") == [1]
    assert places(shelf, heat="100%") == [1]
    assert (places(shelf, heat="55-201"), places(shelf, lot="55-201"), places(shelf, text="plate 55-")) == (
        [3],
        [],
        [3],
    )
    shelf.do(acts.StrikeEvidence(sheet=shelf.names[3], evidence=bar.identity, reason="another heat was used"))
    assert (places(shelf, heat="55-201"), places(shelf, text="55-201")) == ([], [])


def test_an_instrument_finds_the_sheets_it_was_read_on(shelf):
    identity, issue = shelf.in_hand(shelf.sheet)
    tag = shelf.issue(identity, issue).tag
    assert (places(shelf, instrument=identity), places(shelf, text=tag)) == ([], [])
    shelf.take(0)
    shelf.sheet_id = shelf.names[2]
    shelf.take(1)
    assert places(shelf, instrument=identity) == [2, 0]
    assert places(shelf, text=tag.lower()) == [2, 0]
    assert places(shelf, instrument=identity, serial="b-9") == [2]
    assert places(shelf, instrument="another") == []


def test_what_a_sheet_came_to_finds_it_as_it_stands_now(shelf):
    out = shelf.take(0, off=9).events[0].reading
    assert places(shelf, verdict=Came.NOT_CONFORMING) == [0]
    shelf.take(0, off=1, replaces=out.identity, reason="held askew")
    assert places(shelf, verdict=Came.NOT_CONFORMING) == []
    assert places(shelf, verdict=Came.CONFORMING) == [0]
    rule = DecisionRule(RuleKind.GUARDED)
    shelf.do(acts.ChooseDecisionRule(sheet=shelf.sheet_id, decision=rule, reason="agreed"))
    assert places(shelf, verdict=Came.IN_DOUBT) == []
    shelf.take(1, off=5)
    assert places(shelf, verdict=Came.IN_DOUBT) == [0]


def test_a_nonconformance_finds_its_sheet_by_number_and_words(shelf):
    shelf.take(0, off=9)
    piece, row = shelf.sheet.pieces[0].identity, shelf.sheet.plan.characteristics[0].identity
    shelf.do(
        acts.RaiseNonconformance(
            sheet=shelf.sheet_id, piece=piece, characteristics=(row,), number="NC-7", what="over by a feed step"
        )
    )
    assert (places(shelf, nonconformance="nc-7"), places(shelf, nonconformance="feed")) == ([0], [])
    assert (places(shelf, text="feed step"), places(shelf, text="nc-7")) == ([0], [0])


def test_a_sheet_changes_its_state_as_it_goes(bench):
    bench.make_sheet(rows=2, serials=("1",))
    bench.names = [bench.sheet_id]

    def state() -> State:
        (found,) = bench.book.ask(found_sheets, Wanted())
        assert places(bench, state=found.state) == [0]
        assert all(places(bench, state=other) == [] for other in State if other is not found.state)
        return found.state

    assert state() is State.OPEN
    bench.take(0)
    assert state() is State.OPEN
    last = bench.take(1).events[0].reading
    assert state() is State.COMPLETE
    bench.do(acts.TakeBack(sheet=bench.sheet_id, reading=last.identity))
    assert state() is State.OPEN
    bench.do(acts.PutBack(sheet=bench.sheet_id, reading=last.identity))
    bench.sign()
    assert state() is State.SIGNED
    bench.do(acts.Reopen(sheet=bench.sheet_id, reason="another order line"))
    assert state() is State.COMPLETE
    bench.sign()
    assert state() is State.SIGNED
    bench.state(StatementKind.APPROVED)
    assert state() is State.APPROVED
    bench.state(StatementKind.COMPLETE)
    assert state() is State.APPROVED
    bench.state(StatementKind.RELEASED, "lot 4711")
    assert state() is State.RELEASED


def found(bench):
    """The one sheet as found, alike by every way of asking whether it was sent."""
    (one,) = bench.book.ask(found_sheets, Wanted())
    signed = one.state not in (State.OPEN, State.COMPLETE)
    assert len(places(bench, sent=True)) == one.sent
    assert len(places(bench, sent=False)) == (signed and not one.sent)
    return one


def test_what_was_sent_is_told_of_the_sheet_as_it_stands(bench):
    bench.make_sheet(rows=1, serials=("1",))
    bench.names = [bench.sheet_id]
    sent = acts.RecordSent(sheet=bench.sheet_id, form="pdf", name="a.pdf", digest="ab" * 32)
    bench.take(0)
    bench.do(sent)
    assert not found(bench).sent  # nothing is signed yet
    bench.sign()
    assert not found(bench).sent
    bench.do(sent)
    assert found(bench).sent
    bench.state(StatementKind.APPROVED)
    assert not found(bench).sent  # the customer has one that nobody approved
    bench.do(sent)
    bench.state(StatementKind.RELEASED, "lot 4711")
    assert found(bench).sent  # a release is the shop's own
    assert (found(bench).state, found(bench).first_article) == (State.RELEASED, None)
    bench.state(StatementKind.COMPLETE)
    assert not found(bench).sent
    assert found(bench).first_article is StatementKind.COMPLETE


def test_a_sheet_that_was_returned_says_so_until_it_is_signed_again(bench):
    bench.make_sheet(rows=1, serials=("1",))
    bench.names = [bench.sheet_id]
    bench.take(0)
    bench.sign()
    assert not found(bench).returned
    bench.do(acts.ReturnSheet(sheet=bench.sheet_id, rows=(Returned("", "", "read it at both ends"),)))
    assert (found(bench).returned, found(bench).state) == (True, State.COMPLETE)
    bench.sign()
    assert (found(bench).returned, found(bench).state) == (False, State.SIGNED)


def test_a_sheet_with_doubts_is_not_called_complete(bench):
    bench.make_sheet(rows=2, serials=("1",))
    bench.names = [bench.sheet_id]
    rule = DecisionRule(RuleKind.GUARDED)
    bench.do(acts.ChooseDecisionRule(sheet=bench.sheet_id, decision=rule, reason="agreed"))
    first = bench.take(0, off=5).events[0].reading
    bench.take(1)
    assert (places(bench, state=State.OPEN), places(bench, state=State.COMPLETE)) == ([0], [])
    (found,) = bench.book.ask(found_sheets, Wanted())
    assert (found.state, found.listed.in_doubt) == (State.OPEN, 1)
    bench.take(0, off=1, replaces=first.identity, reason="held askew")
    assert (places(bench, state=State.OPEN), places(bench, state=State.COMPLETE)) == ([], [0])
    last = bench.sheet.counting(*next(iter(bench.sheet.standing)))[0]
    bench.take(0, off=5, replaces=last.identity, reason="read again")
    bench.sign()
    (signed,) = bench.book.ask(found_sheets, Wanted())
    assert (signed.state, signed.listed.in_doubt) == (State.SIGNED, 1)


def test_pages_follow_each_other_while_new_sheets_come_in(shelf):
    first = shelf.book.ask(found_sheets, Wanted(), limit=2)
    shelf.names.append(shelf.do(acts.MakeSheet(plan=shelf.sheet.plan.identity, serials=("9",))).stream)
    second = shelf.book.ask(found_sheets, Wanted(), limit=2, after=first[-1].sequence)
    assert [shelf.names.index(one.listed.sheet) for one in (*first, *second)] == [3, 2, 1, 0]


def test_the_stages_that_a_move_fills_in_are_those_that_entries_write(told):
    """The step's own statement, on what every kind of act left behind."""
    from storage.book.migrations.versions.rest_of_the_record import _STATEMENTS

    (filling,) = (text for text in _STATEMENTS if "INSERT INTO stage" in text)
    with closing(sqlite3.connect(told.path)) as connection:
        written = connection.execute("SELECT * FROM stage ORDER BY sequence").fetchall()
        connection.execute("DROP TRIGGER stage_never_deleted")
        connection.execute("DELETE FROM stage")
        connection.execute(filling)
        assert connection.execute("SELECT * FROM stage ORDER BY sequence").fetchall() == written
    assert [row[3] for row in written if row[2] == told.sheet_id][-1] == counted(told.sheet).stage
    assert len(written) > 5


# --- earlier results ----------------------------------------------------------------------------------------------


def test_earlier_results_follow_a_row_through_every_issue_of_the_part(shelf):
    row = shelf.sheet.plan.characteristics[0].identity
    shelf.take(0, piece=0, off=1)
    shelf.take(0, piece=1, off=-2)
    shelf.sheet_id = shelf.names[2]
    shelf.take(0, piece=1, off=9)
    part, last = shelf.sheet.plan.part_identity, shelf.names[3]
    found = shelf.book.ask(earlier_results, part, row, last)
    assert [(one.serial, one.revision, one.verdict) for one in found] == [
        ("B-9", "C", "not conforming"),
        ("A-2", "B", "conforming"),
        ("A-1", "B", "conforming"),
    ]
    assert all(one.smallest == one.largest and one.of == 1 and one.decimals == 4 for one in found)
    assert all(one.day == "2026-03-02" and one.tag and one.kind == "length" for one in found)
    assert [one.serial for one in shelf.book.ask(earlier_results, part, row, last, limit=1)] == ["B-9"]
    # only what is on sheets made before
    assert [one.serial for one in shelf.book.ask(earlier_results, part, row, shelf.names[1])] == ["A-2", "A-1"]
    assert shelf.book.ask(earlier_results, part, row, shelf.names[0]) == []


def test_the_newest_judgement_of_a_piece_counts_and_one_taken_back_does_not(shelf):
    row = shelf.sheet.plan.characteristics[0].identity
    first = shelf.take(0, off=1).events[0].reading
    shelf.take(0, off=2, replaces=first.identity, reason="held askew")
    gone = shelf.take(0, piece=1).events[0].reading
    shelf.do(acts.TakeBack(sheet=shelf.sheet_id, reading=gone.identity))
    (one,) = shelf.book.ask(earlier_results, shelf.sheet.plan.part_identity, row, shelf.names[1])
    assert (one.serial, one.smallest) == ("A-1", first.count + 25_400_000)


# --- cost ---------------------------------------------------------------------------------------------------------


def statements(book: Book, wanted: Wanted) -> list[str]:
    seen: list[str] = []

    def note(_connection, _cursor, statement, *_rest):
        seen.append(statement)

    engine = book._engines.reading
    event.listen(engine, "before_cursor_execute", note)
    book.ask(found_sheets, wanted)
    event.remove(engine, "before_cursor_execute", note)
    return seen


def test_a_page_costs_five_statements_and_looks_no_stage_up_by_walking(shelf):
    seen = statements(shelf.book, Wanted(text="hinge b-", state=State.OPEN, customer="nobody"))
    assert len(seen) == 5  # begin, places, sheets, pieces, states
    connection = driver_connection(shelf.book._engines.reading)
    plan = connection.execute(
        "EXPLAIN QUERY PLAN SELECT sequence FROM sheet WHERE (SELECT stage FROM stage s WHERE s.sheet = sheet.sheet "
        "ORDER BY s.sequence DESC LIMIT 1) = 'open' ORDER BY sequence DESC LIMIT 50"
    ).fetchall()
    assert any("COVERING INDEX stage_by_sheet (sheet=?)" in row[3] for row in plan)


@pytest.mark.parametrize("came", [Came.MARGINAL, Came.NOT_CONFORMING])
def test_a_verdict_that_no_sheet_had_is_looked_for_by_an_index_that_holds_none(shelf, came):
    said = []
    driver = driver_connection(shelf.book._engines.reading)
    driver.set_trace_callback(said.append)
    assert places(shelf, verdict=came) == []
    driver.set_trace_callback(None)
    query = next(each for each in said if "EXISTS" in each)
    plan = [row[3] for row in driver.execute(f"EXPLAIN QUERY PLAN {query}")]
    assert any(f"standing_{came.value}" in step for step in plan)
