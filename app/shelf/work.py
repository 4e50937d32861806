"""The work of the sheets room, each a value that is run on the book's thread with what the person answered."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from inspection.words.say import word

if TYPE_CHECKING:
    from app.background.worker import Progress
    from app.jobs.hand import Foreseen, Hand
    from app.shelf.model import Line
    from storage.book.door import Book


class Made(NamedTuple):
    """What a feature file came to: what is said, and the sheet, "" if there is none."""

    said: str
    sheet: str = ""


def hand_of(book: Book, person: str, foreseen: Foreseen) -> Hand:
    """The hand of the person at the bench on the open book."""
    from app.jobs.hand import Hand

    hand = Hand(book, foreseen)
    hand.person = person
    return hand


class TakeIn(NamedTuple):
    """Take a feature file in and make a sheet on it."""

    file: Path
    serials: tuple[str, ...]
    person: str
    foreseen: Foreseen

    def run(self, book: Book, progress: Progress) -> Made:
        """Raises Refused (every fault of the file) or BookFailure; nothing was taken then."""
        from app.jobs.taking_in import take_in
        from storage.files import read_file
        from storage.intake.features import read_features

        features = read_features(read_file(self.file), self.file.name)
        progress(1, 2)
        taken = take_in(hand_of(book, self.person, self.foreseen), features, self.serials)
        part, rows = taken.plan.part.number, len(taken.plan.characteristics)
        if taken.sheet is None:
            return Made(word("shelf.new.no_pieces", part=part))
        pieces = ", ".join(piece.serial for piece in taken.sheet.pieces)
        return Made(word("shelf.new.done", part=part, rows=rows, pieces=pieces), taken.sheet.identity)


class Template(NamedTuple):
    """Write an empty feature file."""

    file: Path

    def run(self, _book: Book, _progress: Progress) -> str:
        """Raises BookFailure; a file that is there is never overwritten."""
        from storage.intake.templates import write_template

        write_template("features", self.file)
        return word("shelf.template.done", file=self.file.name)


class Signing(NamedTuple):
    """Sign a sheet with the person's passphrase; ``incomplete`` says why rows are still open, if any are."""

    line: Line
    passphrase: str
    incomplete: str
    person: str
    foreseen: Foreseen

    def run(self, book: Book, _progress: Progress) -> str:
        """Raises Refused or BookFailure; the sheet is as it was then."""
        from app.jobs.signing import sign

        sign(hand_of(book, self.person, self.foreseen), self.line.sheet, self.passphrase, incomplete=self.incomplete)
        return word("shelf.sign.done", part=self.line.part)


class Sending(NamedTuple):
    """Write a sheet to a file and keep the file's digest in the journal."""

    line: Line
    form: str
    file: Path
    person: str
    foreseen: Foreseen

    def run(self, book: Book, progress: Progress) -> str:
        """Raises Refused or BookFailure; what stood at the file is untouched then."""
        from app.jobs.sending import send

        hand = hand_of(book, self.person, self.foreseen)
        send(hand, self.line.sheet, self.form, self.file, progress=progress)
        done = word("shelf.export.done", file=self.file.name, folder=str(self.file.absolute().parent))
        return f"{done} {word('shelf.export.next.signed' if self.line.sealed else 'shelf.export.next.open')}"
