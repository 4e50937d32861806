"""The last page of a signed PDF: a field for every signature that the sheet may come to have, empty until signed.

Fields lie in two columns. Lengths are points; the page's own corner is the lower left one.
"""

from __future__ import annotations

from inspection.sheet.report import Report
from storage.dispatch.drawing import Brush
from storage.dispatch.labels import label
from storage.dispatch.setting import LEADING, Run, set_text
from storage.seals.pdf_signing import SignatureField, Statement

#: The fields in their order; what may be stated more than once has as many.
FIELDS = (
    (Statement.INSPECTOR, 1),
    (Statement.LEAD, 1),
    (Statement.FIRST_ARTICLE, 1),
    (Statement.FIRST_ARTICLE, 2),
    (Statement.RELEASE, 1),
    (Statement.RELEASE, 2),
)
COLUMNS = 2
GUTTER = 16.0
#: From the top of the body to the first label, from there to its field, and from a field to the next label.
BEGIN, LABEL_HEIGHT, BETWEEN = 54.0, 14.0, 12.0
TITLE = Run("", 13, bold=True)
TEXT = Run("", 8)
LABEL = Run("", 8, bold=True)


def signature_fields(size: tuple[float, float], margins: tuple[float, float, float]) -> tuple[SignatureField, ...]:
    """Where the fields stand on the last page of a paper of this size; ``margins`` are side, top and bottom."""
    side, top, bottom = margins
    width, height = size[0] - 2 * side, size[1] - top - bottom
    return tuple(
        SignatureField(
            statement,
            -1,
            (side + left, size[1] - top - down - tall, side + left + wide, size[1] - top - down),
            number,
        )
        for (statement, number), (left, down, wide, tall) in zip(FIELDS, _boxes(width, height), strict=True)
    )


def draw_signature_page(brush: Brush, report: Report, width: float, height: float) -> None:
    """Draw the page's title, what it is, and the frame of each field with what is signed there."""
    brush.text(Run(label(report, "signature_page"), TITLE.size, bold=True), 0, TITLE.size)
    down = TITLE.size * LEADING + 6
    for line in set_text(label(report, "signature_page_told"), width, TEXT):
        down += line.height
        brush.runs(line.runs, 0, down)
    for (statement, number), (left, top, wide, tall) in zip(FIELDS, _boxes(width, height), strict=True):
        code = statement.name.lower() if number == 1 else f"{statement.name.lower()}_again"
        brush.text(Run(label(report, f"field.{code}"), LABEL.size, bold=True), left, top - 4)
        for x1, down1, x2, down2 in (
            (left, top, left + wide, top),
            (left, top + tall, left + wide, top + tall),
            (left, top, left, top + tall),
            (left + wide, top, left + wide, top + tall),
        ):
            brush.line(x1, down1, x2, down2, "line")


def _boxes(width: float, height: float) -> list[tuple[float, float, float, float]]:
    """Left, distance from the top, width and height of each field, within the body."""
    rows = -(-len(FIELDS) // COLUMNS)
    wide = (width - GUTTER * (COLUMNS - 1)) / COLUMNS
    step = (height - BEGIN) / rows
    tall = step - LABEL_HEIGHT - BETWEEN
    return [
        (place % COLUMNS * (wide + GUTTER), BEGIN + place // COLUMNS * step + LABEL_HEIGHT, wide, tall)
        for place in range(len(FIELDS))
    ]
