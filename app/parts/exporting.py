"""A list that goes out of the window: to the clipboard as a table, or to a file that a person names."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QWidget

from app.window import words
from app.window.asking import Field, Question, Sort, ask
from app.window.house import House
from inspection.words.say import word

if TYPE_CHECKING:
    from storage.book.door import Book
    from storage.dispatch.listing import Listing


class _Write(NamedTuple):
    """Write a listing, beside the window's thread."""

    listing: Listing
    path: Path
    paper: str

    def run(self, _book: Book) -> str:
        """What to tell of it. Raises Refused or BookFailure."""
        from storage.dispatch.listing import write_listing

        write_listing(self.listing, self.path, paper=self.paper)
        return word("listing.done", file=self.path.name, n=len(self.listing.rows))


class _Keep(NamedTuple):
    """Write bytes that were made already, beside the window's thread."""

    content: bytes
    path: Path

    def run(self, _book: Book) -> str:
        """What to tell of it. Raises BookFailure."""
        from storage.files import write_file

        write_file(self.path, self.content)
        return word("picture.done", file=self.path.name)


def keep_bytes(house: House, content: bytes, path: Path) -> None:
    """Write bytes to a file, and say so."""
    if house.worker is not None:
        house.worker.read(_Keep(content, path).run, house.notice, house.fail)


def copy_listing(house: House, listing: Listing) -> None:
    """Put a listing on the clipboard, to be pasted into a spreadsheet."""
    from storage.dispatch.listing import as_text

    if listing.rows:
        QGuiApplication.clipboard().setText(as_text(listing))
    house.notice(word("listing.copied" if listing.rows else "listing.nothing", n=len(listing.rows)))


def write_listing_out(parent: QWidget, house: House, listing: Listing, name: str) -> None:
    """Ask where a listing is written to, with ``name`` as the file proposed, and write it."""
    from app.jobs.sending import PAPERS
    from storage.dispatch.listing import FILES

    if not listing.rows:
        house.notice(word("listing.nothing"))
        return
    path = asked_path(parent, house, name, FILES)
    if path is not None and house.worker is not None:
        paper = PAPERS.get(house.papers.get("", ""), PAPERS["letter"])
        house.worker.read(_Write(listing, path, paper).run, house.notice, house.fail)


def asked_path(parent: QWidget, house: House, name: str, files: str, kind: str = "listing") -> Path | None:
    """The file that a person names, in the folder used last; an ending that is missing is that of ``name``."""
    proposed = str(Path(house.folder or Path.home()) / name)
    field = Field("file", word("listing.file"), Sort.SAVE_FILE, proposed, files=files)
    title, text = word(f"{kind}.title"), word(f"{kind}.text")
    answer = ask(parent, Question(title, text, (field,), word("listing.yes"), words.word("button.no")))
    if answer is None:
        return None
    path = Path(answer["file"].strip()).expanduser()
    house.folder = str(path.parent)
    return path if path.suffix else path.with_suffix(Path(name).suffix)
