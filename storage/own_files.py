"""Where files lie that belong to a book and to this computer's user, but are no part of the book."""

from __future__ import annotations

import hashlib
from pathlib import Path


def folder_of(what: str, book: Path) -> Path:
    """The folder of one sort of file (``what``) in the user's data folder, named after where the book lies."""
    from platformdirs import user_data_path

    return user_data_path("tenthwright", appauthor=False) / what / mark_of(str(book.resolve()))


def mark_of(text: str) -> str:
    """A short name that stands for a text and does not show it; the same for a path whatever the locale's letters.

    >>> mark_of("a")
    'ca978112ca1bbdca'
    """
    return hashlib.sha256(text.encode("utf-8", "surrogateescape")).hexdigest()[:16]
