"""Rows put into a worksheet: what stands below moves down, and everything that names cells there goes along."""

from __future__ import annotations

import re
from collections.abc import Iterator
from copy import deepcopy

from lxml import etree

from inspection.layout.cell_names import address
from inspection.reasons import Refused
from storage.dispatch.customer_form.form import Workbook
from storage.dispatch.customer_form.references import (
    Area,
    Growth,
    area_of,
    cell_of,
    moved,
    moved_area,
    moved_down,
)
from storage.dispatch.customer_form.sheet import Cells

#: Attributes that name areas of the worksheet they stand on (ISO/IEC 29500-1, 18.3.1).
_AREAS = ("sqref", "ref")
#: Elements whose text is a formula, wherever a worksheet has them.
_FORMULAS = ("f", "formula", "formula1", "formula2")
_ANCHORS = ("from", "to")
_LINKED = ("table", "drawing", "comments", "vmlDrawing", "threadedComment", "ctrlProp")
#: What of a control names cells: in an older drawing, and in a part of its own.
_OF_CONTROL = ("FmlaLink", "FmlaRange", "fmlaLink", "fmlaRange")


def grow(book: Workbook, sheets: dict[str, Cells], growth: Growth, block: tuple[int, int]) -> None:
    """Put rows in as ``growth`` says, as copies of the rows from ``block[0]`` to ``block[1]``, which stand in front of
    them: their formats, heights, merged cells, formulas and drop-downs, and of what they hold only what the block
    behind them says alike."""
    for cells in sheets.values():
        _spell_out(cells)
    own = sheets[growth.sheet.casefold()]
    alike = _alike(own, growth, block)
    said = _said_alike(own, growth, block)
    _move_rows(own, growth)
    own.find_anew()
    for cells in sheets.values():
        _move_formulas(book, cells, growth)
    _move_areas(book, own, growth, block)
    _put_in(own, growth, block, said)
    _go_on(own, growth, block, alike)
    book.parts.change(own.part)
    _move_names(book, growth)
    for part in linked(book, own.part):
        _move_in_part(book, part, growth)
    for part in book.parts.names:
        if part.startswith("xl/charts/") and part.endswith(".xml"):
            _move_series(book, part, growth)


def linked(book: Workbook, part: str) -> Iterator[str]:
    """The parts through which a worksheet names its own cells: tables, drawings, comments, controls."""
    for kind, each in book.parts.relations(part).values():
        if kind in _LINKED and book.parts.has(each):
            yield each


# --- rows -------------------------------------------------------------------------------------------------------


def _spell_out(cells: Cells) -> None:
    """Write a shared formula out in every cell that has it, for its cells may part."""
    found = list(cells.formulas())
    for _row, _column, cell, text in found:
        formula = cell.find(cells.book.tag("f"))
        if formula is not None and formula.get("t") == "shared":
            formula.text = text
            for name in ("t", "si", "ref"):
                formula.attrib.pop(name, None)
            cells.book.parts.change(cells.part)


def _move_rows(cells: Cells, growth: Growth) -> None:
    for number in reversed(cells.rows()):
        if number < growth.at:
            return
        row = cells.row(number)
        assert row is not None
        row.set("r", str(number + growth.n))
        for column, cell in cells.of_row(number).items():
            cell.set("r", address(number + growth.n, column))


def _alike(cells: Cells, growth: Growth, block: tuple[int, int]) -> list[tuple[int, int]]:
    """The formulas of the block behind that are those of the pattern, copied down: row in the pattern, column."""
    height = block[1] - block[0] + 1
    if growth.at != block[1] + 1:
        return []
    return [
        (row, column)
        for row in range(block[0], block[1] + 1)
        for column in cells.of_row(row)
        if (formula := cells.formula(row, column))
        and moved_down(formula, height) == cells.formula(row + height, column)
    ]


def _said_alike(cells: Cells, growth: Growth, block: tuple[int, int]) -> set[tuple[int, int]]:
    """What the customer wrote into the pattern and into the block behind it alike: the numbers of pieces, a unit."""
    height = block[1] - block[0] + 1
    if growth.at != block[1] + 1:
        return set()
    return {
        (row, column)
        for row in range(block[0], block[1] + 1)
        for column in cells.of_row(row)
        if not cells.formula(row, column)
        and (text := cells.text(row, column))
        and text == cells.text(row + height, column)
    }


def _go_on(cells: Cells, growth: Growth, block: tuple[int, int], alike: list[tuple[int, int]]) -> None:
    """Have these formulas of the block behind go on from the last copy."""
    by = block[1] - block[0] + 1 + growth.n
    for row, column in alike:
        cell = cells.cell(row + by, column)
        found = cell.find(cells.book.tag("f")) if cell is not None else None
        if found is not None:
            found.text = moved_down(cells.formula(row, column), by)


def _put_in(cells: Cells, growth: Growth, block: tuple[int, int], said: set[tuple[int, int]]) -> None:
    height = block[1] - block[0] + 1
    behind = next((each for each in cells.data if int(each.get("r", "0")) >= growth.at + growth.n), None)
    for at in range(growth.at, growth.at + growth.n):
        number = block[0] + (at - growth.at) % height
        row = cells.row(number)
        if row is None:
            continue
        made = _empty_copy(cells, row, at - number, at, {column for row, column in said if row == number})
        if behind is None:
            cells.data.append(made)
        else:
            behind.addprevious(made)
    cells.find_anew()


def _empty_copy(cells: Cells, row: etree._Element, by: int, at: int, said: set[int]) -> etree._Element:
    """A row with its formats and formulas, and nothing in it but what stands in these columns of every row like it."""
    made = deepcopy(row)
    made.set("r", str(at))
    formula_tag = cells.book.tag("f")
    for cell in made.iterchildren(cells.book.tag("c")):
        column = cell_of(cell.get("r", "A1"))[1]
        cell.set("r", address(at, column))
        if column in said:
            continue
        cell.attrib.pop("t", None)
        for child in list(cell):
            if child.tag == formula_tag and child.get("t") not in ("array", "dataTable"):
                child.text = moved_down(child.text or "", by)
            else:
                cell.remove(child)
    return made


# --- what names cells -------------------------------------------------------------------------------------------


def _move_formulas(book: Workbook, cells: Cells, growth: Growth) -> None:
    """Formulas of cells, of conditions and of drop-downs."""
    for element in cells.root.iter(etree.Element):
        name = etree.QName(element).localname
        if name not in _FORMULAS or not element.text:
            continue
        text = moved(element.text, cells.name, growth)
        if text != element.text:
            element.text = text
            book.parts.change(cells.part)
        if element.get("ref") and cells.name.casefold() == growth.sheet.casefold():
            element.set("ref", moved_area(element.get("ref", ""), growth))


def _move_areas(book: Workbook, cells: Cells, growth: Growth, block: tuple[int, int]) -> None:
    merges = cells.root.find(book.tag("mergeCells"))
    for element in cells.root.iter(etree.Element):
        name = etree.QName(element).localname
        if name in ("c", "row", "f", "v"):
            continue
        for attribute in _AREAS:
            if element.get(attribute):
                element.set(attribute, _moved_areas(element.get(attribute, ""), growth))
        if name == "sqref" and element.text:
            element.text = _with_copies(_moved_areas(element.text, growth), growth, block)
        elif element.get("sqref") and name in ("conditionalFormatting", "dataValidation", "protectedRange"):
            element.set("sqref", _with_copies(element.get("sqref", ""), growth, block))
        elif name == "anchor":
            _move_anchor(element, growth)  # of a control
        elif name == "brk" and element.getparent() is not None and _is_row_break(element):
            number = int(element.get("id", "0"))
            element.set("id", str(growth.row(number + 1) - 1))
    if merges is not None:
        _copy_merges(book, merges, growth, block)


def _is_row_break(element: etree._Element) -> bool:
    parent = element.getparent()
    return parent is not None and etree.QName(parent).localname == "rowBreaks"


def _moved_areas(text: str, growth: Growth) -> str:
    return " ".join(moved_area(each, growth) for each in text.split())


def _with_copies(text: str, growth: Growth, block: tuple[int, int]) -> str:
    """Areas, and for each that lies in the pattern those of its copies."""
    found = text.split()
    for each in list(found):
        area = area_of(each, "")
        if area is not None and block[0] <= area.top and area.bottom <= block[1]:
            found += [_named(area, by) for by in _steps(growth, block)]
    return " ".join(dict.fromkeys(found))


def _steps(growth: Growth, block: tuple[int, int]) -> range:
    """How far each copy of the pattern stands below it."""
    height = block[1] - block[0] + 1
    return range(growth.at - block[0], growth.at - block[0] + growth.n, height)


def _named(area: Area, by: int) -> str:
    first, last = address(area.top + by, area.left), address(area.bottom + by, area.right)
    return first if first == last else f"{first}:{last}"


def _copy_merges(book: Workbook, merges: etree._Element, growth: Growth, block: tuple[int, int]) -> None:
    for each in list(merges):
        area = area_of(each.get("ref", ""), "")
        if area is not None and block[0] <= area.top and area.bottom <= block[1]:
            for by in _steps(growth, block):
                etree.SubElement(merges, book.tag("mergeCell"), ref=_named(area, by))
    merges.set("count", str(len(merges)))


def _move_names(book: Workbook, growth: Growth) -> None:
    held = book.root.find(book.tag("definedNames"))
    for each in held if held is not None else ():
        text = moved(each.text or "", "", growth)
        if text != each.text:
            each.text = text
            book.parts.change(book.main)


def _move_in_part(book: Workbook, part: str, growth: Growth) -> None:
    """Move what a table, drawing or comment says of cells below."""
    try:
        root = book.parts.tree(part)
    except Refused:  # drawings of the older kind need not be well-formed; they then stay as they are
        return
    moved_any = False
    for element in root.iter(etree.Element):
        moved_any |= _move_element(element, growth) | _move_control(element, growth)
    if moved_any:
        book.parts.change(part)


def _move_element(element: etree._Element, growth: Growth) -> bool:
    name = etree.QName(element).localname
    if name in ("table", "autoFilter", "sortState", "comment", "threadedComment") and element.get("ref"):
        old = element.get("ref", "")
        element.set("ref", moved_area(old, growth))
        return bool(element.get("ref") != old)
    if name in ("oneCellAnchor", "twoCellAnchor"):
        return _move_anchor(element, growth)
    if name == "Row" and element.text and element.text.strip().isdecimal():
        old = int(element.text)
        element.text = str(growth.row(old + 1) - 1)
        return bool(element.text != str(old))
    if name == "Anchor" and element.text:
        return _move_old_anchor(element, growth)
    return False


def _move_control(element: etree._Element, growth: Growth) -> bool:
    """The cells that a control is linked to, on its own worksheet where it names no other."""
    moved_any = False
    if etree.QName(element).localname in _OF_CONTROL and element.text:
        text = moved(element.text, growth.sheet, growth)
        moved_any, element.text = text != element.text, text
    for name in _OF_CONTROL:
        if text := element.get(name):
            element.set(name, moved(text, growth.sheet, growth))
            moved_any |= element.get(name) != text
    return moved_any


def _move_anchor(anchor: etree._Element, growth: Growth) -> bool:
    """The corners of a picture, chart or shape, rows counted from 0; one that begins above stays as large as it was."""
    rows = [each for each in anchor.iter(etree.Element) if etree.QName(each).localname == "row"]
    corners = {etree.QName(row.getparent()).localname: row for row in rows if row.getparent() is not None}
    begin = corners.get("from")
    if begin is None or anchor.get("editAs") == "absolute" or int(begin.text or 0) + 1 < growth.at:
        return False
    for name in _ANCHORS:
        if name in corners:
            corners[name].text = str(int(corners[name].text or 0) + growth.n)
    return True


def _move_old_anchor(element: etree._Element, growth: Growth) -> bool:
    """Of a comment's box: column, offset, row, offset, twice."""
    numbers = [each.strip() for each in (element.text or "").split(",")]
    if len(numbers) != 8 or not all(re.fullmatch(r"-?\d+", each) for each in numbers):
        return False
    if int(numbers[2]) + 1 < growth.at:
        return False
    for place in (2, 6):
        numbers[place] = str(int(numbers[place]) + growth.n)
    element.text = ", ".join(numbers)
    return True


def _move_series(book: Workbook, part: str, growth: Growth) -> None:
    for element in book.parts.tree(part).iter(etree.Element):
        if etree.QName(element).localname == "f" and element.text:
            text = moved(element.text, "", growth)
            if text != element.text:
                element.text = text
                book.parts.change(part)
