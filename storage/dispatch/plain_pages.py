"""Pages without a seal at their foot: who made them and what they are, which page of how many."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from inspection.reasons import Reason, Refused
from inspection.words.say import word
from storage.dispatch.blocks import Balloon, Band, Cell, Row
from storage.dispatch.drawing import Brush, draw_band
from storage.dispatch.pages import Page
from storage.dispatch.pdf import BOTTOM, RUNNING, SIDE, TOP
from storage.dispatch.setting import Run, TextLine, measure
from storage.typeface import missing_glyphs


def body_of(size: tuple[float, float]) -> tuple[float, float]:
    """Width and height of a page's body in points."""
    return size[0] - 2 * SIDE, size[1] - TOP - BOTTOM


def check_glyphs(texts: Iterable[str], code: str) -> None:
    """Raises Refused (``code``) with the characters that the typeface has no glyph for."""
    missing = missing_glyphs("".join(texts))
    if missing:
        raise Refused(Reason(code, {"characters": ", ".join(sorted(missing))}))


def across(lines: Sequence[TextLine | Balloon], width: float) -> Row:
    """A row of lines over the whole width."""
    return Row((Band((Cell(0, width, tuple(lines)),), pad=4),))


def drawn(
    title: str, shop: str, language: str, pages: Sequence[Page], size: tuple[float, float], *, keywords: str = ""
) -> bytes:
    """The pages as PDF bytes, the same for the same pages; ``keywords`` are those of the document."""
    out = BytesIO()
    canvas = Canvas(out, pagesize=size, invariant=1, pageCompression=1, lang=language)
    canvas.setTitle(title)
    canvas.setAuthor(shop)
    canvas.setCreator("Tenthwright")
    if keywords:
        canvas.setKeywords(keywords)
    for number, placed in enumerate(pages, start=1):
        brush = Brush(canvas, SIDE, size[1] - TOP)
        _draw(brush, placed, body_of(size)[0])
        told = word("dispatch.page", language, page=number, pages=len(pages))
        _foot(brush, f"{shop}   {title}", told, size)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _draw(brush: Brush, placed: Page, width: float) -> None:
    for one in placed:
        draw_band(brush, one.band, one.top)
        below = one.top + one.band.height
        if one.head:
            brush.line(0, below, width, below, "quiet", 0.8)
        elif one.rule:
            brush.line(0, below, width, below, "line")


def _foot(brush: Brush, named: str, told: str, size: tuple[float, float]) -> None:
    width, height = body_of(size)
    down = height + 20
    brush.line(0, down - 11, width, down - 11, "line")
    brush.text(Run(named, RUNNING.size, colour="quiet"), 0, down)
    brush.text(Run(told, RUNNING.size, colour="quiet"), width - measure(told, RUNNING.size), down)
