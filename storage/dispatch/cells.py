"""Cells of a workbook: what one is to hold, written so that it stays what it is and looks like the printed sheet."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace
from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Side
from openpyxl.styles.cell_style import StyleArray
from openpyxl.worksheet.worksheet import Worksheet

from inspection.reasons import Part, Reason, Refused
from storage.dispatch.style import mark_of, palette

#: Characters that one cell holds ("Excel specifications and limits", Microsoft): a longer text would be cut silently.
MOST_IN_CELL = 32_767
#: Significant digits that a number of a workbook holds (ISO/IEC 29500-1, 18.3.1.96: IEEE 754 binary64).
MOST_DIGITS = 15
NUMBER = re.compile(r"-?\d+(\.\d+)?")
#: A text that begins so would be taken for a formula if somebody opened the cell and left it again.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
FONT = "Calibri"
SIZE = 10


class Entry(Struct, frozen=True):
    """What one cell is to hold: a text, and where it is a number its decimals; ``around`` is what the format shows
    before and behind the number. A verdict's ``state`` colours it; ``where`` is the row's number and the field's name,
    for the sentence if it does not fit."""

    text: str
    decimals: int | None = None
    around: tuple[str, str] = ("", "")
    state: str = ""
    struck: bool = False
    bold: bool = False
    head: bool = False
    plain: bool = False
    where: tuple[str, str] = ("", "")


def number_entry(text: str, decimals: int, *, struck: bool = False, bold: bool = False) -> Entry:
    """A number with the decimals it is written with, at least ``decimals``; any other text as it is, and a number of
    more digits than a workbook holds, so that none is altered."""
    if not NUMBER.fullmatch(text) or sum(map(str.isdigit, text.lstrip("-0."))) > MOST_DIGITS:
        return Entry(text, struck=struck, bold=bold)
    return Entry(text, max(decimals, len(text.partition(".")[2])), struck=struck, bold=bold)


def number_in_words(text: str, number: str, decimals: int) -> Entry:
    """A ``text`` that holds one number and words around it ("mean 0.4998 (n = 3)"): the cell holds the number, and its
    format the words. A text as it is where the number cannot be held."""
    before, found, after = text.partition(number)
    entry = number_entry(number, decimals)
    if not found or entry.decimals is None:
        return Entry(text)
    return replace(entry, text=text, around=(before, after))


class Steps:
    """Tells how many rows of so many are written; ``progress`` may raise to stop."""

    def __init__(self, progress: Callable[[int, int], None] | None = None, rows: int = 0) -> None:
        self.progress, self.rows, self.done = progress, rows, 0

    def take(self) -> None:
        """A row is next."""
        if self.progress is not None:
            self.progress(min(self.done, self.rows), self.rows)
        self.done += 1


class Cells:
    """Writes entries into the sheets of one book, a step a row. Styles are named, so that each is kept once however
    many cells use it."""

    def __init__(self, book: Workbook, steps: Steps | None = None) -> None:
        self.book, self.steps = book, steps or Steps()
        self.named: dict[tuple[object, ...], tuple[str, StyleArray]] = {}

    def write(self, sheet: Worksheet, row: int, column: int, entry: Entry) -> None:
        """Write an entry; rows and columns count from 1. Raises Refused for a text that no cell holds."""
        cell = sheet.cell(row, column)
        assert isinstance(cell, Cell)
        cell.style = self._look(sheet, entry)[0]
        _fill(cell, entry)

    def append(self, sheet: Worksheet, row: Sequence[Entry]) -> None:
        """Write entries as the next row, the quickest way; else as ``write``."""
        sheet.append([self._cell(sheet, entry) for entry in row])

    def _cell(self, sheet: Worksheet, entry: Entry) -> Cell:
        cell = Cell(sheet, 1, 1, style_array=self._look(sheet, entry)[1])
        _fill(cell, entry)
        return cell

    def _look(self, sheet: Worksheet, entry: Entry) -> tuple[str, StyleArray]:
        """The style of an entry by its name and as a cell holds it. Looking one up by name takes the book longer than
        all else of a cell, so that it is done once for each look."""
        key = (entry.decimals, entry.around, entry.state, entry.struck, entry.bold, entry.head, entry.plain)
        if key not in self.named:
            name = f"Tenthwright {len(self.named) + 1}"
            self.book.add_named_style(_named_style(name, entry))
            cell = Cell(sheet, 1, 1)
            cell.style = name
            self.named[key] = name, cell._style  # type: ignore[attr-defined]
        return self.named[key]


def _fill(cell: Cell, entry: Entry) -> None:
    if entry.decimals is not None:
        cell.value = Decimal(entry.text[len(entry.around[0]) : len(entry.text) - len(entry.around[1])])
    elif entry.text:
        _write_text(cell, entry)


def _named_style(name: str, entry: Entry) -> NamedStyle:
    calm = entry.state in ("", "conforming", "open", "not judged")
    colour = mark_of(entry.state).colour if entry.state else "ink"
    style = NamedStyle(name)
    style.font = Font(FONT, SIZE, bold=entry.bold or entry.head or not calm, color=argb(colour), strike=entry.struck)
    if entry.decimals is None:
        style.alignment = Alignment(vertical="top", wrap_text=True)
    else:
        style.alignment = Alignment("right", "top", indent=1)
    style.border = Border() if entry.plain else Border(bottom=Side("hair", color=argb("line")))
    if entry.head:
        style.fill = PatternFill("solid", fgColor=argb("zone"))
    if entry.decimals is not None:
        style.number_format = _number_format(entry.decimals, *entry.around)
    return style


def _number_format(decimals: int, before: str, after: str) -> str:
    """A number format (ECMA-376 part 1, 18.8.31) with words as literals; a minus stands at the number, not before the
    words, which takes a section of its own."""
    digits = "0." + "0" * decimals if decimals else "0"
    if not before and not after:
        return digits
    before, after = _literal(before), _literal(after)
    return f"{before}{digits}{after};{before}-{digits}{after}"


def _literal(text: str) -> str:
    """A text between quotes; a quote itself stands behind a backslash outside them."""
    return '\\"'.join(f'"{part}"' if part else "" for part in text.split('"'))


def _write_text(cell: Cell, entry: Entry) -> None:
    """A text that stays a text: no formula, no error value, no date, also after somebody opened the cell."""
    if len(entry.text) > MOST_IN_CELL:
        parts: dict[str, Part] = {"number": entry.where[0], "field": entry.where[1]}
        raise Refused(Reason("dispatch.cell_full", {**parts, "length": len(entry.text), "most": MOST_IN_CELL}))
    cell.value = entry.text
    cell.data_type = "s"
    if entry.text.startswith(FORMULA_STARTS):
        cell.quotePrefix = True


def argb(colour: str) -> str:
    """A colour of the printed palette as a workbook writes it, opaque."""
    return "FF" + palette()[colour].removeprefix("#").upper()
