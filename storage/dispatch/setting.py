"""Setting text for paper: runs of one face, lines of runs, and breaking a text to a width.

Lengths are points (1/72 in). Widths come from the faces themselves, which have no kerning between digits.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from unicodedata import normalize

from msgspec import Struct
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from storage.typeface import typeface

REGULAR = "TenthwrightBench"
BOLD = "TenthwrightBench-Bold"
#: Baseline to baseline, as a multiple of the size.
LEADING = 1.24
ELLIPSIS = "…"
#: A space where a line may end: not beside an equals sign, nor between a number and its fraction or unit.
MAY_BREAK = re.compile(r"(?<!=) (?!=|(?<=\d )(?:\d+/\d|in\b|mm\b|µin\b|µm\b))")


class Run(Struct, frozen=True):
    """A piece of text in one face, size and colour (a name of the palette); ``struck`` puts a line through it."""

    text: str
    size: float = 8.5
    bold: bool = False
    colour: str = "ink"
    struck: bool = False


class TextLine(Struct, frozen=True):
    """One line of runs, set from the left edge of its cell, or centred in it."""

    runs: tuple[Run, ...]
    height: float
    centred: bool = False


@cache
def faces() -> tuple[str, str]:
    """Make the family known to reportlab, once; returns the names of its two faces."""
    pdfmetrics.registerFont(TTFont(REGULAR, str(typeface().regular)))
    pdfmetrics.registerFont(TTFont(BOLD, str(typeface().bold)))
    return REGULAR, BOLD


def face(bold: bool) -> str:
    """The reportlab name of a face."""
    return faces()[bold]


@lru_cache(maxsize=65_536)
def measure(text: str, size: float, bold: bool = False) -> float:
    """Width of a text."""
    return float(pdfmetrics.stringWidth(text, face(bold), size))


def run_width(run: Run) -> float:
    """Width of a run."""
    return measure(run.text, run.size, run.bold)


@lru_cache(maxsize=16_384)
def broken(text: str, size: float, width: float, bold: bool = False) -> tuple[str, ...]:
    """Break a text into lines no wider than ``width``: at its own line ends, at spaces, and inside a word only where
    the word alone is wider than a line. An empty text has no line."""
    if not text.strip():
        return ()
    lines: list[str] = []
    for paragraph in normalize("NFC", text).replace("\t", " ").splitlines():
        lines += _paragraph(paragraph, size, width, bold)
    return tuple(lines)


def _paragraph(text: str, size: float, width: float, bold: bool) -> list[str]:
    if measure(text, size, bold) <= width:
        return [text]
    space = measure(" ", size, bold)
    lines: list[str] = []
    current, used = "", 0.0
    for word in MAY_BREAK.split(text):
        taken = measure(word, size, bold)
        if current and used + space + taken <= width:
            current, used = f"{current} {word}", used + space + taken
            continue
        if current:
            lines.append(current)
        *full, current = _cut(word, size, width, bold) if taken > width else [word]
        lines += full
        used = measure(current, size, bold)
    return [*lines, current] if current else lines


def _cut(word: str, size: float, width: float, bold: bool) -> list[str]:
    """Cut a word that is wider than a line; at least one character stands in each piece."""
    pieces: list[str] = [""]
    used = 0.0
    for character in word:
        taken = measure(character, size, bold)
        if pieces[-1] and used + taken > width:
            pieces.append("")
            used = 0.0
        pieces[-1] += character
        used += taken
    return pieces


def set_text(text: str, width: float, style: Run, *, centred: bool = False) -> list[TextLine]:
    """Set a text in the style of a run (its own text is not used), as many lines as it takes."""
    height = round(style.size * LEADING, 2)
    return [
        TextLine((Run(line, style.size, style.bold, style.colour, style.struck),), height, centred)
        for line in broken(text, style.size, width, style.bold)
    ]


def set_runs(runs: list[Run], width: float) -> list[TextLine]:
    """Set runs one after the other on a line, going on below where one does not fit."""
    lines: list[list[Run]] = [[]]
    used = 0.0
    for run in runs:
        taken = run_width(run)
        if lines[-1] and used + taken > width:
            lines.append([])
            used = 0.0
        if taken <= width - used:
            lines[-1].append(run)
            used += taken
        else:
            pieces = [Run(piece, run.size, run.bold, run.colour, run.struck) for piece in _pieces(run, width)]
            lines[-1:] = [[piece] for piece in pieces]
            used = run_width(pieces[-1])
    return [TextLine(_joined(line), max(run.size for run in line) * LEADING) for line in lines if line]


def _joined(runs: list[Run]) -> tuple[Run, ...]:
    """The same line with neighbours of one look as one run."""
    found: list[Run] = []
    for run in runs:
        last = found[-1] if found else None
        if last is not None and _look(last) == _look(run):
            found[-1] = Run(last.text + run.text, *_look(run))
        else:
            found.append(run)
    return tuple(found)


def _look(run: Run) -> tuple[float, bool, str, bool]:
    return run.size, run.bold, run.colour, run.struck


def _pieces(run: Run, width: float) -> tuple[str, ...]:
    return broken(run.text, run.size, width, run.bold) or (run.text,)


def shortened(text: str, size: float, width: float, bold: bool = False) -> str:
    """A text cut to a width, with an ellipsis where something was left out."""
    if measure(text, size, bold) <= width:
        return text
    room = width - measure(ELLIPSIS, size, bold)
    while text and measure(text, size, bold) > room:
        text = text[:-1]
    return text.rstrip() + ELLIPSIS
