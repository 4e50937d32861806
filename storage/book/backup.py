"""A backup of the book in small steps, between which acts go through.

It runs on the door's own connection, so that what is written meanwhile goes into the copy as well and no second
connection's lock stands in an act's way. The copy is checked before it gets its name; a damaged book never takes
the place of a good copy.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from storage.book.failures import failure, telling
from storage.files import moved_in

#: Pages copied at a step: about a millisecond.
PAGES = 64

Between = Callable[[int, int], None]
"""Called between steps with the pages done and the pages in all; acts may be carried out in it."""


def back_up(source: sqlite3.Connection, path: Path, to: Path, between: Between | None = None) -> None:
    """Copy the whole book at ``path`` to the file ``to``, which must not exist yet.

    Raises BookFailure if the disk is full, ``to`` exists, or the copy does not check out; nothing is left behind
    then. Whatever ``between`` raises stops the copying in the same way.
    """
    with telling(to, "file"), moved_in(to, over=False) as beside, telling(path):
        with closing(sqlite3.connect(beside, isolation_level=None)) as target:
            source.backup(target, pages=PAGES, progress=_progress(between))
            whole = target.execute("PRAGMA quick_check(1)").fetchone() == ("ok",)
            lost = target.execute("PRAGMA foreign_key_check").fetchone()
        if not whole or lost:
            raise failure("book.damaged", path)


def _progress(between: Between | None) -> Callable[[int, int, int], None] | None:
    if between is None:
        return None
    return lambda status, remaining, total: between(total - remaining, total)
