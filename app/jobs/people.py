"""People entered, their duties changed, and their keys: made, made anew where one is lost or over, brought along,
locked under another passphrase. Every change is a further issue of the person; what was signed before stays valid."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec.structs import replace

from app.jobs.hand import Hand
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.people import Duty, Person
from inspection.sheet.steps import not_now
from storage.seals import keys
from storage.seals.brought_keys import bring_key
from storage.seals.keys import Key, make_key
from storage.seals.tries import one_try
from storage.seals.tries import require_no_wait as waited_for


def require_keeper(hand: Hand) -> None:
    """Raise Refused where the person whose hand it is may not enter people or issue them anew: before a passphrase is
    asked for in vain."""
    against = not_now(hand.book.shop(), None, acts.EnterPerson, hand.person)
    if against is not None:
        raise Refused(against)


def require_no_wait(hand: Hand) -> None:
    """Raise Refused while the person whose hand it is has to wait after wrong passphrases."""
    waited_for(hand.book.path, hand.book.shop().people[hand.person], hand.foreseen.now().at)


def require_new(hand: Hand, name: str) -> None:
    """Raise Refused where the shop knows somebody of this name, in whatever case."""
    known = {person.name.casefold(): person.name for person in hand.book.shop().people.values()}
    if name.strip().casefold() in known:
        raise Refused(Reason("person.known", {"person": known[name.strip().casefold()]}))


def entering(name: str, duties: Iterable[Duty], key: Key) -> acts.EnterPerson:
    """The act that enters a person with a key of their own."""
    person = Person("", name.strip(), _in_order(duties), certificate=key.certificate, locked_key=key.locked_key)
    return acts.EnterPerson(person=person)


def with_duties(person: Person, duties: Iterable[Duty]) -> acts.EnterPerson:
    """The act that gives a person these duties from now on. Raises Refused where they are the same."""
    wanted = _in_order(duties)
    if set(wanted) == set(person.duties):
        raise Refused(Reason("person.same_duties", {"person": person.name, "duties": ", ".join(wanted)}))
    return acts.EnterPerson(person=replace(person, duties=wanted))


def with_passphrase(hand: Hand, old: str, new: str) -> acts.EnterPerson:
    """The act that locks the key of the person whose hand it is under another passphrase: the same key and certificate.
    A wrong ``old`` one is counted. Raises Refused."""
    person = hand.book.shop().people[hand.person]
    with one_try(hand.book.path, person, hand.foreseen.now().at):
        key = keys.change_passphrase(person, old, new)
    return acts.EnterPerson(person=replace(person, locked_key=key.locked_key))


def with_key(hand: Hand, person: str, key: Key) -> acts.EnterPerson:
    """The act that lets a person (their identity) sign with this key, and no other, from now on. They stay what they
    are by now, whatever they were when a passphrase was asked for."""
    now = hand.book.shop().people[person]
    return acts.EnterPerson(person=replace(now, certificate=key.certificate, locked_key=key.locked_key))


def new_key(hand: Hand, name: str, passphrase: str) -> Key:
    """A new key for the person of this name, good from now on. Raises Refused for the passphrase."""
    return make_key(name.strip(), passphrase, hand.foreseen.now().at)


def brought_key(hand: Hand, name: str, container: bytes, opens: str, passphrase: str) -> Key:
    """The key of a PKCS#12 file for the person of this name; see ``bring_key``."""
    return bring_key(name.strip(), container, opens, passphrase, hand.foreseen.now().at).key


def _in_order(duties: Iterable[Duty]) -> tuple[Duty, ...]:
    wanted = set(duties)
    return tuple(duty for duty in Duty if duty in wanted)
