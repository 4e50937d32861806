"""Two leads decide on one sheet at one moment, each at a station of their own: one does, the other is told why not."""

from __future__ import annotations

import threading

import pytest

from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet.people import Duty, Person
from inspection.sheet.review import Returned, StatementKind
from inspection.words.say import say
from storage.book.door import Book
from storage.book.verify import verify_book
from storage.seals.keys import make_key, unlock
from tests.book.conftest import NOON, PASSPHRASE

LEADS = ("Lea Lund", "Tom Tarn")


def approving(sheet: str) -> acts.AnyAct:
    return acts.MakeStatement(sheet=sheet, kind=StatementKind.APPROVED)


def returning(sheet: str) -> acts.AnyAct:
    return acts.ReturnSheet(sheet=sheet, rows=(Returned("", "", "read row 1 at both ends"),))


@pytest.mark.parametrize("second", [approving, returning])
def test_one_of_two_leads_decides_and_the_other_is_told(bench, second):
    bench.make_sheet(2, ("001",))
    bench.take(0)
    bench.take(1)
    bench.sign()
    for name in LEADS:
        key = make_key(name, PASSPHRASE, NOON)
        entered = Person("", name, (Duty.LEAD,), certificate=key.certificate, locked_key=key.locked_key)
        bench.do(acts.EnterPerson(person=entered))
    people = {each.name: each for each in bench.book.shop().people.values()}
    both, came = threading.Barrier(2), {}

    def decide(name: str, act: acts.AnyAct) -> None:
        with Book.open(bench.path, station=name) as book:
            assert not book.sheet(bench.sheet_id).statements
            sign = unlock(people[name], PASSPHRASE) if isinstance(act, acts.MakeStatement) else None
            both.wait(10)
            try:
                came[name] = book.do(act, person=people[name].identity, sign=sign).events
            except Refused as refused:
                came[name] = refused.reasons

    wanted = dict(zip(LEADS, (approving(bench.sheet_id), second(bench.sheet_id)), strict=True))
    stations = [threading.Thread(target=decide, args=each) for each in wanted.items()]
    for each in stations:
        each.start()
    for each in stations:
        each.join(30)
    told = {name: found for name, found in came.items() if all(hasattr(each, "code") for each in found)}
    assert len(came) == 2 and len(told) == 1
    (loser, (reason, *_)), sheet = next(iter(told.items())), bench.sheet
    winner = next(name for name in LEADS if name != loser)
    assert "[" not in say(reason)
    if isinstance(wanted[winner], acts.MakeStatement):
        assert reason.code in ("review.stated_already", "life.approved")
        assert [each.by for each in sheet.statements] == [people[winner].identity] and not sheet.returns
    else:
        assert reason.code == "life.not_sealed"
        assert not sheet.statements and [each.by for each in sheet.returns] == [people[winner].identity]
    bench.book.close()
    assert verify_book(bench.path).whole
