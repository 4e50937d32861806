"""The sheet as a workbook: results, one row a characteristic; readings, one row each; head and signatures.

Numbers are real numbers whose format keeps the decimals of the report (0.5000 stays 0.5000). Every text is a text,
whatever it begins with: nothing that was typed becomes a formula.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from io import BytesIO
from pathlib import Path

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from inspection.reasons import Reason, Refused
from inspection.sheet.report import Line, Report, Result, Value
from storage.dispatch.cells import Cells, Entry, number_entry
from storage.dispatch.labels import label
from storage.dispatch.style import mark_of
from storage.dispatch.unprintable import refuse_control_characters
from storage.files import write_file

NARROWEST, WIDEST = 7.0, 46.0
#: Codes of paper sizes (ECMA-376 part 1, 18.3.1.63 pageSetup, paperSize).
PAPERS = {"A4": 9, "Letter": 1}
HEAD_WIDTHS = (34, 84)

#: Told (done, total) between steps; may raise to stop, and then nothing is left behind.
Progress = Callable[[int, int], None]


def write_workbook(report: Report, path: Path, *, paper: str = "A4", progress: Progress | None = None) -> str:
    """Write the workbook to ``path`` and return the SHA-256 of the file in hex.

    Raises Refused for a text with characters that no file can carry or longer than a cell holds, and for an unknown
    paper; BookFailure where the disk does not take the file. Whatever is raised, also by ``progress``, what stood at
    ``path`` stays.
    """
    if paper not in PAPERS:
        raise Refused(Reason("dispatch.paper_unknown", {"paper": paper, "known": ", ".join(PAPERS)}))
    refuse_control_characters(report)
    book = Workbook()
    cells = Cells(book)
    results, readings, head = _sheets(book, report)
    _fill(cells, results, _result_heads(report), _result_rows(report, progress))
    _fill(cells, readings, _reading_heads(report), _reading_rows(report))
    _fill_head(cells, head, report)
    for sheet in (results, readings, head):
        _set_up(sheet, report, paper)
    book.properties.title, book.properties.creator = report.title, report.shop
    out = BytesIO()
    book.save(out)
    return write_file(path, out.getvalue())


def _sheets(book: Workbook, report: Report) -> tuple[Worksheet, Worksheet, Worksheet]:
    results = book.active
    assert isinstance(results, Worksheet)
    results.title = label(report, "results")
    readings: Worksheet = book.create_sheet(label(report, "readings").capitalize())
    head: Worksheet = book.create_sheet(label(report, "head"))
    return results, readings, head


# --- what stands in the cells -----------------------------------------------------------------------------------


def _result_heads(report: Report) -> list[str]:
    asked = ("number", "sheet", "zone", "key", "requirement", "name", "place", "condition", "explained")
    limits = ("lower", "upper", "unit", "instrument")
    answers = ("result", "verdict", "reasons")
    pieces = [f"{label(report, code)} {serial}" for serial in report.serials for code in answers]
    return [*_labels(report, (*asked, *limits)), *pieces, *_labels(report, ("row_verdict", "notes"))]


def _result_rows(report: Report, progress: Progress | None) -> Iterator[list[Entry]]:
    for done, line in enumerate(report.lines):
        if progress is not None:
            progress(done, len(report.lines))
        yield _result_row(report, line)


def _result_row(report: Report, line: Line) -> list[Entry]:
    asked = (line.number, line.sheet, line.zone, line.key, line.requirement, line.name or line.kind)
    row = _texts(report, line, "requirement", (*asked, line.place, line.condition))
    row += _texts(report, line, "explained", ["\n".join(line.explained)])
    row.append(number_entry(line.lower_number or line.lower, line.decimals))
    row.append(number_entry(line.upper_number or line.upper, line.decimals))
    row += _texts(report, line, "instrument", (line.unit, "\n".join(_instruments(line))))
    found = {result.serial: result for result in line.results}
    for serial in report.serials:
        row += _piece(report, line, found.get(serial))
    row.append(_verdict(line.verdict, line.state))
    return row + _texts(report, line, "notes", ["\n".join(line.notes)])


def _instruments(line: Line) -> list[str]:
    return list(dict.fromkeys((*(value.instrument for value in line.values if value.instrument), *line.instruments)))


def _piece(report: Report, line: Line, result: Result | None) -> list[Entry]:
    if result is None:
        return [Entry(""), Entry(""), Entry("")]
    answers = [number_entry(result.text, line.decimals), _verdict(result.verdict, result.state)]
    return answers + _texts(report, line, "reasons", ["\n".join(result.reasons)])


def _verdict(text: str, state: str) -> Entry:
    return Entry(f"{mark_of(state).mark} {text}" if text else "", state=state)


def _reading_heads(report: Report) -> list[str]:
    asked = ("number", "requirement", "serial", "place", "role", "reading", "unit", "written")
    return _labels(report, (*asked, "instrument", "calibration", "by", "taken", "withdrawn"))


def _reading_rows(report: Report) -> Iterator[list[Entry]]:
    for line in report.lines:
        for value in line.values:
            yield _reading_row(report, line, value)


def _reading_row(report: Report, line: Line, value: Value) -> list[Entry]:
    reading = number_entry(value.number or value.text, value.decimals, struck=bool(value.withdrawn))
    asked = (line.number, line.requirement, value.serial, value.place, value.role)
    told = (value.unit, value.converted, value.instrument, value.calibration, value.by, value.taken, value.withdrawn)
    return [*_texts(report, line, "reading", asked), reading, *_texts(report, line, "reading", told)]


def _texts(report: Report, line: Line, field: str, texts: Iterable[str]) -> list[Entry]:
    where = (line.number, label(report, field))
    return [Entry(text, where=where) for text in texts]


def _labels(report: Report, codes: Sequence[str]) -> list[str]:
    return [label(report, code) for code in codes]


# --- tables, head, page -------------------------------------------------------------------------------------------


def _fill(cells: Cells, sheet: Worksheet, heads: Sequence[str], rows: Iterable[Sequence[Entry]]) -> None:
    """Write a table: heads that stay in sight and on every printed page, and its rows."""
    widths = [_width(head) for head in heads]
    for column, head in enumerate(heads, start=1):
        cells.write(sheet, 1, column, Entry(head, head=True))
    for number, row in enumerate(rows, start=2):
        for column, entry in enumerate(row, start=1):
            if entry.text:
                cells.write(sheet, number, column, entry)
                widths[column - 1] = max(widths[column - 1], _width(entry.text))
    for column, width in enumerate(widths, start=1):
        sheet.column_dimensions[get_column_letter(column)].width = width
    sheet.freeze_panes = "B2"
    sheet.print_title_rows = "1:1"
    sheet.auto_filter.ref = sheet.dimensions


def _width(text: str) -> float:
    """Column width for a text, in characters, with room for the arrow of the filter."""
    longest = max(map(len, text.split("\n")))
    return min(max(NARROWEST, longest * 1.05 + 2.5), WIDEST)


def _fill_head(cells: Cells, sheet: Worksheet, report: Report) -> None:
    """Title, head, count, signatures and cautions, one below the other."""
    for number, (name, text, bold) in enumerate(_head_rows(report), start=1):
        for column, shown in enumerate((name, text), start=1):
            if shown:
                cells.write(sheet, number, column, Entry(shown, bold=bold, plain=True))
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = HEAD_WIDTHS


def _head_rows(report: Report) -> Iterator[tuple[str, str, bool]]:
    yield report.title, label(report, "sealed" if report.sealed else "unsealed"), True
    for name, text in report.head:
        yield name, text, False
    yield from _section(report, "totals", report.totals)
    yield from _section(report, "signatures", () if report.signatures else (label(report, "unsigned"),))
    for signed in report.signatures:
        for code in ("statement", "person", "when", "digest", "certificate"):
            yield label(report, code), getattr(signed, code), False
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
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    assert sheet.sheet_properties.pageSetUpPr is not None
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    foot = sheet.oddFooter
    assert foot is not None
    assert foot.left is not None
    assert foot.right is not None
    foot.left.text, foot.right.text = report.title.replace("&", "&&"), "&P / &N"
