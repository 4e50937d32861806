"""Boxes to tick that are signs in a cell's text: "☐ Full  ☐ Partial", "[ ] complete", a letter in a font of symbols."""

from __future__ import annotations

import re
from collections.abc import Iterator
from copy import deepcopy
from functools import cache

from lxml import etree
from msgspec import Struct

from inspection.layout.layout import ANSWERS, MARKS
from storage.dispatch.customer_form import words
from storage.dispatch.customer_form.sheet import Cells

_SYMBOLS = "wingdings"
#: What may be answered by yes and no.
_YES_OR_NO = {"complete": ("yes",), "not complete": ("no",)}
#: What stands between an answer and the next box.
_BETWEEN = " \t\n/|,;:·•-–"


class Box(Struct):
    """One box in a text: the piece of markup that holds it, where, the sign for it ticked, and the answers that the
    words beside it give."""

    element: etree._Element
    start: int
    end: int
    ticked: str
    answers: frozenset[str] = frozenset()


class _Run(Struct):
    element: etree._Element
    text: str
    symbols: bool


def boxes_in(cells: Cells, row: int, column: int) -> list[Box]:
    """The boxes in the text of a cell, in order, each with its answers."""
    string = cells.string(row, column)
    return _boxes(cells, string, cells.style_of(row, column)) if string is not None else []


def is_box(cells: Cells, row: int, column: int) -> bool:
    """Whether a cell holds one box and nothing else."""
    string = cells.string(row, column)
    found = _boxes(cells, string, cells.style_of(row, column)) if string is not None else []
    return len(found) == 1 and len(cells.text(row, column).strip()) == found[0].end - found[0].start


def field_in(cells: Cells, row: int, column: int, before: frozenset[str] = frozenset()) -> str:
    """The value that the boxes of a cell ask for: one of two answers where there is a box for both, else the mark of
    one; empty where they say neither. ``before`` are answers that a label in front of the cell gives."""
    found = boxes_in(cells, row, column)
    said = [answer for box in found for answer in box.answers]
    for field, pair in ANSWERS.items():
        if all(each in said for each in pair):
            return field
    about = before | words.answers_in(_label(cells, row, column))
    if {"yes", "no"} <= {*said} and about & {*ANSWERS["article"]}:
        return "article"
    alone = [mark for mark, answer in MARKS.items() if said.count(answer)]
    return alone[0] if len(alone) == 1 and len(found) == 1 else ""


def tick(cells: Cells, row: int, column: int, answer: str) -> bool:
    """Tick the box beside an answer; where the cell has one box alone, that one. Whether there was one. Everything else
    of the text keeps its looks."""
    string = cells.string(row, column)
    if string is None:
        return False
    made = deepcopy(string)
    found = _boxes(cells, made, cells.style_of(row, column))
    said = (answer, *_YES_OR_NO.get(answer, ()))
    lone = found[0] if len(found) == 1 and not found[0].answers else None
    box = next((box for each in said for box in found if each in box.answers), lone)
    if box is None:
        return False
    text = box.element.text or ""
    box.element.text = text[: box.start] + box.ticked + text[box.end :]
    cells.set_string(row, column, made)
    return True


def _label(cells: Cells, row: int, column: int) -> str:
    """What stands in front of the first box of a cell."""
    string = cells.string(row, column)
    parts = _parts(cells, string, cells.style_of(row, column)) if string is not None else []
    return str(parts[0][1]).strip(_BETWEEN) if parts else ""


def _boxes(cells: Cells, string: etree._Element, style: str) -> list[Box]:
    parts = _parts(cells, string, style)
    boxes = [box for box, _text in parts if box is not None]
    texts = [text for _box, text in parts]  # one more than boxes: what stands in front of the first
    behind = [words.answers_in(text.strip(_BETWEEN)) for text in texts[1:]]
    front = [words.answers_in(text.strip(_BETWEEN)) for text in texts[:-1]]
    best = behind if sum(map(bool, behind)) >= sum(map(bool, front)) else front
    for box, answers in zip(boxes, best, strict=True):
        box.answers = answers
    return boxes


def _parts(cells: Cells, string: etree._Element, style: str) -> list[tuple[Box | None, str]]:
    """The text in front of the first box, then every box with the text up to the next."""
    found: list[tuple[Box | None, str]] = [(None, "")]
    for run in _runs(cells, string, style):
        at = 0
        for match in _pattern(run.symbols).finditer(run.text):
            found[-1] = found[-1][0], found[-1][1] + _words(run, at, match.start())
            signs = words.symbol_boxes() if run.symbols else words.boxes()
            found.append((Box(run.element, match.start(), match.end(), signs[match[0]]), ""))
            at = match.end()
        found[-1] = found[-1][0], found[-1][1] + _words(run, at, len(run.text))
    return found


def _words(run: _Run, start: int, end: int) -> str:
    return "" if run.symbols else run.text[start:end]


def _runs(cells: Cells, string: etree._Element, style: str) -> Iterator[_Run]:
    """The runs of a text; a text of one look is one (18.4.8 si, 18.4.4 r)."""
    tag = cells.book.tag
    own = cells.book.style(style).font
    for element in string.iter(tag("t")):
        parent = element.getparent()
        if parent is None or etree.QName(parent).localname == "rPh":
            continue
        look = parent.find(f"{tag('rPr')}/{tag('rFont')}") if parent is not string else None
        named = str(look.get("val", "")) if look is not None else own
        yield _Run(element, element.text or "", named.casefold().startswith(_SYMBOLS))


@cache
def _pattern(symbols: bool) -> re.Pattern[str]:
    signs = words.symbol_boxes() if symbols else words.boxes()
    return re.compile("|".join(map(re.escape, sorted(signs, key=len, reverse=True))))
