"""Opening a book: everything that may be wrong with it is found before anything is read, and told by its name."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct
from sqlalchemy import text

from inspection.reasons import Reason
from storage.book import schema
from storage.book.engines import Engines, exists_for_writing
from storage.book.failures import BookFailure, failure, telling
from storage.book.header import (
    APPLICATION_ID,
    SCHEMA,
    Header,
    leftover_journal,
    open_in_this_process,
    read_header,
)
from storage.book.tables import APPEND_ONLY
from storage.files import moved_in


class Opened(Struct):
    """A book that may be used, and what is to be said about its opening."""

    engines: Engines
    notices: tuple[Reason, ...]


def make_book(path: Path) -> None:
    """Make an empty book at ``path``, whole or not at all.

    Raises BookFailure if a file stands there already, or the folder or disk will not have it.
    """
    if path.exists():
        raise failure("book.exists", path)
    with telling(path):
        path.parent.mkdir(parents=True, exist_ok=True)
    with moved_in(path, over=False) as beside, telling(path):
        engines = Engines(beside)
        try:
            with engines.writing.begin() as connection:
                schema.create(connection)
        finally:
            engines.close()


def open_book(path: Path, *, writable: bool = True) -> Opened:
    """Open the book at ``path``; an older one is moved to the present schema, a backup beside it.

    Raises BookFailure if it is missing, a folder, no book, newer, damaged, locked, read-only, or the disk is full; a
    file that is refused keeps every byte.
    """
    with telling(path):
        _check_place(path, writable)
        header = None if open_in_this_process(path) else read_header(path)
        hot = leftover_journal(path)
        if header is not None:
            _check_header(path, header, hot)
        if hot and not writable:
            raise _left_as_it_is("book.cut_off", path)
        engines = Engines(path, writable=writable)
        try:
            moved = _check_inside(engines, writable)
        except BaseException:
            engines.close()
            raise
    recovered = [Reason("book.recovered", {"name": path.name})] if hot and not leftover_journal(path) else []
    return Opened(engines, (*recovered, *moved))


def may_be_written(path: Path) -> bool:
    """Whether the rights of file and folder let a book be written to where it lies."""
    return all(exists_for_writing(path))


def _left_as_it_is(code: str, path: Path) -> BookFailure:
    """Something has to be written before this book can be read: where that is done, as far as it can be done there."""
    return failure(code if may_be_written(path) else f"{code}_read_only", path)


def _check_place(path: Path, writable: bool) -> None:
    if path.is_dir():
        raise failure("book.is_folder", path)
    if not path.exists():
        raise failure("book.missing", path)
    if not writable:
        return
    file, folder = exists_for_writing(path)
    if not file:
        raise failure("book.read_only", path)
    if not folder:
        raise failure("book.folder_read_only", path)


def _check_header(path: Path, header: Header, hot: bool) -> None:
    if header.size == 0 and not hot:
        raise failure("book.empty", path)
    ours = header.application == APPLICATION_ID
    if not header.magic and not hot:
        raise failure("book.damaged" if ours else "book.not_a_book", path)
    if header.magic and not ours:
        raise failure("book.other_program", path)
    if header.version > SCHEMA:
        raise failure("book.newer", path, schema=header.version, known=SCHEMA)
    if header.size < header.size_expected and not hot:
        raise failure("book.damaged", path)


def _check_inside(engines: Engines, writable: bool) -> tuple[Reason, ...]:
    """Read the first pages (which rolls a leftover journal back) and move an older schema on."""
    path = engines.path
    with engines.reading.begin() as connection:
        application, version = schema.stamp(connection)
        tables = set(connection.execute(text("SELECT name FROM sqlite_master WHERE type = 'table'")).scalars())
    if application != APPLICATION_ID:
        raise failure("book.other_program", path)
    if version > SCHEMA:
        raise failure("book.newer", path, schema=version, known=SCHEMA)
    if version < SCHEMA:
        if not writable:
            raise _left_as_it_is("book.older", path)
        return (schema.move(engines, version),)
    if not set(APPEND_ONLY) <= tables:
        raise failure("book.damaged", path)
    return ()
