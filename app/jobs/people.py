"""People entered, their duties changed, and their keys: made, made anew where one is lost or over, brought along,
locked under another passphrase. Every change is a further issue of the person; what was signed before stays valid."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from msgspec.structs import replace

from app.jobs.hand import Hand
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.people import Duty, Person
from inspection.sheet.steps import not_now
from storage.seals import keys
from storage.seals.brought_keys import FoundKey, find_key, keep_key
from storage.seals.keys import Key, make_key
from storage.seals.tries import one_try
from storage.seals.tries import require_no_wait as waited_for

#: A key with its certificates takes some kilobytes; what is larger is another file (bytes).
LARGEST_KEY_FILE = 1_000_000


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


def container_in(file: Path) -> bytes:
    """The bytes of a file that a key is to be in. Raises BookFailure if it cannot be read, Refused if it is too large
    for one."""
    from storage.files import read_file

    if file.is_file() and file.stat().st_size > LARGEST_KEY_FILE:
        raise Refused(Reason("brought.unreadable"))
    return read_file(file)


def found_key(hand: Hand, name: str, container: bytes, opens: str) -> FoundKey:
    """The key of a PKCS#12 file for the person of this name, not locked yet; ``opens`` is the passphrase of the file.
    Raises Refused; see ``find_key``."""
    return find_key(name.strip(), container, opens, hand.foreseen.now().at)


def kept_key(found: FoundKey, passphrase: str) -> Key:
    """A key that was found, under the person's own passphrase. Raises Refused for the passphrase."""
    return keep_key(found, passphrase).key


def _in_order(duties: Iterable[Duty]) -> tuple[Duty, ...]:
    wanted = set(duties)
    return tuple(duty for duty in Duty if duty in wanted)
