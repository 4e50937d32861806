"""Opening or making a book on its thread; the book's libraries are imported here, after the first frame."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from inspection.reasons import Reason
    from inspection.sheet.state import Shop
    from storage.book.door import Book


class Greeting(NamedTuple):
    """What the window is told when a book is open: where it lies, its shop, what is to be said about the opening."""

    path: Path
    shop: Shop
    notices: tuple[Reason, ...]


class NewBook(NamedTuple):
    """What a new book needs: its file, the shop's name, the first person and their passphrase."""

    path: Path
    shop: str
    person: str
    passphrase: str


def opener(path: Path | None, station: str) -> Callable[[], Book]:
    """A function that opens the book at ``path``, or the shop's own where none is named."""

    def open_it() -> Book:
        from storage.book.clock import new_identity, wall_clock
        from storage.book.door import Book
        from storage.book.opening import default_place

        return Book.open(path or default_place(), clock=wall_clock, identities=new_identity, station=station)

    return open_it


def greet(book: Book) -> Greeting:
    """What is told about a book that was opened."""
    return Greeting(book.path, book.shop(), book.notices)
