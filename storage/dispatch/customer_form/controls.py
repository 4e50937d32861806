"""Boxes to tick that are drawn above the cells, with the cell that each is linked to: true and false there tick it.

A control is told twice: in a drawing of the older kind (ISO/IEC 29500-4, 19.4, x:ClientData) and, by newer programs, in
a part of its own (``xl/ctrlProps``), which the worksheet names. Its words stand in the drawing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from lxml import etree
from msgspec import Struct

from inspection.layout.layout import ANSWERS, MARKS, HeadPlace
from inspection.reasons import Refused
from storage.dispatch.customer_form import words
from storage.dispatch.customer_form.blank import Blank
from storage.dispatch.customer_form.drawn import EMU, Corner, Drawn
from storage.dispatch.customer_form.form import Workbook, Worksheet, related
from storage.dispatch.customer_form.references import Area, area_of
from storage.dispatch.customer_form.sheet import Cells

#: Kinds of controls, as both places name them; of several radio buttons the linked cell counts which is chosen.
_TICKED = "checkbox"
_KINDS = (_TICKED, "radio")
#: A row is usually so many pixels high.
_USUAL_HEIGHT = 20
#: So many columns behind a box its words are looked for.
_FURTHER = 3
_MARK_OF = {answer: mark for mark, answer in MARKS.items()}


class Control(Struct, frozen=True):
    """A box that is drawn above a worksheet: the words at it, its corners (None where they are not told), and the cell
    that holds whether it is ticked."""

    words: str
    ticks: bool
    corners: tuple[Corner, Corner] | None
    linked: Area | None


def drawn_boxes(book: Workbook, worksheet: Worksheet) -> list[Control]:
    """The boxes to tick that are drawn above a worksheet, in the order of its markup."""
    relations = book.parts.relations(worksheet.part)
    if not any(kind in ("vmlDrawing", "ctrlProp") for kind, _part in relations.values()):
        return []
    older = {each.get("id", ""): each for each in _shapes(book, worksheet)}
    found, seen = [], set()
    for each in book.parts.tree(worksheet.part).iter("{*}control"):
        part = relations.get(related(each), ("", ""))[1]
        if not part or part in seen or not book.parts.has(part):
            continue  # the same once more, for programs that do not know it
        seen.add(part)
        shape, held = older.get(f"_x0000_s{each.get('shapeId', '')}"), book.parts.tree(part)
        said = _text(shape) if shape is not None else each.get("name", "")
        found.append(_control(worksheet, said, _corners(each), held.get("objectType", ""), held.get("fmlaLink", "")))
    for shape in older.values() if not seen else ():  # no newer program has written it
        data = next(shape.iter("{*}ClientData"), None)
        if data is not None:
            told = {etree.QName(one).localname: one.text or "" for one in data.iterchildren(etree.Element)}
            corners, link = _older_corners(told.get("Anchor", "")), told.get("FmlaLink", "")
            found.append(_control(worksheet, _text(shape), corners, data.get("ObjectType", ""), link))
    return [each for each in found if each is not None]


def _control(
    worksheet: Worksheet, said: str, corners: tuple[Corner, Corner] | None, kind: str, link: str
) -> Control | None:
    if kind.casefold() not in _KINDS:
        return None
    return Control(said, kind.casefold() == _TICKED, corners, area_of(link.strip(), worksheet.name))


def _shapes(book: Workbook, worksheet: Worksheet) -> Iterator[etree._Element]:
    for kind, part in book.parts.relations(worksheet.part).values():
        if kind != "vmlDrawing" or not book.parts.has(part):
            continue
        try:
            yield from book.parts.tree(part).iter("{urn:schemas-microsoft-com:vml}shape")
        except Refused:  # it need not be well-formed; its words are then not known
            continue


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


def boxes_lying(content: bytes, name: str) -> dict[str, tuple[Drawn, ...]]:
    """The boxes above each worksheet of a filled workbook as they are seen, ticked or not, by the worksheet's name."""
    book, found = Workbook(content, name), {}
    for worksheet in book.worksheets:
        boxes = [(each, each.corners) for each in drawn_boxes(book, worksheet) if each.corners is not None]
        if boxes:
            found[worksheet.name] = tuple(_seen(book, box, *corners) for box, corners in boxes)
    return found


def _seen(book: Workbook, box: Control, start: Corner, end: Corner) -> Drawn:
    sheet = next((each for each in book.worksheets if box.linked and each.name == box.linked.sheet), None)
    ticked = False
    if box.ticks and sheet is not None and box.linked is not None:
        cells = Cells(book, sheet.name, sheet.part)
        at = box.linked.top, box.linked.left
        ticked = cells.holds_truth(*at) and cells.text(*at) in ("1", "true")
    sign = ("☒" if ticked else "☐") if box.ticks else "○"
    return Drawn("box", start, end, 0.0, 0.0, f"{sign} {box.words}".strip())


# --- what they stand for ----------------------------------------------------------------------------------------


def ticked_by_cells(book: Workbook, worksheet: Worksheet) -> list[HeadPlace]:
    """The linked cells of boxes that stand for one of two answers: of both, or of one that says nothing else."""
    blank, answers = Blank(book, worksheet), {}
    for each in drawn_boxes(book, worksheet):
        if each.ticks and each.linked is not None and _open(book, each.linked):
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
    """The answers of the first text under a box or at its right that gives any: its own words may be left out. Only the
    row counts that most of it lies in, for boxes reach into their neighbours'."""
    if control.corners is None:
        return frozenset()
    start, end = control.corners
    inside = _USUAL_HEIGHT - start.down, end.down
    middle = (start.row + end.row) // 2
    row = middle if end.row - start.row != 1 else start.row if inside[0] >= inside[1] else end.row
    cells = [(row + 1, at) for at in range(start.column + 1, end.column + 1 + _FURTHER)]
    return next((said for cell in cells if (said := words.answers_in(blank.text(*cell)))), frozenset())


def _open(book: Workbook, cell: Area) -> bool:
    """Whether a linked cell is there to be set: not locked, no formula."""
    sheet = next((each for each in book.worksheets if each.name.casefold() == cell.sheet.casefold()), None)
    if sheet is None:
        return False
    blank = Blank(book, sheet)
    locked = blank.guarded and book.style(blank.cells.style_of(cell.top, cell.left)).locked
    return not locked and not blank.cells.formula(cell.top, cell.left)
