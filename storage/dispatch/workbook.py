"""The sheet as a workbook: results, one row a characteristic; readings, one row each; temperatures, budgets, materials,
special processes, functional tests, sub-items, nonconformances and returned rounds where there are any; head,
signatures and statements.

Numbers are real numbers whose format keeps the decimals of the report (0.5000 stays 0.5000). Every text is a text,
whatever it begins with: nothing that was typed becomes a formula.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from io import BytesIO
from math import ceil
from pathlib import Path

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from inspection.reasons import Reason, Refused
from inspection.sheet.report import Line, Report, Result, Value
from storage.dispatch.cells import Cells, Entry, Steps, number_entry, number_in_words
from storage.dispatch.doubt_cells import doubt_tables, of_reading, of_result, reading_columns, result_columns
from storage.dispatch.labels import label
from storage.dispatch.record_cells import record_tables
from storage.dispatch.repeatable import repeatable
from storage.dispatch.review_cells import review_tables, statement_pairs
from storage.dispatch.sections import chain_told
from storage.dispatch.style import mark_of
from storage.dispatch.unprintable import refuse_control_characters
from storage.files import write_file

NARROWEST, WIDEST = 7.0, 34.0
#: A table that is read across stays on one page; none of its columns is wider than this.
ON_ONE_PAGE = {"budgets": 24.0}
#: Characters side by side on a landscape page, at a size that still reads well.
PAGE_WIDTH = 190.0
#: Points: one line of a cell, and the highest row there can be.
LINE_HEIGHT, HIGHEST = 13.5, 409.0
#: Codes of paper sizes (ECMA-376 part 1, 18.3.1.63 pageSetup, paperSize).
PAPERS = {"A4": 9, "Letter": 1}
HEAD_WIDTHS = (34.0, 84.0)

#: Told (done, total) between steps; may raise to stop, and then nothing is left behind.
Progress = Callable[[int, int], None]


def write_workbook(report: Report, path: Path, *, paper: str = "A4", progress: Progress | None = None) -> str:
    """Write the workbook to ``path`` and return the SHA-256 of the file in hex.

    Raises Refused for a text with characters that no file can carry or longer than a cell holds, and for an unknown
    paper; BookFailure where the disk does not take the file. Whatever is raised, also by ``progress``, what stood at
    ``path`` stays.
    """
    return write_file(path, workbook_bytes(report, paper=paper, progress=progress))


def workbook_bytes(report: Report, *, paper: str = "A4", progress: Progress | None = None) -> bytes:
    """The workbook as bytes, the same for the same report; see ``write_workbook``."""
    if paper not in PAPERS:
        raise Refused(Reason("dispatch.paper_unknown", {"paper": paper, "known": ", ".join(PAPERS)}))
    refuse_control_characters(report)
    book = Workbook()
    long = len(report.lines) + sum(len(line.values) for line in report.lines)
    cells = Cells(book, Steps(progress, long))
    results, readings = _sheets(book, report)
    told, rests = result_columns(report), reading_columns(report)
    _fill(cells, results, _result_heads(report, told), _result_rows(report, told))
    _fill(cells, readings, _reading_heads(report, rests), _reading_rows(report, rests))
    for code, heads, rows in (*doubt_tables(report), *record_tables(report), *review_tables(report)):
        sheet = book.create_sheet(label(report, code))
        _fill(cells, sheet, heads, rows, ON_ONE_PAGE.get(code, WIDEST))
        if code in ON_ONE_PAGE:
            sheet.page_setup.fitToWidth = 1
    _fill_head(cells, book.create_sheet(label(report, "head")), report)
    for sheet in book.worksheets:
        _set_up(sheet, report, paper)
    book.properties.title, book.properties.creator = report.title, report.shop
    book.properties.keywords = report.chain.written if report.chain is not None else None
    out = BytesIO()
    book.save(out)
    return repeatable(out.getvalue())


def _sheets(book: Workbook, report: Report) -> tuple[Worksheet, Worksheet]:
    results = book.active
    assert isinstance(results, Worksheet)
    results.title = label(report, "results")
    readings: Worksheet = book.create_sheet(label(report, "readings").capitalize())
    return results, readings


# --- what stands in the cells -----------------------------------------------------------------------------------


def _result_heads(report: Report, told: Sequence[str]) -> list[str]:
    asked = ("number", "zone", "key", "requirement", "name", "lower", "upper", "unit", "instrument")
    pieces = [f"{label(report, code)} {serial}" for serial in report.serials for code in ("result", "verdict")]
    doubts = [f"{label(report, code)} {serial}" for serial in report.serials for code in told]
    ends = ("row_verdict", "reasons", "explained", "notes", *(["corrections"] if _corrected(report) else ()))
    return [*_labels(report, asked), *pieces, *_labels(report, ends), *doubts]


def _corrected(report: Report) -> bool:
    return any(line.corrections for line in report.lines)


def _result_rows(report: Report, told: Sequence[str]) -> Iterator[list[Entry]]:
    corrected = _corrected(report)
    for line in report.lines:
        row = _result_row(report, line)
        if corrected:
            row += _texts(report, line, "corrections", ["\n".join(line.corrections)])
        yield [*row, *_doubts(report, line, told)]


def _doubts(report: Report, line: Line, told: Sequence[str]) -> Iterator[Entry]:
    found = {result.serial: result for result in line.results}
    for serial in report.serials if told else ():
        yield from of_result(found.get(serial), told, line.decimals)


def _result_row(report: Report, line: Line) -> list[Entry]:
    zone = ", ".join(filter(None, (line.sheet, line.zone)))
    name = "\n".join(filter(None, (line.name or line.kind, line.place, line.condition)))
    row = _texts(report, line, "requirement", (line.number, zone, line.key, line.requirement, name))
    row.append(number_entry(line.lower_number or line.lower, line.decimals))
    row.append(number_entry(line.upper_number or line.upper, line.decimals))
    row += _texts(report, line, "instrument", (line.unit, "\n".join(_instruments(line))))
    found = {result.serial: result for result in line.results}
    for serial in report.serials:
        row += _piece(line, found.get(serial))
    row.append(_verdict(line.verdict, line.state))
    row += _texts(report, line, "reasons", ["\n".join(_reasons(line))])
    return row + _texts(report, line, "notes", ("\n".join(line.explained), "\n".join(line.notes)))


def _reasons(line: Line) -> Iterator[str]:
    """Why, once where all pieces that have reasons have the same, else behind each serial."""
    given = [result for result in line.results if result.reasons]
    if len({result.reasons for result in given}) == 1:
        yield from given[0].reasons
        return
    for result in given:
        yield f"{result.serial}: {' '.join(result.reasons)}"


def _instruments(line: Line) -> list[str]:
    return list(dict.fromkeys((*(value.instrument for value in line.values if value.instrument), *line.instruments)))


def _piece(line: Line, result: Result | None) -> list[Entry]:
    if result is None:
        return [Entry(""), Entry("")]
    return [_result(line, result), _verdict(result.verdict, result.state)]


def _result(line: Line, result: Result) -> Entry:
    if result.number:
        return number_in_words(result.text, result.number, line.decimals)
    return number_entry(result.text, line.decimals)


def _verdict(text: str, state: str) -> Entry:
    return Entry(f"{mark_of(state).mark} {text}" if text else "", state=state)


def _reading_heads(report: Report, rests: Sequence[str]) -> list[str]:
    asked = ("number", "requirement", "serial", "place", "role", "reading", "unit", "written")
    return _labels(report, (*asked, "instrument", "calibration", "by", "taken", "withdrawn", *rests))


def _reading_rows(report: Report, rests: Sequence[str]) -> Iterator[list[Entry]]:
    for line in report.lines:
        for value in line.values:
            yield [*_reading_row(report, line, value), *of_reading(report, line, value, rests)]


def _reading_row(report: Report, line: Line, value: Value) -> list[Entry]:
    reading = number_entry(value.number or value.text, value.decimals, struck=not value.counts)
    asked = (line.number, line.requirement, value.serial, value.place, value.role)
    told = (value.unit, value.written, value.instrument, value.calibration, value.by, value.taken, value.withdrawn)
    return [*_texts(report, line, "reading", asked), reading, *_texts(report, line, "reading", told)]


def _texts(report: Report, line: Line, field: str, texts: Iterable[str]) -> list[Entry]:
    where = (line.number, label(report, field))
    return [Entry(text, where=where) for text in texts]


def _labels(report: Report, codes: Sequence[str]) -> list[str]:
    return [label(report, code) for code in codes]


# --- tables, head, page -------------------------------------------------------------------------------------------


def _fill(
    cells: Cells, sheet: Worksheet, heads: Sequence[str], rows: Iterable[Sequence[Entry]], widest: float = WIDEST
) -> None:
    """Write a table: heads that stay in sight and on every printed page, and its rows."""
    table = [[Entry(head, head=True) for head in heads], *rows]
    widths = [_width([row[column].text for row in table], widest) for column in range(len(heads))]
    for number, row in enumerate(table, start=1):
        cells.steps.take()
        cells.append(sheet, row)
        set_height(sheet, number, zip((entry.text for entry in row), widths, strict=True))
    for column, width in enumerate(widths, start=1):
        sheet.column_dimensions[get_column_letter(column)].width = width
    sheet.freeze_panes = "B2"
    sheet.print_title_rows, sheet.print_title_cols = "1:1", "A:A"
    sheet.auto_filter.ref = sheet.dimensions
    sheet.page_setup.fitToWidth = max(1, ceil(sum(widths) / PAGE_WIDTH))


def _width(texts: Iterable[str], widest: float) -> float:
    """Column width for its texts, in characters, with room for the arrow of the filter."""
    longest = max(len(part) for text in dict.fromkeys(texts) for part in text.split("\n"))
    return min(max(NARROWEST, longest * 1.05 + 2.5), widest)


def set_height(sheet: Worksheet, row: int, cells: Iterable[tuple[str, float]]) -> None:
    """Give a row the height of its longest cell, for programs that do not work it out themselves."""
    lines = max((_lines(text, width) for text, width in cells if text), default=1)
    if lines > 1:
        sheet.row_dimensions[row].height = min(lines * LINE_HEIGHT + 2, HIGHEST)


def _lines(text: str, width: float) -> int:
    if len(text) <= width - 1 and "\n" not in text:
        return 1
    return sum(max(1, ceil(len(paragraph) / (width - 1))) for paragraph in text.split("\n"))


def _fill_head(cells: Cells, sheet: Worksheet, report: Report) -> None:
    """Title, head, count, signatures and cautions, one below the other."""
    for number, (name, text, bold) in enumerate(_head_rows(report), start=1):
        for column, shown in enumerate((name, text), start=1):
            if shown:
                cells.write(sheet, number, column, Entry(shown, bold=bold, plain=True))
        set_height(sheet, number, zip((name, text), HEAD_WIDTHS, strict=True))
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = HEAD_WIDTHS
    sheet.page_setup.fitToWidth = 1


def _head_rows(report: Report) -> Iterator[tuple[str, str, bool]]:
    yield report.title, label(report, "sealed" if report.sealed else "unsealed"), True
    for name, text in report.head:
        yield name, text, False
    yield from _section(report, "totals", report.totals)
    yield from _section(report, "signatures", () if report.signatures else (label(report, "unsigned"),))
    for signed in report.signatures:
        for code in ("statement", "person", "when", "digest", "certificate"):
            yield label(report, code), getattr(signed, code), False
    if report.statements:
        yield from _section(report, "statements", ())
        for name, text in statement_pairs(report):
            yield name, text, False
    if report.chain is not None:
        yield from _section(report, "chain", (chain_told(report, report.chain),))
    yield from _section(report, "cautions", report.cautions)


def _section(report: Report, code: str, texts: Iterable[str]) -> Iterator[tuple[str, str, bool]]:
    yield "", "", False
    yield label(report, code), "", True
    for text in texts:
        yield "", text, False


def _set_up(sheet: Worksheet, report: Report, paper: str) -> None:
    """Landscape, as wide as the page, numbered pages."""
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = PAPERS[paper]
    sheet.page_setup.fitToHeight = 0
    assert sheet.sheet_properties.pageSetUpPr is not None
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    foot = sheet.oddFooter
    assert foot is not None
    assert foot.left is not None
    assert foot.right is not None
    foot.left.text, foot.right.text = report.title.replace("&", "&&"), "&P / &N"
