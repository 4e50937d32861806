"""A sheet signed, and statements signed of it: the person's key unlocked with their passphrase, and the act done."""

from __future__ import annotations

from msgspec import Struct

from app.jobs.document import USUALLY, Making, Progress, sign_document
from app.jobs.hand import Hand
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.document_life import to_be_signed
from inspection.sheet.people import Person
from inspection.sheet.review import StatementKind
from inspection.sheet.state import Sheet
from storage.book.failures import BookFailure
from storage.seals.keys import Unlocked, require_in_time, unlocked
from storage.seals.tries import one_try, require_no_wait


class Signed(Struct, frozen=True):
    """A sheet as it stands once it was signed, and what is to be said where its PDF could not be signed as well."""

    sheet: Sheet
    notices: tuple[Reason, ...] = ()


def sign(
    hand: Hand,
    sheet: str,
    passphrase: str,
    *,
    incomplete: str = "",
    making: Making = USUALLY,
    progress: Progress | None = None,
) -> Signed:
    """Sign a sheet as it stands, and its PDF; with rows open ``incomplete`` must say why.

    Raises Refused (the passphrase, the wait after wrong ones, a certificate that is over, the rules) or BookFailure;
    the sheet is as it was then.
    """
    return _signed(hand, acts.SignSheet(sheet=sheet, incomplete=incomplete), passphrase, making, progress)


def state(
    hand: Hand,
    sheet: str,
    kind: StatementKind,
    passphrase: str,
    *,
    words: str = "",
    making: Making = USUALLY,
    progress: Progress | None = None,
) -> Signed:
    """Make one statement of a signed sheet, and sign it and its PDF. Raises as ``sign`` does."""
    return _signed(hand, acts.MakeStatement(sheet=sheet, kind=kind, words=words), passphrase, making, progress)


def sign_pdf(
    hand: Hand, sheet: str, passphrase: str, making: Making = USUALLY, progress: Progress | None = None
) -> Sheet:
    """Sign a sheet's PDF alone, for what the person signed in the book before. Raises Refused or BookFailure."""
    require_unsigned(hand, sheet)
    return sign_document(hand, sheet, key_of(hand, passphrase), making, progress)


def require_unsigned(hand: Hand, sheet: str) -> None:
    """Raise Refused where the PDF of a sheet lacks nothing that the person whose hand it is signed."""
    if not to_be_signed(hand.book.sheet(sheet), hand.person):
        raise Refused(Reason("document.nothing_left", {"person": hand.book.shop().people[hand.person].name}))


def _signed(
    hand: Hand, act: acts.SignSheet | acts.MakeStatement, passphrase: str, making: Making, progress: Progress | None
) -> Signed:
    key = key_of(hand, passphrase)
    outcome = hand.book.do(act, person=hand.person, sign=key.sign)
    assert outcome.sheet is not None
    try:
        return Signed(sign_document(hand, act.sheet, key, making, progress))
    except (Refused, BookFailure) as failed:  # what is signed in the book stays signed
        full = any(reason.code == "document.no_field_left" for reason in failed.reasons)
        to_do = () if full else (Reason("document.not_made"),)  # a PDF without a field left takes none later either
        return Signed(outcome.sheet, (*failed.reasons, *to_do))


def key_of(hand: Hand, passphrase: str) -> Unlocked:
    """The key of the person whose hand it is, opened; every wrong passphrase is counted. Raises Refused."""
    person, now = hand.book.shop().people[hand.person], hand.foreseen.now().at
    require_in_time(person, now)
    with one_try(hand.book.path, person, now):
        return unlocked(person, passphrase)


def may_sign(hand: Hand) -> Person:
    """The person whose hand it is, if their passphrase is worth asking for now: there is a key, its certificate is
    good, and no wait is under way. Raises Refused."""
    person, now = hand.book.shop().people[hand.person], hand.foreseen.now().at
    require_in_time(person, now)
    require_no_wait(hand.book.path, person, now)
    return person
