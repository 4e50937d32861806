"""Cells as formulas name them, and what becomes of the names when rows are put in.

Formulas are taken apart by the library's tokenizer, so that what stands in quotes or is a function's name stays.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import cache

from msgspec import Struct
from openpyxl.formula.tokenizer import Token, Tokenizer, TokenizerError

from inspection.layout.cell_names import number_of, quoted

MOST_ROWS, MOST_COLUMNS = 1_048_576, 16_384
_CELL = re.compile(r"(\$?)([A-Za-z]{1,3})(\$?)([0-9]{1,7})")
_ROW = re.compile(r"(\$?)([0-9]{1,7})")
_COLUMN = re.compile(r"(\$?)([A-Za-z]{1,3})")
_QUALIFIED = re.compile(r"(?:'((?:[^']|'')+)'|([^'!]+))!")


class Area(Struct, frozen=True):
    """A rectangle of cells on a worksheet; rows and columns from 1, ends included."""

    sheet: str
    top: int
    left: int
    bottom: int
    right: int

    def holds(self, row: int, column: int) -> bool:
        """Whether a cell lies in it."""
        return self.top <= row <= self.bottom and self.left <= column <= self.right

    def meets(self, other: Area) -> bool:
        """Whether both share a cell."""
        return (
            self.sheet.casefold() == other.sheet.casefold()
            and self.top <= other.bottom
            and other.top <= self.bottom
            and self.left <= other.right
            and other.left <= self.right
        )


class Growth(Struct, frozen=True):
    """Rows put in on a worksheet: ``n`` of them in front of row ``at``."""

    sheet: str
    at: int
    n: int

    def row(self, row: int) -> int:
        """Where a row stands afterwards."""
        return row + self.n if row >= self.at else row


def column_of(address: str) -> int:
    """The column of a plain address: 3 of ``C7``. Raises ValueError for what begins with no letter."""
    return _plainletters(address.rstrip("0123456789"))


@cache
def _plainletters(letters: str) -> int:
    if not letters.isalpha() or not letters.isascii():
        raise ValueError(letters)
    return number_of(letters)


def cell_of(address: str) -> tuple[int, int]:
    """Row and column of an address, with or without dollar signs. Raises ValueError for anything else."""
    found = _CELL.fullmatch(address.strip())
    if found is None:
        raise ValueError(address)
    return int(found[4]), number_of(found[2])


def area_of(text: str, sheet: str) -> Area | None:
    """The area that a reference names, on ``sheet`` unless it says another; None for what names no cells."""
    qualified = _QUALIFIED.match(text)
    if qualified:
        sheet = (qualified[1] or qualified[2]).replace("''", "'")
        text = text[qualified.end() :]
    first, _, last = text.partition(":")
    ends = _end(first, low=True), _end(last or first, low=False)
    if ends[0] is None or ends[1] is None:
        return None
    (top, left), (bottom, right) = ends[0], ends[1]
    return Area(sheet, min(top, bottom), min(left, right), max(top, bottom), max(left, right))


def _end(text: str, *, low: bool) -> tuple[int, int] | None:
    text = text.strip()
    if cell := _CELL.fullmatch(text):
        return int(cell[4]), number_of(cell[2])
    if row := _ROW.fullmatch(text):
        return int(row[2]), 1 if low else MOST_COLUMNS
    if column := _COLUMN.fullmatch(text):
        return 1 if low else MOST_ROWS, number_of(column[2])
    return None


#: Functions that ask only whether anything stands in a cell.
_LOOKS = frozenset({"COUNTA(", "COUNTBLANK(", "ISBLANK("})


def areas_in(formula: str, sheet: str, *, reckoned: bool = False) -> Iterator[Area]:
    """The areas that a formula names, a formula without its equals sign; ``reckoned`` those of whose values it makes
    something, not those it only asks whether anything stands there. One that cannot be taken apart names all."""
    try:
        tokens = Tokenizer("=" + formula).items
    except (TokenizerError, IndexError):
        yield Area(sheet, 1, 1, MOST_ROWS, MOST_COLUMNS)
        return
    inside: list[bool] = []
    for token in tokens:
        if token.type == Token.FUNC and token.subtype == Token.OPEN:
            inside.append(token.value.upper() in _LOOKS)
        elif token.type == Token.FUNC and inside:
            inside.pop()
        elif token.type == Token.OPERAND and token.subtype == Token.RANGE and not (reckoned and any(inside)):
            area = area_of(token.value, sheet)
            if area is not None:
                yield area


def names_in(formula: str) -> set[str]:
    """What a formula names that is no cells: defined names and tables, in lower case."""
    try:
        tokens = Tokenizer("=" + formula).items
    except (TokenizerError, IndexError):
        return set()
    return {
        token.value.partition("[")[0].rpartition("!")[2].casefold()
        for token in tokens
        if token.type == Token.OPERAND and token.subtype == Token.RANGE and area_of(token.value, "") is None
    }


def functions_in(formula: str) -> set[str]:
    """The functions that a formula calls, in capitals."""
    try:
        tokens = Tokenizer("=" + formula).items
    except (TokenizerError, IndexError):
        return set()
    return {token.value.rstrip("(").upper() for token in tokens if token.type == Token.FUNC and token.value != ")"}


def moved(formula: str, own: str, growth: Growth) -> str:
    """A formula that stands on worksheet ``own``, after rows were put in."""
    return _rewritten(formula, lambda text: _moved_reference(text, own, growth))


def moved_down(formula: str, by: int) -> str:
    """A formula copied ``by`` rows further down: what has no dollar sign goes along."""
    return _rewritten(formula, lambda text: _copied_reference(text, by))


def renamed(formula: str, old: str, new: str) -> str:
    """A formula with what it says of one worksheet said of another."""

    def rename(text: str) -> str:
        found = _QUALIFIED.match(text)
        if found is None or (found[1] or found[2]).replace("''", "'").casefold() != old.casefold():
            return text
        return f"{quoted(new)}!{text[found.end() :]}"

    return _rewritten(formula, rename)


def _rewritten(formula: str, change: Callable[[str], str]) -> str:
    try:
        tokens = Tokenizer("=" + formula)
    except (TokenizerError, IndexError):
        return formula
    for token in tokens.items:
        if token.type == Token.OPERAND and token.subtype == Token.RANGE:
            token.value = change(token.value)
    return "".join(token.value for token in tokens.items)


def _moved_reference(text: str, own: str, growth: Growth) -> str:
    qualified = _QUALIFIED.match(text)
    sheet = (qualified[1] or qualified[2]).replace("''", "'") if qualified else own
    if sheet.casefold() != growth.sheet.casefold():
        return text
    front, body = (text[: qualified.end()], text[qualified.end() :]) if qualified else ("", text)
    return front + moved_area(body, growth)


def moved_area(text: str, growth: Growth) -> str:
    """An area without its worksheet's name, after rows were put in on that worksheet."""
    return ":".join(_moved_end(end, growth.row) for end in text.split(":"))


def _moved_end(text: str, move: Callable[[int], int]) -> str:
    if cell := _CELL.fullmatch(text):
        return f"{cell[1]}{cell[2]}{cell[3]}{move(int(cell[4]))}"
    if row := _ROW.fullmatch(text):
        return f"{row[1]}{move(int(row[2]))}"
    return text


def _copied_reference(text: str, by: int) -> str:
    qualified = _QUALIFIED.match(text)
    front, body = (text[: qualified.end()], text[qualified.end() :]) if qualified else ("", text)
    return front + ":".join(_copied_end(end, by) for end in body.split(":"))


def _copied_end(text: str, by: int) -> str:
    if (cell := _CELL.fullmatch(text)) and not cell[3]:
        return f"{cell[1]}{cell[2]}{int(cell[4]) + by}"
    if (row := _ROW.fullmatch(text)) and not row[1]:
        return f"{int(row[2]) + by}"
    return text
