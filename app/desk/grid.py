"""A workbook as the one who opens it sees it: its cells as text in their number formats, read from the file's bytes."""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Callable
from datetime import datetime
from decimal import Decimal
from math import ceil
from typing import TYPE_CHECKING, Any, NamedTuple

from inspection.words.say import word

if TYPE_CHECKING:
    from openpyxl.cell import Cell, MergedCell
    from openpyxl.worksheet.worksheet import Worksheet

    from storage.dispatch.customer_form.drawn import Drawn

Progress = Callable[[int, int], None]

#: What a cell holds that never goes over its edge: numbers, and days, which are numbers.
NUMBERS = ("n", "d")
#: A format that only fixes the decimals.
DECIMALS = re.compile(r"0(?:\.(0+))?")
#: What a program takes for a column or row of which nothing is said, in characters and points (ECMA-376 part 1,
#: 18.3.1.81).
USUAL_WIDTH, USUAL_HEIGHT = 8.43, 15.0
#: The same in pixels, of a row and of a column.
USUAL_PIXELS = (20, 64)
#: The ink of what stands in a result's place.
WAITING = "#656b70"
#: Nobody looks further into a workbook than this.
MOST_ROWS, MOST_COLUMNS = 20_000, 200


class Shown(NamedTuple):
    """One cell: its text, and how it looks; colours are ``#rrggbb`` or "". ``mark`` names the value of the sheet that
    stands there, of a customer's form; ``formula`` is the one whose result the text is, where that is still known;
    ``turned`` is 1 for a text that is read from below upwards, -1 for one from above downwards."""

    text: str
    number: bool = False
    bold: bool = False
    struck: bool = False
    ink: str = ""
    ground: str = ""
    boxed: bool = False
    wrapped: bool = False
    mark: str = ""
    formula: str = ""
    turned: int = 0


class Grid(NamedTuple):
    """One sheet of the workbook: its name, widths of its columns in characters, heights of its rows in points; merged
    cells by row and column from 0, and how many rows and columns they take; what lies above the cells."""

    name: str
    widths: tuple[float, ...]
    heights: tuple[float, ...]
    rows: tuple[tuple[Shown, ...], ...]
    merged: tuple[tuple[int, int, int, int], ...] = ()
    drawn: tuple[Drawn, ...] = ()


class _Stepping(io.BytesIO):
    """Bytes that tell how far they are read, so that the reading of a large workbook can be stopped."""

    def __init__(self, content: bytes, progress: Progress) -> None:
        super().__init__(content)
        self._size, self._progress = len(content), progress

    def read(self, size: int | None = -1) -> bytes:
        """The next bytes."""
        self._progress(min(self.tell(), self._size), 2 * self._size)
        return super().read(size)


def read_grids(content: bytes, progress: Progress) -> tuple[Grid, ...]:
    """Every sheet of a workbook, as far as anybody looks at it."""
    from openpyxl import load_workbook

    from storage.dispatch.customer_form.drawn import drawn_on
    from storage.dispatch.customer_form.lying import boxes_lying

    with warnings.catch_warnings():  # of what a customer's workbook holds and is not shown here
        warnings.simplefilter("ignore")
        book = load_workbook(_Stepping(content, progress))
        if any(cell.data_type == "f" for sheet in book.worksheets for row in sheet.iter_rows() for cell in row):
            results = load_workbook(io.BytesIO(content), data_only=True)
        else:
            results = book
    lying, boxes = drawn_on(content, ""), boxes_lying(content, "")
    drawn = {name: (*lying.get(name, ()), *boxes.get(name, ())) for name in (*lying, *boxes)}
    total = sum(sheet.max_row for sheet in book.worksheets)
    grids, done = [], 0
    for sheet in book.worksheets:
        told = _Told(progress, total + done, 2 * total)
        grids.append(_grid(sheet, results[sheet.title], drawn.get(sheet.title, ()), told))
        done += sheet.max_row
    return tuple(grids)


class _Told(NamedTuple):
    """Tells how far the rows of one sheet are."""

    progress: Progress
    before: int
    total: int

    def row(self, place: int) -> None:
        """The row at this place of the sheet, from 0, is next."""
        self.progress(self.before + place, self.total)


def _grid(sheet: Worksheet, results: Worksheet, drawn: tuple[Drawn, ...], told: _Told) -> Grid:
    looks: dict[int, Shown] = {}
    rows = []
    down, across = _reach(drawn)
    last, far = min(max(sheet.max_row, down), MOST_ROWS), min(max(sheet.max_column, across), MOST_COLUMNS)
    for place, cells in enumerate(sheet.iter_rows(max_row=last, max_col=far)):
        told.row(place)
        rows.append(tuple(_shown(cell, results, looks) for cell in cells))
    heights = [sheet.row_dimensions.get(n) for n in range(1, last + 1)]
    return Grid(
        sheet.title,
        _widths(sheet, far),
        tuple((row.height if row is not None else None) or USUAL_HEIGHT for row in heights),
        tuple(rows),
        tuple(
            (area.min_row - 1, area.min_col - 1, area.max_row - area.min_row + 1, area.max_col - area.min_col + 1)
            for area in sheet.merged_cells.ranges
        ),
        drawn,
    )


def _widths(sheet: Worksheet, far: int) -> tuple[float, ...]:
    """The widths of the columns; one entry of the file may be of several beside each other (18.3.1.13 col)."""
    usual = float(sheet.sheet_format.defaultColWidth or USUAL_WIDTH)
    held = [usual] * far
    for each in sheet.column_dimensions.values():
        each.reindex()
        for column in range(each.min or 1, min(each.max or 0, far) + 1):
            held[column - 1] = 0.0 if each.hidden else float(each.width or usual)
    return tuple(held)


def _reach(drawn: tuple[Drawn, ...]) -> tuple[int, int]:
    """How many rows and columns it takes to see all that lies on a sheet, at their usual sizes."""
    down = across = 0
    for each in drawn:
        end = each.end or each.start
        beyond = (0, 0) if each.end else (ceil(each.height / USUAL_PIXELS[0]), ceil(each.width / USUAL_PIXELS[1]))
        down, across = max(down, end.row + 1 + beyond[0]), max(across, end.column + 1 + beyond[1])
    return down, across


def _shown(cell: Cell | MergedCell, results: Worksheet, looks: dict[int, Shown]) -> Shown:
    """A cell; its look is worked out once for each style. Of a formula the result is shown that the file holds; one
    that follows from what was filled in holds none until the workbook is opened."""
    look = looks.get(cell.style_id)
    if look is None:
        look = looks[cell.style_id] = _look(cell)
    if cell.data_type == "f":
        result = results[cell.coordinate]
        formula = str(getattr(cell.value, "text", cell.value))
        if result.value is None:
            return look._replace(text=word("desk.form.waits"), ink=WAITING, formula=formula)
        shown = text_of(result.value, cell.number_format)
        return look._replace(text=shown, number=result.data_type in NUMBERS, formula=formula)
    return look._replace(text=text_of(cell.value, cell.number_format), number=cell.data_type in NUMBERS)


def _look(cell: Cell | MergedCell) -> Shown:
    font, fill = cell.font, cell.fill
    ground = _colour(fill.fgColor) if fill.fill_type == "solid" else ""
    wraps = bool(cell.alignment.wrap_text)
    drawn = any(side is not None and side.style for side in (cell.border.left, cell.border.right, cell.border.top))
    return Shown(
        "",
        bold=bool(font.b),
        struck=bool(font.strike),
        ink=_colour(font.color),
        ground=ground,
        boxed=drawn,
        wrapped=wraps,
        turned=_turned(cell.alignment.textRotation or 0),
    )


def _turned(rotation: int) -> int:
    """Which way a text runs, by its rotation in degrees (18.8.1 alignment): upwards to 90, downwards from 91 to 180.
    One that leans less than half a right angle, and letters below each other (255), are shown as any other."""
    return 1 if 45 <= rotation <= 90 else -1 if 135 <= rotation <= 180 else 0


def _colour(colour: Any) -> str:
    return f"#{colour.rgb[-6:].lower()}" if colour is not None and isinstance(colour.rgb, str) else ""


def text_of(value: object, form: str) -> str:
    """A cell's value as its number format shows it.

    >>> text_of(0.5, "0.0000"), text_of(3, "General"), text_of("x", "General"), text_of(None, "General")
    ('0.5000', '3', 'x', '')
    >>> text_of(True, "General")
    'TRUE'
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).upper()  # as every spreadsheet program shows it
    fixed = DECIMALS.fullmatch(form)
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, int | float) and fixed:
        return f"{Decimal(repr(value)):.{len(fixed[1] or '')}f}"
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)
