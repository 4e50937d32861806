"""The last head of a book's chain that this station saw: a file for each place of a book in the user's data folder.

It stands outside the book, so that a book that was put back, or cut off at its end, does not know it.
"""

from __future__ import annotations

import os
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
    know each other; ``aside`` are heads that this place went by before somebody said that it is another book now."""

    place: str
    first: str
    head: ChainHead


def head_file(book: Path) -> Path:
    """The file of the head seen of the book at this place."""
    return folder_of("heads", book) / NAME


def head_seen(book: Path) -> SeenHead | None:
    """What was last seen of the book at this place; None where nothing was, or the file cannot be read."""
    return _read(head_file(book))


def head_elsewhere(book: Path, first: str) -> SeenHead | None:
    """The farthest head of the same book that was seen at another place."""
    own = head_file(book)
    with suppress(OSError):
        found = (_read(path) for path in own.parent.parent.glob(f"*/{NAME}") if path != own)
        same = [each for each in found if each is not None and each.first == first]
        return max(same, key=lambda each: each.head.position, default=None)
    return None


def keep_head(book: Path, first: str, head: ChainHead) -> None:
    """Keep what was seen of a book. Raises BookFailure or OSError."""
    path, seen = head_file(book), SeenHead(_named(book), first, head)
    if seen != _read(path):
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
