"""A key brought along in a file (PKCS#12): the file and its passphrase are asked for, what its certificate says is
shown, and only then is it kept. The file is opened on the book's thread, for that takes a moment."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtWidgets import QWidget

from app.window.asking import Fault, Field, Question, Sort, ask
from app.window.words import word

if TYPE_CHECKING:
    from app.background.worker import Failure
    from app.jobs.hand import Foreseen
    from app.window.house import House
    from app.window.people import KeyAsked, PersonWork
    from storage.book.door import Book
    from storage.seals.brought_keys import FoundKey

FILES = "*.p12 *.pfx"
#: Which field a refusal is about; of any other it is the file.
_AT_PASSPHRASE = "brought.wrong_passphrase"


class Finding(NamedTuple):
    """The key of a file for the person named ``name``, looked for on the book's thread; ``by`` is who is at the
    bench."""

    name: str
    file: Path
    opens: str
    by: str
    foreseen: Foreseen

    def run(self, book: Book) -> FoundKey:
        """Raises Refused or BookFailure."""
        from app.jobs import people
        from app.jobs.hand import Hand

        return people.found_key(
            Hand(book, self.foreseen, self.by), self.name, people.container_in(self.file), self.opens
        )


class Bringing:
    """One key brought along; ``then`` gets what is to be done once the person has agreed to what the file holds."""

    def __init__(
        self, parent: QWidget, house: House, asked: KeyAsked, then: Callable[[PersonWork | None], None]
    ) -> None:
        self._parent, self._house, self._asked, self._then = parent, house, asked, then
        self._file = ""

    def begin(self, fault: str | Fault = "") -> None:
        """Ask for the file and its passphrase, with what was wrong with the ones before."""
        fields = (
            Field("file", word("bring.file"), Sort.OPEN_FILE, self._file, files=FILES),
            Field("opens", word("bring.opens"), Sort.SECRET, needed=False),
        )
        title, text = word("bring.title", person=self._asked.name), word("bring.text")
        question = Question(title, text, fields, word("bring.look"), word("button.no"), fault=fault)
        answer, worker, foreseen = ask(self._parent, question), self._house.worker, self._house.foreseen
        if answer is None or worker is None or foreseen is None:
            return
        self._file = answer["file"]
        path = Path(self._file.strip()).expanduser()
        work = Finding(self._asked.name, path, answer["opens"], self._house.person, foreseen)
        worker.read(work.run, self._found, self._not_found)

    def _not_found(self, failure: Failure) -> None:
        """Nothing was kept; the file stands there, to be mended or chosen anew."""
        said = self._house.sentence(failure)
        codes = [reason.code for reason in failure.reasons]
        self.begin(Fault("opens" if _AT_PASSPHRASE in codes else "file", said))

    def _found(self, found: FoundKey) -> None:
        """Show what the certificates say, and keep the key if that is agreed to."""
        from app.jobs import people

        title, text = word("bring.shown", person=self._asked.name), word("bring.shown.text")
        question = Question(title, text, (), word("bring.yes"), word("button.no"), tuple(_told(found)))
        if ask(self._parent, question) is not None:
            secret = self._asked.secret
            self._then(self._asked.work(self._house, lambda _hand: people.kept_key(found, secret)))


def _told(found: FoundKey) -> Iterator[tuple[str, str]]:
    own, *above = found.told()
    yield word("bring.name"), own.name
    yield word("bring.issuer"), word("bring.own") if own.issuer == own.name and not above else own.issuer
    yield word("bring.good"), word("bring.from_to", first=_day(own.first), last=_day(own.last))
    yield word("bring.fingerprint"), own.fingerprint
    for each in above:
        yield word("bring.above"), word("bring.until", name=each.name, last=_day(each.last))


def _day(at: int) -> str:
    return datetime.fromtimestamp(at // 1_000_000, UTC).date().isoformat()
