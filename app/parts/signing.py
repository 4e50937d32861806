"""Signing a sheet, from whatever room: the question, and the work on the book's thread."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtWidgets import QWidget

from app.window import words
from app.window.asking import Field, Question, Sort, ask
from inspection.words.say import word

if TYPE_CHECKING:
    from app.background.worker import Failure, Job, Progress
    from app.jobs.hand import Foreseen
    from app.window.house import House
    from storage.book.door import Book


class ToSign(NamedTuple):
    """A sheet to be signed: its identity, its part's number, and how many cells are still open."""

    sheet: str
    part: str
    open: int


def sign(
    room: QWidget,
    house: House,
    to_sign: ToSign,
    done: Callable[[str], None],
    failed: Callable[[Failure], None],
) -> Job | None:
    """Ask the person at the bench for the passphrase, and sign; ``done`` is told what is to be said. None if nobody is
    there or the person went back."""
    person = house.shop.people.get(house.person) if house.shop is not None else None
    if person is None or house.worker is None or house.foreseen is None:
        return None
    asked = ask_signing(room, to_sign, person.name)
    if asked is None:
        return None
    work = Signing(to_sign, *asked, house.person, house.foreseen)
    return house.worker.long(work.run, done, failed)


def ask_signing(parent: QWidget, to_sign: ToSign, person: str) -> tuple[str, str] | None:
    """The passphrase that signs, and why the sheet is signed with rows open if there are any."""
    fields = [Field("passphrase", word("sign.passphrase", person=person), Sort.SECRET)]
    text = word("sign.text", person=person)
    if to_sign.open:
        fields.insert(0, Field("incomplete", word("sign.incomplete")))
        text = f"{text} {word('sign.open', n=to_sign.open)}"
    title = word("sign.title", part=to_sign.part)
    answer = ask(parent, Question(title, text, tuple(fields), word("sign.yes"), words.word("button.no")))
    return (answer["passphrase"], answer.get("incomplete", "")) if answer else None


class Signing(NamedTuple):
    """Sign a sheet with the person's passphrase; ``incomplete`` says why rows are still open, if any are."""

    to_sign: ToSign
    passphrase: str
    incomplete: str
    person: str
    foreseen: Foreseen

    def run(self, book: Book, _progress: Progress) -> str:
        """Raises Refused or BookFailure; the sheet is as it was then."""
        from app.jobs.hand import Hand
        from app.jobs.signing import sign as signing

        hand = Hand(book, self.foreseen)
        hand.person = self.person
        signing(hand, self.to_sign.sheet, self.passphrase, incomplete=self.incomplete)
        return word("sign.done", part=self.to_sign.part)
