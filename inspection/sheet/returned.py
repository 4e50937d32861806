"""What a sheet was returned with, as long as the round that began then is not signed: words, and rows to be read."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.sheet.review import Return, Returned
from inspection.sheet.state import Cell, Sheet


def last_return(sheet: Sheet) -> Return | None:
    """The return from which the round under way began; None where it began otherwise, or is signed."""
    last = sheet.returns[-1] if sheet.returns else None
    return last if last is not None and not sheet.sealed and last.round == sheet.round - 1 else None


def returned(sheet: Sheet) -> tuple[Returned, ...]:
    """The words of that return; none where there is none."""
    last = last_return(sheet)
    return last.rows if last is not None else ()


def words_for(sheet: Sheet, cell: Cell) -> str:
    """The words of that return to a row on a piece; "" if there are none."""
    row, piece = cell
    said = (each.words for each in returned(sheet) if each.characteristic == row and each.piece in ("", piece))
    return "; ".join(said)


def to_read_anew(sheet: Sheet) -> Iterator[Cell]:
    """The cells to which words were written and of which nothing was read since, in the order of the words."""
    last = last_return(sheet)
    if last is None:
        return
    since = {(each.characteristic, each.piece) for each in sheet.readings.values() if each.taken > last.at}
    rows = [each for each in last.rows if each.characteristic]
    named = ((each.characteristic, piece) for each in rows for piece in _pieces(sheet, each))
    yield from (cell for cell in dict.fromkeys(named) if cell not in since and sheet.counting(*cell))


def _pieces(sheet: Sheet, words: Returned) -> Iterator[str]:
    """The pieces that words to a row are about, but for those that have left the sheet."""
    named = (words.piece,) if words.piece else (piece.identity for piece in sheet.pieces)
    return (piece for piece in named if piece not in sheet.left)
