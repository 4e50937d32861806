"""Verifying a book, or one sheet of it, alike in window and command line: the book itself, the signed PDFs that it
keeps, and what was carried outside it."""

from __future__ import annotations

from collections.abc import Iterator
from enum import Enum
from typing import TYPE_CHECKING

from msgspec import Struct

from inspection.reasons import Reason
from storage.book.queries.of_entry import Named, sheet_named, sheet_of_entry
from storage.seals.check import OnSheet, Verified

if TYPE_CHECKING:
    from storage.book.door import Book

#: What is only whole where no signed PDF says otherwise.
_WHOLE = frozenset({"verify.book_whole", "verify.sheet_whole"})
#: What is told of a book that nothing is wrong with, and what nobody can tell from what is at hand.
_NOT_PROVED = frozenset(
    {
        "verify.unsigned_tail",
        "head.behind",
        "head.none_at_hand",
        "head.beyond",
        "head.copy_ahead",
        "head.copy_settled",
        "head.copy_silent",
    }
)
#: What is settled by saying that this is the book to go by.
_SETTLED = frozenset({"head.beyond", "head.differs", "head.copy_apart", "head.copy_apart_gone"})


class Weight(Enum):
    """What a finding says of the book: something stands against it, something is not proved, or something holds."""

    AGAINST = "against"
    NOT_PROVED = "not_proved"
    HOLDS = "holds"


class Finding(Struct, frozen=True):
    """One finding; ``on`` is the sheet that it is about, ``number`` and ``serial`` the row and piece where it says."""

    reason: Reason
    weight: Weight
    on: Named | None = None
    number: str = ""
    serial: str = ""


def joined(itself: Verified, pdfs: Verified, outside: Verified) -> Verified:
    """All that was found of a book or a sheet; it is whole only if its signed PDFs hold as well."""
    told = (each for each in itself.statements if not pdfs.faults or each.code not in _WHOLE)
    return Verified((*told, *pdfs.statements, *outside.statements), (*itself.faults, *pdfs.faults, *outside.faults))


def findings(book: Book, found: Verified) -> tuple[Finding, ...]:
    """What was found, with the sheets to go to: what stands against the book first, then what is not proved."""
    against = [_against(book, fault) for fault in found.faults]
    rest = [Finding(each, _weight(each)) for each in found.statements]
    return (*against, *sorted(rest, key=lambda each: each.weight is Weight.HOLDS))


def may_be_settled(found: Verified) -> bool:
    """Whether saying that this is the book to go by would settle something."""
    return any(fault.code in _SETTLED for fault in found.faults)


def lines(found: Verified) -> Iterator[Reason]:
    """What was found, in the order in which it is told."""
    yield from found.faults
    yield from found.statements


def _weight(reason: Reason) -> Weight:
    return Weight.NOT_PROVED if reason.code in _NOT_PROVED else Weight.HOLDS


def _against(book: Book, fault: Reason) -> Finding:
    parts, on = fault.parts, None
    if isinstance(fault, OnSheet):
        on = book.ask(sheet_named, fault.sheet)
    elif isinstance(entry := parts.get("entry"), int) and fault.code.startswith("verify."):
        on = book.ask(sheet_of_entry, entry)
    number = str(parts.get("row", "") or (parts.get("number", "") if fault.code.endswith(".row") else ""))
    return Finding(fault, Weight.AGAINST, on, number, str(parts.get("serial", "")) if number else "")
