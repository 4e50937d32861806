"""The cells of one worksheet, set in its own markup; a cell keeps its style, and a formula is never written over."""

from __future__ import annotations

import re
from bisect import bisect
from collections.abc import Iterator
from copy import deepcopy
from datetime import date

from lxml import etree
from openpyxl.formula.translate import Translator

from inspection.layout.cell_names import address
from storage.dispatch.customer_form.form import Workbook, text_of
from storage.dispatch.customer_form.references import cell_of, column_of

_SPACE = "{http://www.w3.org/XML/1998/namespace}space"
#: What a reader takes for a character by its number (ISO/IEC 29500-1, 22.9.2.19 ST_Xstring).
_ESCAPED = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
#: The day before the first that each way of counting days knows (ISO/IEC 29500-1, 18.17.4.1); counted from 1900 the
#: year has a 29 February that never was.
_FROM = {False: date(1899, 12, 30), True: date(1904, 1, 1)}


class Cells:
    """The cells of one worksheet part, found by row and column from 1."""

    def __init__(self, book: Workbook, name: str, part: str) -> None:
        self.book, self.name, self.part = book, name, part
        self.root = book.parts.tree(part)
        found = self.root.find(book.tag("sheetData"))
        if found is None:
            found = etree.SubElement(self.root, book.tag("sheetData"))
        self.data = found
        self._tags = {name: book.tag(name) for name in ("c", "row", "v", "f", "is", "t", "cols", "col")}
        self._is, self._t, self._v = self._tags["is"], self._tags["t"], self._tags["v"]
        self._columns = self._column_styles()
        self.find_anew()

    def find_anew(self) -> None:
        """Look the rows up again, which were moved or put in."""
        self._rows: dict[int, etree._Element] = {}
        at = 0
        for row in self.data.iterchildren(self._tags["row"]):
            number = row.get("r")
            at = int(number) if number and number.isdecimal() else at + 1
            self._rows[at] = row
            first = row.find(self._tags["c"])
            if number is None or (first is not None and first.get("r") is None):
                self._address(row, at)
        self._order = sorted(self._rows)
        self._cells: dict[int, dict[int, etree._Element]] = {}

    def _address(self, row: etree._Element, number: int) -> None:
        """Give a row and its cells the addresses that they may leave out (18.3.1.4, 18.3.1.73: r is optional)."""
        row.set("r", str(number))
        at = 0
        for cell in row.iterchildren(self._tags["c"]):
            name = cell.get("r")
            at = column_of(name) if name else at + 1
            cell.set("r", address(number, at))

    def _column_styles(self) -> list[tuple[int, int, str]]:
        cols = self.root.find(self._tags["cols"])
        return [
            (int(each.get("min", "0")), int(each.get("max", "0")), each.get("style", "0"))
            for each in (cols if cols is not None else ())
            if each.tag == self._tags["col"]
        ]

    def rows(self) -> list[int]:
        """The numbers of the rows that the markup holds, in order."""
        return self._order

    def row(self, number: int) -> etree._Element | None:
        """The markup of a row."""
        return self._rows.get(number)

    def of_row(self, number: int) -> dict[int, etree._Element]:
        """The cells of a row that the markup holds, by column."""
        held = self._cells.get(number)
        if held is None:
            held, at = {}, 0
            row = self._rows.get(number)
            for cell in row.iterchildren(self._tags["c"]) if row is not None else ():
                name = cell.get("r")
                at = column_of(name) if name else at + 1
                held[at] = cell
            self._cells[number] = held
        return held

    def cell(self, row: int, column: int) -> etree._Element | None:
        """The markup of a cell, if there is any."""
        return self.of_row(row).get(column)

    def each(self) -> Iterator[tuple[int, int, etree._Element]]:
        """Every cell that the markup holds, with row and column."""
        for row in self._order:
            for column, cell in self.of_row(row).items():
                yield row, column, cell

    # --- reading ------------------------------------------------------------------------------------------------

    def style_of(self, row: int, column: int) -> str:
        """The number of the style that a cell has, or would have: its own, its row's, its column's."""
        cell = self.cell(row, column)
        if cell is not None:
            return str(cell.get("s", "0"))
        held = self._rows.get(row)
        if held is not None and held.get("customFormat") in ("1", "true"):
            return str(held.get("s", "0"))
        return next((style for low, high, style in self._columns if low <= column <= high), "0")

    def text(self, row: int, column: int) -> str:
        """What a cell holds, as text: of a formula its last result."""
        cell = self.cell(row, column)
        return self.text_in(cell) if cell is not None else ""

    def text_in(self, cell: etree._Element) -> str:
        """What this cell holds, as text."""
        if cell.get("t") == "inlineStr":
            held = cell.find(self._tags["is"])
            return text_of(held, self.book.space) if held is not None else ""
        value = cell.find(self._tags["v"])
        text = (value.text or "") if value is not None else ""
        if cell.get("t") == "s":
            texts = self.book.texts
            return texts[int(text)] if text.isdecimal() and int(text) < len(texts) else ""
        return text

    def string(self, row: int, column: int) -> etree._Element | None:
        """The markup of the text in a cell, with the looks of its runs; None where it holds none."""
        cell = self.cell(row, column)
        if cell is None:
            return None
        if cell.get("t") == "inlineStr":
            return cell.find(self._is)
        value = cell.find(self._v)
        place = (value.text or "") if value is not None and cell.get("t") == "s" else ""
        return self.book.strings[int(place)] if place.isdecimal() and int(place) < len(self.book.strings) else None

    def with_formulas(self) -> set[etree._Element]:
        """The cells that hold a formula."""
        return {each.getparent() for each in self.data.iter(self._tags["f"])}

    def formula(self, row: int, column: int) -> str:
        """The formula of a cell without its equals sign; empty if it has none."""
        cell = self.cell(row, column)
        return self._formula_in(cell, row, column) if cell is not None else ""

    def formulas(self) -> Iterator[tuple[int, int, etree._Element, str]]:
        """Every cell with a formula: row, column, its markup, the formula. One shared is told as it is there."""
        shared = self._shared()
        for found in self.data.iter(self._tags["f"]):
            cell = found.getparent()
            assert cell is not None
            row, column = cell_of(cell.get("r", "A1"))
            text = found.text or ""
            if found.get("t") == "shared" and not text:
                origin, master = shared.get(found.get("si", ""), ("", ""))
                text = translated(master, origin, address(row, column)) if master else ""
            yield row, column, cell, text

    def _formula_in(self, cell: etree._Element, row: int, column: int) -> str:
        found = cell.find(self._tags["f"])
        if found is None:
            return ""
        if found.text or found.get("t") != "shared":
            return found.text or ""
        origin, master = self._shared().get(found.get("si", ""), ("", ""))
        return translated(master, origin, address(row, column)) if master else ""

    def _shared(self) -> dict[str, tuple[str, str]]:
        """Shared formulas by their number: the cell that holds the text, and the text (18.3.1.40)."""
        found = {}
        for each in self.data.iter(self._tags["f"]):
            cell = each.getparent()
            if each.get("t") == "shared" and each.text and cell is not None:
                found[each.get("si", "")] = (cell.get("r", ""), each.text)
        return found

    # --- writing ------------------------------------------------------------------------------------------------

    def set_text(self, row: int, column: int, text: str, cell: etree._Element | None = None) -> None:
        """Write a text that is a text whatever it begins with; ``cell`` is the cell's markup where it is at hand."""
        cell = self._empty(row, column, cell)
        cell.set("t", "inlineStr")
        held = etree.SubElement(etree.SubElement(cell, self._is), self._t)
        held.text = _ESCAPED.sub("_x005F_", text) if "_x" in text else text
        if text[:1].isspace() or text[-1:].isspace() or "\n" in text:
            held.set(_SPACE, "preserve")

    def set_string(self, row: int, column: int, string: etree._Element) -> None:
        """Write a text with the looks of its runs, marked up as ``string`` gives them."""
        cell = self._empty(row, column, None)
        cell.set("t", "inlineStr")
        held = etree.SubElement(cell, self._is)
        held.extend(deepcopy(each) for each in string)

    def set_number(self, row: int, column: int, number: str, cell: etree._Element | None = None) -> None:
        """Write a number, a plain decimal string."""
        etree.SubElement(self._empty(row, column, cell), self._v).text = number

    def holds_truth(self, row: int, column: int) -> bool:
        """Whether a cell holds true or false, as one does that is shown as a box to tick."""
        cell = self.cell(row, column)
        return cell is not None and cell.get("t") == "b"

    def set_truth(self, row: int, column: int, *, true: bool) -> None:
        """Write true or false."""
        self.set_number(row, column, "1" if true else "0")
        self.of_row(row)[column].set("t", "b")

    def set_day(self, row: int, column: int, day: str) -> None:
        """Write a day (ISO) as the workbook counts days."""
        count = (date.fromisoformat(day) - _FROM[self.book.from_1904]).days
        self.set_number(row, column, str(count))

    def _empty(self, row: int, column: int, cell: etree._Element | None) -> etree._Element:
        """The cell, made if there is none, without what it held."""
        if cell is None:
            cells = self.of_row(row)
            cell = cells.get(column)
        if cell is None:
            return self._made(row, column, cells)
        if len(cell):
            del cell[:]
        if "t" in cell.attrib:
            del cell.attrib["t"]
        return cell

    def _made(self, row: int, column: int, cells: dict[int, etree._Element]) -> etree._Element:
        style = self.style_of(row, column)
        held = self._row_made(row)
        cell = etree.Element(self._tags["c"], r=address(row, column))
        if style != "0":
            cell.set("s", style)
        behind = min((each for each in cells if each > column), default=0)
        if behind:
            cells[behind].addprevious(cell)
        elif cells:
            cells[max(cells)].addnext(cell)
        else:
            held.insert(0, cell)
        cells[column] = cell
        held.attrib.pop("spans", None)
        return cell

    def _row_made(self, number: int) -> etree._Element:
        held = self._rows.get(number)
        if held is not None:
            return held
        held = etree.Element(self._tags["row"], r=str(number))
        place = bisect(self._order, number)
        if place < len(self._order):
            self._rows[self._order[place]].addprevious(held)
        else:
            self.data.append(held)
        self._order.insert(place, number)
        self._rows[number] = held
        return held


def translated(formula: str, origin: str, to: str) -> str:
    """A formula without its equals sign, as it reads copied from one cell to another."""
    found: str = Translator("=" + formula, origin).translate_formula(to)
    return found[1:]
