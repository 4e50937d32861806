"""What others said to a row on a piece, beside its notes: words of a return, and the nonconformance it belongs to."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.sheet.returned import last_return, to_read_anew, words_for
from inspection.sheet.state import Cell, Sheet, Shop
from inspection.words.say import word

#: Rows that are named with their words in one sentence; of more the others are counted.
MOST_SAID = 3


def words_at(sheet: Sheet, cell: Cell) -> Iterator[str]:
    """The words with which the row was returned in the round before, and its nonconformances with what is done."""
    if words := words_for(sheet, cell):
        yield word("bench.returned", words=words)
    for held in sheet.nonconformances.values():
        if held.piece == cell[1] and cell[0] in (*held.rows, *held.affected):
            how = f"review.disposition.{held.disposition.name.lower()}" if held.disposition else ""
            done = word(how) if how else word("review.nonconformance.waits")
            yield word("bench.nonconformance", number=held.number, done=done)


def words_of_return(sheet: Sheet, shop: Shop) -> str:
    """Who returned the sheet, with which words to which rows; "" if this round did not begin so."""
    last = last_return(sheet)
    if last is None:
        return ""
    said = [
        word("bench.returned.row", row=row_on_piece(sheet, (each.characteristic, each.piece)), words=each.words)
        for each in last.rows
        if each.characteristic
    ]
    shown = [*said[:MOST_SAID], word("bench.returned.more", n=len(said) - MOST_SAID)] if len(said) > MOST_SAID else said
    whole = [each.words for each in last.rows if not each.characteristic]
    return word("bench.returned.sheet", person=shop.people[last.by].name, words="; ".join((*whole, *shown)))


def rows_to_read_anew(sheet: Sheet) -> tuple[str, ...]:
    """The rows that the return asked for and nobody has read since, by number and piece."""
    return tuple(row_on_piece(sheet, cell) for cell in to_read_anew(sheet))


def row_on_piece(sheet: Sheet, cell: Cell) -> str:
    """A row's number, and its piece's serial where it is about one of several."""
    number = sheet.characteristic(cell[0]).number
    serial = next((piece.serial for piece in sheet.pieces if piece.identity == cell[1]), "")
    return f"{number} ({serial})" if serial and len(sheet.pieces) > 1 else number
