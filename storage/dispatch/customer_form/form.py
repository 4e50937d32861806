"""A customer's workbook as far as filling it has to know: worksheets, styles, names, tables, protection."""

from __future__ import annotations

import re
from functools import cached_property

from lxml import etree
from msgspec import Struct

from inspection.reasons import Reason
from storage.dispatch.customer_form.parts import TYPES, Parts, content_type
from storage.dispatch.customer_form.references import Area, area_of
from storage.intake.workbook.formats import BUILT_IN, UNKNOWN, Form, Sense, sections

GENERAL = Form(Sense.GENERAL)
#: The size of a font that the workbook does not tell.
USUAL_SIZE = 11.0
_SIZE = re.compile(r"[1-9]\d{0,2}(\.\d+)?")
#: Main parts of other documents, by what stands in their content type.
_OTHERS = (
    ("sheet.binary", "xlsx.is_xlsb"),
    ("wordprocessingml", "xlsx.is_document"),
    ("presentationml", "xlsx.is_document"),
)


class Worksheet(Struct, frozen=True):
    """A worksheet: its name, its part, whether it is hidden, and its place among all sheets of the workbook."""

    name: str
    part: str
    hidden: bool
    place: int


class Named(Struct, frozen=True):
    """A defined name and what it says; ``of`` is the place of the sheet that it belongs to, -1 for the workbook."""

    name: str
    text: str
    of: int


class Look(Struct, frozen=True):
    """What a style makes of a cell: its number format, whether protection locks it, whether a text is broken or made
    smaller to be seen whole (``flows``), and whether it is the former (``wraps``), and the name and size (points) of
    its font."""

    number: Form
    locked: bool
    flows: bool = False
    font: str = ""
    size: float = USUAL_SIZE
    wraps: bool = False


class Workbook:
    """A customer's workbook, opened. Raises ``FileRefused`` for what is none, is locked, or cannot be read."""

    def __init__(self, data: bytes, name: str) -> None:
        self.parts = Parts(data, name)
        self.main = next(
            (part for kind, part in self.parts.relations("").values() if kind == "officeDocument"), "xl/workbook.xml"
        )
        self._refuse_others()
        self.root = self.parts.tree(self.main)
        self.space = etree.QName(self.root).namespace or ""
        if not self.space.endswith("/main"):
            raise self.parts.refused(Reason("xlsx.wrong_type", {"part": self.main[:80]}))
        self.relations = self.parts.relations(self.main)
        self.worksheets = tuple(self._worksheets())
        self._looks: dict[str, Look] = {}

    def _refuse_others(self) -> None:
        """Refuse what is packed like a workbook and is none, or is one of another kind."""
        if self.parts.has("mimetype"):
            raise self.parts.refused(Reason("xlsx.is_ods" if self.parts.has("content.xml") else "xlsx.is_archive"))
        if not self.parts.has(TYPES):
            raise self.parts.refused(Reason("xlsx.is_archive"))
        kind = content_type(self.parts, self.main).casefold()
        for mark, code in _OTHERS:
            if mark in kind:
                raise self.parts.refused(Reason(code))
        if not self.parts.has(self.main):
            raise self.parts.refused(Reason("xlsx.part_missing", {"part": self.main[:80]}))

    def tag(self, name: str) -> str:
        """The name of an element in the workbook's own namespace (transitional or strict)."""
        return f"{{{self.space}}}{name}"

    def worksheet(self, name: str) -> Worksheet:
        """The worksheet of this name. Raises ``FileRefused`` if there is none."""
        for each in self.worksheets:
            if each.name.casefold() == name.casefold():
                return each
        raise self.parts.refused(Reason("xlsx.sheet_missing", {"sheet": name[:80]}))

    def _worksheets(self) -> list[Worksheet]:
        found = []
        sheets = self.root.find(self.tag("sheets"))
        for place, each in enumerate(sheets if sheets is not None else ()):
            kind, part = self.relations.get(related(each), ("", ""))
            if kind == "worksheet" and self.parts.has(part):
                hidden = each.get("state", "visible") != "visible"
                found.append(Worksheet(each.get("name", ""), part, hidden, place))
        if not found:
            raise self.parts.refused(Reason("xlsx.part_missing", {"part": "worksheet"}))
        return found

    def part_of(self, kind: str) -> str:
        """The workbook's part of a kind ("styles", "sharedStrings", "calcChain"); empty if it has none."""
        return next((part for each, part in self.relations.values() if each == kind and self.parts.has(part)), "")

    # --- styles -------------------------------------------------------------------------------------------------

    @cached_property
    def styles(self) -> tuple[Look, ...]:
        """What each style of a cell makes of it, in the order that cells number them."""
        part = self.part_of("styles")
        if not part:
            return (Look(GENERAL, True),)
        root = self.parts.tree(part)
        codes = {str(number): code for number, code in BUILT_IN.items()}
        codes |= {each.get("numFmtId", ""): each.get("formatCode", UNKNOWN) for each in root.iter(self.tag("numFmt"))}
        fonts = [self._font(each) for each in root.iterfind(f"{self.tag('fonts')}/{self.tag('font')}")]
        held = root.iterfind(f"{self.tag('cellXfs')}/{self.tag('xf')}")
        return tuple(self._style(each, codes, fonts) for each in held) or (Look(GENERAL, True),)

    def _font(self, font: etree._Element) -> tuple[str, float]:
        name, size = font.find(self.tag("name")), font.find(self.tag("sz"))
        told = size.get("val", "") if size is not None else ""
        return (name.get("val", "") if name is not None else ""), float(told) if _SIZE.fullmatch(told) else USUAL_SIZE

    def _style(self, style: etree._Element, codes: dict[str, str], fonts: list[tuple[str, float]]) -> Look:
        protection, aligned = style.find(self.tag("protection")), style.find(self.tag("alignment"))
        locked = protection is None or protection.get("locked", "1") not in ("0", "false")
        wraps, shrinks = (
            aligned is not None and aligned.get(each) in ("1", "true") for each in ("wrapText", "shrinkToFit")
        )
        place = int(style.get("fontId", "0"))
        font, size = fonts[place] if place < len(fonts) else ("", USUAL_SIZE)
        return Look(
            sections(codes.get(style.get("numFmtId", "0"), UNKNOWN))[0], locked, wraps or shrinks, font, size, wraps
        )

    def style(self, number: str) -> Look:
        """The style that a cell numbers; the first for a number that there is none of."""
        found = self._looks.get(number)
        if found is None:
            place = int(number) if number.isdecimal() else 0
            found = self._looks[number] = self.styles[place if place < len(self.styles) else 0]
        return found

    @cached_property
    def strings(self) -> tuple[etree._Element, ...]:
        """The shared strings, as they are marked up."""
        part = self.part_of("sharedStrings")
        return tuple(self.parts.tree(part).iter(self.tag("si"))) if part else ()

    # --- texts, names -------------------------------------------------------------------------------------------

    @cached_property
    def texts(self) -> tuple[str, ...]:
        """The shared strings, as shown."""
        return tuple(text_of(each, self.space) for each in self.strings)

    @cached_property
    def names(self) -> tuple[Named, ...]:
        """The defined names."""
        held = self.root.find(self.tag("definedNames"))
        return tuple(
            Named(each.get("name", ""), each.text or "", int(each.get("localSheetId", "-1")))
            for each in (held if held is not None else ())
            if isinstance(each.tag, str)
        )

    @cached_property
    def from_1904(self) -> bool:
        """Whether days are counted from 1904 (ISO/IEC 29500-1, 18.2.28, date1904)."""
        found = self.root.find(self.tag("workbookPr"))
        return found is not None and found.get("date1904", "0") in ("1", "true")

    def area_named(self, named: Named) -> Area | None:
        """The one area that a name stands for; None for anything else."""
        return area_of(named.text.strip(), "") if "!" in named.text and "," not in named.text else None


def related(element: etree._Element) -> str:
    """The relation that an element names by r:id, in either namespace."""
    for name, value in element.attrib.items():
        if etree.QName(str(name)).localname == "id" and etree.QName(str(name)).namespace:
            return str(value)
    return ""


def text_of(element: etree._Element, space: str) -> str:
    """The text of a string, of all its runs; phonetic hints are no part of it (18.4.6 rPh)."""
    found = []
    for each in element.iter(f"{{{space}}}t"):
        parent = each.getparent()
        if parent is not None and etree.QName(parent).localname != "rPh":
            found.append(each.text or "")
    return "".join(found)
