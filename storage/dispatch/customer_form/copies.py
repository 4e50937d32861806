"""A worksheet repeated: a further page with the same look, pictures and print set-up, and names of its own."""

from __future__ import annotations

import posixpath
import re
from copy import deepcopy

from lxml import etree

from storage.dispatch.customer_form.form import Workbook, Worksheet, related
from storage.dispatch.customer_form.parts import content_type, give_type
from storage.dispatch.customer_form.recalculation import relations_part
from storage.dispatch.customer_form.references import renamed

#: Parts that many may name; a copy names the same one.
_SHARED = ("image", "hyperlink", "printerSettings")
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
#: A worksheet's name holds so many characters (ISO/IEC 29500-1, 18.2.19; common practice of spreadsheet programs).
_LONGEST = 31
_NUMBERED = re.compile(r"(.*?)(\d+)(\.\w+)")


def repeat(book: Workbook, worksheet: Worksheet, times: int) -> list[Worksheet]:
    """Copies of a worksheet, in place behind it; the workbook then has them. Formulas of a copy speak of the copy."""
    made = []
    for copy in range(1, times + 1):
        name = _free_name(book, worksheet.name, copy + 1)
        part = _copied(book, worksheet.part, {})
        made.append(Worksheet(name, part, False, -1))
        _speak_of(book, part, worksheet.name, name)
        _enter(book, worksheet, made[-1], copy)
    return made


def _free_name(book: Workbook, name: str, number: int) -> str:
    sheets = book.root.find(book.tag("sheets"))
    taken = {each.get("name", "").casefold() for each in (sheets if sheets is not None else ())}
    while True:
        ending = f" ({number})"
        found = name[: _LONGEST - len(ending)] + ending
        if found.casefold() not in taken:
            return found
        number += 1


def _copied(book: Workbook, part: str, done: dict[str, str]) -> str:
    """A copy of a part with copies of what it names; what everybody may name is shared."""
    if part in done:
        return done[part]
    parts = book.parts
    new = done[part] = _free_part(book, part)
    parts.add(new, parts.content(part))
    give_type(parts, new, content_type(parts, part))
    held = relations_part(part)
    if parts.has(held):
        root = deepcopy(parts.tree(held))
        for each in root:
            kind = each.get("Type", "").rpartition("/")[2]
            if each.get("TargetMode") == "External" or kind in _SHARED:
                continue
            named = parts.relations(part).get(each.get("Id", ""), ("", ""))[1]
            if named and parts.has(named):
                each.set("Target", _relative(new, _copied(book, named, done)))
        parts.add(relations_part(new), etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True))
    if part.startswith("xl/tables/"):
        _own_table(book, new)
    return new


def _relative(source: str, part: str) -> str:
    return posixpath.relpath(part, posixpath.dirname(source))


def _free_part(book: Workbook, part: str) -> str:
    found = _NUMBERED.fullmatch(part)
    front, ending = (found[1], found[3]) if found else posixpath.splitext(part)
    taken = {name.casefold() for name in book.parts.names}
    number = 1
    while f"{front}{number}{ending}".casefold() in taken:
        number += 1
    return f"{front}{number}{ending}"


def _own_table(book: Workbook, part: str) -> None:
    """A table has a number and a name that no other has (18.5.1.2)."""
    tables = [name for name in book.parts.names if re.fullmatch(r"xl/tables/[^/]+\.xml", name) and name != part]
    numbers = [int(book.parts.tree(name).get("id", "0")) for name in tables]
    names = {book.parts.tree(name).get("name", "").casefold() for name in tables}
    root = book.parts.tree(part)
    root.set("id", str(max(numbers, default=0) + 1))
    number = 2
    while f"{root.get('name')}_{number}".casefold() in names:
        number += 1
    for attribute in ("name", "displayName"):
        root.set(attribute, f"{root.get(attribute)}_{number}")
    book.parts.change(part)


def _speak_of(book: Workbook, part: str, old: str, new: str) -> None:
    root = book.parts.change(part)
    for element in root.iter(book.tag("f"), book.tag("formula"), book.tag("formula1"), book.tag("formula2")):
        if element.text:
            element.text = renamed(element.text, old, new)
    for view in root.iter(book.tag("sheetView")):
        view.attrib.pop("tabSelected", None)


def _enter(book: Workbook, original: Worksheet, made: Worksheet, copy: int) -> None:
    """Put a copy behind its original into the workbook, its relations and the names that belong to single sheets."""
    root = book.parts.change(book.main)
    relations = book.parts.change(relations_part(book.main))
    strict = any(each.get("Type", "").startswith("http://purl.oclc.org/") for each in relations)
    office = "http://purl.oclc.org/ooxml/officeDocument/relationships" if strict else _OFFICE
    taken = {each.get("Id") for each in relations}
    identity = next(f"rId{n}" for n in range(1, len(taken) + 2) if f"rId{n}" not in taken)
    etree.SubElement(
        relations,
        f"{{{etree.QName(relations).namespace}}}Relationship",
        Id=identity,
        Type=f"{office}/worksheet",
        Target=_relative(book.main, made.part),
    )
    sheets = root.find(book.tag("sheets"))
    assert sheets is not None
    place = _place_of(book, original) + copy
    numbers = [int(each.get("sheetId", "0")) for each in sheets]
    entry = etree.Element(book.tag("sheet"), nsmap={"r": office}, name=made.name, sheetId=str(max(numbers) + 1))
    entry.set(_relation_name(sheets, office), identity)
    sheets.insert(place, entry)
    for view in root.iter(book.tag("workbookView")):
        for name in ("activeTab", "firstSheet"):  # sheets are counted from 0
            if int(view.get(name, "0")) >= place:
                view.set(name, str(int(view.get(name, "0")) + 1))
    _names(book, original, made, place)


def _relation_name(sheets: etree._Element, office: str) -> str:
    for each in sheets:
        for name in each.attrib:
            if etree.QName(str(name)).localname == "id" and related(each):
                return str(name)
    return f"{{{office}}}id"


def _names(book: Workbook, original: Worksheet, made: Worksheet, place: int) -> None:
    """Names that belong to one sheet count sheets from 0: those behind the copy move on, those of the original (what
    is printed, what is repeated on each page) are said of the copy too."""
    held = book.root.find(book.tag("definedNames"))
    own = _place_of(book, original)
    for each in list(held) if held is not None else ():
        at = int(each.get("localSheetId", "-1"))
        if at >= place:
            each.set("localSheetId", str(at + 1))
        elif at == own and held is not None:
            copied = deepcopy(each)
            copied.set("localSheetId", str(place))
            copied.text = renamed(each.text or "", original.name, made.name)
            held.append(copied)
    if held is not None:
        held[:] = sorted(held, key=lambda each: (each.get("name", "").casefold(), int(each.get("localSheetId", "-1"))))


def _place_of(book: Workbook, worksheet: Worksheet) -> int:
    sheets = book.root.find(book.tag("sheets"))
    names = [each.get("name", "") for each in (sheets if sheets is not None else ())]
    return names.index(worksheet.name)
