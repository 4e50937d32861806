"""Files kept with records: their bytes go into the book in the transaction of the entry that names them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select, text

from inspection.attached import Attached
from inspection.reasons import Part, Reason, Refused
from inspection.sheet import acts
from inspection.sheet.acts import Act
from inspection.sheet.canonical.canonical import digest
from storage.book.engines import Engines
from storage.book.failures import failure, telling
from storage.book.tables import attached_file, journal

#: Files of entries after one of them that name the file.
_SINCE = text(
    """SELECT file.digest FROM attached_file AS file JOIN journal ON journal.sequence = file.sequence
    WHERE file.sequence > :after AND instr(journal.content, CAST(file.digest AS BLOB)) > 0"""
)
#: Larger files are kept elsewhere and named in a note; a book is copied whole at every backup.
LARGEST = 20_000_000


def attached(name: str, content: bytes) -> Attached:
    """How a record names a file with these bytes. Raises Refused for one that is empty or too large."""
    if not content:
        raise Refused(Reason("file.attached_empty", {"name": name}))
    if len(content) > LARGEST:
        raise Refused(Reason("file.attached_too_large", {"name": name, "most": LARGEST // 1_000_000}))
    return Attached(name, digest(content), len(content))


def read_attached(path: Path) -> tuple[Attached, bytes]:
    """How a record names this file, and its bytes; of a file that is too large no more is read than shows it.

    Raises BookFailure if it cannot be read, Refused for one that is empty or too large.
    """
    if not path.exists():
        raise failure("file.missing", path)
    with telling(path, "file"), path.open("rb") as stream:
        content = stream.read(LARGEST + 1)
    return attached(path.name, content), content


def attached_rows(
    connection: Connection, act: Act, given: Mapping[str, bytes], sequence: int, waiting: Iterable[str]
) -> list[dict[str, Any]]:
    """Rows for the files that an act names and the book does not hold yet; ``given`` holds bytes by digest, ``waiting``
    digests that this transaction already writes.

    Raises Refused if the bytes of a named file were neither given nor kept before.
    """
    named = {one.digest: one for one in attached_of(act)}
    if not named:
        return []
    query = select(attached_file.c.digest).where(attached_file.c.digest.in_(named))
    kept = {*connection.execute(query).scalars(), *waiting}
    rows = []
    for name, one in named.items():
        if name in kept:
            continue
        content = given.get(name, b"")
        if not content or attached(one.name, content) != one:
            raise Refused(Reason("file.attached_not_given", {"name": one.name}))
        rows.append({"digest": name, "sequence": sequence, "size": one.size, "content": content})
    return rows


def attached_of(act: Act) -> tuple[Attached, ...]:
    """The files that an act names."""
    match act:
        case acts.EnterEvidence(evidence=evidence):
            return evidence.files
        case acts.IssueLayout(layout=layout):
            return (layout.workbook,)
        case acts.RecordSent(files=files) | acts.KeepDocument(files=files):
            return files
        case acts.IssueInstrument(instrument=instrument):
            return instrument.files
        case acts.IssueInstruments(instruments=instruments):
            return tuple(one for instrument in instruments for one in instrument.files)
    return ()


def content_of(connection: Connection, name: str) -> bytes:
    """The bytes of the file with this digest. Raises Refused if the book holds none."""
    found = connection.execute(select(attached_file.c.content).where(attached_file.c.digest == name)).scalar()
    if found is None:
        raise Refused(Reason("file.attached_unknown"))
    return bytes(found)


def attached_faults(engines: Engines, named: Mapping[str, Attached], *, up_to: int | None) -> list[Reason]:
    """Attached files whose bytes are gone or are not what their digest says, read one at a time.

    ``named`` are the files that the journal names up to an entry, by digest; a file that nothing names is a fault, but
    for those that came in with entries after the one ``up_to``, while the book was read. None: others are passed over.
    """
    others = up_to is not None
    with engines.reading.begin() as connection:
        kept = set(connection.execute(select(attached_file.c.digest)).scalars())
        if others:
            kept -= set(connection.execute(_SINCE, {"after": up_to}).scalars()) - named.keys()
    faults = [Reason("verify.attached_missing", {"name": named[name].name}) for name in named if name not in kept]
    for name in sorted(kept if others else kept & named.keys()):
        told: dict[str, Part] = {"name": named[name].name if name in named else name[:16]}
        if name not in named:
            faults.append(Reason("verify.attached_added", told))
        with engines.reading.begin() as connection:
            content = content_of(connection, name)
        if digest(content) != name:
            faults.append(Reason("verify.attached_changed", told))
        elif name in named:
            faults += _noted_wrongly(engines, name, named[name], len(content))
    return faults


def _noted_wrongly(engines: Engines, name: str, one: Attached, size: int) -> list[Reason]:
    """The columns beside a file's bytes: its size, and the first entry that names it."""
    with engines.reading.begin() as connection:
        noted = connection.execute(
            select(attached_file.c.size, journal.c.content)
            .join_from(attached_file, journal, attached_file.c.sequence == journal.c.sequence, isouter=True)
            .where(attached_file.c.digest == name)
        ).one()
    wrong = {"size": noted.size != size, "sequence": name.encode() not in (noted.content or b"")}
    return [
        Reason("verify.attached_noted_wrongly", {"name": one.name, "column": f"book.column.{column}"})
        for column, differs in wrong.items()
        if differs
    ]
