"""Results of formulas that hold no longer: which follow from what was written, and asking for them anew."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping

from lxml import etree

from storage.dispatch.customer_form.form import Workbook
from storage.dispatch.customer_form.references import Area, area_of, areas_in, functions_in, names_in
from storage.dispatch.customer_form.sheet import Cells

#: Functions whose result follows from more than the cells they name.
_FREE = frozenset(
    {"INDIRECT", "OFFSET", "TODAY", "NOW", "RAND", "RANDBETWEEN", "RANDARRAY", "CELL", "INFO", "INDEX", "SUBTOTAL",
     "GETPIVOTDATA"}
)  # fmt: skip
#: What stands behind calcPr in a workbook (ISO/IEC 29500-1, 18.2.27, sequence of CT_Workbook).
_BEFORE_CALC = (
    "fileVersion", "fileSharing", "workbookPr", "workbookProtection", "bookViews", "sheets", "functionGroups",
    "externalReferences", "definedNames",
)  # fmt: skip

Touched = dict[str, dict[int, set[int]]]
"""Cells by worksheet (in lower case), column and row."""


def touched(cells: Iterable[tuple[str, int, int]]) -> Touched:
    """Cells as they are looked up."""
    found: Touched = defaultdict(lambda: defaultdict(set))
    for sheet, row, column in cells:
        found[sheet.casefold()][column].add(row)
    return found


def dependents(
    formulas: Iterable[tuple[Cells, int, int, etree._Element, str]], held: Touched
) -> list[tuple[Cells, etree._Element]]:
    """The cells whose results follow from these, directly or through others; what cannot be told counts as such."""
    waiting = [
        (cells, row, column, cell, tuple(areas_in(text, cells.name)), _is_free(text))
        for cells, row, column, cell, text in formulas
    ]
    found: list[tuple[Cells, etree._Element]] = []
    while True:
        hit = [each for each in waiting if each[5] or any(_meets(area, held) for area in each[4])]
        if not hit:
            return found
        for cells, row, column, cell, _, _ in hit:
            found.append((cells, cell))
            held[cells.name.casefold()][column].add(row)
        gone = {id(each[3]) for each in hit}
        waiting = [each for each in waiting if id(each[3]) not in gone]


def _is_free(text: str) -> bool:
    return bool(names_in(text)) or bool(functions_in(text) & _FREE)


def _meets(area: Area, held: Touched) -> bool:
    columns = held.get(area.sheet.casefold(), {})
    if area.left == area.right and area.top == area.bottom:
        return area.top in columns.get(area.left, ())
    return any(
        area.left <= column <= area.right and any(area.top <= row <= area.bottom for row in rows)
        for column, rows in columns.items()
    )


def drop_result(cells: Cells, cell: etree._Element) -> None:
    """Take the last result of a formula away; its format and the formula stay."""
    for value in cell.findall(cells.book.tag("v")):
        cell.remove(value)
    cell.attrib.pop("t", None)
    cells.book.parts.change(cells.part)


def ask_for_results(book: Workbook) -> None:
    """Have whatever opens the workbook work its formulas out (18.2.2 calcPr, fullCalcOnLoad)."""
    root = book.parts.change(book.main)
    found = root.find(book.tag("calcPr"))
    if found is None:
        found = etree.Element(book.tag("calcPr"))
        front = [each for each in root if etree.QName(each).localname in _BEFORE_CALC]
        front[-1].addnext(found)
    found.set("fullCalcOnLoad", "1")


def drop_chain(book: Workbook) -> None:
    """Leave out the order in which cells were worked out, for they stand elsewhere now; it is made anew."""
    part = book.part_of("calcChain")
    if not part:
        return
    book.parts.drop(part)
    held = book.parts.change(relations_part(book.main))
    for each in list(held):
        if each.get("Type", "").endswith("/calcChain"):
            held.remove(each)


def relations_part(part: str) -> str:
    """The part with the relations of another."""
    folder, _, name = part.rpartition("/")
    return f"{folder}/_rels/{name}.rels" if folder else f"_rels/{name}.rels"


#: Conditions that ask for a text, or whether anything stands there (18.18.12 ST_CfType).
_OF_TEXTS = frozenset(
    {"containsText", "notContainsText", "beginsWith", "endsWith", "containsBlanks", "notContainsBlanks",
     "containsErrors", "notContainsErrors", "duplicateValues", "uniqueValues"}
)  # fmt: skip


def read_areas(book: Workbook, sheets: Mapping[str, Cells]) -> Iterator[Area]:
    """The areas whose numbers something makes something of: formulas, charts, and conditions on how a cell looks."""
    for cells, *_, text in of_all(sheets):
        yield from areas_in(text, cells.name, reckoned=True)
    for part in book.parts.names:
        if part.startswith("xl/charts/") and part.endswith(".xml"):
            for each in book.parts.tree(part).iter("{*}f"):
                yield from areas_in(each.text or "", "")
    for cells in sheets.values():
        for condition in cells.root.iter("{*}conditionalFormatting"):
            rules = [rule for rule in condition.iter("{*}cfRule") if rule.get("type") not in _OF_TEXTS]
            told = [condition.get("sqref", ""), *(each.text or "" for each in condition.iter("{*}sqref"))]
            if rules:
                found = (area_of(each, cells.name) for text in told for each in text.split())
                yield from (area for area in found if area is not None)
            for rule in rules:
                for each in rule.iter("{*}formula", "{*}f"):
                    yield from areas_in(each.text or "", cells.name, reckoned=True)


def of_all(sheets: Mapping[str, Cells]) -> list[tuple[Cells, int, int, etree._Element, str]]:
    """Every formula of the workbook."""
    return [
        (cells, row, column, cell, text) for cells in sheets.values() for row, column, cell, text in cells.formulas()
    ]
