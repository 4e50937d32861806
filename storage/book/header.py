"""A book's file seen from outside: its first bytes, its journal, and whether this process has it open.

Nothing here needs the database layer, so that a book can be looked at before that is imported.
"""

from __future__ import annotations

import struct
from pathlib import Path

from msgspec import Struct

from storage.book.holder import being_written

#: Marks a file as a book ("TWBK"), at byte 68 of its header.
APPLICATION_ID = 0x5457424B
#: The schema this program writes, at byte 60 of the header.
SCHEMA = 4

# Of the database header (SQLite, "Database File Format", section 1.3) and of a rollback journal (section 3).
_MAGIC = b"SQLite format 3\x00"
_JOURNAL_MAGIC = bytes.fromhex("d9d505f920a163d7")
_HEADER = 100

_open_here: dict[tuple[int, int], int] = {}


def default_place() -> Path:
    """Where the shop's book lies unless another file is named: in the user's data folder."""
    from platformdirs import user_data_path

    return user_data_path("tenthwright", appauthor=False) / "shop.tenthwright"


class Header(Struct, frozen=True):
    """What a file's first bytes say, read as plain bytes."""

    size: int
    magic: bool
    application: int
    version: int
    size_expected: int  # 0 if the header does not vouch for it


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


def leftover_journal(path: Path) -> bool:
    """Whether a rollback journal lies beside the book that no living writer is at work with."""
    try:
        with path.with_name(f"{path.name}-journal").open("rb") as file:
            begun = file.read(len(_JOURNAL_MAGIC)) == _JOURNAL_MAGIC
    except OSError:
        return False
    return begun and not being_written(path)


def open_in_this_process(path: Path) -> bool:
    """Whether this process has a connection to the file: then its bytes may not be read by other means, because
    closing a second descriptor would drop the connection's locks."""
    status = path.stat()
    return _open_here.get((status.st_dev, status.st_ino), 0) > 0


def connected(key: tuple[int, int], by: int) -> None:
    """Count a connection of this process to the file of this device and number: ``by`` 1 when made, -1 when closed."""
    _open_here[key] = _open_here.get(key, 0) + by
