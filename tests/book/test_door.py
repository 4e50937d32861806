"""The door: one act, one transaction, one entry; nothing moves on before the commit."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest
from msgspec.structs import replace
from sqlalchemy import event

from inspection.attached import Attached
from inspection.measuring.verdict import Verdict
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.canonical.form_4 import read_entry
from inspection.sheet.evidence import Evidence, EvidenceKind
from inspection.sheet.head import Head
from inspection.sheet.people import Person
from inspection.words.say import say
from storage.book.attached import LARGEST, attached, content_of
from storage.book.door import ActsRefused, Book
from storage.book.failures import BookFailure
from storage.book.outcome import Change
from storage.book.tally import counted

CERTIFICATE = b"%PDF-1.7 heat 55-201"


def journal_of(path):
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(
            "SELECT sequence, previous, digest, content FROM journal ORDER BY sequence"
        ).fetchall()


def test_an_outcome_says_what_followed(bench):
    bench.make_sheet()
    outcome = bench.take(0)
    (judgement,) = outcome.sheet.judgements.values()
    assert judgement.verdict in (Verdict.CONFORMING, Verdict.MARGINAL)
    assert outcome.changed == {Change.READING, Change.VERDICT}
    assert (outcome.stream, outcome.sheet.last_entry) == (bench.sheet_id, outcome.entry)
    assert bench.book.sheet(bench.sheet_id) == outcome.sheet


def test_the_chain_covers_every_entry(told):
    rows = journal_of(told.path)
    assert [row[0] for row in rows] == list(range(1, len(rows) + 1))
    last = ""
    for _, previous, kept, content in rows:
        assert (previous, kept) == (last, digest(content))
        assert read_entry(content).entry.previous == previous
        last = kept


def test_a_reopened_book_folds_to_the_same_state(told):
    sheet, shop = told.sheet, told.book.shop()
    told.book.close()
    with Book.open(told.path) as book:
        assert book.sheet(told.sheet_id) == sheet
        assert book.shop() == shop
        assert set(book.plans_of(sheet.plan.part_identity)) >= {sheet.plan.identity}
        assert book.plan(sheet.plan.identity) == sheet.plan


def test_the_same_acts_write_the_same_bytes(new_bench, tmp_path):
    runs = []
    for name in ("one", "two"):
        bench = new_bench(tmp_path / f"{name}.tenthwright")
        bench.make_sheet()
        bench.take(0)
        bench.take(1, off=100)
        runs.append(journal_of(bench.path))
    assert runs[0] == runs[1]


def test_a_refused_act_leaves_everything_as_it_was(bench):
    bench.make_sheet()
    before, sheet = journal_of(bench.path), bench.sheet
    with pytest.raises(Refused):
        bench.take(0, replaces="no such reading", reason="x")
    with pytest.raises(Refused):
        bench.do(acts.RunBy(sheet="no such sheet", order="piece"))
    assert (journal_of(bench.path), bench.sheet) == (before, sheet)


def test_an_unknown_sheet_or_plan_is_refused(bench):
    with pytest.raises(Refused) as refused:
        bench.book.sheet("nowhere")
    assert refused.value.reasons[0].code == "sheet.unknown"
    with pytest.raises(Refused):
        bench.book.plan("nowhere")
    assert bench.book.plans_of("nowhere") == {}


def test_a_failed_commit_leaves_the_held_state(bench):
    """The write fails after the rules decided: the reading must not be in memory either."""
    bench.make_sheet()
    sheet, act = bench.sheet, bench.reading(0)

    def fail(connection):
        raise sqlite3.OperationalError("cut off")

    event.listen(bench.book._engines.writing, "commit", fail)
    with pytest.raises(sqlite3.OperationalError):
        bench.do(act)
    event.remove(bench.book._engines.writing, "commit", fail)
    assert bench.book._held.sheets[bench.sheet_id] == sheet
    assert bench.sheet == sheet
    assert bench.do(act).sheet.readings


def test_several_acts_are_taken_all(bench):
    bench.make_sheet()
    outcomes = bench.book.do_all([bench.reading(i) for i in range(4)], person=bench.person)
    assert [outcome.sequence for outcome in outcomes] == list(range(outcomes[0].sequence, outcomes[0].sequence + 4))
    assert outcomes[-1].sheet == bench.sheet
    assert len(bench.sheet.readings) == 4


def test_several_acts_are_refused_together_each_by_its_place(bench):
    bench.make_sheet()
    before = journal_of(bench.path)
    bad = bench.reading(1, replaces="nothing", reason="x")
    with pytest.raises(ActsRefused) as refused:
        bench.book.do_all([bench.reading(0), bad, bench.reading(2), bad], person=bench.person)
    assert set(refused.value.by_act) == {1, 3}
    assert len(refused.value.reasons) == 2
    assert (journal_of(bench.path), dict(bench.sheet.readings)) == (before, {})


def test_acts_may_build_on_each_other_in_one_sitting(bench):
    """A part, its sheets (more than memory holds) and readings on the first of them, all in one transaction."""
    bench.make_sheet()
    plan = next(iter(bench.book.plans_of(bench.sheet.plan.part_identity)))
    makes = [acts.MakeSheet(plan=plan, serials=(str(i),)) for i in range(12)]
    outcomes = bench.book.do_all(makes, person=bench.person)
    notes = [
        acts.WriteNote(sheet=o.stream, characteristic=o.sheet.plan.characteristics[0].identity, text="seen")
        for o in outcomes
    ]
    done = bench.book.do_all(notes, person=bench.person)
    assert all(len(outcome.sheet.notes) == 1 for outcome in done)
    assert all(len(bench.book.sheet(outcome.stream).notes) == 1 for outcome in outcomes)


def test_a_second_program_sees_and_continues_the_chain(bench):
    bench.make_sheet()
    with Book.open(bench.path, station="bench 2") as other:
        other.sheet(bench.sheet_id)
        seen = bench.take(0)
        taken = other.do(bench.reading(1), person=bench.person)
        assert taken.sequence == seen.sequence + 1
        assert set(taken.sheet.readings) > set(seen.sheet.readings)
        assert bench.sheet == taken.sheet


def test_only_what_came_in_since_is_read(bench):
    bench.make_sheet()
    with Book.open(bench.path, station="bench 2") as other:
        other.sheet(bench.sheet_id)
        bench.take(0)
        bench.take(1)
        read = []
        event.listen(other._engines.reading, "before_cursor_execute", lambda *a: read.append((a[2], a[3])))
        other.sheet(bench.sheet_id)
    journal_reads = [bound for statement, bound in read if "content" in statement]
    assert len(journal_reads) == 1
    assert journal_reads[0][0] == bench.book._held.sequence - 2


def test_a_second_act_on_the_same_feature_keeps_both_and_says_so(bench):
    bench.make_sheet()
    seen = bench.sheet.last_entry
    with Book.open(bench.path, station="bench 2") as other:
        other.do(bench.reading(0), person=bench.person)
    outcome = bench.do(bench.reading(0, off=1), based_on=seen)
    assert [(notice.code, notice.parts["number"]) for notice in outcome.notices] == [("book.second_hand", "1")]
    row, piece = outcome.sheet.plan.characteristics[0], outcome.sheet.pieces[0]
    assert len(outcome.sheet.counting(row.identity, piece.identity)) == 2


def test_a_second_hand_on_head_or_evidence_is_said(bench):
    bench.make_sheet()
    plate = bench.enter("plate", EvidenceKind.MATERIAL).events[0].evidence
    seen = bench.sheet.last_entry
    with Book.open(bench.path, station="bench 2") as other:
        other.do(acts.WriteHead(sheet=bench.sheet_id, head=Head(order="1")), person=bench.person)
        again = replace(plate, certificate="55-201")
        other.do(acts.EnterEvidence(sheet=bench.sheet_id, evidence=again), person=bench.person)
    head = bench.do(acts.WriteHead(sheet=bench.sheet_id, head=Head(order="2")), based_on=seen)
    entered = bench.do(acts.EnterEvidence(sheet=bench.sheet_id, evidence=replace(plate, code="x")), based_on=seen)
    struck = bench.do(
        acts.StrikeEvidence(sheet=bench.sheet_id, evidence=plate.identity, reason="other heat"), based_on=seen
    )
    fresh = bench.do(bench.reading(0), based_on=seen)
    said = [[(notice.code, notice.parts.get("name")) for notice in each.notices] for each in (head, entered, fresh)]
    assert said == [[("book.second_head", None)], [("book.second_evidence", "plate")], []]
    assert [notice.code for notice in struck.notices] == ["book.second_evidence"]
    assert bench.sheet.head == Head(order="2")


def test_ones_own_earlier_entries_are_no_second_hand(bench):
    bench.make_sheet()
    seen = bench.sheet.last_entry
    bench.do(bench.reading(0), based_on=seen)
    assert bench.do(bench.reading(1), based_on=seen).notices == ()


def counted_statements(bench, act):
    statements, commits = [], []
    engine = bench.book._engines.writing

    def note(connection, cursor, statement, *rest):
        statements.append(statement.split()[0])

    def commit(connection):
        commits.append(connection)

    event.listen(engine, "before_cursor_execute", note)
    event.listen(engine, "commit", commit)
    bench.do(act)
    event.remove(engine, "before_cursor_execute", note)
    event.remove(engine, "commit", commit)
    return statements, len(commits)


def test_an_entry_costs_the_same_statements_on_every_sheet(bench):
    found = []
    for rows in (3, 300):
        bench.make_sheet(rows, serials=("1",))
        for i in range(min(rows - 2, 60)):
            bench.take(i)
        found.append(counted_statements(bench, bench.reading(rows - 2)))
    assert found[0] == found[1]
    statements, commits = found[0]
    assert commits == 1
    # begin, head of the chain, then one insert each: journal, reading, its instrument, verdict, count of verdicts
    assert statements == ["BEGIN", "SELECT", *["INSERT"] * 5]


def test_only_the_entry_that_ends_a_stage_writes_that(bench):
    bench.make_sheet(3, serials=("1",))
    bench.take(0)
    going_on, _ = counted_statements(bench, bench.reading(1))
    last, _ = counted_statements(bench, bench.reading(2))
    assert len(last) == len(going_on) + 1


def test_each_station_counts_its_own_entries(bench):
    bench.make_sheet()
    with Book.open(bench.path, station="bench 2") as other:
        other.do(bench.reading(0), person=bench.person)
        bench.take(1)
        other.do(bench.reading(2), person=bench.person)
    with closing(sqlite3.connect(bench.path)) as connection:
        rows = connection.execute("SELECT station, station_sequence FROM journal ORDER BY sequence").fetchall()
    for station in ("bench 1", "bench 2"):
        numbers = [number for name, number in rows if name == station]
        assert numbers == list(range(1, len(numbers) + 1))


def test_an_entry_cannot_be_handed_in_twice(bench):
    """Same station, same count, same moment: the journal itself refuses the second."""
    with closing(sqlite3.connect(bench.path)) as connection, pytest.raises(sqlite3.IntegrityError, match="station"):
        connection.execute(
            "INSERT INTO journal SELECT 99, 'other', stream, act, person, at, day, station, station_sequence, "
            "'other', 'other', form, content FROM journal WHERE sequence = 1"
        )


def test_the_running_count_of_verdicts_is_the_full_count(told):
    assert told.book._held.tallies[told.sheet_id] == counted(told.sheet)


def test_two_books_in_one_process_do_not_mix(new_bench, tmp_path):
    one, two = new_bench(tmp_path / "one.tenthwright"), new_bench(tmp_path / "two.tenthwright", "bench 2")
    one.do(acts.EnterPerson(person=Person("", "Only in one")))
    assert len(one.book.shop().people) == 2
    assert len(two.book.shop().people) == 1


# --- files kept with records ------------------------------------------------------------------------------------


def kept_files(path):
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute("SELECT digest, sequence, size, content FROM attached_file").fetchall()


def naming(bench, *files):
    evidence = Evidence("", EvidenceKind.MATERIAL, "plate", files=files)
    return acts.EnterEvidence(sheet=bench.sheet_id, evidence=evidence)


def test_a_file_is_kept_with_the_entry_that_names_it(bench):
    bench.make_sheet()
    outcome = bench.enter("plate", EvidenceKind.MATERIAL, {"heat.pdf": CERTIFICATE})
    assert kept_files(bench.path) == [(digest(CERTIFICATE), outcome.sequence, len(CERTIFICATE), CERTIFICATE)]
    assert bench.book.ask(content_of, digest(CERTIFICATE)) == CERTIFICATE
    (evidence,) = bench.sheet.evidence.values()
    assert evidence.files == (Attached("heat.pdf", digest(CERTIFICATE), len(CERTIFICATE)),)


def test_the_same_file_is_kept_once(bench):
    bench.make_sheet()
    first = bench.enter("plate", EvidenceKind.MATERIAL, {"heat.pdf": CERTIFICATE}).sequence
    bench.enter("anodise", EvidenceKind.PROCESS, {"same by another name.pdf": CERTIFICATE})
    bench.do(naming(bench, attached("third.pdf", CERTIFICATE)))  # its bytes need not be handed over again
    assert [row[:2] for row in kept_files(bench.path)] == [(digest(CERTIFICATE), first)]


def test_a_file_whose_bytes_are_missing_or_others_is_refused(bench):
    bench.make_sheet()
    before = journal_of(bench.path)
    named = attached("heat.pdf", CERTIFICATE)
    for given in ({}, {named.digest: b""}, {named.digest: CERTIFICATE[:-1]}):
        with pytest.raises(Refused) as refused:
            bench.do(naming(bench, named), files=given)
        assert say(refused.value.reasons[0]).startswith("The file heat.pdf was not handed over")
    with pytest.raises(Refused):
        bench.do(naming(bench, replace(named, size=1)), files={named.digest: CERTIFICATE})
    assert (journal_of(bench.path), kept_files(bench.path)) == (before, [])


def test_a_refused_act_keeps_no_file(bench):
    bench.make_sheet()
    with pytest.raises(Refused):
        bench.enter("", EvidenceKind.MATERIAL, {"heat.pdf": CERTIFICATE})
    assert kept_files(bench.path) == []
    with pytest.raises(Refused) as refused:
        bench.book.ask(content_of, digest(CERTIFICATE))
    assert say(refused.value.reasons[0]) == "The book holds no such file."


def test_an_empty_or_too_large_file_is_not_attached():
    for content, code in ((b"", "file.attached_empty"), (bytes(LARGEST + 1), "file.attached_too_large")):
        with pytest.raises(Refused) as refused:
            attached("heat.pdf", content)
        assert refused.value.reasons[0].code == code
        assert "heat.pdf" in say(refused.value.reasons[0])
    assert attached("heat.pdf", bytes(LARGEST)).size == LARGEST


def test_a_new_book_never_takes_the_place_of_a_file(tmp_path):
    path = tmp_path / "kept.tenthwright"
    path.write_bytes(b"something dear")
    with pytest.raises(BookFailure) as failed:
        Book.new(path)
    assert failed.value.reasons[0].code == "book.exists"
    assert path.read_bytes() == b"something dear"
    assert [entry.name for entry in tmp_path.iterdir()] == ["kept.tenthwright"]
