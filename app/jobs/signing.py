"""A sheet signed: the person's key unlocked with their passphrase, and the sheet sealed."""

from __future__ import annotations

from app.jobs.hand import Hand
from inspection.sheet import acts
from inspection.sheet.state import Sheet
from storage.seals.keys import unlock


def sign(hand: Hand, sheet: str, passphrase: str, *, incomplete: str = "") -> Sheet:
    """Sign a sheet as it stands and return it sealed; with rows open ``incomplete`` must say why.

    Raises Refused (the passphrase, the rules) or BookFailure; the sheet is as it was then.
    """
    person = hand.book.shop().people[hand.person]
    act = acts.SignSheet(sheet=sheet, incomplete=incomplete)
    outcome = hand.book.do(act, person=hand.person, sign=unlock(person, passphrase))
    assert outcome.sheet is not None
    return outcome.sheet
