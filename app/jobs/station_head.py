"""What this station last saw of a book, held against it when it is opened, and kept when it is closed.

A book that does not contain that head is an older copy of it, or another one: it is told and may be read, and what the
station goes by stays until somebody says that the book is right as it is.
"""

from __future__ import annotations

from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from inspection.reasons import Reason
from inspection.sheet.chain_head import ChainHead
from storage.book.failures import BookFailure, telling
from storage.book.queries.heads import digest_at, holds
from storage.heads import head_seen, keep_head, put_aside

if TYPE_CHECKING:
    from storage.book.door import Book


def watched(book: Book) -> tuple[Reason, ...]:
    """What is to be said of a book that was opened; from now on its head is kept after each signature and file, and
    when it is closed. A head that it does not contain is never replaced here."""
    seen = head_seen(book.path)
    if seen is not None and not book.ask(holds, seen.head):
        return (_not_as_seen(book, seen.head),)
    keep = partial(_keep, book)
    keep()
    book.keep_head_by(keep)
    return ()


def begun(book: Book) -> None:
    """A book is made: the station goes by it from now on, whatever stood at its place before."""
    with suppress(OSError):
        put_aside(book.path)
    book.keep_head_by(partial(_keep, book))


def _keep(book: Book) -> None:
    """Keep the head; a data folder that does not take it is no matter for the book."""
    with suppress(BookFailure, OSError):
        head = book.head()
        if head.position:
            keep_head(book.path, book.ask(digest_at, 1), head)


def _not_as_seen(book: Book, seen: ChainHead) -> Reason:
    code = "head.other" if book.ask(digest_at, seen.position) else "head.older"
    return Reason(code, {"name": book.path.name, "at": book.head().position, "seen": seen.position})


def go_by(path: Path) -> None:
    """Let this station go by a book as it is; what it went by before is put aside. Raises BookFailure."""
    from storage.book.door import Book

    with Book.open(path, only_read=True) as book, telling(path, "file"):
        put_aside(path)
        keep_head(path, book.ask(digest_at, 1), book.head())
