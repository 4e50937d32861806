"""What a signature shows on the page: what is stated, by whom, on which day, over which digest."""

from __future__ import annotations

from io import BytesIO

from msgspec import Struct
from reportlab.pdfgen.canvas import Canvas

from inspection.reasons import Reason, Refused
from storage.dispatch.drawing import Brush
from storage.dispatch.setting import LEADING, Run, broken, shortened
from storage.typeface import missing_glyphs

PAD = 4.0
SIZE = 8.0
SMALLEST = 4.0
STEP = 0.5
SHORT_DIGEST = 16


class Said(Struct, frozen=True):
    """The words in a signature's field: the statement, the person, the day as it is to be read, and the SHA-256 in
    hex of what was sealed (its first characters are shown)."""

    statement: str
    person: str
    day: str
    digest: str


def appearance(said: Said, width: float, height: float) -> bytes:
    """A PDF of one page, ``width`` by ``height`` points, that shows the words; the same bytes for the same words.

    Raises Refused for a character without a glyph, or where the words do not fit even at the smallest size.
    """
    text = "".join((said.statement, said.person, said.day))
    if missing := missing_glyphs(text):
        raise Refused(Reason("signed_pdf.no_glyph", {"characters": " ".join(sorted(missing))}))
    out = BytesIO()
    canvas = Canvas(out, pagesize=(width, height), invariant=1, pageCompression=1)
    brush = Brush(canvas, PAD, height - PAD)
    brush.line(-PAD / 2, -PAD / 2, -PAD / 2, height - 1.5 * PAD, "ink", 1.2)
    down = 0.0
    for run in _lines(said, width - 2 * PAD, height - 2 * PAD):
        down += run.size * LEADING
        brush.text(run, PAD / 2, down - run.size * 0.22)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _lines(said: Said, width: float, height: float) -> list[Run]:
    size = SIZE
    while size >= SMALLEST:
        lines = _at_size(said, size, width - PAD)
        if sum(run.size * LEADING for run in lines) <= height:
            return lines
        size -= STEP
    raise Refused(Reason("signed_pdf.too_small", {"statement": said.statement}))


def _at_size(said: Said, size: float, width: float) -> list[Run]:
    lines = [Run(text, size) for text in broken(said.statement, size, width)]
    lines.append(Run(shortened(said.person, size, width), size))
    last = f"{said.day}  {said.digest[:SHORT_DIGEST]}…" if said.digest else said.day
    lines += [Run(text, size - 1, colour="quiet") for text in broken(last, size - 1, width)]
    return lines
