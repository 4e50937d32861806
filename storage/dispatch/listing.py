"""A list as a file: what was found, asked or compared, as csv, workbook or printed pages by the ending of its name.

In the csv file no text becomes a formula (``storage.csv_cells``). In the workbook columns of measurements
hold numbers with their own decimals, all others texts: a balloon number is a name. On paper a column takes the room
that its texts need.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from io import BytesIO
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from inspection.reasons import Reason, Refused
from storage.csv_cells import csv_of, guarded, number_text
from storage.files import write_file

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

    from storage.dispatch.blocks import Row

#: Widths of a workbook's columns in characters, and characters side by side on one of its pages.
NARROWEST, WIDEST = 7, 44
#: Points on paper.
GAP = 9.0
LEAST = 30.0


class Listing(Struct, frozen=True):
    """A ``title``, what is said of the whole (``about``, a sentence each), and rows of texts under ``heads``;
    ``measured`` are the places of columns that hold numbers, with their signs as people read them; a machine gets them
    as it reads them. ``shop`` and ``language`` stand on printed pages."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    about: tuple[str, ...] = ()
    measured: tuple[int, ...] = ()
    shop: str = ""
    language: str = "en"


def write_listing(listing: Listing, path: Path, *, paper: str = "Letter") -> str:
    """Write a listing to ``path`` as its ending says, .csv, .xlsx or .pdf, and return the file's SHA-256 in hex.

    Raises Refused for another ending, an unknown paper, or a text that the form cannot hold, and BookFailure where the
    disk does not take the file; what stood at ``path`` then stays.
    """
    return write_file(path, listing_bytes(listing, path.suffix, paper=paper))


def listing_bytes(listing: Listing, ending: str, *, paper: str = "Letter") -> bytes:
    """The bytes of ``write_listing``, the same for the same listing."""
    make = _FORMS.get(ending.casefold())
    if make is None:
        raise Refused(Reason("listing.ending", {"ending": ending[:20], "known": ", ".join(_FORMS)}))
    return make(listing, paper)


def as_text(listing: Listing) -> str:
    """Heads and rows with tabs between cells, to be pasted into a spreadsheet; no text becomes a formula there."""
    rows = (listing.heads, *_as_numbers(listing))
    lines = ("\t".join(guarded(" ".join(cell.split())) for cell in row) for row in rows)
    return "".join(f"{line}\n" for line in lines)


# --- csv and workbook ---------------------------------------------------------------------------------------------


def _csv(listing: Listing, _paper: str) -> bytes:
    return csv_of((listing.heads, *_as_numbers(listing)))


def _as_numbers(listing: Listing) -> Iterator[tuple[str, ...]]:
    """The rows with their numbers as a machine reads them."""
    for row in listing.rows:
        yield tuple(number_text(cell) if place in listing.measured else cell for place, cell in enumerate(row))


def _workbook(listing: Listing, paper: str) -> bytes:
    from openpyxl import Workbook
    from openpyxl.worksheet.properties import PageSetupProperties

    from storage.dispatch.repeatable import repeatable
    from storage.dispatch.workbook import PAPERS

    book = Workbook()
    sheet = book.active
    assert sheet is not None
    _fill(book, sheet, listing)
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = PAPERS.get(paper, PAPERS["Letter"])
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    book.properties.title, book.properties.creator = listing.title, listing.shop
    out = BytesIO()
    book.save(out)
    return repeatable(out.getvalue())


def _fill(book: object, sheet: Worksheet, listing: Listing) -> None:
    from openpyxl import Workbook
    from openpyxl.styles import Alignment
    from openpyxl.utils import get_column_letter

    from storage.dispatch.cells import Cells, Entry, number_entry
    from storage.dispatch.workbook import set_height

    assert isinstance(book, Workbook)
    cells, above = Cells(book), [listing.title, *listing.about, ""]
    for place, text in enumerate(above, 1):
        cells.write(sheet, place, 1, Entry(text, bold=place == 1, plain=True))
        sheet.cell(place, 1).alignment = Alignment(vertical="top")  # over the columns beside it
    columns = list(zip(*listing.rows, strict=True)) if listing.rows else [() for _ in listing.heads]
    cells.append(sheet, [Entry(head, head=True) for head in listing.heads])
    for number, row in enumerate(listing.rows, 1):
        entries = (
            number_entry(number_text(cell), 0)
            if place in listing.measured
            else Entry(cell, where=(str(number), listing.heads[place]))
            for place, cell in enumerate(row)
        )
        cells.append(sheet, list(entries))
    longest = (max(map(len, (head, *column))) for head, column in zip(listing.heads, columns, strict=True))
    widths = [min(max(wide + 2, NARROWEST), WIDEST) for wide in longest]
    for place, width in enumerate(widths, 1):
        sheet.column_dimensions[get_column_letter(place)].width = width
    for number, row in enumerate(listing.rows, len(above) + 2):
        if max(map(len, row)) >= WIDEST:
            set_height(sheet, number, zip(row, widths, strict=True))
    heads, last = len(above) + 1, get_column_letter(len(listing.heads))
    sheet.freeze_panes = f"A{heads + 1}"
    sheet.auto_filter.ref = f"A{heads}:{last}{heads + len(listing.rows)}"
    sheet.print_title_rows = f"{heads}:{heads}"


# --- paper --------------------------------------------------------------------------------------------------------


def _pdf(listing: Listing, paper: str) -> bytes:
    from storage.dispatch.blocks import Band, Cell
    from storage.dispatch.pages import Pages
    from storage.dispatch.pdf import paper_size
    from storage.dispatch.plain_pages import across, body_of, check_glyphs, drawn
    from storage.dispatch.setting import Run, set_text

    title, said, small = Run("", 15, bold=True), Run("", 8.5), Run("", 7.5, colour="quiet")
    size = paper_size(paper)
    check_glyphs(chain((listing.title, listing.shop), listing.about, listing.heads, *listing.rows), "listing.glyph")
    width, height = body_of(size)
    widths = _widths(listing, width)

    def band(texts: Sequence[str], run: Run, pad: float) -> Band:
        left, made = 0.0, []
        for text, room in zip(texts, widths, strict=True):
            made.append(Cell(left, room, tuple(set_text(text, room, run))))
            left += room + GAP
        return Band(tuple(cell for cell in made if cell.items), pad)

    pages = Pages(height, band(listing.heads, small, 3.5), lambda number: number)
    above: list[Row] = [across(set_text(listing.title, width, title), width)]
    above += [across(set_text(text, width * 0.9, said), width) for text in listing.about]
    pages.take(above)
    pages.take(_ruled(band(row, said, 2)) for row in listing.rows)
    return drawn(listing.title, listing.shop, listing.language, pages.pages, size)


def _ruled(band: object) -> Row:
    from storage.dispatch.blocks import Band, Row

    assert isinstance(band, Band)
    return Row((band,), tabular=True, ruled=True)


def _widths(listing: Listing, width: float) -> list[float]:
    """A column's own width where all of them have room; else the widest give way to one width for all of them."""
    from storage.dispatch.setting import measure

    columns = list(zip(listing.heads, *listing.rows, strict=True))
    wanted = [max(LEAST, *(measure(text, 8.5) + 1 for text in column)) for column in columns]
    left = width - GAP * (len(wanted) - 1)
    if sum(wanted) <= left:
        return wanted
    most, told = left, sorted(wanted)
    for place, each in enumerate(told):
        share = (left - sum(told[:place])) / (len(told) - place)
        if each > share:
            most = share
            break
    return [min(each, most) for each in wanted]


_FORMS: Mapping[str, Callable[[Listing, str], bytes]] = {".csv": _csv, ".xlsx": _workbook, ".pdf": _pdf}
#: Patterns of the files that a listing can be written to.
FILES = " ".join(f"*{ending}" for ending in (".xlsx", ".csv", ".pdf"))
