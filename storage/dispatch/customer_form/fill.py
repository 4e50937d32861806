"""A customer's workbook filled: cells set in its own markup, rows or pages added where there is more to say.

Which parts may be changed by that is told beforehand (``allowed``), and held to: every other part keeps its bytes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from msgspec import Struct

from inspection.layout.cell_names import address, quoted
from inspection.layout.filling import Filling
from inspection.layout.layout import ANSWERS, MARKS, Column, HeadPlace, Table
from inspection.layout.told import TICKED, UNTICKED
from inspection.reasons import Part, Reason, Refused
from storage.dispatch.cells import MOST_DIGITS, MOST_IN_CELL
from storage.dispatch.customer_form import words
from storage.dispatch.customer_form.allowed import allowed_changes, cells_of, held_to
from storage.dispatch.customer_form.blank import Blank
from storage.dispatch.customer_form.boxes import boxes_in, tick
from storage.dispatch.customer_form.choices import Choice, choices
from storage.dispatch.customer_form.controls import drawn_boxes
from storage.dispatch.customer_form.copies import repeat
from storage.dispatch.customer_form.form import Look, Workbook, Worksheet
from storage.dispatch.customer_form.growth import grow
from storage.dispatch.customer_form.radios import chosen_of, radio_groups, show_chosen
from storage.dispatch.customer_form.recalculation import (
    ask_for_results,
    dependents,
    drop_chain,
    drop_result,
    of_all,
    read_areas,
    touched,
)
from storage.dispatch.customer_form.reckoned import reckoned
from storage.dispatch.customer_form.references import Area, Growth
from storage.dispatch.customer_form.seen_whole import not_whole
from storage.dispatch.customer_form.sheet import Cells
from storage.dispatch.customer_form.unfilled import unfilled
from storage.dispatch.customer_form.write import Write
from storage.dispatch.unprintable import uncarried
from storage.intake.workbook.formats import Sense

#: Values that may be told by ticking boxes in a cell's own text.
_ANSWERED = frozenset((*ANSWERS, *MARKS))
#: How many cells are named.
_NAMED = 8
#: A general format shows a number to so many characters (common practice of spreadsheet programs).
_GENERAL_SHOWS = 10


class Written(Struct, frozen=True, gc=False):
    """A cell that was written: its worksheet, row and column (from 1), and the value that stands there."""

    sheet: str
    row: int
    column: int
    field: str


class Filled(Struct, frozen=True):
    """A filled workbook: its bytes, the parts that are not those of the blank one, and what is to be known of it;
    ``written`` are the cells that values went to, ``growth`` the rows that were put in, ``copies`` names the worksheet
    that each further page is a copy of."""

    content: bytes
    changed: tuple[str, ...]
    notices: tuple[Reason, ...]
    written: tuple[Written, ...] = ()
    growth: Growth | None = None
    copies: Mapping[str, str] = {}


def fill(data: bytes, name: str, filling: Filling) -> Filled:
    """Fill a customer's blank workbook (``name`` is its file's, for sentences).

    Raises ``FileRefused`` for a workbook that cannot be filled, Refused where cells are protected and the layout does
    not say that the customer allows it, where a worksheet that it names is not there, or a text that no cell holds.
    """
    book = Workbook(data, name)
    filler = _Filler(book, filling)
    allowed = allowed_changes(book, filling, filler.sheets)
    filler.check_protection()
    filler.tell_unfilled()
    filler.make_room()
    filler.write()
    filler.tell_not_allowed()
    filler.tell_reckoned()
    filler.tell_hidden()
    filler.tell_beside_cells()
    filler.notices += filler.not_whole
    filler.recalculate()
    held_to(book, allowed)
    copies = {cells.name: sheet for (sheet, _copy), cells in filler.copies.items()}
    return Filled(
        book.parts.written(), book.parts.changed, tuple(filler.notices), tuple(filler.written), filler.growth, copies
    )


class _Filler:
    def __init__(self, book: Workbook, filling: Filling) -> None:
        self.book, self.filling, self.layout = book, filling, filling.layout
        self.notices: list[Reason] = list(filling.notices)
        self.sheets = cells_of(book)
        self.copies: dict[tuple[str, int], Cells] = {}
        self.boxes = [each for worksheet in book.worksheets for each in drawn_boxes(book, worksheet)]
        self.linked = {_at_area(each.linked) for each in self.boxes if each.linked is not None}
        self.radios = [each for worksheet in book.worksheets for each in radio_groups(book, worksheet)]
        self.buttons = {_at_area(each.linked): each.buttons for each in self.radios if each.linked is not None}
        self.not_whole: list[Reason] = []
        self.growth: Growth | None = None
        self.written: list[Written] = []
        self.groups: dict[tuple[object, ...], int] = {}
        self.ticked: dict[tuple[str, int, int], tuple[Any, list[str]]] = {}  # blank texts with boxes, and the answers
        self.chosen: dict[tuple[str, int, int], int] = {}  # cells that radio buttons are linked to, and the number
        self.answered: set[tuple[str, int, int]] = set()  # cells that tell one answer in a word
        self.hiding: dict[str, list[str]] = defaultdict(list)
        self.refused: dict[tuple[str, str, str], list[str]] = defaultdict(list)  # by sheet, list and text
        self.unwritten: set[int] = set()  # the writes that a list has refused

    # --- before -------------------------------------------------------------------------------------------------

    def check_protection(self) -> None:
        """Raise Refused for protected cells, unless the customer allows it."""
        if self.layout.into_protected:
            return
        locked: dict[str, list[str]] = defaultdict(list)
        for cells, row, column in self._places():
            protection = cells.root.find(self.book.tag("sheetProtection"))
            guarded = protection is not None and protection.get("sheet") in ("1", "true")
            if guarded and self.book.style(cells.style_of(row, column)).locked:
                locked[cells.name].append(address(row, column))
        if locked:
            raise Refused(
                *(
                    Reason("form.protected", {"sheet": sheet, "cells": _few(places), "n": len(places)})
                    for sheet, places in locked.items()
                )
            )

    def tell_unfilled(self) -> None:
        """Tell what the form asks for and gets no value."""
        for worksheet in self.book.worksheets:
            blank = Blank(self.book, worksheet, self.sheets[worksheet.name.casefold()])
            self.notices += unfilled(worksheet, blank, self.layout)

    def _places(self) -> Iterator[tuple[Cells, int, int]]:
        """The cells of the blank form that are to be filled; the first block stands for its table."""
        for head in self.layout.heads:
            yield self.own(head.sheet), head.row, head.column
        for table in self.layout.tables:
            first = table.numbered[0][1] if table.numbered else table.first
            for column in table.columns:
                yield self.own(table.sheet), first + column.offset, column.column

    def own(self, sheet: str) -> Cells:
        """The cells of a worksheet of the blank form."""
        return self.sheets[self.book.worksheet(sheet).name.casefold()]

    # --- room ---------------------------------------------------------------------------------------------------

    def make_room(self) -> None:
        """Repeat worksheets and put rows in."""
        for place, blocks in self.filling.more.items():
            self._put_in(self.layout.tables[place], blocks)
        for sheet, times in self.filling.copies.items():
            made = repeat(self.book, self.book.worksheet(sheet), times) if times else []
            for copy, each in enumerate(made, start=1):
                cells = Cells(self.book, each.name, each.part)
                self.copies[sheet, copy] = self.sheets[each.name.casefold()] = cells
        if self.growth is not None or self.copies:
            drop_chain(self.book)

    def _put_in(self, table: Table, blocks: int) -> None:
        """Rows in front of the last block, so that a sum over the table takes them in."""
        last = max(table.rows - 1, 1)
        at = table.first + last * table.height
        cells = self.own(table.sheet)
        self.growth = Growth(cells.name, at, blocks * table.height)
        grow(self.book, self.sheets, self.growth, (at - table.height, at - 1))

    def cells(self, sheet: str, copy: int) -> Cells:
        """The cells of a worksheet or of one of its copies."""
        return self.copies[sheet, copy] if copy else self.own(sheet)

    def original(self, sheet: str) -> str:
        """The worksheet that one is a copy of; itself if it is none."""
        return next((of for (of, _copy), cells in self.copies.items() if cells.name == sheet), sheet)

    def row(self, sheet: str, row: int) -> int:
        """Where a row of a worksheet of the blank form stands now, on its copies too."""
        if self.growth is None or sheet.casefold() != self.growth.sheet.casefold():
            return row
        return self.growth.row(row)

    def first_row(self, place: int, block: int) -> int:
        """The first row of a block of a table, as it stands now."""
        table = self.layout.tables[place]
        if table.numbered:
            return self.row(table.sheet, table.numbered[block][1])
        first = table.first if place in self.filling.more else self.row(table.sheet, table.first)
        return first + block * table.height

    # --- writing ------------------------------------------------------------------------------------------------

    def write(self) -> None:
        """Write every value that its cell can take."""
        writes = list(self._writes())
        longest = self._check_texts(writes)
        used = {each.cells.part: each.cells for each in writes}
        lists = {part: choices(self.book, cells, self.sheets) for part, cells in used.items()}
        formulas = set().union(*(cells.with_formulas() for cells in used.values()))
        hidden = self._hidden(writes)
        for each in writes:
            if formulas and each.cell in formulas:
                self._keep_formula(each)
            else:
                self._write(each, lists[each.cells.part], hidden)
        written = [each for each in writes if id(each) not in self.unwritten]
        self.not_whole = not_whole(written, longest, formulas, {each.name: of for (of, _), each in self.copies.items()})
        for part in used:
            self.book.parts.change(part)
        copies = [Worksheet(cells.name, cells.part, hidden=False, place=0) for cells in self.copies.values()]
        for worksheet in (*self.book.worksheets, *copies) if self.chosen else ():
            show_chosen(self.book, worksheet, self.chosen)

    def _writes(self) -> Iterator[Write]:
        for head in self.filling.heads:
            place, at = head.place, self.cells(head.place.sheet, head.copy)
            row = self.row(place.sheet, place.row)
            held = at.cell(row, place.column)
            group, linked = self._group(at.name, row, place.column), _at_blank(place) in self.linked
            buttons = self.buttons.get(_at_blank(place), ())
            yield Write(at, held, row, place.column, head.said, group, place.field, linked, buttons)
        yield from self._row_writes()

    def _group(self, *alike: object) -> int:
        """The number of the group of cells that look alike; numbers are found quicker than what they stand for."""
        return self.groups.setdefault(alike, len(self.groups))

    def _row_writes(self) -> Iterator[Write]:
        """The values of the tables. They come column after column: what a column has in common is found once."""
        at: tuple[int, int, Column | None] = (-1, -1, None)
        for each in self.filling.rows:
            if each.column is not at[2] or each.copy != at[1] or each.table != at[0]:
                at = each.table, each.copy, each.column
                table, cells = (
                    self.layout.tables[each.table],
                    self.cells(self.layout.tables[each.table].sheet, each.copy),
                )
                number, offset, field = each.column.column, each.column.offset, each.column.field
                group, first = self._group(each.table, each.copy, number, field), self.first_row(each.table, 0)
            if not each.said.text:
                continue
            if table.numbered:
                row = self.first_row(each.table, each.block) + offset
            else:
                row = first + each.block * table.height + offset
            yield Write(cells, cells.of_row(row).get(number), row, number, each.said, group, field)

    def _check_texts(self, writes: Iterable[Write]) -> dict[int, Write]:
        """The longest text of the cells that look alike. Raises Refused for one that no cell holds."""
        most: dict[int, int] = {}
        longest: dict[int, Write] = {}
        for each in writes:
            text, length = each.said.text, len(each.said.text)
            if length > most.get(each.group, 0):
                most[each.group], longest[each.group] = length, each
            if length > MOST_IN_CELL:
                parts: dict[str, Part] = {"cell": _at(each), "length": length, "most": MOST_IN_CELL}
                raise Refused(Reason("form.cell_full", parts))
            if not text.isprintable() and (wrong := uncarried(text)):
                codes = ", ".join(f"U+{ord(sign):04X}" for sign in sorted(wrong))
                raise Refused(Reason("form.uncarried", {"cell": _at(each), "characters": codes}))
        return longest

    def _hidden(self, writes: Iterable[Write]) -> dict[int, bool]:
        """Groups of numbers of which some cell's format would hide decimals, with those that hold the same of other
        pieces, so that the columns look alike; and whether a formula reads them, so that they must stay numbers."""
        odd: set[int] = set()
        for each in writes:
            if each.said.number and each.group not in odd and not self._shows(each):
                odd.add(each.group)
        if not odd:
            return {}
        alike = {(each.cells.name, each.field) for each in writes if each.group in odd}
        odd.update(each.group for each in writes if each.said.number and (each.cells.name, each.field) in alike)
        held: dict[int, list[Write]] = defaultdict(list)
        for each in writes:
            if each.said.number and each.group in odd:
                held[each.group].append(each)
        areas = list(read_areas(self.book, self.sheets))
        return {group: self._read_by(numbers, areas) for group, numbers in held.items()}

    def _shows(self, write: Write) -> bool:
        form = self._style(write).number
        decimals = write.said.number.partition(".")[2]
        if form.sense is Sense.FIXED:
            return len(decimals) <= form.decimals
        if form.sense is Sense.GENERAL:
            return not decimals.endswith("0") and len(write.said.number) <= _GENERAL_SHOWS
        return False

    def _read_by(self, writes: list[Write], areas: Iterable[Area]) -> bool:
        name, column = writes[0].cells.name.casefold(), writes[0].column
        low, high = min(each.row for each in writes), max(each.row for each in writes)
        mine = Area(name, low, column, high, column)
        return any(area.meets(mine) for area in areas)

    def _write(self, write: Write, lists: Iterable[Choice], hidden: Mapping[int, bool]) -> None:
        text = write.said.text
        if write.field in ANSWERS and (write.cells.part, write.row, write.column) in self.answered:
            parts = {"cell": _at(write), "field": f"layout.field.{write.field}"}
            self.notices.append(Reason("form.cell_taken", {**parts}))
            return
        if write.buttons:
            self._choose(write)
            return
        choice = next((each for each in lists if each.holds(write.row, write.column)), None) if lists else None
        if choice is not None:
            spelling = (choice.spelling(text) if text else None) or words.chosen(choice.allowed, write.said.means)
            if spelling is None:
                if text:
                    key = quoted(self.original(write.cells.name)), ", ".join(choice.allowed[:12]), text
                    self.refused[key].append(address(write.row, write.column))
                    self.unwritten.add(id(write))
                return
            text = spelling
        elif write.field in _ANSWERED and boxes_in(write.cells, write.row, write.column):
            self._tick(write)
            return
        elif write.field in MARKS and (write.linked or write.cells.holds_truth(write.row, write.column)):
            if write.said.means == UNTICKED and not write.cells.text(write.row, write.column):
                return  # a box whose cell is empty is not ticked as it is
            write.cells.set_truth(write.row, write.column, true=write.said.means == TICKED)
            self.written.append(Written(write.cells.name, write.row, write.column, write.field))
            return
        elif not text:
            return
        self._put(write, text, hidden)
        if write.field in ANSWERS:
            self.answered.add((write.cells.part, write.row, write.column))
        self.written.append(Written(write.cells.name, write.row, write.column, write.field))

    def _choose(self, write: Write) -> None:
        """Choose the radio button that says a value, by its number in the cell that they are linked to."""
        number = chosen_of(write.buttons, write.said)
        if number:
            write.cells.set_number(write.row, write.column, str(number))
            self.chosen[write.cells.name.casefold(), write.row, write.column] = number
            self.written.append(Written(write.cells.name, write.row, write.column, write.field))
        else:
            parts: dict[str, Part] = {"cell": _at(write), "text": write.said.text, "buttons": ", ".join(write.buttons)}
            self.notices.append(Reason("form.no_button", parts))

    def _tick(self, write: Write) -> None:
        """Tick the box in the text of a cell that stands for what is said."""
        if write.said.means == UNTICKED:
            return
        answer, at = MARKS.get(write.field, write.said.means), (write.cells.part, write.row, write.column)
        if at not in self.ticked:
            string = write.cells.string(write.row, write.column)
            assert string is not None
            self.ticked[at] = string, []
        string, answers = self.ticked[at]
        answers.append(answer)
        if tick(write.cells, write.row, write.column, string, answers):
            self.written.append(Written(write.cells.name, write.row, write.column, write.field))
        else:
            parts: dict[str, Part] = {"cell": _at(write), "field": f"layout.answer.{answer.replace(' ', '_')}"}
            self.notices.append(Reason("form.no_box", parts))

    def _keep_formula(self, write: Write) -> None:
        parts: dict[str, Part] = {"cell": _at(write), "field": f"layout.field.{write.field}"}
        self.notices.append(Reason("form.formula_kept", parts))

    def _put(self, write: Write, text: str, hidden: Mapping[int, bool]) -> None:
        cells, said, row, column = write.cells, write.said, write.row, write.column
        if not said.number and not said.day:
            cells.set_text(row, column, text, write.cell)
        elif said.day and self._style(write).number.sense is Sense.DATE:
            cells.set_day(row, column, said.day)
        elif said.number and self._as_number(write, hidden):
            cells.set_number(row, column, said.number, write.cell)
        else:
            cells.set_text(row, column, text, write.cell)

    def _style(self, write: Write) -> Look:
        if write.cell is None:
            return self.book.style(write.cells.style_of(write.row, write.column))
        return self.book.style(write.cell.get("s", "0"))

    def _as_number(self, write: Write, hidden: Mapping[int, bool]) -> bool:
        """A number stays one where its decimals show, or where a formula reads it, which is then told."""
        number = write.said.number
        if len(number) > MOST_DIGITS and sum(map(str.isdigit, number.lstrip("-0."))) > MOST_DIGITS:
            return False
        if write.group not in hidden:
            return True
        if not hidden[write.group]:
            return False
        if not self._shows(write):
            self.hiding[quoted(self.original(write.cells.name))].append(address(write.row, write.column))
        return True

    # --- after --------------------------------------------------------------------------------------------------

    def tell_hidden(self) -> None:
        """Tell, once a sheet, which numbers the customer's formats show with fewer decimals than they have."""
        for sheet, places in self.hiding.items():
            parts: dict[str, Part] = {"sheet": sheet, "cells": _few(places), "n": len(places)}
            self.notices.append(Reason("form.format_hides", parts))

    def tell_reckoned(self) -> None:
        """Tell of rows that the customer's own formulas may reckon wrongly with."""

        def at(place: int, copy: int, block: int) -> tuple[Cells, int]:
            return self.cells(self.layout.tables[place].sheet, copy), self.first_row(place, block)

        self.notices += reckoned(self.filling, self.sheets.values(), at)

    def tell_not_allowed(self) -> None:
        """Tell, once a list, what its cells do not take."""
        for (sheet, allowed, text), places in self.refused.items():
            parts: dict[str, Part] = {"sheet": sheet, "cells": _few(places), "n": len(places)}
            self.notices.append(Reason("form.not_allowed", {**parts, "text": text, "allowed": allowed}))

    def tell_beside_cells(self) -> None:
        """Tell of boxes to tick that are no cells, and of a signature (ISO/IEC 29500-2, 13) that filling ends."""
        placed = {_at_blank(place) for place in self.layout.heads if place.field in MARKS}
        left = len(self.boxes) - len(self.linked & placed)
        if left:
            self.notices.append(Reason("form.drawn_boxes", {"n": left}))
        given = {_at_blank(place) for place in self.layout.heads}
        for group in self.radios:
            if group.linked is None or _at_area(group.linked) not in given:
                self.notices.append(Reason("form.buttons_left", {"buttons": ", ".join(group.buttons)}))
        if any(part.startswith("_xmlsignatures/") for part in self.book.parts.names):
            self.notices.append(Reason("form.signed"))

    def recalculate(self) -> None:
        """Drop the results that hold no longer, and ask for them anew."""
        formulas = of_all(self.sheets)
        if not formulas:
            return
        stale = dependents(formulas, touched((each.sheet, each.row, each.column) for each in self.written))
        for cells, cell in stale:
            drop_result(cells, cell)
        if stale or self.growth is not None or self.copies:
            ask_for_results(self.book)


def _at_blank(place: HeadPlace) -> tuple[str, int, int]:
    return place.sheet.casefold(), place.row, place.column


def _at_area(area: Area) -> tuple[str, int, int]:
    return area.sheet.casefold(), area.top, area.left


def _at(write: Write) -> str:
    return f"{quoted(write.cells.name)}!{address(write.row, write.column)}"


def _few(places: list[str]) -> str:
    places = list(dict.fromkeys(places))  # those of further pages are called alike
    return ", ".join(places[:_NAMED]) + (" …" if len(places) > _NAMED else "")
