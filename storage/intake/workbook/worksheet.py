"""One worksheet as rows of cells as they are stored, with what else the sheet says of them: hidden, merged, computed.

ECMA-376 part 1, 18.3 (worksheets).
"""

from __future__ import annotations

import re

from msgspec import Struct

from inspection.layout.cell_names import number_of
from storage.intake.workbook.markup import Attributes, Handler
from storage.intake.workbook.styles import on
from storage.intake.workbook.texts import RunReader, Text

LAST_ROW = 1_048_576
LAST_COLUMN = 16_383  # from 0: XFD
#: The longest number or error that is looked at.
_LONGEST_VALUE = 32_768
_REFERENCE = re.compile(r"\$?([A-Za-z]{1,3})\$?([1-9][0-9]{0,6})")
_MOST_RANGES = 16_384
#: Arrays whose cells are told one by one; the formula of a further one is a fault all the same.
_MOST_ARRAYS = 10


class Area(Struct, frozen=True):
    """A range of cells: rows from 1, columns from 0, both ends in it."""

    top: int
    left: int
    bottom: int
    right: int
    written: str

    def holds(self, row: int, column: int) -> bool:
        """Whether a cell lies in it."""
        return self.top <= row <= self.bottom and self.left <= column <= self.right


class Stored(Struct, frozen=True):
    """A filled cell as it is stored: ``kind`` is its type in the file ("n" number, "s" shared text …), ``raw`` its
    value, ``text`` a text of its own, ``computed`` whether a formula or an array makes it."""

    column: int
    kind: str
    style: int
    raw: str
    text: Text | None = None
    computed: bool = False


class StoredRow(Struct, frozen=True):
    """A row with filled cells; ``broken`` if it or cells of it stand twice, out of order or beyond the sheet."""

    number: int
    cells: tuple[Stored, ...]
    hidden: bool = False
    broken: bool = False


def area(written: str) -> Area | None:
    """The range that a reference such as ``B2:C7`` names; None if it names none."""
    ends = [_REFERENCE.fullmatch(end) for end in written.split(":")]
    if len(ends) > 2 or not all(ends):
        return None
    columns = sorted(number_of(end[1]) - 1 for end in ends if end)
    rows = sorted(int(end[2]) for end in ends if end)
    return Area(rows[0], columns[0], rows[-1], columns[-1], written[:30])


class SheetReader(Handler[StoredRow]):
    """Reads a worksheet into its filled rows; when all are read, ``merged`` and ``hidden`` hold what stood beside."""

    def __init__(self) -> None:
        super().__init__()
        self.merged: list[Area] = []
        self.hidden: list[tuple[int, int]] = []  # first and last column
        self._arrays: list[Area] = []
        self._hidden_by_default = False
        self._number = 0
        self._row_open = False
        self._cells: list[Stored] = []
        self._hidden_row = False
        self._broken = False
        self._column = -1
        self._run: RunReader | None = None
        self._text: Text | None = None
        self._taking = False
        self._begin_cell({})

    def start(self, name: str, attributes: Attributes) -> None:
        """Cells by the hundred thousand come here: the frequent ones first."""
        if name == "c":
            self._begin_cell(attributes)
        elif name == "v":
            self._taking = True
        elif self._run is not None:
            self._run.start(name, attributes)
        elif name == "row":
            self._begin_row(attributes)
        elif name == "is":
            self._run = RunReader()
        elif name == "f":
            self._formula(attributes)
        else:
            self._beside(name, attributes)

    def end(self, name: str) -> None:
        """What is whole is kept if it is filled."""
        if name == "c":
            self._end_cell()
        elif name == "v":
            self._taking = False
        elif name == "row":
            self._row_open = False
            if self._cells or self._broken:
                self.ready.append(StoredRow(self._number, tuple(self._cells), self._hidden_row, self._broken))
        elif name == "is" and self._run is not None:
            self._text, self._run = self._run.whole(), None
        elif self._run is not None:
            self._run.end(name)

    def text(self, text: str) -> None:
        """Characters of a value or of a cell's own text."""
        if self._taking and len(self._raw) < _LONGEST_VALUE:
            self._raw += text
        elif self._run is not None:
            self._run.text(text)

    def _begin_row(self, attributes: Attributes) -> None:
        given = attributes.get("r", "")
        number = int(given) if given.isdecimal() and len(given) < 8 else self._number + 1 if not given else 0
        self._broken = not self._number < number <= LAST_ROW
        self._number = max(number, self._number)
        by_default = self._hidden_by_default and "ht" not in attributes
        self._hidden_row = on(attributes, "hidden") if "hidden" in attributes else by_default
        if attributes.get("ht") in ("0", "0.0"):
            self._hidden_row = True
        self._row_open = True
        self._cells = []
        self._column = -1

    def _begin_cell(self, attributes: Attributes) -> None:
        self._raw = ""
        self._text = None
        self._computed = False
        self._kind = attributes.get("t", "n")
        style = attributes.get("s", "0")
        self._style = int(style) if style.isdecimal() and len(style) < 8 else -1
        self._reference = attributes.get("r", "")

    def _end_cell(self) -> None:
        column = self._column + 1
        if self._reference:
            found = _REFERENCE.fullmatch(self._reference)
            column = number_of(found[1]) - 1 if found and int(found[2]) == self._number else -1
        if not self._row_open or not self._column < column <= LAST_COLUMN:
            self._broken = True
            return
        self._column = column
        if self._raw or self._computed or (self._text and (self._text.text or self._text.problem)):
            computed = self._computed or any(one.holds(self._number, column) for one in self._arrays)
            self._cells.append(Stored(column, self._kind, self._style, self._raw, self._text, computed))

    def _formula(self, attributes: Attributes) -> None:
        """A formula; the cells that an array or data table fills hold none of their own."""
        self._computed = True
        spread = area(attributes.get("ref", "")) if attributes.get("t") in ("array", "dataTable") else None
        if spread and (spread.top, spread.left) != (spread.bottom, spread.right) and len(self._arrays) < _MOST_ARRAYS:
            self._arrays.append(spread)

    def _beside(self, name: str, attributes: Attributes) -> None:
        if name == "mergeCell" and len(self.merged) < _MOST_RANGES:
            found = area(attributes.get("ref", ""))
            self.merged += [found] if found else []
        elif name == "col" and (
            ("hidden" in attributes and on(attributes, "hidden")) or attributes.get("width") in ("0", "0.0")
        ):
            first, last = attributes.get("min", ""), attributes.get("max", "")
            if first.isdecimal() and last.isdecimal() and len(self.hidden) < _MOST_RANGES:
                self.hidden.append((int(first[:7]) - 1, int(last[:7]) - 1))
        elif name == "sheetFormatPr":
            self._hidden_by_default = "zeroHeight" in attributes and on(attributes, "zeroHeight")
