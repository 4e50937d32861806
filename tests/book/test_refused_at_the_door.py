"""The door itself keeps out who may not, whatever a window would have shown: acts are sent to it as any program could,
in somebody's name, and the book on disk stays as it was, byte for byte.

Who may do what is written out in ``tests/sheet/test_who_may.py``; here a handful of its lines are tried at the door.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from msgspec.structs import replace

from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet.head import Head
from inspection.sheet.people import Duty, Person
from inspection.sheet.review import Returned, StatementKind
from storage.seals.keys import unlock
from tests.book.conftest import PASSPHRASE


def stating(bench: Any) -> acts.MakeStatement:
    return acts.MakeStatement(sheet=bench.sheet.identity, kind=StatementKind.APPROVED)


def returning(bench: Any) -> acts.ReturnSheet:
    return acts.ReturnSheet(sheet=bench.sheet.identity, rows=(Returned("", "", "once more"),))


#: At which state of a sheet, with which duty, what is sent, and what is said of it.
SENT: tuple[tuple[str, Duty, Callable[[Any], acts.Act], str], ...] = (
    ("open", Duty.OFFICE, lambda bench: bench.reading(0), "life.duty"),
    ("open", Duty.KEEPER, lambda bench: acts.SignSheet(sheet=bench.sheet.identity), "life.duty"),
    ("open", Duty.INSPECTOR, lambda bench: acts.IssueRules(rules=bench.book.shop().rules), "life.duty"),
    ("open", Duty.LEAD, stating, "life.not_sealed"),
    ("signed", Duty.INSPECTOR, stating, "life.duty"),
    ("signed", Duty.OFFICE, returning, "life.duty"),
    ("signed", Duty.LEAD, lambda bench: bench.reading(0), "life.sealed"),
    ("signed", Duty.OFFICE, lambda bench: acts.WriteHead(sheet=bench.sheet.identity, head=Head()), "life.sealed"),
    ("signed", Duty.INSPECTOR, lambda bench: acts.AmendSheet(amended=bench.sheet.identity, reason="x"), "life.duty"),
    ("approved", Duty.LEAD, returning, "life.approved"),
    ("approved", Duty.INSPECTOR, lambda bench: acts.Reopen(sheet=bench.sheet.identity, reason="x"), "life.approved"),
)


def test_the_door_keeps_out_who_may_not(bench: Any) -> None:
    bench.make_sheet(rows=1, serials=("001",))
    owner = bench.book.shop().people[bench.person]
    names = {duty: entered(bench, owner, duty) for duty in Duty}
    bring = {"open": lambda: None, "signed": lambda: signed(bench), "approved": lambda: approved(bench)}
    sign = unlock(owner, PASSPHRASE)
    for state, come_there in bring.items():
        come_there()
        for _, duty, make, code in (line for line in SENT if line[0] == state):
            act, before = make(bench), bench.path.read_bytes()
            with pytest.raises(Refused) as refused:
                bench.book.do(act, person=names[duty], sign=sign)
            assert [reason.code for reason in refused.value.reasons] == [code], (state, duty, act)
            with pytest.raises(Refused) as refused:
                bench.book.do(act, person="nobody in this book", sign=sign)
            assert [reason.code for reason in refused.value.reasons] == ["life.nobody"]
            assert bench.path.read_bytes() == before


def entered(bench: Any, owner: Person, duty: Duty) -> str:
    """Somebody with one duty; the key is the owner's, which is tried where a duty is missing all the same."""
    named = replace(owner, identity=f"only {duty.value}", name=f"only {duty.value}", duties=(duty,))
    bench.do(acts.EnterPerson(person=named))
    return str(named.identity)


def signed(bench: Any) -> None:
    bench.take(0)
    bench.sign()


def approved(bench: Any) -> None:
    bench.state(StatementKind.APPROVED)
