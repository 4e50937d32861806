"""Rows as high as the texts that are broken in them need, as a spreadsheet program makes them while somebody types; a
height that the customer has set stays, and so does that of merged cells, which no program fits."""

from __future__ import annotations

from math import ceil

from lxml import etree

from storage.dispatch.customer_form.references import Area
from storage.dispatch.customer_form.room import Room, taken

#: The height of a row where the workbook does not say, and of a line to the size of its font, in points.
_USUAL, _LINE = 15.0, 1.36
#: A space, in digits; and what a line may go over, as nobody knows the customer's letters.
_SPACE, _SPARE = 0.55, 0.95
#: A row is no higher (ISO/IEC 29500-1, 18.3.1.73; common practice of spreadsheet programs).
_HIGHEST = 409.0
_TRUE = ("1", "true")


class Heights:
    """The heights of the rows of one worksheet."""

    def __init__(self, room: Room) -> None:
        self.cells, self._room = room.cells, room
        found = room.cells.root.find(room.cells.book.tag("sheetFormatPr"))
        self._usual = float(found.get("defaultRowHeight", _USUAL)) if found is not None else _USUAL
        self._all_set = found is not None and found.get("customHeight") in _TRUE

    def fit(self, row: int, column: int, text: str) -> bool:
        """Make the row of a cell as high as its text needs; whether all of it is shown then."""
        look = self.cells.book.style(self.cells.style_of(row, column))
        area = self._room.area(row, column)
        needed = lines(text, self._room.width(area) * _SPARE / (look.size / 11.0)) * look.size * _LINE
        if needed <= sum(map(self._height, range(area.top, area.bottom + 1))) + 1:
            return True
        held = self.cells.row(row)
        if held is None or self._all_set or held.get("customHeight") in _TRUE or area != _alone(area):
            return False
        held.set("ht", f"{min(needed, _HIGHEST):.2f}".rstrip("0").rstrip("."))
        return needed <= _HIGHEST

    def _height(self, row: int) -> float:
        held: etree._Element | None = self.cells.row(row)
        told = held.get("ht") if held is not None else None
        return float(told) if told else self._usual


def _alone(area: Area) -> Area:
    return Area(area.sheet, area.top, area.left, area.top, area.left)


def lines(text: str, room: float) -> int:
    """How many lines a text is broken into where so many digits stand side by side.

    >>> lines("MATERIAL ALUMINIUM 6061-T6 PER CERTIFICATE", 26.0), lines("short", 26.0), lines("two\\nlines", 26.0)
    (2, 1, 2)
    """
    if room <= 0:
        return 1
    return sum(_lines_of(line, room) for line in text.split("\n"))


def _lines_of(line: str, room: float) -> int:
    count, at = 1, 0.0
    for word in line.split(" "):
        long = taken(word)
        if at and at + _SPACE + long > room:
            count, at = count + 1, 0.0
        at += (_SPACE if at else 0.0) + long
        if at > room:  # a word that no line holds goes on in the next ones
            count, at = count + ceil(at / room) - 1, at % room
    return count
