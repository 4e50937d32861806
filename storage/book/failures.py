"""Failures of the world and failures of ours, told apart in one function.

The world's (disk, lock, damaged file, folder gone) become a ``BookFailure`` that holds a reason with a sentence and
a next step. Everything else is ours and goes on up as it is, to become a fault report.
"""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from inspection.reasons import Part, Reason
from storage.book.holder import holder_of


class BookFailure(Exception):
    """The world stood in the way; ``reasons`` say what happened, to which file, and what was kept safe."""

    def __init__(self, *reasons: Reason) -> None:
        super().__init__(", ".join(reason.code for reason in reasons))
        self.reasons = reasons


_BY_SQLITE_CODE = {
    sqlite3.SQLITE_BUSY: "locked",
    sqlite3.SQLITE_READONLY: "read_only",
    sqlite3.SQLITE_PERM: "read_only",
    sqlite3.SQLITE_FULL: "disk_full",
    sqlite3.SQLITE_IOERR: "disk_trouble",
    sqlite3.SQLITE_CORRUPT: "damaged",
    sqlite3.SQLITE_NOTADB: "damaged",
    sqlite3.SQLITE_CANTOPEN: "cannot_open",
    sqlite3.SQLITE_NOLFS: "disk_full",
}

_BY_ERRNO = {
    errno.ENOSPC: "disk_full",
    errno.EDQUOT: "disk_full",
    errno.EFBIG: "disk_full",
    errno.EROFS: "read_only",
    errno.EACCES: "not_allowed",
    errno.EPERM: "not_allowed",
    errno.ENOENT: "no_folder",
    errno.ENOTDIR: "no_folder",
    errno.EISDIR: "is_folder",
    errno.EEXIST: "exists",
    errno.EBUSY: "in_use",
    errno.ETXTBSY: "in_use",
    errno.EIO: "disk_trouble",
    errno.ESTALE: "disk_trouble",
    errno.ENODEV: "disk_trouble",
    errno.ENXIO: "disk_trouble",
    errno.ENAMETOOLONG: "name_too_long",
    errno.ELOOP: "no_folder",
}


def world_failure(error: BaseException, path: Path, subject: str = "book") -> Reason | None:
    """The world's failure that ``error`` stands for, or None if the fault is ours.

    ``subject`` is "book" or "file": the two have sentences of their own. An error of the database layer is looked
    at as the driver raised it.
    """
    inner = getattr(error, "orig", None) or error
    if isinstance(inner, sqlite3.Error):
        return _of_sqlite(inner, path)
    if isinstance(inner, OSError) and inner.errno in _BY_ERRNO:
        return _reason(f"{subject}.{_BY_ERRNO[inner.errno]}", path)
    return None


def _of_sqlite(error: sqlite3.Error, path: Path) -> Reason | None:
    code = getattr(error, "sqlite_errorcode", None)
    what = _BY_SQLITE_CODE.get(code & 0xFF) if code is not None else None
    if what is None:
        return None
    if what == "locked":
        return locked(path)
    return _reason(f"book.{what}", path)


def locked(path: Path) -> Reason:
    """Another program holds the book; named where the system tells."""
    holder = holder_of(path)
    return _reason("book.locked_by", path, holder=holder) if holder else _reason("book.locked", path)


def _reason(code: str, path: Path, **parts: Part) -> Reason:
    whole = path.resolve() if path.name in ("", "..") else path.absolute()  # a folder by its own name, not by a dot
    return Reason(code, {"name": whole.name, "folder": str(whole.parent), **parts})


def failure(code: str, path: Path, **parts: Part) -> BookFailure:
    """A failure about this file; ``code`` is its sentence in the catalogue."""
    return BookFailure(_reason(code, path, **parts))


@contextmanager
def telling(path: Path, subject: str = "book") -> Iterator[None]:
    """Let the world's failures inside the block come out as BookFailure, and ours as they are."""
    try:
        yield
    except BookFailure:
        raise
    except Exception as error:
        reason = world_failure(error, path, subject)
        if reason is None:
            raise
        raise BookFailure(reason) from error
