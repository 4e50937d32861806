"""The crib as a file: looked at before it is taken in, taken in as one act, written out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from msgspec import Struct

from inspection.instruments.changes import Taking, taking
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from storage.book.door import Book

Bytes = Callable[..., bytes]


class Looked(Struct, frozen=True):
    """What a crib file would change, and what is to be said of the file that is no fault."""

    file: str
    taking: Taking
    notices: tuple[Reason, ...] = ()


def look_at_crib_file(book: Book, path: Path) -> Looked:
    """What taking this file in would do; nothing is taken yet.

    Raises Refused (every fault of the file by its cell) or BookFailure.
    """
    from storage.intake.crib import read_crib
    from storage.intake.grid import read_bytes

    crib = book.shop().crib
    file = read_crib(read_bytes(path), path.name, crib)
    return Looked(path.name, taking(crib, file.records), file.notices)


def issue_of(looked: Looked) -> acts.IssueInstruments | None:
    """The act that takes a file in; None where everything is as the crib holds it already."""
    return acts.IssueInstruments(instruments=looked.taking.issues) if looked.taking.issues else None


def write_crib_file(book: Book, path: Path) -> int:
    """Write the whole crib as csv or workbook, by the file's ending; how many instruments it holds.

    Raises Refused for another ending or a text that no cell holds, BookFailure for what the disk would not do.
    """
    from storage.dispatch.crib import crib_csv, crib_workbook
    from storage.files import write_file

    forms: dict[str, Bytes] = {".csv": crib_csv, ".xlsx": crib_workbook}
    if path.suffix.lower() not in forms:
        raise Refused(Reason("crib.file.ending", {"file": path.name}))
    held = book.shop().crib.values()
    write_file(path, forms[path.suffix.lower()](held))
    return len(held)
