"""The table of characteristics on a blank form: its heads, the columns they stand over, and the rows below."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from inspection.layout.layout import RESULT_FIELDS, ROW_FIELDS, Column, Grow, HeadPlace, Table
from storage.dispatch.customer_form import words
from storage.dispatch.customer_form.blank import MOST_ROWS, Blank
from storage.dispatch.customer_form.choices import Choice
from storage.dispatch.customer_form.references import area_of

#: Rows of an open table below which nothing stands.
OPEN_ROWS = 1_000
_ASKED = {"number", "requirement", "nominal", "name", "lower", "upper"}
_MEASURED = {"result", "smallest", "largest"}
_ROW_OR_MEASURED = frozenset((*ROW_FIELDS, *_MEASURED))
_LONGEST_NUMBER = 12
#: A table has so many heads at least that say different things.
_FEWEST = 3
_DEEPEST = 3


class Found(Struct, frozen=True):
    """A table that was found: where its heads stand, and where serial numbers of pieces are asked for."""

    table: Table
    top: int
    bottom: int  # the last row of heads
    last: int
    serials: tuple[HeadPlace, ...] = ()
    words: dict[str, str] = {}


class _Head(Struct):
    column: int
    field: str
    piece: int = -1
    unit: str = ""
    text: str = ""
    blank_below: bool = False


def find_tables(blank: Blank, choices: Sequence[Choice], after: int = 0) -> list[Found]:
    """The first table below row ``after`` whose heads say what is asked and what was measured; several where it goes on
    beside itself under the same heads."""
    best: tuple[int, int, int, list[_Head]] | None = None
    for top in range(after + 1, blank.last_row() + 1):
        bottom = _bottom(blank, top)
        if bottom == 0:
            continue
        heads = _heads(blank, top, bottom)
        fields = {head.field for head in heads}
        enough = len({(head.field, head.text) for head in heads}) >= _FEWEST
        if enough and fields & _ASKED and fields & _MEASURED and (best is None or len(heads) > len(best[3])):
            best = (len(heads), top, bottom, heads)
        elif best is not None and top > best[2]:
            break
    if best is None:
        return []
    _, top, bottom, heads = best
    beside = _beside_itself(heads)
    made = [_measured_out(blank, _settled(blank, each, bottom, choices), top, bottom, choices) for each in beside]
    found = [each for each in made if each is not None]
    return [with_growth(each, Grow.SHEETS) for each in found] if len(found) > 1 else found


def _beside_itself(heads: list[_Head]) -> list[list[_Head]]:
    """The heads of each half where a table goes on at its right under the very same heads."""
    begins = heads[0].field, words.signed(heads[0].text)
    starts = [at for at, head in enumerate(heads) if (head.field, words.signed(head.text)) == begins]
    if len(starts) < 2 or begins[0] not in _ASKED:
        return [heads]
    halves = [heads[start:end] for start, end in zip(starts, [*starts[1:], len(heads)], strict=True)]
    said = [[(head.field, words.signed(head.text)) for head in half] for half in halves]
    return halves if all(each == said[0] for each in said) else [heads]


def laid_across(blank: Blank) -> bool:
    """Whether a form has its characteristics side by side and the pieces below each other: heads stand below each other
    in one column."""
    for column in {column for _row, column in blank.texts}:
        texts = [text for (_row, at), text in blank.texts.items() if at == column]
        fields = {words.field_of("column", text) for text in texts}
        pieces = sum(words.piece_of(text, alone=False) >= 0 for text in texts)
        if len(fields & _ASKED) > 1 and (pieces > 1 or fields & _MEASURED):
            return True
    return False


def _bottom(blank: Blank, top: int) -> int:
    """The last row of heads that begin in this row; 0 for a row that none begin in."""
    areas = [blank.area(row, column) for row, column in blank.texts if row == top]
    if len(areas) < 2:
        return 0
    bottom = min(max(area.bottom for area in areas), top + _DEEPEST)
    wide = [area for area in areas if area.right > area.left and area.bottom == top]
    below = bottom if bottom > top else top + 1
    for area in wide:
        under = [blank.texts.get((below, column), "") for column in range(area.left, area.right + 1)]
        if any(each and (_is_sub(each)) for each in under):
            return below
        if words.field_of("head", blank.text(top, area.left)) in ("serial", "serials"):
            return below
        others = [each for each in areas if each not in wide]
        if all(under) and others and not any(blank.text(below, each.left) for each in others):
            return below  # nothing is known of these heads, and under the others their boxes begin
    return bottom


def _is_sub(text: str) -> bool:
    return words.piece_of(text, alone=True) >= 0 or bool(words.field_of("column", text)) or words.is_unit(text)


def _heads(blank: Blank, top: int, bottom: int) -> list[_Head]:
    found: list[_Head] = []
    for column in range(1, blank.last_column() + 1):
        area = blank.area(bottom, column)
        data = blank.area(bottom + 1, column)
        if data.left != column or (area.left != column and area.right > area.left and data.right > column):
            continue
        stack = _stack(blank, column, top, bottom)
        if stack and (head := _classified(blank, column, stack, bottom)) is not None:
            found.append(head)
    return found


def _stack(blank: Blank, column: int, top: int, bottom: int) -> list[str]:
    found: list[str] = []
    seen: set[tuple[int, int]] = set()
    for row in range(top, bottom + 1):
        area = blank.area(row, column)
        if area.top >= top and (area.top, area.left) not in seen:
            seen.add((area.top, area.left))
            found.append(blank.text(row, column))
    return found


def _classified(blank: Blank, column: int, stack: list[str], bottom: int) -> _Head | None:
    """What a column holds, by the heads above each other over it."""
    sub, parents = stack[-1], [each for each in stack[:-1] if each]
    parent = " ".join(parents)
    over = words.head_of("column", parent)
    unit = words.unit_in(sub) or over.unit
    if not sub:
        if over.field == "result" or words.field_of("head", parent) in ("serial", "serials"):
            return _Head(column, "result", -2, unit, parent, blank_below=True)
        return _Head(column, over.field, -1, unit, parent) if over.field else None
    piece = words.piece_of(sub, alone=over.field == "result" or words.field_of("head", parent) in ("serial", "serials"))
    if piece >= 0:
        return _Head(column, "result", piece, unit, sub)
    if words.is_unit(sub) and over.field:
        return _Head(column, over.field, -1, unit, sub)
    if words.yes_and_no(sub):
        return _Head(column, "verdict", -1, "", sub)
    own = words.head_of("column", sub)
    if over.field == "result" and own.field in ("lower", "upper"):
        return _Head(column, "smallest" if own.field == "lower" else "largest", -1, unit, sub)
    together = words.field_of("column", f"{parent} {sub}") if parent else ""
    field = together or own.field
    if not field:
        return None
    area = blank.area(bottom, column)
    wide = area.right > area.left and blank.area(bottom + 1, column).right == column
    return _Head(column, field, -2 if wide and field == "result" else -1, unit, sub)


def _settled(blank: Blank, heads: list[_Head], bottom: int, choices: Sequence[Choice]) -> list[_Head]:
    """Heads with what only shows by their neighbours: which piece, which of two results is the verdict, which of two
    requirements is the number, and whether deviations stand beside a nominal."""
    for head in heads:
        listed = next((each for each in choices if each.holds(bottom + 1, head.column)), None)
        if head.field == "result" and listed is not None and any(map(words.word_of, listed.allowed)):
            head.field = "verdict"
    heads = _with_listed(blank, heads, bottom, choices)
    fields = [head.field for head in heads]
    for head in heads if "reject" in fields and "accept" not in fields else ():
        if head.field == "verdict" and words.word_of(head.text) == "conforming":
            head.field = "accept"  # a box for yes beside one for no
    asked = [head for head in heads if head.field == "requirement"]
    if "number" not in fields and len(asked) > 1:
        asked.pop(0).field = "number"
    asked = _named_apart(heads, asked)
    if asked and "plus" in fields and {"minus", "lower_deviation"} & {*fields} and "nominal" not in fields:
        named = any(head.field == "name" for head in heads)  # which tells what no number says
        asked[0].field = "nominal" if named else "nominal_asked"
    results = [head for head in heads if head.field == "result"]
    plain = [head for head in results if head.piece == -1]
    if len(plain) == 2 and len(results) == 2 and plain[0].unit == plain[1].unit:
        told = [words.signed(head.text) for head in plain]
        general = [at for at, text in enumerate(told) if text.split("/")[0].strip() in _GENERAL]
        if len(general) == 1:
            plain[general[0]].field = "verdict"
    _number_pieces(heads)
    return _each_once(heads)


def _named_apart(heads: list[_Head], asked: list[_Head]) -> list[_Head]:
    """The heads of what is required, without those that name the characteristic where another one tells what is
    required of it: the first of them is the name's, unless a head says so itself."""
    named = [head for head in asked if words.field_of("of_two_asked", head.text)]
    rest = [head for head in asked if head not in named]
    if not named or not rest:
        return asked
    if any(head.field == "name" for head in heads):
        heads[:] = [head for head in heads if head not in named]
    for head in named:
        head.field = "name"
    return rest


def _with_listed(blank: Blank, heads: list[_Head], bottom: int, choices: Sequence[Choice]) -> list[_Head]:
    """A column whose drop-down list says both conforming and not is the verdict's, whatever stands over it."""
    if any(head.field in ("verdict", "accept", "reject") for head in heads):
        return heads
    held, ends = {head.column for head in heads}, (heads[0].column, heads[-1].column + 2)
    for column in range(ends[0], ends[1] + 1):
        listed = next((each for each in choices if each.holds(bottom + 1, column)), None)
        if listed is None or column in held or not blank.text(bottom, column):
            continue
        if {"conforming", "not conforming"} <= words.words_in(listed.allowed).keys():
            added = _Head(column, "verdict", -1, "", blank.text(bottom, column))
            return sorted([*heads, added], key=lambda head: head.column)
    return heads


#: Heads that say "result" and mean the verdict where the measured value has a column of its own.
_GENERAL = frozenset({"result", "results", "ergebnis", "resultado", "esito", "résultat"})


def _number_pieces(heads: list[_Head]) -> None:
    results = [head for head in heads if head.field == "result"]
    by_unit: dict[str, int] = {}
    named = [head.piece for head in results if head.piece >= 0]
    shift = min(named) if named and len(set(named)) == len(named) and min(named) > 0 else 0
    for head in results:
        if head.piece >= 0:
            head.piece -= shift
        else:
            head.piece = by_unit.get(head.unit, 0)
            by_unit[head.unit] = head.piece + 1
    pieces = {head.piece for head in results}
    for field in ("verdict", "deviation", "instrument", "accept", "reject", "measured_by", "measured_on", "note"):
        mine = [head for head in heads if head.field == field]
        if len(pieces) > 1 and len(mine) == len(pieces):
            for head, piece in zip(mine, sorted(pieces), strict=True):
                head.piece = piece


def _each_once(heads: list[_Head]) -> list[_Head]:
    """One column for each value; the first of several that say the same. A number that stands again in the same words
    begins a further block of the same lines."""
    found: dict[tuple[str, int, str], _Head] = {}
    again = []
    for before, head in zip([None, *heads], heads, strict=False):
        first = found.setdefault((head.field, head.piece, head.unit), head)
        alike = first is not head and head.field == "number" and words.signed(first.text) == words.signed(head.text)
        if alike and before is not None and before.field != "number":
            again.append(head)
    return sorted([*found.values(), *again], key=lambda head: head.column)


def _measured_out(blank: Blank, heads: list[_Head], top: int, bottom: int, choices: Sequence[Choice]) -> Found | None:
    first = bottom + 1
    at = [head for head in heads if (first, blank.area(first, head.column).left) not in blank.formulas]
    if not any(head.field in _MEASURED for head in at):
        return None
    number = next((head.column for head in at if head.field == "number"), at[0].column)
    at = [head for head in at if head.field in _ROW_OR_MEASURED or not _written(blank, head.column, first, number)]
    area = blank.area(first, number)
    height = area.bottom - area.top + 1
    result = next(head.column for head in at if head.field in _MEASURED)
    rows, given = _rows(blank, at, first, height, number, result)
    if rows == 0:
        return None
    columns = _pieces_below(
        blank, first, height, tuple(Column(head.field, head.column, head.piece, unit=head.unit) for head in at)
    )
    numbered: tuple[tuple[str, int], ...] = ()
    if given:
        numbered = tuple((blank.text(row, number), row) for row in given)
        columns = tuple(
            column
            for column in columns
            if column.field == "number" or all(blank.empty(row, column.column) for row in given)
        )
    table = Table(blank.name, first, rows, columns, height, Grow.ROWS, numbered)
    serials = tuple(
        HeadPlace("serial", blank.name, bottom, head.column, piece=head.piece) for head in at if head.blank_below
    )
    return Found(table, top, bottom, first + rows * height - 1, serials, _words(heads, first, choices))


def _written(blank: Blank, column: int, first: int, number: int) -> bool:
    """Whether the customer has written something of each row, such as how to measure it, into a column: it stays."""
    row = first
    while row <= MOST_ROWS and blank.text(row, number):
        if not blank.empty(row, column):
            return True
        row = blank.area(row, number).bottom + 1
    return False


def _pieces_below(blank: Blank, first: int, height: int, columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """The columns with the pieces of a block below each other, where the form numbers them so ("1", "Piece 2")."""
    rows = range(first, first + height)
    numbered = any(
        [words.piece_of(blank.text(row, column), alone=True) for row in rows] == list(range(height))
        for column in range(1, blank.last_column() + 1)
        if blank.area(first, column).bottom == first
    )
    if height == 1 or not numbered or any(column.piece > 0 for column in columns):
        return columns
    low = [each for each in columns if each.field in RESULT_FIELDS and blank.area(first, each.column).bottom == first]
    split = [replace(each, piece=at, offset=at) for each in low for at in range(height)]
    return (*(each for each in columns if each not in low), *split)


def _rows(
    blank: Blank, heads: Sequence[_Head], first: int, height: int, number: int, result: int
) -> tuple[int, list[int]]:
    """How many blocks there are, and the rows that the customer has written numbers and requirements into."""
    listed = _listed(blank, first)
    boxed = blank.boxed(first, result)
    widths = [(head.column, blank.area(first, head.column).right - head.column) for head in heads]
    asked = [head.column for head in heads if head.field in ROW_FIELDS and head.column != number]
    others = [head.column for head in heads if head.field not in ROW_FIELDS]
    given, rows, row = [], 0, first
    while row <= MOST_ROWS and (listed is None or row <= listed):
        areas = [(blank.area(row, column), width) for column, width in widths]
        if any(area.top != row or area.right - area.left != width for area, width in areas):
            break
        if any(not blank.empty(row, column) for column in others):
            break
        written = [column for column in asked if not blank.empty(row, column)]
        label = blank.text(row, number)
        if (written and not label) or len(label) > _LONGEST_NUMBER or (not written and _is_word(label)):
            break
        if listed is None and boxed != blank.boxed(row, result):
            break
        if listed is None and not boxed and not label and _anything(blank, row):
            break
        if written:
            given.append(row)
        rows, row = rows + 1, row + height
        if listed is None and not boxed and row > blank.last_row():
            rows = max(rows, OPEN_ROWS)
            break
    return (rows, given if len(given) == rows or given else [])


def _is_word(label: str) -> bool:
    """Whether what stands in the column of numbers begins what stands below the table: "Total", "Rejected"."""
    return len(label) > 2 and not any(each.isdigit() for each in label)


def _anything(blank: Blank, row: int) -> bool:
    return any(at == row and (at, column) not in blank.formulas for at, column in blank.texts)


def _listed(blank: Blank, first: int) -> int | None:
    """The last row of values of a table that the workbook itself knows as one (18.5.1.2 table)."""
    for kind, part in blank.book.parts.relations(blank.cells.part).values():
        if kind == "table" and blank.book.parts.has(part):
            root = blank.book.parts.tree(part)
            area = area_of(root.get("ref", ""), blank.name)
            if area is not None and area.top + int(root.get("headerRowCount", "1")) == first:
                return area.bottom - int(root.get("totalsRowCount", "0"))
    return None


def _words(heads: Sequence[_Head], first: int, choices: Sequence[Choice]) -> dict[str, str]:
    """The customer's words for a result: those of a drop-down list, else those in the head itself ("Pass/Fail")."""
    found: dict[str, str] = {}
    for head in heads:
        if head.field != "verdict":
            continue
        listed = next((each.allowed for each in choices if each.holds(first, head.column)), ())
        told = listed or words.yes_and_no(head.text) or tuple(part.strip() for part in head.text.split("/")[1:])
        for meaning, each in words.words_in(told).items():
            found.setdefault(meaning, each)
    return found


def with_growth(found: Found, grow: Grow) -> Found:
    """The same table with another way to grow."""
    return replace(found, table=replace(found.table, grow=grow))
