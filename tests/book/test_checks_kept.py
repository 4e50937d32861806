"""Checks in a real book: in a stream of their own, of which the newest are held; what a failed one brings with it."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest
from msgspec.structs import replace

from inspection.instruments.rules import Rules
from inspection.measuring import proofs
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.people import Duty, Person
from inspection.studies.history import series_of
from inspection.studies.history_told import findings
from inspection.words.say import say
from storage.book import glance as looking
from storage.book.door import Book
from storage.book.glance import glance
from storage.book.queries.results import results_of_characteristic, results_of_part
from storage.book.verify import verify_book


@pytest.fixture
def shop(bench):
    """A bench in a shop that asks for checks, with a sheet."""
    bench.make_sheet()
    bench.do(acts.IssueRules(rules=Rules()))
    again(bench)
    return bench


def again(bench):
    """A further sheet of the same plan."""
    made = bench.do(acts.MakeSheet(plan=bench.sheet.plan.identity, serials=("003", "004")))
    bench.sheet_id = made.stream
    return made.stream


def test_a_failed_check_reopens_on_every_sheet_in_one_transaction(shop):
    first = shop.sheet_id
    shop.check(shop.sheet)
    shop.take(1)
    second = again(shop)
    shop.take(1)
    outcome = shop.check(shop.sheet, good=False)
    assert {followed.stream for followed in outcome.followed} == {first, second}
    assert [len(shop.book.sheet(name).reopened) for name in (first, second)] == [1, 1]
    entries = [followed.sequence for followed in outcome.followed]
    assert entries == [outcome.sequence + 1, outcome.sequence + 2], "beside it in the journal"
    assert {followed.events[0].check.made.identity for followed in outcome.followed} == {
        outcome.events[0].check.made.identity
    }


def test_a_refused_check_writes_nothing(shop):
    before = shop.path.read_bytes()
    act = acts.RecordCheck(
        instrument=shop.in_hand(shop.sheet)[0], issue=1, configuration=shop_configuration(shop), answers=()
    )
    with pytest.raises(Exception, match=r"check\.refused"):
        shop.do(act)
    assert shop.path.read_bytes() == before


def shop_configuration(bench):
    from inspection.measuring.checks import configured

    return configured(bench.issue(*bench.in_hand(bench.sheet)))


def test_nothing_is_written_for_a_sheet_that_nothing_changes(shop):
    shop.check(shop.sheet)
    shop.take(1)
    shop.check(shop.sheet, good=False)
    outcome = shop.check(shop.sheet, good=False)
    assert outcome.followed == ()


def test_another_hand_on_another_sheet_ends_a_check(shop):
    bo = shop.do(acts.EnterPerson(person=Person("", "Bo Birch", (Duty.INSPECTOR,)))).events[0].person.identity
    first = shop.sheet_id
    shop.check(shop.sheet)
    assert shop.take(1).events[0].reading.unproven == ()
    again(shop)
    shop.book.do(shop.reading(1), person=bo)
    shop.sheet_id = first
    taken = shop.take(2).events[0].reading
    assert [reason.code for reason in taken.unproven] == ["unproven.hand"]


def test_a_book_opened_again_holds_the_same(shop):
    shop.check(shop.sheet)
    shop.take(1)
    shop.check(shop.sheet, good=False)
    held = shop.book.shop()
    shop.book.close()
    look = glance(shop.path, shop.sheet_id)
    assert look is not None and look.shop == held
    with Book.open(shop.path) as again_open:
        assert again_open.shop() == held
        assert again_open.sheet(shop.sheet_id) == look.sheet
    assert verify_book(shop.path).whole


def test_only_the_newest_are_read_and_the_last_good_one(shop, monkeypatch):
    """However many there are: what is held is bounded, and the same in a book that is opened and one that went on."""
    monkeypatch.setattr(proofs, "NEWEST", 5)
    query = looking.PROOFS.replace("LIMIT 400", "LIMIT 5")
    assert query != looking.PROOFS
    monkeypatch.setattr("storage.book.journal.PROOFS", query)
    good = shop.check(shop.sheet).events[0].check
    for _ in range(8):
        shop.check(shop.sheet, good=False)
    held = shop.book.shop().proofs
    assert [each.made.passed for each in held] == [True, False, False, False, False, False]
    assert held[0] == good
    with Book.open(shop.path) as other:
        assert other.shop().proofs == held


def test_the_proofs_are_found_by_their_indexes(shop):
    with closing(sqlite3.connect(shop.path)) as connection:
        plan = "\n".join(row[3] for row in connection.execute(f"EXPLAIN QUERY PLAN {looking.PROOFS}"))
    assert "SCAN journal" not in plan, plan
    assert "journal_by_stream" in plan


def test_a_result_that_a_failed_check_put_in_question_is_told_in_its_row_s_history(shop):
    """On a sealed sheet it counts and is told; read again in a new round it is a result like any other."""
    row, part = shop.sheet.plan.characteristics[1], shop.sheet.plan.part_identity

    def suspect():
        results = shop.book.ask(results_of_characteristic, part, row.identity)
        assert shop.book.ask(results_of_part, part)[row.identity] == results
        series = series_of(row, results, shop.book.plans_of(part))
        said = {each.code: say(each) for each in findings(series, {}, {})}
        return [each.suspect for each in results], said.get("history.found.suspect", "")

    shop.check(shop.sheet)
    shop.take(1)
    shop.sign("the rest waits")
    assert suspect() == ([False], "")
    shop.check(shop.sheet, good=False)
    flags, said = suspect()
    assert flags == [True]
    assert f"piece 003 of 2026-03-02, sheet {shop.sheet_id[:8]}" in said
    shop.do(acts.Reopen(sheet=shop.sheet_id, reason="read again"))
    assert shop.book.ask(results_of_characteristic, part, row.identity) == (), "open again"
    shop.check(shop.sheet)
    shop.take(1)
    assert suspect() == ([False], "")


def test_a_sealed_sheet_is_marked_and_verifies(shop):
    shop.check(shop.sheet)
    shop.take(1)
    shop.sign("the rest waits")
    outcome = shop.check(shop.sheet, good=False)
    assert isinstance(outcome.followed[0].events[0], ev.ReadingsReopened)
    assert len(outcome.followed[0].events) == 1, "no verdict of a sealed sheet is changed"
    assert len(shop.sheet.suspect) == 1
    shop.book.close()
    assert verify_book(shop.path).whole


def test_removal_for_cause_goes_through_the_door(shop):
    shop.check(shop.sheet)
    shop.take(1)
    instrument, _ = shop.in_hand(shop.sheet)
    outcome = shop.do(acts.RemoveForCause(instrument=instrument, reason="a jaw is bent"))
    assert len(outcome.followed) == 1
    held = shop.book.shop()
    with Book.open(shop.path) as other:
        assert other.shop() == held


def test_the_kept_rules_of_an_older_sheet_stay_its_own(shop):
    """A sheet is judged by the rules it was made with."""
    rules = shop.sheet.rules
    shop.do(acts.IssueRules(rules=replace(Rules(), check_minutes=0)))
    assert shop.sheet.rules == rules
