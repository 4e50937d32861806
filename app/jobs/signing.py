"""A sheet signed, and statements signed of it: the person's key unlocked with their passphrase, and the act done."""

from __future__ import annotations

from app.jobs.hand import Hand
from inspection.sheet import acts
from inspection.sheet.acts import AnyAct
from inspection.sheet.people import Person
from inspection.sheet.review import StatementKind
from inspection.sheet.state import Sheet
from storage.seals.keys import Sign, require_in_time, unlock
from storage.seals.tries import one_try, require_no_wait


def sign(hand: Hand, sheet: str, passphrase: str, *, incomplete: str = "") -> Sheet:
    """Sign a sheet as it stands and return it sealed; with rows open ``incomplete`` must say why.

    Raises Refused (the passphrase, the wait after wrong ones, a certificate that is over, the rules) or BookFailure;
    the sheet is as it was then.
    """
    return _signed(hand, acts.SignSheet(sheet=sheet, incomplete=incomplete), passphrase)


def state(hand: Hand, sheet: str, kind: StatementKind, passphrase: str, *, words: str = "") -> Sheet:
    """Make one statement of a signed sheet, sign it, and return the sheet. Raises as ``sign`` does."""
    return _signed(hand, acts.MakeStatement(sheet=sheet, kind=kind, words=words), passphrase)


def _signed(hand: Hand, act: AnyAct, passphrase: str) -> Sheet:
    outcome = hand.book.do(act, person=hand.person, sign=key_of(hand, passphrase))
    assert outcome.sheet is not None
    return outcome.sheet


def key_of(hand: Hand, passphrase: str) -> Sign:
    """What signs with the key of the person whose hand it is; every wrong passphrase is counted. Raises Refused."""
    person, now = hand.book.shop().people[hand.person], hand.foreseen.now().at
    require_in_time(person, now)
    with one_try(hand.book.path, person, now):
        return unlock(person, passphrase)


def may_sign(hand: Hand) -> Person:
    """The person whose hand it is, if their passphrase is worth asking for now: there is a key, its certificate is
    good, and no wait is under way. Raises Refused."""
    person, now = hand.book.shop().people[hand.person], hand.foreseen.now().at
    require_in_time(person, now)
    require_no_wait(hand.book.path, person, now)
    return person
