"""Questions about people and books: who is at the bench, their keys, which book, what a new book needs."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtWidgets import QWidget

from app.window.asking import Fault, Field, Question, Sort, ask
from app.window.words import word

if TYPE_CHECKING:
    from app.background.opening import NewBook
    from app.jobs.hand import Foreseen, Hand
    from app.window.house import House
    from inspection.reasons import Reason
    from inspection.sheet.acts import EnterPerson
    from inspection.sheet.state import Shop
    from storage.book.door import Book
    from storage.seals.keys import Key

PATTERN = "*.tenthwright"
#: Where a key comes from.
_HERE, _BROUGHT = "here", "brought"


def ask_person(parent: QWidget, shop: Shop, current: str) -> str:
    """The identity of the person at the bench, "" if none was chosen."""
    known = tuple((identity, person.name) for identity, person in shop.people.items())
    field = Field("person", word("person.field"), Sort.CHOICE, current, known)
    question = Question(word("person.title"), word("person.text"), (field,), word("person.yes"), word("button.no"))
    answer = ask(parent, question)
    return answer["person"] if answer else ""


def ask_book(parent: QWidget, current: Path | None) -> Path | None:
    """The path of a book to open."""
    start = str(current) if current is not None else ""
    field = Field("path", word("book.open.field"), Sort.OPEN_FILE, start, files=PATTERN)
    answer = ask(parent, Question(word("book.open.title"), "", (field,), word("book.open.yes"), word("button.no")))
    return Path(answer["path"]).expanduser() if answer else None


def ask_new_book(parent: QWidget, current: Path | None) -> NewBook | None:
    """What a new book needs, checked as far as it can be before it is made."""
    from app.background.opening import NewBook

    free = str(current) if current is not None and not current.exists() else ""
    folder = current.parent if current is not None else Path()
    fields = (
        Field("shop", word("book.new.shop")),
        Field("person", word("book.new.person")),
        *_new_passphrase(),
        Field("path", word("book.new.file"), Sort.SAVE_FILE, free, files=PATTERN),  # last: mostly it stays as it is
    )
    question = Question(
        word("book.new.title"),
        word("book.new.text"),
        fields,
        word("book.new.yes"),
        word("button.no"),
        check=lambda answer: _fault_of_new(answer, folder),
    )
    answer = ask(parent, question)
    if answer is None:
        return None
    place = _new_place(answer["path"], folder)
    return NewBook(place, answer["shop"].strip(), answer["person"].strip(), answer["passphrase"])


def _new_place(text: str, folder: Path) -> Path:
    """Where a new book is made: a bare name lies in ``folder`` and gets the ending by which books are found."""
    place = folder / Path(text).expanduser()
    return place if place.suffix else place.with_suffix(PATTERN.lstrip("*"))


# --- people and their keys ------------------------------------------------------------------------------------------


class PersonWork(NamedTuple):
    """What is made on the book's thread, by the person at the bench ``by``: the act on the person named ``name``."""

    name: str
    by: str
    foreseen: Foreseen
    make: Callable[[Hand], EnterPerson]

    def run(self, book: Book) -> EnterPerson:
        """Raises Refused or BookFailure."""
        from app.jobs.hand import Hand

        hand = Hand(book, self.foreseen, self.by)
        return self.make(hand)


def against_entering(house: House) -> Reason | None:
    """Why the person at the bench may not enter people, or give them a key; None if they may."""
    from inspection.sheet.acts import EnterPerson
    from inspection.sheet.state import Shop
    from inspection.sheet.steps import not_now

    return not_now(house.shop or Shop(), None, EnterPerson, house.person)


class KeyAsked(NamedTuple):
    """A key for the person named ``name``, under their ``secret``: made here, or ``brought`` along in a file; ``act``
    is what is done with it."""

    name: str
    secret: str
    brought: bool
    act: Callable[[Hand, Key], EnterPerson]

    def work(self, house: House, key: Callable[[Hand], Key]) -> PersonWork | None:
        """What is made on the book's thread, with the key that is made there."""
        return _work(house, self.name, lambda hand: self.act(hand, key(hand)))

    def made_here(self, house: House) -> PersonWork | None:
        """The same with a new key."""
        from app.jobs import people

        return self.work(house, lambda hand: people.new_key(hand, self.name, self.secret))


def _origin() -> Field:
    choices = ((_HERE, word("key.made_here")), (_BROUGHT, word("key.brought")))
    return Field("key", word("key.field"), Sort.CHOICE, _HERE, choices)


def ask_new_person(parent: QWidget, house: House) -> KeyAsked | None:
    """A further person of the shop, what they may do, and where their key comes from."""
    from app.jobs import people
    from inspection.sheet.people import Duty
    from inspection.words.say import word as said

    duties = tuple((duty.value, said(f"duty.{duty.name.lower()}")) for duty in Duty)
    fields = (
        Field("name", word("person.new.name")),
        Field("duty", word("person.new.duty"), Sort.CHOICE, Duty.INSPECTOR.value, duties),
        _origin(),
        *_new_passphrase(),
    )
    title, text = word("person.new.title"), word("person.new.text")
    check = lambda answer: _fault_of_name(house, answer) or _fault_of_passphrase(answer)  # noqa: E731
    question = Question(title, text, fields, word("person.new.yes"), word("button.no"), check=check)
    answer = ask(parent, question)
    if answer is None:
        return None
    name, duty = answer["name"].strip(), Duty(answer["duty"])
    act = lambda _hand, key: people.entering(name, (duty,), key)  # noqa: E731
    return KeyAsked(name, answer["passphrase"], answer["key"] == _BROUGHT, act)


def has_key(house: House) -> bool:
    """Whether the person at the bench has a key to lock; if not, it is said."""
    from inspection.reasons import Reason

    person = house.shop.people.get(house.person) if house.shop is not None else None
    if person is not None and not person.locked_key:
        house.noticed.emit(house.say(Reason("seal.no_key", {"person": person.name})), True)
    return person is not None and bool(person.locked_key)


def ask_passphrase(parent: QWidget, house: House) -> PersonWork | None:
    """Another passphrase for the key of the person at the bench."""
    from app.jobs import people

    assert house.shop is not None
    name = house.shop.people[house.person].name
    fields = (Field("old", word("passphrase.old"), Sort.SECRET), *_new_passphrase("passphrase.new"))
    title, text = word("passphrase.title", person=name), word("passphrase.text")
    wait = Wait(house)
    question = Question(
        title,
        text,
        fields,
        word("passphrase.yes"),
        word("button.no"),
        check=lambda answer: _fault_of_passphrase(answer) or wait.fault("old"),
        waits=wait.ahead,
    )
    answer = ask(parent, question)
    if answer is None:
        return None
    old, new = answer["old"], answer["passphrase"]
    return _work(house, name, lambda hand: people.with_passphrase(hand, old, new))


def ask_new_key(parent: QWidget, house: House) -> KeyAsked | None:
    """Another key for somebody, under a passphrase that only they know, and where it comes from."""
    from app.jobs import people

    shop = house.shop
    assert shop is not None
    known = tuple((identity, person.name) for identity, person in shop.people.items())
    whom = Field("person", word("new_key.person"), Sort.CHOICE, house.person, known)
    title, text = word("new_key.title"), word("new_key.text")
    fields = (whom, _origin(), *_new_passphrase())
    question = Question(title, text, fields, word("new_key.yes"), word("button.no"), check=_fault_of_passphrase)
    answer = ask(parent, question)
    if answer is None:
        return None
    whose = answer["person"]
    act = lambda hand, key: people.with_key(hand, whose, key)  # noqa: E731
    return KeyAsked(shop.people[whose].name, answer["passphrase"], answer["key"] == _BROUGHT, act)


class Wait(NamedTuple):
    """The wait of the person at the bench after wrong passphrases, told ahead of a question and at its field."""

    house: House

    def _told(self, code: str) -> str:
        from inspection.reasons import Reason
        from storage.seals.tries import wait_of

        house = self.house
        if house.book is None or house.foreseen is None or house.shop is None:
            return ""
        n = wait_of(house.book, house.person, house.foreseen.now().at)
        return house.say(Reason(code, {"person": house.shop.people[house.person].name, "n": n})) if n else ""

    def ahead(self) -> str:
        """How long is left to wait; "" if there is nothing to wait for."""
        return self._told("seal.waits")

    def fault(self, field: str) -> str | Fault:
        """What is said of a passphrase that is typed too early, at its field; "" of one that may be tried."""
        from inspection.words.say import word as said

        return Fault(field, said("seal.waits_still")) if self.ahead() else ""


def _work(house: House, name: str, make: Callable[[Hand], EnterPerson]) -> PersonWork | None:
    return PersonWork(name, house.person, house.foreseen, make) if house.foreseen is not None else None


def _new_passphrase(label: str = "book.new.passphrase") -> tuple[Field, Field]:
    return (
        Field("passphrase", word(label), Sort.SECRET),
        Field("again", word("book.new.again"), Sort.SECRET),
    )


def _fault_of_new(answer: dict[str, str], folder: Path) -> str:
    there = word("book.new.there") if _new_place(answer["path"], folder).exists() else ""
    return _fault_of_passphrase(answer) or there


def _fault_of_name(house: House, answer: dict[str, str]) -> str | Fault:
    """A name that somebody of the shop has already, before a file is asked for in vain."""
    from inspection.reasons import Reason

    known = house.shop.people.values() if house.shop is not None else ()
    wanted = answer["name"].strip().casefold()
    held = next((person.name for person in known if person.name.casefold() == wanted), "")
    return Fault("name", house.say(Reason("person.known", {"person": held}))) if held else ""


def _fault_of_passphrase(answer: dict[str, str]) -> str:
    from storage.seals.keys import SHORTEST_PASSPHRASE

    if answer["passphrase"] != answer["again"]:
        return word("book.new.differ")
    if len(answer["passphrase"]) < SHORTEST_PASSPHRASE:
        return word("book.new.short", n=SHORTEST_PASSPHRASE)
    return ""
