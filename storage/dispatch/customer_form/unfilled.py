"""What a form asks for and no value goes to: heads of its table, and labels beside boxes; told before it goes out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set

from inspection.layout.cell_names import address, quoted
from inspection.layout.layout import Layout, Table
from inspection.reasons import Reason
from storage.dispatch.customer_form import words
from storage.dispatch.customer_form.blank import MOST_ROWS, Blank
from storage.dispatch.customer_form.boxes import boxes_in, is_box
from storage.dispatch.customer_form.form import Workbook, Worksheet

#: A head or label is no sentence; of a longer one so many signs are told.
_LONGEST, _TOLD = 60, 40
#: So many heads or labels of a worksheet are named.
_NAMED = 8
#: Heads stand above each other in so many rows at most.
_DEEPEST = 3
#: A column into whose first rows the customer has written something is the customer's own.
_LOOKED_AT = 12

Cell = tuple[int, int]


def unfilled_in(data: bytes, layout: Layout) -> Iterator[Reason]:
    """What a customer's blank workbook asks for that a layout gives it no value for. Raises ``FileRefused`` for what
    cannot be filled."""
    book = Workbook(data, layout.workbook.name)
    for worksheet in book.worksheets:
        yield from unfilled(worksheet, Blank(book, worksheet), layout)


def unfilled(worksheet: Worksheet, blank: Blank, layout: Layout) -> Iterator[Reason]:
    """What a worksheet asks for that a layout gives it no value for, each kind in one sentence; of one that is hidden,
    or that nothing goes to, such as instructions and lists, nothing."""
    used = {head.sheet.casefold() for head in layout.heads} | {table.sheet.casefold() for table in layout.tables}
    if worksheet.hidden or blank.name.casefold() not in used:
        return
    tables = [each for each in layout.tables if _on(blank, each.sheet) and each.columns]
    heads = list(dict.fromkeys(at for table in tables for at in _heads(blank, table, tables)))
    if heads:
        yield _told("form.heads_left", blank, heads)
    labels = list(_labels(blank, tables, {(each.row, each.column) for each in layout.heads if _on(blank, each.sheet)}))
    if labels:
        yield _told("form.labels_left", blank, labels)


def _on(blank: Blank, sheet: str) -> bool:
    return sheet.casefold() == blank.name.casefold()


def _told(code: str, blank: Blank, cells: Sequence[Cell]) -> Reason:
    named = [f"“{_shown(blank, *at)}” ({address(*at)})" for at in cells[:_NAMED]]
    names = ", ".join(named) + (" …" if len(cells) > _NAMED else "")
    return Reason(code, {"sheet": quoted(blank.name), "names": names, "n": len(cells)})


def _shown(blank: Blank, row: int, column: int) -> str:
    """A head as it is told; what says little alone ("mm", "+") with the one above it."""
    text = " ".join(blank.text(row, column).split())
    above = blank.area(row - 1, column) if row > 1 else None
    if above is not None and above.right > above.left and (words.is_unit(text) or len(text) <= 2):
        text = " ".join((*blank.text(row - 1, column).split(), text))
    return text if len(text) <= _TOLD else text[: _TOLD - 1].rstrip() + "…"


# --- heads ------------------------------------------------------------------------------------------------------


def _heads(blank: Blank, table: Table, tables: Sequence[Table]) -> Iterator[Cell]:
    """The cells of the heads over columns that wait for something and get nothing."""
    given = _given(blank, table, tables)
    rows = _rows_of_heads(blank, table, given)
    for column in _span(blank, table, rows):
        head = _head_over(blank, rows, column)
        if head is None or column in given or not _waits(blank, table, column):
            continue
        if not given & {*_columns_of(blank, *head)}:
            yield head


def _given(blank: Blank, table: Table, tables: Sequence[Table]) -> set[int]:
    """The columns of a table, and of those beside it, that get a value."""
    beside = [each for each in tables if each.first == table.first]
    return {at for each in beside for column in each.columns for at in _columns_of(blank, table.first, column.column)}


def _columns_of(blank: Blank, row: int, column: int) -> range:
    area = blank.area(row, column)
    return range(area.left, area.right + 1)


def _rows_of_heads(blank: Blank, table: Table, given: set[int]) -> list[int]:
    """The rows of heads from the lowest up: a further one only where a head of the table stands in it alone."""
    bottom = table.first - 1
    rows = [bottom] if bottom >= 1 else []
    for row in range(bottom - 1, max(bottom - _DEEPEST, 0), -1):
        if not any(_head_over(blank, rows, column) is None and blank.text(row, column) for column in given):
            break
        rows.append(row)
    return rows


def _head_over(blank: Blank, rows: Sequence[int], column: int) -> Cell | None:
    """The lowest text over a column."""
    row = next((row for row in rows if blank.text(row, column)), None)
    if row is None:
        return None
    area = blank.area(row, column)
    return area.top, area.left


def _span(blank: Blank, table: Table, rows: Sequence[int]) -> range:
    """The columns of a table, and those at both sides that its row of heads goes on over."""
    held = [column.column for column in table.columns]
    left, right = min(held), max(held)
    while left > 1 and _head_over(blank, rows, left - 1) is not None:
        left -= 1
    while _head_over(blank, rows, right + 1) is not None:
        right += 1
    return range(left, right + 1)


def _waits(blank: Blank, table: Table, column: int) -> bool:
    """Whether the cells of a column are left empty by the customer, and are of those that are to be filled."""
    first = table.first
    if blank.area(first, column).left != column or (blank.guarded and not blank.waits(first, column)):
        return False
    if not blank.boxed(first, column) and any(blank.boxed(first, each.column) for each in table.columns):
        return False
    rows = [row for _number, row in table.numbered] or range(first, first + table.rows * table.height)
    return all(blank.empty(row, column) for row in rows[:_LOOKED_AT])


# --- labels -----------------------------------------------------------------------------------------------------


def _labels(blank: Blank, tables: Sequence[Table], given: Set[Cell]) -> Iterator[Cell]:
    """The labels outside the tables with a box at their right or below them that gets nothing. A text without a box is
    none, for much is said on a form, unless it ends with a colon and nothing stands beside or below it; over the boxes
    of another list stand heads, which nothing here is told of."""
    tops = [min(_rows_of_heads(blank, each, _given(blank, each, tables)), default=each.first) for each in tables]
    held = [range(top, each.first + each.rows * each.height) for top, each in zip(tops, tables, strict=True)]
    for row in blank.cells.rows():
        if row > MOST_ROWS or any(row in each for each in held):
            continue
        for column in blank.cells.of_row(row):
            text = blank.text(row, column)
            if not text or len(text) > _LONGEST or (row, column) in given or (row, column) in blank.formulas:
                continue
            area = blank.area(row, column)
            if (area.top, area.left) != (row, column):
                continue
            beside = [blank.area(*blank.beside(row, column)), blank.area(area.bottom + 1, area.left)]
            boxes = [(each.top, each.left) for each in beside if not any(each.top in rows for rows in held)]
            free = [box for box in boxes if blank.empty(*box)]
            asks = text.endswith(":") and len(free) == len(beside) and not blank.guarded
            asks = asks and not _served(blank, row, column, given)
            if boxes_in(blank.cells, row, column):  # signs to tick, and words at them that nothing is known of
                if not is_box(blank.cells, row, column):
                    yield row, column
                continue
            waits = not given & {*boxes} and (asks or any(blank.waits(*box) for box in free))
            if waits and not blank.heads_a_list(row, column):
                yield row, column


def _served(blank: Blank, row: int, column: int, given: Set[Cell]) -> bool:
    """Whether a value goes to the row of a label before the next text in it, or a formula of the customer's stands
    there: not beside it, but over an empty cell."""
    texts = (at for at in blank.cells.of_row(row) if at > column and blank.text(row, at))
    following = min(texts, default=None)
    return any(
        at == row and to > column and (following is None or to < following) for at, to in {*given, *blank.formulas}
    )
