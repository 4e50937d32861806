"""Questions about people and books: who is at the bench, which book, what a new book needs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from PySide6.QtWidgets import QWidget

from app.window.asking import Field, Question, Sort, ask
from app.window.words import word

if TYPE_CHECKING:
    from app.background.opening import NewBook
    from inspection.sheet.acts import EnterPerson
    from inspection.sheet.state import Shop

SHORTEST_PASSPHRASE = 8
PATTERN = "*.tenthwright"


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
    fields = (
        Field("path", word("book.new.file"), Sort.SAVE_FILE, free, files=PATTERN),
        Field("shop", word("book.new.shop")),
        Field("person", word("book.new.person")),
        Field("passphrase", word("book.new.passphrase"), Sort.SECRET),
        Field("again", word("book.new.again"), Sort.SECRET),
    )
    question = Question(
        word("book.new.title"),
        word("book.new.text"),
        fields,
        word("book.new.yes"),
        word("button.no"),
        check=_fault_of_new,
    )
    answer = ask(parent, question)
    if answer is None:
        return None
    return NewBook(
        Path(answer["path"]).expanduser(), answer["shop"].strip(), answer["person"].strip(), answer["passphrase"]
    )


class NewPerson(NamedTuple):
    """A person to be entered, under their own passphrase."""

    name: str
    duty: str
    passphrase: str


def ask_new_person(parent: QWidget) -> NewPerson | None:
    """A further person of the shop, and what they may do."""
    from inspection.sheet.people import Duty
    from inspection.words.say import word as said

    duties = tuple((duty.value, said(f"duty.{duty.name.lower()}")) for duty in Duty)
    fields = (
        Field("name", word("person.new.name")),
        Field("duty", word("person.new.duty"), Sort.CHOICE, Duty.INSPECTOR.value, duties),
        Field("passphrase", word("book.new.passphrase"), Sort.SECRET),
        Field("again", word("book.new.again"), Sort.SECRET),
    )
    title, text = word("person.new.title"), word("person.new.text")
    question = Question(title, text, fields, word("person.new.yes"), word("button.no"), check=_fault_of_passphrase)
    answer = ask(parent, question)
    return NewPerson(answer["name"].strip(), answer["duty"], answer["passphrase"]) if answer else None


def key_for(new: NewPerson, _book: Any) -> EnterPerson:
    """The act that enters a person with a key of their own; making it takes a moment, so not on the window's thread."""
    from inspection.sheet.acts import EnterPerson
    from inspection.sheet.people import Duty, Person
    from storage.book.clock import wall_clock
    from storage.seals.keys import make_key

    key = make_key(new.name, new.passphrase, wall_clock().at)
    person = Person("", new.name, (Duty(new.duty),), certificate=key.certificate, locked_key=key.locked_key)
    return EnterPerson(person=person)


def _fault_of_new(answer: dict[str, str]) -> str:
    there = word("book.new.there") if Path(answer["path"]).expanduser().exists() else ""
    return _fault_of_passphrase(answer) or there


def _fault_of_passphrase(answer: dict[str, str]) -> str:
    if answer["passphrase"] != answer["again"]:
        return word("book.new.differ")
    if len(answer["passphrase"]) < SHORTEST_PASSPHRASE:
        return word("book.new.short", n=SHORTEST_PASSPHRASE)
    return ""
