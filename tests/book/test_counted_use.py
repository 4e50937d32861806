"""An interval by use bars as a due date does: what was read as often as it may be is no longer for acceptance, told by
the count at each reading's own time, whoever read it and wherever; a new certificate begins anew. Common practice: an
interval is a time or a number of uses, whichever comes first (ILAC-G24 / OIML D 10:2007, from memory)."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from inspection.measuring.verdict import Verdict
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet.pull_list import pull_list
from inspection.words.say import say
from storage.book.door import Book
from storage.book.verify import verify_book

NOON = 1_772_452_800_000_000  # when the bench's clock begins, 2026-03-02


def limited(bench, most=2, **more):
    """The instrument of the second row, calibrated anew after so many readings."""
    bench.make_sheet()
    identity, _ = bench.in_hand(bench.sheet)
    held = bench.book.shop().crib[identity]
    one = replace(held, every_readings=most, certified="2026-03-02", certificate="K-1", **more)
    bench.do(acts.IssueInstrument(instrument=one))
    return identity


def verdict(outcome, place, piece=0):
    sheet = outcome.sheet
    return sheet.judgement(sheet.plan.characteristics[place].identity, sheet.pieces[piece].identity)


def pull_of(bench):
    """What is fetched for the sheet."""
    sheet, shop = bench.sheet, bench.book.shop()
    return pull_list(sheet.plan.characteristics, sheet.assignments, sheet.stops, shop.crib, "2026-03-02", shop.used_up)


def read_with(bench, place, piece=0, **more):
    """A reading with the second row's instrument, whatever the row's own is."""
    row = bench.sheet.plan.characteristics[1].identity
    method = bench.sheet.assignments[row].assessment.method
    return bench.reading(place, piece, method=method, reason="what is at hand", **more)


def test_the_reading_after_the_last_one_allowed_is_an_indication_and_leaves_its_row_open(bench):
    identity = limited(bench)
    first = bench.do(read_with(bench, 0))
    assert not first.shop.used_up
    second = bench.do(read_with(bench, 1))
    assert second.shop.used_up == {identity: 2}, "told as soon as it is so"
    third = bench.do(read_with(bench, 2))
    assert [verdict(each, place).verdict is Verdict.OPEN for place, each in enumerate((first, second, third))] == [
        False, False, True,
    ]  # fmt: skip
    assert [each.indication for each in third.sheet.readings.values()] == [False, False, True]
    # what was judged before stays as it was, also when its cell is judged again
    bench.do(acts.Reweigh(sheet=bench.sheet_id))
    assert verdict(second, 1) == bench.sheet.judgement(
        bench.sheet.plan.characteristics[1].identity, bench.sheet.pieces[0].identity
    )
    assert not verify_book(bench.path).faults


def test_nobody_is_given_it_and_the_choice_says_why(bench):
    identity = limited(bench)
    assigned = bench.sheet.assignments[bench.sheet.plan.characteristics[1].identity].assessment
    for place in (0, 1):
        bench.do(read_with(bench, place))
    made = bench.do(acts.MakeSheet(plan=bench.sheet.plan.identity, serials=("009",)))
    (minded,) = (each for each in pull_of(bench).pulls if each.instrument.identity == identity)
    assert [each.code for each in minded.minds] == ["pull.used_up"], "the sheet was planned before"
    given = {each.assessment.method.parts[0].identity for each in made.sheet.assignments.values() if each.assessment}
    assert given and identity not in given
    act = acts.ChooseInstrument(
        sheet=made.stream,
        characteristic=made.sheet.plan.characteristics[1].identity,
        method=assigned.method,
        reason="it lies here",
    )
    with pytest.raises(Refused) as refused:
        bench.do(act)
    assert "was read 2 times since its certificate, of 2 that its interval allows" in say(refused.value.reasons[-1])


def test_it_counts_what_another_station_reads_and_what_one_file_reads(bench, tmp_path):
    identity = limited(bench, most=3)
    with Book.open(bench.path, clock=bench.time.clock, station="bench 2") as other:
        other.do(read_with(bench, 0), person=bench.person)
    done = bench.book.do_all(
        [read_with(bench, place, piece) for place, piece in ((1, 0), (2, 0), (3, 0))], person=bench.person
    )
    assert [each.indication for each in done[-1].sheet.readings.values()] == [False, False, False, True]
    with Book.open(bench.path) as again:
        assert again.shop() == bench.book.shop() and again.shop().used_up == {identity: 4}


def test_a_reading_is_told_by_the_count_at_its_own_time_and_a_new_certificate_begins_anew(bench):
    identity = limited(bench)
    for place in (0, 1):
        bench.do(read_with(bench, place))
    late = bench.do(read_with(bench, 2, taken=NOON + 1, day="2026-03-02"))  # typed in later, taken before both
    assert [each.indication for each in late.sheet.readings.values()] == [False, False, False]
    held, bench.time.day = bench.book.shop().crib[identity], "2026-03-03"
    certified = bench.do(acts.IssueInstrument(instrument=replace(held, certificate="K-2", certified="2026-03-03")))
    assert not certified.shop.used_up
    after = bench.do(read_with(bench, 3))
    assert [each.indication for each in after.sheet.readings.values()][-1] is False
