"""The crib as a file: one row an instrument, in cells that are read back as the very same records.

The csv file is as ``storage.csv_cells`` tells. In the workbook every cell is text and every column is set to
text, so that a due date or a size typed there by hand stays as it was typed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from io import BytesIO
from typing import TYPE_CHECKING

from inspection.instruments.as_written import FIELDS, written_cells
from inspection.instruments.record import Instrument
from storage.csv_cells import csv_of
from storage.intake.heads import names

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

    from storage.dispatch.cells import Cells

#: Widths of columns in characters; any other is ``USUAL``.
WIDTHS = {
    "tag": 10,
    "kind": 22,
    "name": 36,
    "unit": 7,
    "permissible": 58,
    "points": 58,
    "members": 40,
    "missing": 24,
    "note": 40,
}
USUAL = 16
TEXT = "@"


def crib_heads() -> tuple[str, ...]:
    """The heads of a crib file, in order; they never change with the language."""
    known = names("crib")
    return tuple(known[field][0] for field in FIELDS)


def crib_rows(instruments: Iterable[Instrument]) -> list[list[str]]:
    """One row an instrument, by tag."""
    cells = (written_cells(one) for one in sorted(instruments, key=lambda one: one.tag))
    return [[row[field] for field in FIELDS] for row in cells]


def crib_csv(instruments: Iterable[Instrument]) -> bytes:
    """The crib as csv; no text becomes a formula."""
    return csv_of([crib_heads(), *crib_rows(instruments)])


def crib_workbook(instruments: Iterable[Instrument]) -> bytes:
    """The crib as a workbook; the same records give the same bytes. Raises Refused for a text that no cell holds."""
    from openpyxl import Workbook

    from storage.dispatch.cells import Cells
    from storage.dispatch.repeatable import repeatable

    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Crib"
    _fill(Cells(book), sheet, crib_rows(instruments))
    out = BytesIO()
    book.save(out)
    return repeatable(out.getvalue())


def _fill(cells: Cells, sheet: Worksheet, rows: Sequence[Sequence[str]]) -> None:
    from openpyxl.utils import get_column_letter

    from storage.dispatch.cells import Entry

    for column, (field, head) in enumerate(zip(FIELDS, crib_heads(), strict=True), 1):
        cells.write(sheet, 1, column, Entry(head, head=True))
        dimension = sheet.column_dimensions[get_column_letter(column)]
        dimension.number_format = TEXT
        dimension.width = WIDTHS.get(field, USUAL)
    for place, row in enumerate(rows, 2):
        for column, (field, text) in enumerate(zip(FIELDS, row, strict=True), 1):
            cells.write(sheet, place, column, Entry(text, where=(row[0], field)))
            sheet.cell(place, column).number_format = TEXT
    sheet.freeze_panes = "B2"
    sheet.auto_filter.ref = sheet.dimensions
