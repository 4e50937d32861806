"""``tenthwright person``: a person shown, entered, given other duties or another key, or another passphrase."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from app.command.asked import name_of
from app.command.book_verbs import listed
from app.command.outcome import Answer
from app.command.sheets import acting, opened
from app.command.table import table
from app.command.world import KEY_FILE, MADE, NEW, World, passphrase, plain_text
from app.jobs import people
from app.jobs.hand import Hand, person_named
from app.jobs.local_time import moment
from inspection.reasons import Reason, Refused
from inspection.sheet.people import Duty, Person
from inspection.words.say import say, word
from storage.book.queries.issues_of_person import PersonIssue, issues_of_person
from storage.seals.certificate_told import CertificateTold, told_of
from storage.seals.keys import Key
from storage.seals.tries import wait_of

#: Duties as a command line names them.
DUTIES = {"inspector": Duty.INSPECTOR, "lead": Duty.LEAD, "office": Duty.OFFICE, "keeper": Duty.KEEPER}
#: Digits of a fingerprint that tell two keys apart in a table.
SHORT_PRINT = 16


def person(options: Namespace, world: World) -> Answer:
    """Show a person, or list all; with an option enter somebody, or change duties, key or passphrase."""
    done = _what(options)
    if options.name is None:
        if done is not None:
            raise Refused(Reason("command.person.name_needed"))
        return listed(options, world, "people")
    with opened(options, world, only_read=done is None) as hand:
        said = done(options, world, hand) if done is not None else ()
        shown = _asked(options, hand)
        issues = hand.book.ask(issues_of_person, shown.identity)
        now = world.clock().at
        waits = wait_of(hand.book.path, shown.identity, now)
        lines = [*said, *([""] if said else []), *_lines(hand, shown, issues, waits, now)]
        return Answer(tuple(lines), {"done": True, **_data(hand, shown, issues, waits)})


def _what(options: Namespace) -> Any:
    """What is to be done; None: the person is shown. Raises Refused for things that do not go together."""
    if options.duty and (options.change_passphrase or options.new_key or (options.key and not options.enter)):
        raise Refused(Reason("command.person.one_thing"))
    if options.enter:
        if options.new_key or options.change_passphrase:
            raise Refused(Reason("command.person.one_thing"))
        return _enter
    if options.change_passphrase:
        return _change_passphrase
    if options.new_key or options.key:
        return _give_key
    return _change_duties if options.duty else None


def _asked(options: Namespace, hand: Hand) -> Person:
    shop = hand.book.shop()
    return shop.people[person_named(shop, plain_text(options.name))]


# --- what is done -----------------------------------------------------------------------------------------------------


def _enter(options: Namespace, world: World, hand: Hand) -> tuple[str, ...]:
    name = plain_text(options.name)
    acting(options, hand)
    people.require_keeper(hand)
    people.require_new(hand, name)
    duties = [DUTIES[each] for each in options.duty] or [Duty.INSPECTOR]
    hand.book.do(people.entering(name, duties, _key(options, world, hand, name)), person=hand.person)
    return (word("command.person.entered", person=name.strip()),)


def _change_duties(options: Namespace, _world: World, hand: Hand) -> tuple[str, ...]:
    acting(options, hand)
    act = people.with_duties(_asked(options, hand), (DUTIES[each] for each in options.duty))
    hand.book.do(act, person=hand.person)
    return (word("command.person.duties", person=act.person.name, duties=", ".join(act.person.duties)),)


def _give_key(options: Namespace, world: World, hand: Hand) -> tuple[str, ...]:
    """A new key, or the one of a file, for somebody who is entered."""
    acting(options, hand)
    people.require_keeper(hand)
    held = _asked(options, hand)
    key = _key(options, world, hand, held.name)
    hand.book.do(people.with_key(hand, held.identity, key), person=hand.person)
    return (word("command.person.key", person=held.name),)


def _key(options: Namespace, world: World, hand: Hand, name: str) -> Key:
    """The key that a person is to have: made here, or the one of the file that was named."""
    if not options.key:
        return people.new_key(hand, name, passphrase(world, options.passphrase_file, name, twice=True, secret=MADE))
    path = Path(options.key)
    container = people.container_in(path)
    opens = passphrase(world, options.key_passphrase_file, plain_text(path.name), secret=KEY_FILE)
    found = people.found_key(hand, name, container, opens)
    return people.kept_key(found, passphrase(world, options.passphrase_file, name, twice=True, secret=MADE))


def _change_passphrase(options: Namespace, world: World, hand: Hand) -> tuple[str, ...]:
    """One's own passphrase, whoever else is named."""
    held = _asked(options, hand)
    if options.person and person_named(hand.book.shop(), plain_text(options.person)) != held.identity:
        raise Refused(Reason("command.person.own", {"person": held.name}))
    hand.person = held.identity
    people.require_no_wait(hand)
    old = passphrase(world, options.passphrase_file, held.name)
    new = passphrase(world, options.new_passphrase_file, held.name, twice=True, secret=NEW)
    hand.book.do(people.with_passphrase(hand, old, new), person=hand.person)
    return (word("command.person.passphrase", person=held.name),)


# --- what is shown ----------------------------------------------------------------------------------------------------


def _lines(hand: Hand, shown: Person, issues: list[PersonIssue], waits: int, now: int) -> Iterator[str]:
    told = told_of(shown.certificate)
    yield shown.name
    for label, text in _facts(shown, told, now):
        yield f"  {word(f'command.person.label.{label}'):<12}  {text}"
    if waits:
        yield f"  {say(Reason('seal.next_try', {'n': waits}))}"
    if len(issues) > 1:
        heads = [word(f"command.person.head.{head}") for head in ("when", "by", "duties", "key")]
        rows = [[moment(one.at), name_of(hand, one.by), ", ".join(one.duties), _print(one)] for one in issues]
        yield from ("", *table(heads, rows))


def _facts(shown: Person, told: CertificateTold | None, now: int) -> Iterator[tuple[str, str]]:
    yield "duties", ", ".join(shown.duties)
    if told is None:
        yield "key", word("command.person.no_key")
        return
    own = told.issuer == told.name
    yield "key", word("command.person.own_key") if own else word("command.person.issued", issuer=told.issuer)
    yield "good", word("command.person.from_to", first=_day(told.first), last=_day(told.last)) + _over(told, now)
    yield "fingerprint", told.fingerprint


def _over(told: CertificateTold, now: int) -> str:
    return "" if told.first <= now <= told.last else f" – {word('command.person.out_of_time')}"


def _day(at: int) -> str:
    return datetime.fromtimestamp(at // 1_000_000, UTC).date().isoformat()


def good_until(shown: Person) -> str:
    """The last day of a person's certificate (ISO), empty without one."""
    told = told_of(shown.certificate)
    return _day(told.last) if told is not None else ""


def _print(one: PersonIssue) -> str:
    told = told_of(one.certificate)
    return told.fingerprint[:SHORT_PRINT] if told is not None else ""


def _data(hand: Hand, shown: Person, issues: list[PersonIssue], waits: int) -> dict[str, Any]:
    told = told_of(shown.certificate)
    return {
        "person": shown.identity,
        "name": shown.name,
        "duties": list(shown.duties),
        "issuer": told.issuer if told else "",
        "good_from": _day(told.first) if told else "",
        "good_until": _day(told.last) if told else "",
        "fingerprint": told.fingerprint if told else "",
        "wait": waits,
        "issues": [
            {
                "at": one.at,
                "by": name_of(hand, one.by),
                "duties": list(one.duties),
                "fingerprint": (told_of(one.certificate) or _NOTHING).fingerprint,
            }
            for one in issues
        ],
    }


_NOTHING = CertificateTold("", "", 0, 0, "")
