"""Questions about people and books: who is at the bench, which book, what a new book needs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from app.window.asking import Field, Question, Sort, ask
from app.window.words import word

if TYPE_CHECKING:
    from app.background.opening import NewBook
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


def _fault_of_new(answer: dict[str, str]) -> str:
    if answer["passphrase"] != answer["again"]:
        return word("book.new.differ")
    if len(answer["passphrase"]) < SHORTEST_PASSPHRASE:
        return word("book.new.short", n=SHORTEST_PASSPHRASE)
    return word("book.new.there") if Path(answer["path"]).expanduser().exists() else ""
