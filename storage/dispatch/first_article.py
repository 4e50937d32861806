"""The first article report in three parts, as pages and as a workbook; the same bytes for the same report."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from io import BytesIO
from textwrap import wrap

from openpyxl.worksheet.worksheet import Worksheet

from inspection.reasons import Reason, Refused
from inspection.sheet.first_article import Box, FirstArticle, PartForm
from storage.dispatch.blocks import Band, Cell, Row
from storage.dispatch.cells import Cells, Entry
from storage.dispatch.pages import Page, Pages
from storage.dispatch.pdf import paper_size
from storage.dispatch.plain_pages import across, body_of, check_glyphs, drawn
from storage.dispatch.repeatable import repeatable
from storage.dispatch.setting import Run, set_text
from storage.dispatch.unprintable import uncarried

TITLE = Run("", 15, bold=True)
SECTION = Run("", 10.5, bold=True)
HEADS = Run("", 7, colour="quiet")
TEXT = Run("", 8.5)
STRONG = Run("", 8.5, bold=True)
MIND = Run("", 8, colour="out")
EMPTY = Run("", 8.5, bold=True, colour="out")
GAP = 9.0
#: Boxes of a head side by side.
ACROSS = 4
#: Points of a line of a cell.
LINE = 13.5
#: How many of the letters that a cell holds it holds of bold ones.
BOLD = 0.85


def first_article_pdf(told: FirstArticle, *, paper: str = "Letter") -> bytes:
    """The report as pages. Raises Refused for a character that the typeface has no glyph for or an unknown paper."""
    size = paper_size(paper)
    check_glyphs(_texts(told), "first_article.glyph")
    pages: list[Page] = []
    for place, part in enumerate(told.parts):
        pages += _pages(told, part, *body_of(size), first=place == 0)
    keywords = told.chain.written if told.chain is not None else ""
    return drawn(told.title, told.shop, told.language, pages, size, keywords=keywords)


def _pages(told: FirstArticle, part: PartForm, width: float, height: float, *, first: bool) -> list[Page]:
    labels = [" ".join(filter(None, (column.number, column.label))) for column in part.columns]
    heads = _band(part, labels, width, HEADS, 3.5)
    pages = Pages(height, heads, lambda number: number)
    begun = [*set_text(told.title, width, TITLE), *set_text(told.standing, width, MIND)] if first else []
    pages.take([across([*begun, *set_text(_named(part), width, SECTION)], width)])
    pages.take(_boxes(part.head, width))
    pages.take(Row((_band(part, row, width, TEXT, 2),), number=row[0], tabular=True, ruled=True) for row in part.rows)
    pages.take(_boxes(part.foot, width))
    if first and told.lacks:
        pages.take([across(set_text(told.lacks_title, width, SECTION), width)])
        pages.take(across(set_text(f"☐\u00a0{lack}", width * 0.9, TEXT), width) for lack in told.lacks)
    if first and told.chain_told:
        pages.take([across(set_text(told.chain_told, width * 0.9, HEADS), width)])
    return pages.pages


def _named(part: PartForm) -> str:
    return f"{part.title}   {part.serial}".strip()


def _band(part: PartForm, texts: Sequence[str], width: float, run: Run, pad: float) -> Band:
    share, left, cells = (width - GAP * (len(part.columns) - 1)) / sum(each.share for each in part.columns), 0.0, []
    for column, text in zip(part.columns, texts, strict=True):
        room = column.share * share
        cells.append(Cell(left, room, tuple(set_text(text, room, run))))
        left += room + GAP
    return Band(tuple(cell for cell in cells if cell.items), pad)


def _boxes(boxes: Sequence[Box], width: float) -> Iterator[Row]:
    share = width / ACROSS
    for start in range(0, len(boxes), ACROSS):
        cells = []
        for place, box in enumerate(boxes[start : start + ACROSS]):
            label = " ".join(filter(None, (box.number, box.label)))
            text = set_text(box.text, share - GAP, EMPTY if box.lacking else TEXT)
            items = (*set_text(label, share - GAP, HEADS), *text)
            cells.append(Cell(place * share, share - GAP, items))
        yield Row((Band(tuple(cells)),), ruled=True)


def _texts(told: FirstArticle) -> Iterator[str]:
    yield from (told.title, told.shop, told.standing, told.lacks_title, *told.lacks, told.chain_told)
    for part in told.parts:
        yield part.title + part.serial
        yield from (box.label + box.text for box in (*part.head, *part.foot))
        yield from (column.label for column in part.columns)
        yield from (text for row in part.rows for text in row)


# --- workbook ---------------------------------------------------------------------------------------------------


def first_article_workbook(told: FirstArticle) -> bytes:
    """The report as a workbook: a worksheet each part, every text a text. Raises Refused for a text that no cell
    holds."""
    from openpyxl import Workbook
    from openpyxl.utils import get_column_letter

    wrong = uncarried("".join(_texts(told)))
    if wrong:
        codes = ", ".join(f"U+{ord(sign):04X}" for sign in sorted(wrong))
        raise Refused(Reason("first_article.glyph", {"characters": codes}))
    book = Workbook()
    book.remove(book.worksheets[0])
    cells = Cells(book)
    for number, part in enumerate(told.parts, start=1):
        sheet = book.create_sheet(_sheet_name(number, part))
        widths = [max(13.0, each.share * 1.35, _longest_word(each.label) / BOLD + 2) for each in part.columns]
        for column, width in enumerate(widths, start=1):
            sheet.column_dimensions[get_column_letter(column)].width = width
        for row, line in enumerate(_lines(told, part, first=number == 1), start=1):
            _write(cells, sheet, row, line, widths)
            if line and line[0].head:
                sheet.print_title_rows = f"{row}:{row}"
        sheet.oddFooter.right.text = "&P / &N"
        sheet.page_setup.orientation = "landscape"
        sheet.page_setup.fitToHeight = 0
        assert sheet.sheet_properties.pageSetUpPr is not None
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
    book.properties.title, book.properties.creator = told.title, told.shop
    book.properties.keywords = told.chain.written if told.chain is not None else None
    out = BytesIO()
    book.save(out)
    return repeatable(out.getvalue())


def _write(cells: Cells, sheet: Worksheet, row: int, line: Sequence[Entry], widths: Sequence[float]) -> None:
    """A line of cells as high as its longest text; one that stands alone goes over all columns. Of a table the lines
    under its cells go on under empty ones."""
    alone = len(line) == 1
    if alone:
        sheet.merge_cells(start_row=row, end_row=row, start_column=1, end_column=len(widths))
    high = 1
    for column, entry in enumerate(line, start=1):
        cells.write(sheet, row, column, entry)
        if entry.text:
            room = sum(widths) if alone else widths[column - 1]
            letters = max(1, int(room * (BOLD if entry.head or entry.bold else 1)) - 1)
            high = max(high, sum(len(wrap(each, letters)) or 1 for each in entry.text.split("\n")))
    if high > 1:
        sheet.row_dimensions[row].height = high * LINE


def _longest_word(label: str) -> int:
    return max(map(len, label.split()), default=0)


def _sheet_name(number: int, part: PartForm) -> str:
    """A name that a worksheet takes: 31 characters, none of those that formulas need."""
    name = f"{number} {part.serial or part.title}"
    return "".join("-" if sign in "[]:*?/\\'" else sign for sign in name)[:31]


def _lines(told: FirstArticle, part: PartForm, *, first: bool) -> Iterator[list[Entry]]:
    if first:
        yield [Entry(told.title, bold=True, plain=True)]
        yield [Entry(told.standing, plain=True)]
    yield [Entry(_named(part), bold=True, plain=True)]
    yield from _box_lines(part.head)
    yield []
    labels = [" ".join(filter(None, (column.number, column.label))) for column in part.columns]
    yield [Entry(text, head=True) for text in labels]
    for row in part.rows:
        yield [Entry(text) for text in row]
    yield []
    yield from _box_lines(part.foot)
    if first and told.lacks:
        yield []
        yield [Entry(told.lacks_title, bold=True, plain=True)]
        yield from ([Entry(lack, plain=True)] for lack in told.lacks)
    if first and told.chain_told:
        yield []
        yield [Entry(told.chain_told, plain=True)]


def _box_lines(boxes: Sequence[Box]) -> Iterator[list[Entry]]:
    for start in range(0, len(boxes), ACROSS):
        held = boxes[start : start + ACROSS]
        yield [Entry(" ".join(filter(None, (box.number, box.label))), plain=True) for box in held]
        yield [Entry(box.text, bold=True) for box in held]
