"""Cells as every spreadsheet names them: a column's letters, a row's number, a worksheet's name in front. Rows and
columns count from 1."""

from __future__ import annotations

import re
from functools import cache

_BARE = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
_LIKE_A_CELL = re.compile(r"[A-Za-z]{1,3}[0-9]{1,7}")


@cache
def letters(column: int) -> str:
    """A column's letters.

    >>> letters(1), letters(26), letters(27)
    ('A', 'Z', 'AA')
    """
    text = ""
    while column:
        column, rest = divmod(column - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


@cache
def number_of(letters: str) -> int:
    """A column's number by its letters.

    >>> number_of("A"), number_of("ab")
    (1, 28)
    """
    found = 0
    for letter in letters.upper():
        found = found * 26 + ord(letter) - 64
    return found


def address(row: int, column: int) -> str:
    """A cell's name.

    >>> address(7, 3)
    'C7'
    """
    return f"{letters(column)}{row}"


def quoted(sheet: str) -> str:
    """A worksheet's name as it stands in front of a cell's, in quotes where it needs them.

    >>> quoted("FAI"), quoted("Page 1"), quoted("A1")
    ('FAI', "'Page 1'", "'A1'")
    """
    if _BARE.fullmatch(sheet) and not _LIKE_A_CELL.fullmatch(sheet):
        return sheet
    return "'" + sheet.replace("'", "''") + "'"
