"""Checks carried out on a book: set up as last time, near the sheet's rows, and what a failed one does to a sealed
sheet."""

from __future__ import annotations

import itertools
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest
from msgspec.structs import replace

from app.jobs.checking import alive, begun, record
from app.jobs.hand import Hand
from app.jobs.opening_shop import open_shop
from app.jobs.reading_in import read_in
from app.jobs.reading_template import rows_to_fill
from app.jobs.signing import sign
from app.jobs.taking_in import take_in
from inspection.instruments.record import Instrument
from inspection.measuring.checks_told import Told, answered
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.measuring.verdict import Verdict
from inspection.sheet import acts
from inspection.sheet.people import Person
from storage.book.clock import Moment
from storage.intake.features import read_features
from storage.intake.readings import read_readings

FEATURES = """\
# part,QF-11
# revision,A
# serials,A1
number,kind,requirement
1,outside diameter,⌀.7500 ±.0005
2,length,.250 ±.005
3,length,3.250 ±.005
"""
GOOD = Told(all_seen=True, zeros="0 0 0", block=".75", readings=".75 .75 .75")
BAD = Told(all_seen=True, zeros="0 0 0", block=".75", readings=".753 .753 .753")
SECRET = "long enough"


@pytest.fixture
def hand(tmp_path: Path) -> Iterator[Hand]:
    minutes, numbers = itertools.count(30_000_000), itertools.count(1)
    made = Hand.new(
        tmp_path / "book",
        lambda: Moment(next(minutes) * 60_000_000, "2027-01-15"),
        lambda: str(uuid.UUID(int=next(numbers), version=4)),
    )
    with made as hand:
        open_shop(hand, shop="Shop", person="Ada", passphrase=SECRET, starter_crib=True)
        take_in(hand, read_features(FEATURES.encode(), "f.csv"))
        yield hand


def tagged(hand: Hand, tag: str) -> Instrument:
    found = hand.book.shop().by_tag(tag)
    assert found is not None
    return found


def sheet_of(hand: Hand) -> str:
    from storage.book.queries.sheets import list_sheets

    (listed,) = hand.book.ask(list_sheets, limit=2)
    return listed.sheet


def read(hand: Hand, *rows: str) -> None:
    text = "\n".join(["number,reading", *rows, ""])
    read_in(hand, sheet_of(hand), read_readings(text.encode(), "r.csv"))


def test_the_block_is_near_the_tightest_row_of_the_sheet(hand: Hand) -> None:
    micrometer = tagged(hand, "M-01")
    near = begun(hand, micrometer, closing=False, sheet=sheet_of(hand))
    assert near.size == 19_050_000_000  # of row 1
    assert near.standard is not None and near.standard.size == 19_050_000_000
    assert begun(hand, micrometer, closing=False).size is None
    assert begun(hand, tagged(hand, "M-31"), closing=False, sheet=sheet_of(hand)).size is None  # not on the route


def test_it_is_set_up_as_this_person_last_checked_it(hand: Hand) -> None:
    caliper = tagged(hand, "C-05")
    told = Told(all_seen=True, zeros="0 0 0", block="25", standard="G-9", readings="25 25 25")
    first = begun(hand, caliper, unit="mm", fitted="long jaws", closing=False)
    record(hand, answered(first, told))
    again = begun(hand, caliper, closing=False)
    assert (again.configuration.unit, again.configuration.fitted) == ("mm", "long jaws")
    assert begun(hand, caliper, fitted="", closing=False).configuration.fitted == ""
    other = hand.book.do(acts.EnterPerson(person=Person("", "Bo")), person=hand.person).shop.people
    bo = Hand(hand.book, hand.foreseen)
    bo.person = next(identity for identity in other if identity != hand.person)
    assert begun(bo, caliper, closing=False).configuration.unit == "in"


def test_a_check_serves_until_it_is_too_old(hand: Hand) -> None:
    micrometer = tagged(hand, "M-01")
    assert alive(hand, micrometer).why is not None
    done = record(hand, answered(begun(hand, micrometer, closing=False), GOOD))
    assert alive(hand, micrometer).serves
    assert alive(hand, micrometer).until == done.check.at + 480 * 60_000_000
    for _ in range(240):
        hand.foreseen.clock()
    assert alive(hand, micrometer).serves
    for _ in range(240):
        hand.foreseen.clock()
    found = alive(hand, micrometer)
    assert (found.serves, found.why and found.why.code) == (False, "check.dead.aged")


def test_on_a_signed_sheet_readings_are_marked_and_the_verdict_stands(hand: Hand) -> None:
    micrometer = tagged(hand, "M-01")
    record(hand, answered(begun(hand, micrometer, closing=False), GOOD))
    read(hand, "1,.7500", "2,.2500", "3,3.2500")
    sheet = sheet_of(hand)
    sign(hand, sheet, SECRET)
    done = record(hand, answered(begun(hand, micrometer, closing=False), BAD), sheet)
    assert [(cell.number, cell.serial, cell.sealed) for cell in done.reopened] == [("1", "A1", True)]
    assert done.rechosen == ()
    cell = done.reopened[0].readings[0]
    assert hand.book.sheet(sheet).judgement(cell.characteristic, cell.piece).verdict is Verdict.CONFORMING


def test_a_template_asks_for_the_repeats_that_were_set_after_a_doubt(hand: Hand) -> None:
    sheet = sheet_of(hand)
    rule = acts.ChooseDecisionRule(sheet=sheet, decision=DecisionRule(RuleKind.GUARDED), reason="agreed")
    hand.book.do(rule, person=hand.person)
    read(hand, "3,3.2545")
    state = hand.book.sheet(sheet)
    row, piece = state.plan.characteristics[2].identity, state.pieces[0].identity
    hand.book.do(acts.DeclareRepeats(sheet=sheet, characteristic=row, piece=piece, repeats=3), person=hand.person)
    filled = rows_to_fill(hand.book.shop(), hand.book.sheet(sheet))
    assert [each["repeat"] for each in filled if each["number"] == "3"] == ["2", "3"]
    read(hand, "3,3.2545", "3,3.2540")
    judgement = hand.book.sheet(sheet).judgement(row, piece)
    assert judgement.of == 3


def test_what_a_check_does_to_the_choice_is_told(hand: Hand) -> None:
    """A micrometer that scatters by tenths is no longer the best for ± .0005."""
    shaky = replace(GOOD, zeros="0 .0001 0", readings=".75 .75 .7501")
    done = record(hand, answered(begun(hand, tagged(hand, "M-01"), closing=False), shaky), sheet_of(hand))
    assert done.check.made.passed
    for each in done.rechosen:
        assert each.was == "M-01" != each.now
    chosen = hand.book.sheet(sheet_of(hand)).assignments
    rows = {row.number: row.identity for row in hand.book.sheet(sheet_of(hand)).plan.characteristics}
    for each in done.rechosen:
        assessment = chosen[rows[each.number]].assessment
        assert assessment is not None
        assert hand.book.shop().crib[assessment.method.parts[0].identity].tag == each.now
