"""The family as its two users see it: Qt on screen, reportlab and a reader of PDF on paper."""

from io import BytesIO

import pypdfium2
import pytest
from PySide6.QtGui import QFont, QFontDatabase, QFontMetricsF
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from storage.typeface import FAMILY, typeface

SHOWN = "⌀.7500 +.0000/−.0005 ⌖ ⌀.010Ⓜ ⌭ ⌰ ⌴ ↧ ● ▲ ○ ◐ ⊖ ≤ µ ″ ⅜"


@pytest.mark.parametrize("style", ["regular", "bold"])
def test_qt_takes_the_family_and_its_symbols_without_another_font(qapp: object, style: str) -> None:
    number = QFontDatabase.addApplicationFont(str(getattr(typeface(), style)))
    assert QFontDatabase.applicationFontFamilies(number) == [FAMILY]
    font = QFont(FAMILY)
    font.setBold(style == "bold")
    font.setPixelSize(100)
    font.setStyleStrategy(QFont.StyleStrategy.NoFontMerging)
    metrics = QFontMetricsF(font)
    assert all(metrics.inFontUcs4(ord(character)) for character in SHOWN)
    assert len({round(metrics.horizontalAdvance(digit * 10), 3) for digit in "0123456789"}) == 1


def test_text_on_paper_reads_back(tmp_path: object) -> None:
    pdfmetrics.registerFont(TTFont("shown", str(typeface().regular)))
    out = BytesIO()
    canvas = Canvas(out)
    canvas.setFont("shown", 12)
    canvas.drawString(72, 700, SHOWN)
    canvas.save()
    page = pypdfium2.PdfDocument(out.getvalue())[0]
    assert page.get_textpage().get_text_bounded().strip() == SHOWN
