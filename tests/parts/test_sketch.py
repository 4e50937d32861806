"""Sketches of checks: each is painted in both palettes, sharp at every scale, with letters that can be read."""

from __future__ import annotations

from collections import Counter

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter

from app.parts import sketch
from app.parts.sketch import CAPITAL, HEIGHT, WIDTH, Sketch, paint_sketch, sketch_for, sketches
from app.window.theme import NAMES, SCALES, SMALL, load

EVERY = sorted(sketches())


def painted(line: str, kind: str, theme: str = "light", scale: float = 1.0, ratio: float = 1.0) -> QImage:
    wide, high = WIDTH * scale, HEIGHT * scale
    image = QImage(round(wide * ratio), round(high * ratio), QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(ratio)
    image.fill(load(theme).color("card"))
    painter = QPainter(image)
    paint_sketch(painter, QRectF(0, 0, wide, high), line, load(theme), kind=kind)
    painter.end()
    return image


def colors(image: QImage) -> Counter[str]:
    return Counter(image.pixelColor(x, y).name() for x in range(image.width()) for y in range(image.height()))


@pytest.mark.parametrize("theme", NAMES)
@pytest.mark.parametrize(("line", "kind"), EVERY)
def test_every_sketch_is_painted_in_the_colours_of_the_palette(qapp, line, kind, theme):
    seen, palette = colors(painted(line, kind, theme)), load(theme)
    assert seen[palette.color("ink").name()] > 150
    moves = bool(sketch_for(line, kind)["arrow"] or sketch_for(line, kind)["turn"])
    assert (seen[palette.color("accent").name()] > 20) is moves


@pytest.mark.parametrize("ratio", [1.0, 1.25, 2.0])
@pytest.mark.parametrize("scale", [each / 100 for each in SCALES])
def test_upright_and_level_strokes_are_sharp_at_every_scale(qapp, scale, ratio):
    """A pin is drawn with upright and level strokes alone: no column or row of it is half in ink."""
    image = painted("pin_marks", "", scale=scale, ratio=ratio)
    ink = load("light").color("ink")
    column = [image.pixelColor(x, round(57 * scale * ratio)) for x in range(round(12 * scale * ratio))]
    row = [image.pixelColor(round(10 * scale * ratio), y) for y in range(round(22 * scale * ratio))]
    for line in (column, row):
        assert {each.name() for each in line} == {ink.name(), load("light").color("card").name()}


def test_letters_are_read_at_the_size_they_are_drawn_for(qapp):
    """At 120 × 80 pixels no letter is smaller than the smallest text; in a smaller place they are left out."""
    heights = [letters[3] for each in sketches().values() for letters in each["letters"]]
    assert min(heights) / CAPITAL >= SMALL
    small, large = (painted("thread_clean", "", scale=scale) for scale in (0.5, 1.0))
    ink = load("light").color("ink").name()
    assert ink not in {small.pixelColor(x, 20).name() for x in range(42, 54)}
    assert ink in {large.pixelColor(x, 40).name() for x in range(84, 104)}


def test_an_instrument_without_a_sketch_of_its_own_has_the_common_one(qapp):
    assert sketch_for("block", "digital caliper") == sketch_for("block")
    assert sketch_for("block", "outside micrometer") != sketch_for("block")
    assert painted("block", "digital caliper") == painted("block", "")


def test_a_missing_sketch_leaves_the_place_empty(qapp):
    assert sketch_for("no such line") is None
    assert set(colors(painted("no such line", ""))) == {load("light").color("card").name()}


def test_what_its_line_asks_is_its_name_for_screen_readers(qtbot):
    shown = Sketch(load("light", 200), 120)
    qtbot.addWidget(shown)
    shown.show_line("wipe", "", "Wipe faces and reference surface.")
    assert shown.accessibleName() == "Wipe faces and reference surface."
    assert (shown.sizeHint().width(), shown.sizeHint().height()) == (240, 160)
    shown.resize(shown.sizeHint())
    assert QColor(load("light").color("ink")).name() in colors(shown.grab().toImage())


def test_arrows_end_at_their_heads(qapp):
    """The head of an arrow is filled at its tip, and nothing of it lies beyond."""
    numbers = sketch_for("zero", "")["arrow"][0]
    image = painted("zero", "", scale=4)
    accent = load("light").color("accent").name()
    x, y = numbers[2] * 4, (sketch.HEIGHT - numbers[3]) * 4
    assert image.pixelColor(round(x + 12), round(y)).name() == accent
    assert image.pixelColor(round(x - 4), round(y)).name() != accent
