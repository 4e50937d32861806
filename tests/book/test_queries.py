"""What a book is asked, against what the acts said; and every question stays within its bound and on an index."""

from __future__ import annotations

import time

import pytest
from msgspec.structs import replace
from sqlalchemy import event

from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.measuring.verdict import Verdict
from inspection.reasons import Reason
from inspection.sheet import acts
from inspection.sheet.cells import open_cells
from inspection.words.say import known, say, word
from storage.book.door import Book
from storage.book.queries.last_sheet import last_sheet
from storage.book.queries.part_in_time import part_in_time
from storage.book.queries.parts import list_parts, part_of_number
from storage.book.queries.sent_files import files_of_digest
from storage.book.queries.sheet_journal import sheet_journal
from storage.book.queries.sheets import list_sheets


def test_a_new_book_has_nothing_to_list(bench):
    assert bench.book.ask(list_sheets) == []
    assert bench.book.ask(list_parts) == []
    assert bench.book.ask(last_sheet) == ""
    assert bench.book.ask(part_of_number, "HB-7") == ""


def test_a_sheet_is_listed_with_where_it_stands(told):
    listed = next(one for one in told.book.ask(list_sheets) if one.sheet == told.sheet_id)
    sheet = told.sheet
    verdicts = [judgement.verdict for judgement in sheet.judgements.values()]
    assert (listed.sheet, listed.number, listed.revision, listed.name) == (told.sheet_id, "HB-7", "C", "Hinge block")
    assert (listed.customer, listed.order, listed.serials) == ("Nobody & Sons", "4711", ("001", "002"))
    assert (listed.day, listed.person, listed.round, listed.sealed) == ("2026-03-02", told.person, 3, False)
    assert listed.conforming == verdicts.count(Verdict.CONFORMING)
    assert listed.marginal == verdicts.count(Verdict.MARGINAL)
    assert listed.not_conforming == verdicts.count(Verdict.NOT_CONFORMING) == 1
    assert listed.open == len(open_cells(sheet)) > 0
    assert listed.questions == len(sheet.open_questions()) == 0


def test_an_open_question_is_counted(bench):
    bench.make_sheet()
    bench.take(0, off=100)
    part = bench.sheet.plan.part_identity
    assert bench.book.ask(list_sheets)[0].questions == bench.book.ask(part_in_time, part)[0].questions == 1
    (question,) = bench.sheet.open_questions()
    bench.do(acts.LeaveOpen(sheet=bench.sheet_id, question=question.identity))
    assert bench.book.ask(list_sheets)[0].questions == 1
    bench.take(0, answers=question.identity)
    assert bench.book.ask(list_sheets)[0].questions == 0


def test_cells_in_doubt_are_counted_until_they_are_settled(bench):
    """The second sheet is untouched by what stands on the first."""
    sheet = bench.make_sheet(rows=2, serials=("1",))
    other = bench.do(acts.MakeSheet(plan=sheet.plan.identity, serials=("2",))).stream
    rule = DecisionRule(RuleKind.GUARDED)
    bench.do(acts.ChooseDecisionRule(sheet=bench.sheet_id, decision=rule, reason="agreed"))

    def doubts() -> dict[str, int]:
        return {one.sheet: one.in_doubt for one in bench.book.ask(list_sheets)}

    assert doubts() == {bench.sheet_id: 0, other: 0}
    first = bench.take(0, off=5).events[0].reading
    assert bench.sheet.judgement(first.characteristic, first.piece).verdict is Verdict.DOUBT_INSIDE
    bench.take(1, off=5)
    assert doubts() == {bench.sheet_id: 2, other: 0}
    assert bench.book.ask(part_in_time, sheet.plan.part_identity)[0].in_doubt == 2
    bench.take(0, off=1, replaces=first.identity, reason="held askew")
    assert doubts() == {bench.sheet_id: 1, other: 0}


def test_sheets_come_newest_first_page_by_page_and_by_part(bench):
    sheet = bench.make_sheet()
    made = [bench.do(acts.MakeSheet(plan=sheet.plan.identity, serials=(str(i),))).stream for i in range(5)]
    every = [listed.sheet for listed in bench.book.ask(list_sheets)]
    assert every == [*reversed(made), bench.sheet_id]
    pages = [bench.book.ask(list_sheets, limit=2, skip=skip) for skip in (0, 2, 4)]
    assert [listed.sheet for page in pages for listed in page] == every
    assert len(bench.book.ask(list_sheets, part=sheet.plan.part_identity)) == 6
    assert bench.book.ask(list_sheets, part="another") == []


def test_the_last_sheet_is_the_one_last_worked_on(bench):
    first = bench.make_sheet()
    second = bench.do(acts.MakeSheet(plan=first.plan.identity, serials=("9",))).stream
    assert bench.book.ask(last_sheet) == second
    bench.take(0)
    assert bench.book.ask(last_sheet) == first.identity


def test_a_part_is_found_by_the_number_of_its_newest_issue(bench):
    sheet = bench.make_sheet()
    part = sheet.plan.part_identity
    assert bench.book.ask(part_of_number, "HB-7") == part
    renamed = replace(sheet.plan, identity="", part=replace(sheet.plan.part, number="HB-8", revision="C"))
    bench.do(acts.IssuePlan(plan=renamed))
    assert bench.book.ask(part_of_number, "HB-7") == ""
    assert bench.book.ask(part_of_number, "HB-8") == part
    (listed,) = bench.book.ask(list_parts)
    assert (listed.part, listed.issue, listed.number, listed.revision, listed.rows) == (part, 2, "HB-8", "C", 4)


def test_a_file_is_found_by_its_digest(told):
    (found,) = told.book.ask(files_of_digest, "ab" * 32)
    assert (found.sheet, found.form, found.name, found.by) == (told.sheet_id, "pdf", "hb-7.pdf", told.person)
    assert told.book.ask(files_of_digest, "cd" * 32) == []


def spoken(reason: Reason) -> str:
    assert known(reason.code), reason.code
    sentence = say(reason)
    assert "[" not in sentence, sentence
    return sentence


def test_the_journal_of_a_sheet_is_plain_sentences(told):
    lines = told.book.ask(sheet_journal, told.book.shop(), told.sheet)
    assert [line.sequence for line in lines] == sorted((line.sequence for line in lines), reverse=True)
    assert all(word(line.act) and known(line.act) and line.person == "Ann Ames" for line in lines)
    said = [spoken(reason) for line in reversed(lines) for reason in line.said]
    assert said[0] == "Made the sheet for 2 pieces."
    assert any(sentence.startswith("Read 1, piece 001, with ") for sentence in said)
    assert any("instead of" in sentence for sentence in said)
    for wanted in (
        "Why: held askew",
        "Wrote to 3: burr on the edge ⌀",
        "Began round 2: second piece has come",
        "Wrote the head anew.",
        "Entered the material 2024-T351 plate.",
        "Struck 2024-T351 plate off the sheet.",
        "Why: another heat was used",
        "Took back 0.5030 in on 3, piece 001.",
        "Put back 0.5030 in on 3, piece 001.",
    ):
        assert wanted in said


def test_every_entry_of_every_sheet_says_what_followed(told):
    """Whatever was done on a sheet is a sentence of its journal."""
    said: list[str] = []
    for listed in told.book.ask(list_sheets):
        sheet = told.book.sheet(listed.sheet)
        for line in told.book.ask(sheet_journal, told.book.shop(), sheet, limit=1_000):
            assert line.said or line.act in SAYS_NOTHING, line.act
            said += map(spoken, line.said)
    for wanted in (
        "Nonconformance NC-7 on row 1, piece 7: over by a feed step",
        "Nonconformance NC-7: rework. turn it down",
        "Piece 7 is reworked 1: what it had come to stays printed.",
        "Returned 1, piece 7: read it at both ends",
        "Answered a point of the list: read again",
    ):
        assert wanted in said
    assert any(sentence.startswith("Stated and signed “sheet approved”") for sentence in said)
    assert any("It counts for nothing but the comparison." in sentence for sentence in said)


#: Acts that change nothing on a sheet where no instrument has become another.
SAYS_NOTHING = {"act.Reweigh"}


def test_the_journal_comes_page_by_page(told):
    every = told.book.ask(sheet_journal, told.book.shop(), told.sheet, limit=100)
    first = told.book.ask(sheet_journal, told.book.shop(), told.sheet, limit=5)
    rest = told.book.ask(sheet_journal, told.book.shop(), told.sheet, limit=100, before=first[-1].sequence)
    assert first + rest == every


def plans_of_statements(book: Book, ask) -> list[str]:
    """How SQLite carries out what ``ask`` asks: the lines of its query plans."""
    seen: list[tuple[str, object]] = []
    engine = book._engines.reading

    def note(connection, cursor, statement, parameters, *rest):
        seen.append((statement, parameters))

    event.listen(engine, "before_cursor_execute", note)
    ask()
    event.remove(engine, "before_cursor_execute", note)
    steps = []
    with engine.begin() as connection:
        for statement, parameters in [each for each in seen if each[0].lstrip().startswith("SELECT")]:
            rows = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", parameters).all()
            steps += [row[3] for row in rows]
    return steps


def test_no_question_goes_through_a_growing_table(told):
    """Only the outermost list may be scanned, in its own order and cut off by its limit."""
    shop, sheet = told.book.shop(), told.sheet
    for ask in (
        lambda: told.book.ask(list_sheets),
        lambda: told.book.ask(last_sheet),
        lambda: told.book.ask(files_of_digest, "ab" * 32),
        lambda: told.book.ask(sheet_journal, shop, sheet),
    ):
        steps = plans_of_statements(told.book, ask)
        assert steps
        growing = ("reading", "judgement", "journal", "standing", "characteristic", "piece", "sent", "evidence")
        scanned = [step for step in steps if step.startswith("SCAN") and step.split()[1] in growing]
        allowed = ["SCAN standing"]  # the last sheet: its newest row, by the primary key backwards
        assert [step for step in scanned if step not in allowed] == []


@pytest.mark.measured
def test_a_long_list_answers_at_once(bench):
    sheet = bench.make_sheet()
    makes = [acts.MakeSheet(plan=sheet.plan.identity, serials=(str(i),)) for i in range(300)]
    bench.book.do_all(makes, person=bench.person)
    bench.book.ask(list_sheets)
    times = []
    for _ in range(9):
        began = time.perf_counter()
        assert len(bench.book.ask(list_sheets)) == 50
        times.append(time.perf_counter() - began)
    assert sorted(times)[4] < 0.010
