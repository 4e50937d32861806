"""Boxes to tick that are drawn above the cells, with the cell that each is linked to: true and false there tick it.

A control is told twice: in a drawing of the older kind (ISO/IEC 29500-4, 19.4, x:ClientData) and, by newer programs, in
a part of its own (``xl/ctrlProps``), which the worksheet names. Its words stand in the drawing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Any

from lxml import etree
from msgspec import Struct

from inspection.layout.layout import ANSWERS, MARKS, HeadPlace
from inspection.reasons import Refused
from storage.dispatch.customer_form import words
from storage.dispatch.customer_form.blank import Blank
from storage.dispatch.customer_form.drawn import EMU, Corner
from storage.dispatch.customer_form.form import Workbook, Worksheet, related
from storage.dispatch.customer_form.references import Area, area_of

#: Kinds of controls, as both places name them: boxes to tick, radio buttons, and the frames that hold these together.
CHECK_BOX, RADIO, GROUP_BOX = "checkbox", "radio", "gbox"
_KINDS = (CHECK_BOX, RADIO, GROUP_BOX)
#: A row is usually so many pixels high.
_USUAL_HEIGHT = 20
#: So many columns behind a box its words are looked for.
_FURTHER = 3
_MARK_OF = {answer: mark for mark, answer in MARKS.items()}


class Control(Struct, frozen=True):
    """A control that is drawn above a worksheet: the words at it, its corners (None where they are not told), and the
    cell that holds whether it is ticked, or which of the radio buttons is chosen; ``first`` of these is so marked.
    ``part`` is its own, ``shape`` its drawing's part and name there; either is empty where there is none."""

    words: str
    kind: str
    corners: tuple[Corner, Corner] | None
    linked: Area | None
    first: bool = False
    part: str = ""
    shape: tuple[str, str] = ("", "")

    @property
    def ticks(self) -> bool:
        """Whether it is a box that true ticks."""
        return self.kind == CHECK_BOX


def drawn_boxes(book: Workbook, worksheet: Worksheet) -> list[Control]:
    """The boxes to tick that are drawn above a worksheet, in the order of its markup."""
    return [each for each in controls_on(book, worksheet) if each.ticks]


def controls_on(book: Workbook, worksheet: Worksheet) -> list[Control]:
    """The boxes, radio buttons and group boxes above a worksheet, in the order of its markup."""
    relations = book.parts.relations(worksheet.part)
    if not any(kind in ("vmlDrawing", "ctrlProp") for kind, _part in relations.values()):
        return []
    older = {each.get("id", ""): (drawing, each) for drawing, each in _shapes(book, worksheet)}
    found: list[Control | None] = []
    seen: set[str] = set()
    for each in book.parts.tree(worksheet.part).iter("{*}control"):
        part = relations.get(related(each), ("", ""))[1]
        if not part or part in seen or not book.parts.has(part):
            continue  # the same once more, for programs that do not know it
        seen.add(part)
        name = f"_x0000_s{each.get('shapeId', '')}"
        drawing, shape = older.get(name, ("", None))
        held, said = book.parts.tree(part), _text(shape) if shape is not None else each.get("name", "")
        first = held.get("firstButton") in ("1", "true")
        kind, link = held.get("objectType", ""), held.get("fmlaLink", "")
        at = (drawing, name) if drawing else ("", "")
        found.append(_control(worksheet, said, _corners(each), kind, link, first=first, part=part, shape=at))
    for name, (drawing, shape) in older.items() if not seen else ():  # no newer program has written it
        data = next(shape.iter("{*}ClientData"), None)
        if data is not None:
            told = {etree.QName(one).localname: one.text or "" for one in data.iterchildren(etree.Element)}
            corners, link = _older_corners(told.get("Anchor", "")), told.get("FmlaLink", "")
            first = "FirstButton" in told and told["FirstButton"].strip().casefold() not in ("f", "false", "0")
            kind, at = data.get("ObjectType", ""), (drawing, name)
            found.append(_control(worksheet, _text(shape), corners, kind, link, first=first, shape=at))
    return [each for each in found if each is not None]


def _control(
    worksheet: Worksheet, said: str, corners: tuple[Corner, Corner] | None, kind: str, link: str, **more: Any
) -> Control | None:
    if kind.casefold() not in _KINDS:
        return None
    return Control(said, kind.casefold(), corners, area_of(link.strip(), worksheet.name), **more)


def _shapes(book: Workbook, worksheet: Worksheet) -> Iterator[tuple[str, etree._Element]]:
    for kind, part in book.parts.relations(worksheet.part).values():
        if kind != "vmlDrawing" or not book.parts.has(part):
            continue
        try:
            shapes = list(book.parts.tree(part).iter("{urn:schemas-microsoft-com:vml}shape"))
        except Refused:  # it need not be well-formed; its words are then not known
            continue
        yield from ((part, shape) for shape in shapes)


def _text(shape: etree._Element) -> str:
    box = next(shape.iter("{urn:schemas-microsoft-com:vml}textbox"), None)
    return " ".join("".join(map(str, box.itertext())).split()) if box is not None else ""


def _corners(control: etree._Element) -> tuple[Corner, Corner] | None:
    """The corners of a control of the worksheet's markup, rows and columns counted from 0."""
    told = {
        (corner, etree.QName(one).localname): (one.text or "").strip()
        for corner in ("from", "to")
        for held in control.iter(f"{{*}}{corner}")
        for one in held.iterchildren(etree.Element)
    }
    names = [(corner, name) for corner in ("from", "to") for name in ("col", "colOff", "row", "rowOff")]
    return _as_corners([told.get(name, "") for name in names], EMU)


def _older_corners(anchor: str) -> tuple[Corner, Corner] | None:
    """The same of an older drawing: column, offset, row, offset, twice."""
    return _as_corners([each.strip() for each in anchor.split(",")], 1)


def _as_corners(told: Sequence[str], pixel: int) -> tuple[Corner, Corner] | None:
    if len(told) != 8 or not all(re.fullmatch(r"-?\d{1,9}", each) for each in told):
        return None
    left, right, top, down, *end = map(int, told)
    return (
        Corner(top, left, down / pixel, right / pixel),
        Corner(end[2], end[0], end[3] / pixel, end[1] / pixel),
    )


# --- what they stand for ----------------------------------------------------------------------------------------


def ticked_by_cells(book: Workbook, worksheet: Worksheet) -> list[HeadPlace]:
    """The linked cells of boxes that stand for one of two answers: of both, or of one that says nothing else."""
    blank, answers = Blank(book, worksheet), {}
    for each in drawn_boxes(book, worksheet):
        if each.ticks and each.linked is not None and is_open(book, each.linked):
            at = each.linked.sheet, each.linked.top, each.linked.left
            answers[at] = words.answers_in(each.words) or _beside(blank, each)
    found = []
    for pair in ANSWERS.values():
        both = [next((cell for cell, said in answers.items() if answer in said), None) for answer in pair]
        if None in both or both[0] == both[1]:
            both = [next((at for at, said in answers.items() if said == {answer}), None) for answer in pair]
        for answer, cell in zip(pair, both, strict=True):
            if cell is not None:
                del answers[cell]
                found.append(HeadPlace(_MARK_OF[answer], *cell))
    return found


def _beside(blank: Blank, control: Control) -> frozenset[str]:
    """The answers of the first text under a box or at its right that gives any: its own words may be left out."""
    return next((said for text in _texts_beside(blank, control) if (said := words.answers_in(text))), frozenset())


def beside(blank: Blank, control: Control) -> str:
    """The first text under a control or at its right."""
    return next(filter(None, _texts_beside(blank, control)), "")


def _texts_beside(blank: Blank, control: Control) -> list[str]:
    """The texts under a control and at its right. Only the row counts that most of it lies in, for controls reach into
    their neighbours'."""
    if control.corners is None:
        return []
    start, end = control.corners
    inside = _USUAL_HEIGHT - start.down, end.down
    middle = (start.row + end.row) // 2
    row = middle if end.row - start.row != 1 else start.row if inside[0] >= inside[1] else end.row
    return [blank.text(row + 1, at) for at in range(start.column + 1, end.column + 1 + _FURTHER)]


def is_open(book: Workbook, cell: Area) -> bool:
    """Whether a linked cell is there to be set: not locked, no formula."""
    sheet = next((each for each in book.worksheets if each.name.casefold() == cell.sheet.casefold()), None)
    if sheet is None:
        return False
    blank = Blank(book, sheet)
    locked = blank.guarded and book.style(blank.cells.style_of(cell.top, cell.left)).locked
    return not locked and not blank.cells.formula(cell.top, cell.left)
