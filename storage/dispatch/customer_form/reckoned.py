"""What a customer's own formulas may make of the rows: a limit that is not there, a result in words."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping

from msgspec import Struct

from inspection.layout.cell_names import address, letters, quoted
from inspection.layout.filling import Filling, RowSaid
from inspection.layout.layout import MEASURES
from inspection.reasons import Reason
from storage.dispatch.customer_form.sheet import Cells

_MEASURED = frozenset(("result", "smallest", "largest"))
#: What limits a result.
_SIDES = ("plus", "minus", "lower_deviation", "lower", "upper")
#: Functions that ask what stands in a cell before they reckon with it (18.17.7).
_CAREFUL = re.compile(r"\b(ISNUMBER|ISTEXT|IFERROR|ISERROR|ISERR|COUNT|N)\(", re.IGNORECASE)
#: Numbers of characteristics are named up to so many.
_NAMED = 8

At = Callable[[int, int, int], tuple[Cells, int]]
"""The cells of a table's worksheet and the first row of a block, by table, copy and block."""


class _Row(Struct):
    """What a block of a table was given, as far as formulas may reckon with it: its number, the fields that hold
    numbers, and the columns and rows in the block of results that are told in words."""

    number: str = ""
    numbers: set[str] = set()
    words: set[tuple[int, int]] = set()


def reckoned(filling: Filling, sheets: Iterable[Cells], at: At) -> Iterator[Reason]:
    """The rows of each worksheet, its further pages with it, whose formulas are to be looked at."""
    formulas: dict[tuple[str, int], list[str]] = defaultdict(list)
    for cells in sheets:
        for row, _column, _cell, text in cells.formulas():
            formulas[cells.name, row].append(text)
    if not formulas:
        return
    tables, open_at, in_words = (
        filling.layout.tables,
        defaultdict[str, list[str]](list),
        defaultdict[str, list[str]](list),
    )
    sides = [{*_SIDES} & {column.field for column in table.columns} for table in tables]
    for (place, copy, block), said in _rows(filling.rows).items():
        cells, first = at(place, copy, block)
        held = [
            text for row in range(first, first + tables[place].height) for text in formulas.get((cells.name, row), ())
        ]
        number = said.number or address(first, 1)
        if held and said.numbers & _MEASURED and sides[place] - said.numbers:
            open_at[tables[place].sheet].append(number)
        if any(_reads(text, column, first + offset) for text in held for column, offset in said.words):
            in_words[tables[place].sheet].append(number)
    for code, found in (("form.one_sided", open_at), ("form.in_words", in_words)):
        yield from _told(code, found)


def _told(code: str, found: Mapping[str, list[str]]) -> Iterator[Reason]:
    for sheet, numbers in found.items():
        each = list(dict.fromkeys(numbers))
        named = ", ".join(each[:_NAMED]) + (" …" if len(each) > _NAMED else "")
        yield Reason(code, {"sheet": quoted(sheet), "numbers": named})


def _rows(rows: Iterable[RowSaid]) -> dict[tuple[int, int, int], _Row]:
    found: dict[tuple[int, int, int], _Row] = defaultdict(lambda: _Row("", set(), set()))
    for each in rows:
        field, row = each.column.field, found[each.table, each.copy, each.block]
        if field == "number":
            row.number = each.said.text
        elif each.said.number and field in MEASURES:
            row.numbers.add(field)
        elif each.said.text and field in _MEASURED:
            row.words.add((each.column.column, each.column.offset))
    return found


def _reads(formula: str, column: int, row: int) -> bool:
    """Whether a formula reckons with a cell, or one of its table's row, without asking whether it is a number; what
    is told of a whole area (a sum, a mean, a largest) leaves words out."""
    if _CAREFUL.search(formula):
        return False
    cell = rf"(?<![A-Z:]){letters(column)}{row}(?![\d:])"
    return "[" in formula or re.search(cell, formula.replace("$", "")) is not None
