"""Opening a book: everything that may be wrong with it is found before anything is read, and told by its name."""

from __future__ import annotations

import struct
from pathlib import Path

from msgspec import Struct
from sqlalchemy import text

from inspection.reasons import Reason
from storage.book import schema
from storage.book.engines import APPLICATION_ID, SCHEMA, Engines, exists_for_writing, open_in_this_process
from storage.book.failures import failure, telling
from storage.book.holder import being_written
from storage.book.tables import APPEND_ONLY
from storage.files import moved_in

# Of the database header (SQLite, "Database File Format", section 1.3) and of a rollback journal (section 3).
_MAGIC = b"SQLite format 3\x00"
_JOURNAL_MAGIC = bytes.fromhex("d9d505f920a163d7")
_HEADER = 100


class Header(Struct, frozen=True):
    """What a file's first bytes say, read as plain bytes."""

    size: int
    magic: bool
    application: int
    version: int
    size_expected: int  # 0 if the header does not vouch for it


class Opened(Struct):
    """A book that may be used, and what is to be said about its opening."""

    engines: Engines
    notices: tuple[Reason, ...]


def default_place() -> Path:
    """Where the shop's book lies unless another file is named: in the user's data folder."""
    from platformdirs import user_data_path

    return user_data_path("tenthwright", appauthor=False) / "shop.tenthwright"


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
        hot = _leftover_journal(path)
        if header is not None:
            _check_header(path, header, hot)
        if hot and not writable:
            raise failure("book.cut_off", path)
        engines = Engines(path, writable=writable)
        try:
            moved = _check_inside(engines, writable)
        except BaseException:
            engines.close()
            raise
    recovered = [Reason("book.recovered", {"name": path.name})] if hot and not _leftover_journal(path) else []
    return Opened(engines, (*recovered, *moved))


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


def read_header(path: Path) -> Header:
    """The file's header as plain bytes. Only while this process has no connection to the file."""
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(_HEADER).ljust(_HEADER, b"\x00")
    page, changes, pages, valid_for = (
        *struct.unpack(">H", head[16:18]),
        *struct.unpack(">I", head[24:28]),
        *struct.unpack(">I", head[28:32]),
        *struct.unpack(">I", head[92:96]),
    )
    page = 65_536 if page == 1 else page
    return Header(
        size=size,
        magic=head.startswith(_MAGIC),
        application=struct.unpack(">I", head[68:72])[0],
        version=struct.unpack(">I", head[60:64])[0],
        size_expected=page * pages if changes == valid_for else 0,
    )


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


def _leftover_journal(path: Path) -> bool:
    """Whether a rollback journal lies beside the book that no living writer is at work with."""
    try:
        with path.with_name(f"{path.name}-journal").open("rb") as file:
            begun = file.read(len(_JOURNAL_MAGIC)) == _JOURNAL_MAGIC
    except OSError:
        return False
    return begun and not being_written(path)


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
            raise failure("book.older", path)
        return (schema.move(engines, version),)
    if not set(APPEND_ONLY) <= tables:
        raise failure("book.damaged", path)
    return ()
