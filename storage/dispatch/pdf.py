"""The printed sheet as a PDF file: landscape, in the program's own typeface, the same bytes for the same report."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from io import BytesIO
from pathlib import Path

from reportlab.lib.pagesizes import A4, LETTER, landscape
from reportlab.pdfgen.canvas import Canvas

from inspection.reasons import Reason, Refused
from inspection.sheet.report import Report
from storage.dispatch.blocks import Row
from storage.dispatch.columns import Columns, columns_for
from storage.dispatch.doubt_tables import budgets, temperatures
from storage.dispatch.drawing import Brush, define_hatch, draw_band
from storage.dispatch.labels import label, phrase
from storage.dispatch.pages import Page, Pages
from storage.dispatch.record import record
from storage.dispatch.review_tables import review
from storage.dispatch.rows import row_of
from storage.dispatch.sections import closing, opening, table_heads
from storage.dispatch.setting import Run, measure, shortened
from storage.dispatch.signature_page import draw_signature_page
from storage.dispatch.unprintable import refuse_unprintable
from storage.files import write_file

PAPERS = {"A4": landscape(A4), "Letter": landscape(LETTER)}
SIDE = 34.0
TOP = 40.0  # with the running head inside
BOTTOM = 38.0
MARGINS = (SIDE, TOP, BOTTOM)
RUNNING = Run("", 7.5, colour="quiet")
#: How many pairs of the head the running head repeats.
REPEATED = 4
SHORT_DIGEST = 16

#: Told (done, total) between steps; may raise to stop, and then nothing is left behind.
Progress = Callable[[int, int], None]


def paper_size(paper: str) -> tuple[float, float]:
    """Width and height of a paper in points. Raises Refused for one that is not known."""
    if paper not in PAPERS:
        raise Refused(Reason("dispatch.paper_unknown", {"paper": paper, "known": ", ".join(PAPERS)}))
    return PAPERS[paper]


def write_pdf(report: Report, path: Path, *, paper: str = "A4", progress: Progress | None = None) -> str:
    """Write the printed sheet to ``path`` and return the SHA-256 of the file in hex.

    Raises Refused where the report holds a character that the typeface has no glyph for (named with its place) or
    the paper is unknown, and BookFailure where the disk does not take the file. Whatever is raised, also by
    ``progress``, what stood at ``path`` stays.
    """
    return write_file(path, pdf_bytes(report, paper=paper, progress=progress))


def pdf_bytes(
    report: Report, *, paper: str = "A4", progress: Progress | None = None, signature_page: bool = False
) -> bytes:
    """The printed sheet as bytes; see ``write_pdf``. ``signature_page`` puts the page behind it that its signatures are
    to stand on (``signature_page.signature_fields``)."""
    width, height = paper_size(paper)
    refuse_unprintable(report)
    columns = columns_for(width - 2 * SIDE, len(report.serials))
    pages = Pages(height - TOP - BOTTOM, table_heads(report, columns), lambda n: phrase(report, "continued", number=n))
    total = 2 * len(report.lines)
    pages.take(opening(report, columns.width))
    pages.take(_told(report, columns, progress, total))
    pages.take(temperatures(report, columns.width))
    pages.take(record(report, columns.width))
    pages.take(review(report, columns.width))
    pages.take(closing(report, columns.width))
    if report.budgets:
        pages.turn()
        pages.take(budgets(report, columns.width))
    return _drawn(report, pages.pages, (width, height), progress, total, signature_page)


def _told(report: Report, columns: Columns, progress: Progress | None, total: int) -> Iterator[Row]:
    for done, line in enumerate(report.lines):
        if progress is not None:
            progress(done, total)
        yield row_of(report, line, columns)


def _drawn(
    report: Report,
    pages: list[Page],
    size: tuple[float, float],
    progress: Progress | None,
    total: int,
    signature_page: bool,
) -> bytes:
    out = BytesIO()
    canvas = Canvas(out, pagesize=size, invariant=1, pageCompression=1, lang=report.language)
    canvas.setTitle(report.title)
    canvas.setAuthor(report.shop)
    canvas.setCreator("Tenthwright")
    if report.chain is not None:
        canvas.setKeywords(report.chain.written)
    if any(result.guard for line in report.lines for result in line.results):
        define_hatch(canvas)
    count = len(pages) + signature_page
    for number, page in enumerate(pages, start=1):
        if progress is not None:
            progress(total // 2 + total * number // (2 * len(pages)), total)
        _draw_page(Brush(canvas, SIDE, size[1] - TOP), report, page, number, count, size)
        canvas.showPage()
    if signature_page:
        brush = Brush(canvas, SIDE, size[1] - TOP)
        _draw_page(brush, report, [], count, count, size)
        draw_signature_page(brush, report, size[0] - 2 * SIDE, size[1] - TOP - BOTTOM)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _draw_page(brush: Brush, report: Report, page: Page, number: int, count: int, size: tuple[float, float]) -> None:
    width = size[0] - 2 * SIDE
    if number > 1:
        _draw_running_head(brush, report, width)
    for placed in page:
        draw_band(brush, placed.band, placed.top)
        below = placed.top + placed.band.height
        if placed.head:
            brush.line(0, below, width, below, "quiet", 0.8)
        elif placed.rule:
            brush.line(0, below, width, below, "line")
    _draw_foot(brush, report, phrase(report, "page", page=number, pages=count), width, size[1] - TOP - BOTTOM)


def _draw_running_head(brush: Brush, report: Report, width: float) -> None:
    said = [f"{name} {text}" for name, text in report.head[:REPEATED] if text]
    title = Run(shortened(report.title, RUNNING.size, width / 2, True), RUNNING.size, bold=True)
    end = brush.text(title, 0, -14)
    rest = shortened("     ".join(said), RUNNING.size, width - end - 14)
    brush.text(Run(rest, RUNNING.size, colour="quiet"), end + 14, -14)


def _draw_foot(brush: Brush, report: Report, page: str, width: float, height: float) -> None:
    down = height + 20
    brush.line(0, height + 9, width, height + 9, "line")
    right = width - measure(page, RUNNING.size)
    brush.text(Run(shortened(report.shop, RUNNING.size, width / 3), RUNNING.size, colour="quiet"), 0, down)
    standing = _standing(report)
    brush.text(Run(standing, RUNNING.size, colour="quiet"), (width - measure(standing, RUNNING.size)) / 2, down)
    brush.text(Run(page, RUNNING.size, colour="quiet"), right, down)


def _standing(report: Report) -> str:
    """What the page is: sealed, by which digest, or a working copy."""
    if not report.sealed:
        return label(report, "unsealed")
    if not report.signatures:
        return label(report, "sealed")
    return phrase(report, "sealed_by", digest=report.signatures[-1].digest[:SHORT_DIGEST])
