"""What others said to a row on a piece, beside its notes: words of a return, and the nonconformance it belongs to."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.sheet.review import Returned
from inspection.sheet.state import Cell, Sheet
from inspection.words.say import word


def words_at(sheet: Sheet, cell: Cell) -> Iterator[str]:
    """The words with which the row was returned in the round before, and its nonconformances with what is done."""
    for each in returned(sheet):
        if each.characteristic == cell[0] and each.piece in ("", cell[1]):
            yield word("bench.returned", words=each.words)
    for held in sheet.nonconformances.values():
        if held.piece == cell[1] and cell[0] in (*held.rows, *held.affected):
            how = f"review.disposition.{held.disposition.name.lower()}" if held.disposition else ""
            done = word(how) if how else word("review.nonconformance.waits")
            yield word("bench.nonconformance", number=held.number, done=done)


def words_to_all(sheet: Sheet) -> str:
    """The words with which the whole sheet was returned, "" if there are none."""
    return " ".join(each.words for each in returned(sheet) if not each.characteristic)


def returned(sheet: Sheet) -> tuple[Returned, ...]:
    """What the sheet was returned with, as long as this round is not signed."""
    last = sheet.returns[-1] if sheet.returns else None
    return last.rows if last is not None and not sheet.sealed and last.round == sheet.round - 1 else ()
