"""Boxes to tick that are signs in a cell's text: "☐ Full  ☐ Partial", "[ ] complete", a letter in a font of symbols."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
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
#: What parts the words of one box from those in front of the next.
_APART = re.compile(r"\s{2,}|[ \t]*[\n;|][ \t]*")


class Box(Struct):
    """One box in a text: the piece of markup that holds it, where, the sign for it ticked, the answers that the words
    beside it give, and what the words in front of it say that no other box stands at."""

    element: etree._Element
    start: int
    end: int
    ticked: str
    answers: frozenset[str] = frozenset()
    about: frozenset[str] = frozenset()


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


def fields_in(cells: Cells, row: int, column: int, before: frozenset[str] = frozenset()) -> list[str]:
    """The values that the boxes of a cell ask for: one of two answers where there is a box for both, else the mark of
    one; none where they say neither. ``before`` are answers that a label in front of the cell gives."""
    found = boxes_in(cells, row, column)
    if asked := list(_questions(found, before)):
        return asked
    alone = [mark for mark, answer in MARKS.items() if any(answer in box.answers for box in found)]
    return alone if len(alone) == 1 and len(found) == 1 else []


def tick(cells: Cells, row: int, column: int, string: etree._Element, answers: Sequence[str]) -> bool:
    """Tick the boxes beside all of these answers in the text of a cell, of which ``string`` is the blank markup; where
    it has one box alone, that one. Whether there was one for the last answer. Everything else keeps its looks."""
    made = deepcopy(string)
    found = _boxes(cells, made, cells.style_of(row, column))
    boxes = [_box_of(found, answer) for answer in answers]
    ticked = [box for box in boxes if box is not None]
    for box in sorted(ticked, key=lambda box: -box.start):  # from behind: what stands in front keeps its place
        text = box.element.text or ""
        box.element.text = text[: box.start] + box.ticked + text[box.end :]
    if ticked:
        cells.set_string(row, column, made)
    return boxes[-1] is not None


def _box_of(found: list[Box], answer: str) -> Box | None:
    for asked in _questions(found, frozenset()).values():
        if answer in asked:
            return asked[answer]
    said = (answer, *_YES_OR_NO.get(answer, ()))
    lone = found[0] if len(found) == 1 and not found[0].answers else None
    return next((box for each in said for box in found if each in box.answers), lone)


def _questions(found: Sequence[Box], before: frozenset[str]) -> dict[str, dict[str, Box]]:
    """The values with a box for both answers, each with its boxes: those that stand beside each other, else any two."""
    asked: dict[str, dict[str, Box]] = {}
    at = 0
    while at < len(found) - 1:
        field, boxes = _question(found[at], found[at + 1], before)
        if field and field not in asked:
            asked[field] = boxes
            at += 1
        at += 1
    if asked:
        return asked
    for field, pair in ANSWERS.items():
        own = {answer: box for answer in pair for box in found if answer in box.answers}
        if len(own) == len(pair):
            return {field: own}
    return {}


def _question(first: Box, second: Box, before: frozenset[str]) -> tuple[str, dict[str, Box]]:
    """What two boxes beside each other ask for."""
    for one, other in ((first, second), (second, first)):
        for field, (yes, no) in ANSWERS.items():
            if yes in one.answers and no in other.answers:
                return field, {yes: one, no: other}
        whole = {*ANSWERS["article"]}
        if "yes" in one.answers and "no" in other.answers and (first.about or before) & whole:
            return "article", dict(zip(ANSWERS["article"], (one, other), strict=True))
    return "", {}


def _boxes(cells: Cells, string: etree._Element, style: str) -> list[Box]:
    parts = _parts(cells, string, style)
    boxes = [box for box, _text in parts if box is not None]
    texts = [_APART.split(text.strip(_BETWEEN)) for _box, text in parts]  # of the first what stands in front of all
    behind = [_said(text, 0) for text in texts[1:]]
    front = [_said(text, -1) for text in texts[:-1]]
    best = behind if sum(map(bool, behind)) >= sum(map(bool, front)) else front
    for place, (box, answers) in enumerate(zip(boxes, best, strict=True)):
        box.answers = answers
        if place == 0 or len(texts[place]) > 1:
            box.about = front[place]
    return boxes


def _said(parts: Sequence[str], place: int) -> frozenset[str]:
    """The answers that a text gives, or the part of it at this place."""
    return words.answers_in("  ".join(parts)) or words.answers_in(parts[place])


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
