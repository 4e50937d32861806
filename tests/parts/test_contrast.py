"""Every pair of colours that is used keeps its contrast, computed as WCAG 2.1 defines it (relative luminance, 1.4.3
contrast minimum 4.5 : 1 for text, 1.4.11 non-text contrast 3 : 1)."""

from __future__ import annotations

import pytest

from app.parts.marks import Mark, color_of, mark_of
from app.window.theme import NAMES, palette
from inspection.measuring.verdict import Verdict

GROUNDS = ("paper", "rail", "card", "field", "row")
TEXTS = ("ink", "quiet", "accent", "good", "out", "doubt")


def luminance(color: str) -> float:
    parts = [int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_black_on_white_is_21():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("text", TEXTS)
def test_text_stands_out_from_every_ground(name, ground, text):
    colors = palette(name)
    assert contrast(getattr(colors, text), getattr(colors, ground)) >= 4.5


@pytest.mark.parametrize("name", NAMES)
def test_text_on_the_accent_stands_out(name):
    assert contrast(palette(name).on_accent, palette(name).accent) >= 4.5


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("mark", ["edge", "ink", "accent", *sorted({color_of(mark) for mark in Mark})])
def test_marks_stand_out_from_every_ground_they_are_painted_on(name, mark):
    grounds = GROUNDS if mark == "edge" else (*GROUNDS, "band")
    for ground in grounds:
        assert contrast(getattr(palette(name), mark), getattr(palette(name), ground)) >= 3, ground


def test_every_verdict_has_a_mark_of_its_own():
    assert len({mark_of(verdict) for verdict in Verdict}) == len(Verdict)
