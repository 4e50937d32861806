"""What lies on a workbook's sheets above the cells: pictures with their bytes, charts and shapes with their titles.

Places as ECMA-376 part 1, 20.5.2 anchors them: a cell, and how far from its corner.
"""

from __future__ import annotations

from collections.abc import Iterator

from lxml import etree
from msgspec import Struct

from storage.dispatch.customer_form.form import Workbook, related

#: English metric units, in which places are given, to the pixel of 96 to the inch (20.1.2.1).
EMU = 9_525
#: More of them, or larger pictures, nobody looks at in a preview.
MOST, MOST_BYTES = 200, 20_000_000
_PICTURE = "picture"
_KINDS = {"pic": _PICTURE, "graphicFrame": "chart", "sp": "shape", "cxnSp": "line", "grpSp": "group"}


class Corner(Struct, frozen=True):
    """A place: row and column from 0, and pixels from that cell's corner."""

    row: int
    column: int
    down: float
    right: float


class Drawn(Struct, frozen=True):
    """One thing that lies on a sheet, from ``start`` to ``end`` (None: ``width`` × ``height`` pixels). ``content`` are
    a picture's bytes, ``text`` a title, what stands in a shape or at a box, or a name."""

    kind: str
    start: Corner
    end: Corner | None
    width: float
    height: float
    text: str
    content: bytes = b""


def drawn_on(content: bytes, name: str) -> dict[str, tuple[Drawn, ...]]:
    """What lies on each worksheet of a workbook, by the worksheet's name. Raises ``FileRefused`` for what cannot be
    read."""
    book = Workbook(content, name)
    found: dict[str, tuple[Drawn, ...]] = {}
    for worksheet in book.worksheets:
        parts = [part for kind, part in book.parts.relations(worksheet.part).values() if kind == "drawing"]
        lying = [each for part in parts if book.parts.has(part) for each in _on_part(book, part)]
        if lying:
            found[worksheet.name] = tuple(lying[:MOST])
    return found


def _on_part(book: Workbook, part: str) -> Iterator[Drawn]:
    for anchor in book.parts.tree(part):
        if not isinstance(anchor.tag, str):
            continue
        held = next((each for each in anchor.iter(etree.Element) if _local(each) in _KINDS), None)
        if held is not None:
            start, end = _corner(anchor, "from"), _corner(anchor, "to")
            width, height = _pixels(anchor, "ext", "cx"), _pixels(anchor, "ext", "cy")
            if start is None:
                start = Corner(0, 0, _pixels(anchor, "pos", "y"), _pixels(anchor, "pos", "x"))
            yield Drawn(_KINDS[_local(held)], start, end, width, height, *_told(book, part, held))


def _told(book: Workbook, part: str, held: etree._Element) -> tuple[str, bytes]:
    """The text of a thing, and its bytes if it is a picture."""
    name = next((each.get("name", "") for each in held.iter(etree.Element) if _local(each) == "cNvPr"), "")
    relations = book.parts.relations(part)
    for each in held.iter(etree.Element):
        if _local(each) == "blip" and _local(held) == "pic":
            media = next((relations[key][1] for key in each.attrib.values() if key in relations), "")
            content = book.parts.content(media) if media and book.parts.has(media) else b""
            return name, content if len(content) <= MOST_BYTES else b""
        if _local(each) == "chart" and (chart := relations.get(related(each), ("", ""))[1]) and book.parts.has(chart):
            root = book.parts.tree(chart)
            titles = (one for one in root.iter(etree.Element) if _local(one) == "title")
            return next((title for one in titles if (title := _text(one))), name), b""
    return _text(held) or name, b""


def _text(element: etree._Element) -> str:
    return " ".join(each.text.strip() for each in element.iter(etree.Element) if _local(each) == "t" and each.text)


def _local(element: etree._Element) -> str:
    return str(etree.QName(element).localname)


def _child(element: etree._Element, name: str) -> etree._Element | None:
    return next((each for each in element.iterchildren(etree.Element) if _local(each) == name), None)


def _corner(anchor: etree._Element, name: str) -> Corner | None:
    held = _child(anchor, name)
    if held is None:
        return None
    told = {_local(each): _whole(each.text) for each in held.iterchildren(etree.Element)}
    return Corner(
        max(0, told.get("row", 0)), max(0, told.get("col", 0)), told.get("rowOff", 0) / EMU, told.get("colOff", 0) / EMU
    )


def _pixels(anchor: etree._Element, name: str, side: str) -> float:
    held = _child(anchor, name)
    return max(0, _whole(held.get(side))) / EMU if held is not None else 0.0


def _whole(text: str | None) -> int:
    try:
        return int(text or "0")
    except ValueError:
        return 0
