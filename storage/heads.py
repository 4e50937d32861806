"""The last head of a book's chain that this station saw: a file for each place of a book in the user's data folder.

It stands outside the book, so that a book that was put back, or cut off at its end, does not know it.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

import msgspec
from msgspec import Struct

from inspection.sheet.chain_head import ChainHead
from storage.files import set_aside, write_file
from storage.own_files import folder_of

NAME = "head.json"


class SeenHead(Struct, frozen=True):
    """What was seen of the book at ``place``: ``first`` is the digest of its first entry, by which copies of one book
    know each other; ``settled`` are the heads of copies that went another way, when somebody said that this is the
    book to go by."""

    place: str
    first: str
    head: ChainHead
    settled: tuple[ChainHead, ...] = ()


def head_file(book: Path) -> Path:
    """The file of the head seen of the book at this place."""
    return folder_of("heads", book) / NAME


def head_seen(book: Path) -> SeenHead | None:
    """What was last seen of the book at this place; None where nothing was, or the file cannot be read."""
    return _read(head_file(book))


def heads_elsewhere(book: Path, first: str) -> tuple[SeenHead, ...]:
    """What was seen of the same book at other places, the farthest first."""
    own = head_file(book)
    with suppress(OSError):
        found = (_read(path) for path in own.parent.parent.glob(f"*/{NAME}") if path != own)
        same = (each for each in found if each is not None and each.first == first)
        return tuple(sorted(same, key=lambda each: (-each.head.position, each.place)))
    return ()


def keep_head(book: Path, first: str, head: ChainHead, settled: Iterable[ChainHead] | None = None) -> None:
    """Keep what was seen of a book; without ``settled`` what was settled stays so. Raises BookFailure or OSError."""
    path, before = head_file(book), head_seen(book)
    if settled is None:
        settled = before.settled if before is not None and before.first == first else ()
    seen = SeenHead(_named(book), first, head, tuple(settled))
    if seen != before:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_file(path, msgspec.json.encode(seen))


def put_aside(book: Path) -> None:
    """Go no longer by what was seen at this place: its file stays beside under another name. Raises OSError."""
    path = head_file(book)
    if path.exists():
        set_aside(path)


def _named(book: Path) -> str:
    """Where a book lies, as text, whatever letters the locale knows."""
    return os.fsencode(book.resolve()).decode("utf-8", "replace")


def _read(path: Path) -> SeenHead | None:
    try:
        return msgspec.json.decode(path.read_bytes(), type=SeenHead)
    except (OSError, msgspec.MsgspecError, UnicodeDecodeError):
        return None
