"""Checking the journal: every entry's bytes against their digest, the chain, and the columns beside the bytes."""

from __future__ import annotations

from collections.abc import Callable

import msgspec
from msgspec import Struct

from inspection.reasons import Reason
from inspection.sheet import events as ev
from inspection.sheet.canonical.form_4 import Record
from inspection.sheet.canonical.forms import ENTRY_READERS
from storage.book.journal import columns_of
from storage.book.passages import JOURNAL_COLUMNS, Line

Progress = Callable[[int, int], None]
"""Called with the entries done and the entries in all."""

#: The events that carry a signature.
SIGNED = frozenset((ev.SheetSealed, ev.StatementSigned))

_AT = {name: place for place, name in enumerate(JOURNAL_COLUMNS)}
_SEQUENCE, _STREAM, _PREVIOUS, _DIGEST = (_AT[name] for name in ("sequence", "stream", "previous", "digest"))
_FORM, _CONTENT = _AT["form"], _AT["content"]


class Chain(Struct):
    """What the journal came to so far: ``faults``, how many entries, how many of them up to the last signature, and the
    place and digest of the last one."""

    faults: list[Reason]
    entries: int = 0
    signed: int = 0
    place: int = 0
    last: str = ""

    def joined(self, then: Chain) -> Chain:
        """With the stretch of the journal that follows on this one."""
        signed = self.entries + then.signed if then.signed else self.signed
        return Chain(self.faults + then.faults, self.entries + then.entries, signed, then.place, then.last)

    def link(self, line: Line) -> Record | None:
        """Check the next entry; the record in its bytes, None if they hold none."""
        self.place += 1
        sequence = line[_SEQUENCE]
        if sequence != self.place:
            self.faults.append(Reason("verify.entry_missing", {"entry": self.place}))
            self.place = sequence
        if line[_PREVIOUS] != self.last:
            self.faults.append(Reason("verify.chain_broken", {"entry": sequence}))
        self.last = line[_DIGEST]
        self.entries += 1
        record = read_line(line)
        if record is None:
            self.faults.append(Reason("verify.entry_unreadable", {"entry": sequence}))
            return None
        if not SIGNED.isdisjoint(map(type, record.events)):
            self.signed = self.entries
        self.faults += _beside(line, record)
        return record


def read_line(line: Line) -> Record | None:
    """The record in the bytes of a journal row, None if they hold none."""
    reader = ENTRY_READERS.get(line[_FORM])
    try:
        return reader(line[_CONTENT]) if reader else None
    except (msgspec.DecodeError, UnicodeDecodeError):
        return None


def stream_of(line: Line) -> str:
    """The stream that a journal row says it belongs to."""
    return str(line[_STREAM])


def _beside(line: Line, record: Record) -> list[Reason]:
    """The digest and the other columns beside the bytes."""
    columns = columns_of(record, line[_SEQUENCE], line[_CONTENT])
    expected = tuple(columns.values())
    if expected == line:
        return []
    if columns["digest"] != line[_DIGEST]:
        return [Reason("verify.entry_changed", {"entry": line[_SEQUENCE]})]
    return [
        Reason(
            "verify.column_changed", {"entry": line[_SEQUENCE], "column": f"book.column.{name}", "stored": str(found)}
        )
        for name, value, found in zip(columns, expected, line, strict=True)
        if value != found
    ]
