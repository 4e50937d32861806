"""Sentences in a place: as large as it allows, whole lines only, in its middle where that is asked for."""

from __future__ import annotations

from itertools import pairwise

import pytest
from PySide6.QtGui import QImage

from app.parts.fitted import Sentence
from app.window.theme import ROW, SMALL, load

LONG = "Check it away from the machine; in it only with spindle and axes at a standstill and the drive secured. " * 3


def inked_rows(sentence: Sentence) -> list[int]:
    """The rows of pixels that hold something."""
    image = sentence.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    ground = image.pixel(image.width() - 1, image.height() - 1)
    return [y for y in range(image.height()) if any(image.pixel(x, y) != ground for x in range(image.width()))]


@pytest.fixture
def sentence(qtbot):
    def make(text: str, wide: int, high: int, **look: object) -> Sentence:
        made = Sentence(load("light"), **look)
        qtbot.addWidget(made)
        made.resize(wide, high)
        made.show_text(text, "ink")
        return made

    return make


def test_a_sentence_is_as_large_as_its_place_allows(sentence):
    large = inked_rows(sentence("Wipe it.", 400, 60, sizes=(40, SMALL)))
    small = inked_rows(sentence("Wipe it.", 400, 20, sizes=(40, SMALL)))
    assert len(large) > 2 * len(small)


def test_what_is_too_long_even_so_ends_with_a_whole_line(sentence):
    made = sentence(LONG, 300, 44, sizes=(ROW, SMALL))
    line = load("light").font(SMALL).pixelSize() * 1.4
    rows = inked_rows(made)
    assert rows[-1] < 44 - 2 and rows[-1] > line
    assert made.toolTip() == LONG


def test_line_ends_within_a_sentence_hold_where_it_is_too_long_too(sentence):
    rows = inked_rows(sentence("a\n\nb\n" + LONG, 300, 66, sizes=(SMALL,)))
    gaps = [after - before for before, after in pairwise(rows)]
    assert max(gaps) > load("light").font(SMALL).pixelSize()


def test_a_sentence_stands_in_the_middle_where_that_is_asked_for(sentence):
    top = inked_rows(sentence("Wipe it.", 400, 80, sizes=(SMALL,)))
    middle = inked_rows(sentence("Wipe it.", 400, 80, sizes=(SMALL,), middle=True))
    assert top[0] < 10
    assert abs((middle[0] + middle[-1]) / 2 - 40) < 5
