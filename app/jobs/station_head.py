"""What this station last saw of a book, held against it when it is opened, and kept when it is closed.

A book that does not contain that head is an older copy of it, or another one: it is told and may be read, and what the
station goes by stays until somebody says that the book is right as it is. A copy at another place that went further, or
another way, is told too: what is written in both, nothing puts together again. For that the other file is not looked
into, for it may lie on a stick that is gone or in a folder that does not answer; checking does.
"""

from __future__ import annotations

from collections.abc import Container, Iterator
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from inspection.reasons import Part, Reason
from inspection.sheet.chain_head import ChainHead
from storage.book.failures import BookFailure, telling
from storage.book.queries.heads import digest_at, holds
from storage.heads import SeenHead, head_seen, heads_elsewhere, keep_head, put_aside

if TYPE_CHECKING:
    from storage.book.door import Book


def watched(book: Book) -> tuple[Reason, ...]:
    """What is to be said of a book that was opened; from now on its head is kept after each signature and file, and
    when it is closed. A head that it does not contain is never replaced here."""
    seen = head_seen(book.path)
    if seen is not None and not book.ask(holds, seen.head):
        return (_not_as_seen(book, seen.head), *_copies(book, seen))
    keep = partial(_keep, book)
    keep()
    book.keep_head_by(keep)
    return tuple(_copies(book, seen))


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


def _copies(book: Book, seen: SeenHead | None) -> Iterator[Reason]:
    """What is to be said of copies at other places: the farthest of those that went another way, or else further."""
    others = _others(book, seen.settled if seen is not None else ())
    apart = (each for each in others if book.ask(digest_at, each.head.position))
    worst = next(apart, others[0] if others else None)
    if worst is not None:
        code = "head.copy_other" if book.ask(digest_at, worst.head.position) else "head.copy_further"
        at, entry = book.head(), worst.head.position
        parts: dict[str, Part] = {"name": book.path.name, "place": worst.place, "at": at.position, "entry": entry}
        yield Reason(code, {**parts, "head": at.told, "other": worst.head.told})


def _others(book: Book, settled: Container[ChainHead] = ()) -> tuple[SeenHead, ...]:
    """What was seen of copies at other places and is not in this book, nor settled; the farthest first."""
    found = heads_elsewhere(book.path, book.ask(digest_at, 1))
    return tuple(each for each in found if each.head not in settled and not book.ask(holds, each.head))


def go_by(path: Path) -> None:
    """Let this station go by a book as it is; see ``go_by_this``."""
    from storage.book.door import Book

    with Book.open(path, only_read=True) as book:
        go_by_this(book)


def go_by_this(book: Book) -> None:
    """Let this station go by a book that is open, as it is; what it went by before is put aside, and copies that went
    another way are told again only when they go on. Raises BookFailure."""
    with telling(book.path, "file"):
        put_aside(book.path)
        settled = (each.head for each in _others(book))
        keep_head(book.path, book.ask(digest_at, 1), book.head(), settled)
    book.keep_head_by(partial(_keep, book))
