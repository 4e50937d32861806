"""Two leads state the same of one sheet at one moment, each at a station of their own: one does, the other is told."""

from __future__ import annotations

import threading

from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet.review import StatementKind
from storage.book.door import Book
from storage.book.verify import verify_book
from storage.seals.keys import unlock
from tests.book.conftest import PASSPHRASE


def test_one_of_two_statements_is_made_and_the_other_refused(bench):
    bench.make_sheet(2, ("001",))
    bench.take(0)
    bench.take(1)
    bench.sign()
    act = acts.MakeStatement(sheet=bench.sheet_id, kind=StatementKind.APPROVED)
    person, both, came = bench.book.shop().people[bench.person], threading.Barrier(2), {}

    def state(station: str) -> None:
        with Book.open(bench.path, station=station) as book:
            assert not book.sheet(bench.sheet_id).statements
            sign = unlock(person, PASSPHRASE)
            both.wait(10)
            try:
                came[station] = book.do(act, person=bench.person, sign=sign).events
            except Refused as refused:
                came[station] = [reason.code for reason in refused.reasons]

    stations = [threading.Thread(target=state, args=(name,)) for name in ("north", "south")]
    for each in stations:
        each.start()
    for each in stations:
        each.join(30)
    refused = [found for found in came.values() if isinstance(found, list)]
    assert len(came) == 2 and len(refused) == 1
    assert refused[0] in (["review.stated_already"], ["life.approved"]), refused
    assert [each.kind for each in bench.sheet.statements] == [StatementKind.APPROVED]
    bench.book.close()
    assert verify_book(bench.path).whole
