"""A layout as people write it: one correction a text, and all of it as lines that are told."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from msgspec.structs import replace

from inspection.layout.cell_names import address, letters, number_of, quoted
from inspection.layout.layout import (
    ANSWERS,
    COUNTED,
    HEAD_FIELDS,
    RESULT_FIELDS,
    ROW_FIELDS,
    UNITS_WANTED,
    WORDS,
    Column,
    Grow,
    HeadPlace,
    Layout,
    Table,
)
from inspection.reasons import Reason, Refused

_CELL = re.compile(r"(?:(?P<sheet>'(?:[^']|'')+'|[^'!]+)!)?(?P<column>[A-Za-z]{1,3})(?P<row>\d{1,7})")
_COLUMN = re.compile(r"(?:(?P<sheet>'(?:[^']|'')+'|[^'!]+)!)?(?P<column>[A-Za-z]{1,3})(?:\+(?P<offset>\d))?")
_FIELD = re.compile(r"(?P<field>[a-z_]+)(?::(?P<piece>\d{1,3}))?(?: (?P<unit>in|mm))?")
_YES = {"yes": True, "y": True, "no": False, "n": False}


def corrected(layout: Layout, texts: Iterable[str]) -> Layout:
    """A layout with corrections, each ``NAME=VALUE``. Raises Refused with every fault.

    A field of the head is given to a cell (``part=B4``, ``serial:2='Page 1'!D3``), one of the table to a column
    (``result:1=F``, ``result mm=G``, ``largest=D+1`` in the second row of a block); pieces count from 1. An empty value
    takes it off. Everything else of a layout goes by its name.

    A field of the head may stand at several cells. One that a worksheet has once is moved there; named again it gets
    that cell as well, and where it has several already it keeps them, for nobody said which one is meant.
    """
    faults: list[Reason] = []
    given: set[tuple[str, int, str]] = set()
    for text in texts:
        try:
            layout = _corrected(layout, text, given)
        except Refused as refused:
            faults += refused.reasons
    if faults:
        raise Refused(*faults)
    return layout


def _corrected(layout: Layout, text: str, given: set[tuple[str, int, str]]) -> Layout:
    name, equals, value = (part.strip() for part in text.partition("="))
    if not equals:
        raise Refused(Reason("layout.correction", {"text": text[:60]}))
    if name.startswith("word "):
        return _worded(layout, name.removeprefix("word ").strip().strip('"'), value)
    if name in _PLAIN and not _is_place(name, value):
        return _PLAIN[name](layout, text, value)
    if name in _OF_TABLE:
        return _on_table(layout, text, name, value)
    found = _FIELD.fullmatch(name)
    if found is None:
        raise Refused(Reason("layout.correction", {"text": text[:60]}))
    field, piece, unit = found["field"], int(found["piece"] or 0) - 1, found["unit"] or ""
    cell = _CELL.fullmatch(value)
    in_head = field in HEAD_FIELDS and (cell is not None or (not value and _is_head(layout, field)))
    if in_head:
        return _head(layout, field, max(piece, 0), cell, given)
    if field in (*ROW_FIELDS, *RESULT_FIELDS):
        return _column(layout, text, Column(field, 0, piece, unit=unit), value)
    known = ", ".join(dict.fromkeys((*HEAD_FIELDS, *ROW_FIELDS, *RESULT_FIELDS)))
    raise Refused(Reason("layout.field_unknown", {"field": field, "known": known}))


def _is_place(name: str, value: str) -> bool:
    """Whether a name that is a setting and a field too is given a cell or a column, and no value of the setting."""
    if name == "customer":
        return _CELL.fullmatch(value) is not None
    return (
        name == "unit"
        and value not in UNITS_WANTED
        and (_CELL.fullmatch(value) or _COLUMN.fullmatch(value)) is not None
    )


def _is_head(layout: Layout, field: str) -> bool:
    return any(place.field == field for place in layout.heads)


def _sheet(layout: Layout, found: re.Match[str]) -> str:
    if found["sheet"]:
        return found["sheet"].strip("'").replace("''", "'")
    return layout.tables[0].sheet if layout.tables else layout.heads[0].sheet if layout.heads else ""


def _head(
    layout: Layout, field: str, piece: int, cell: re.Match[str] | None, given: set[tuple[str, int, str]]
) -> Layout:
    same = [place for place in layout.heads if (place.field, place.piece) == (field, piece)]
    if cell is None:
        return replace(layout, heads=tuple(place for place in layout.heads if place not in same))
    sheet, row, column = _sheet(layout, cell), int(cell["row"]), number_of(cell["column"])
    before = [place for place in same if place.sheet == sheet]
    moved = before if len(before) == 1 and (field, piece, sheet) not in given else []
    given.add((field, piece, sheet))
    shared = {*ANSWERS} - {field} if field in ANSWERS else set()  # each may have boxes of its own in the cell's text
    pushed = [
        place
        for place in layout.heads
        if (place.sheet, place.row, place.column) == (sheet, row, column) and place.field not in shared
    ]
    kept = tuple(place for place in layout.heads if place not in moved and place not in pushed)
    return replace(layout, heads=(*kept, HeadPlace(field, sheet, row, column, piece=piece)))


def _column(layout: Layout, text: str, wanted: Column, value: str) -> Layout:
    found = _COLUMN.fullmatch(value)
    if value and found is None:
        raise Refused(Reason("layout.correction", {"text": text[:60]}))
    sheet = _sheet(layout, found) if found else ""
    tables = layout.tables
    if found and not any(table.sheet == sheet for table in tables):
        raise Refused(Reason("layout.no_table", {"sheet": sheet}))
    made = tuple(
        _with_column(table, wanted, found) if found is None or not found["sheet"] or table.sheet == sheet else table
        for table in tables
    )
    return replace(layout, tables=made)


def _with_column(table: Table, wanted: Column, found: re.Match[str] | None) -> Table:
    same = (wanted.field, wanted.piece, wanted.unit)
    kept = [each for each in table.columns if (each.field, each.piece, each.unit) != same]
    if wanted.piece < 0 and found is None:
        kept = [each for each in kept if each.field != wanted.field]
    if found is not None:
        at = (int(found["offset"] or 0), number_of(found["column"]))
        kept = [each for each in kept if (each.offset, each.column) != at]
        kept.append(replace(wanted, column=at[1], offset=at[0]))
    return replace(table, columns=tuple(kept))


# --- plain values -------------------------------------------------------------------------------------------------


def _worded(layout: Layout, name: str, value: str) -> Layout:
    if name not in WORDS:
        raise Refused(Reason("layout.word_unknown", {"word": name, "known": ", ".join(WORDS)}))
    words = {key: text for key, text in layout.words.items() if key != name}
    return replace(layout, words={**words, name: value} if value else words)


def _wrong(text: str, name: str, wanted: str) -> Refused:
    return Refused(Reason("layout.correction_value", {"text": text[:60], "name": name, "wanted": wanted}))


def _yes(name: str) -> Callable[[Layout, str, str], Layout]:
    field = "into_protected" if name == "protected" else name

    def read(layout: Layout, text: str, value: str) -> Layout:
        if value.casefold() not in _YES:
            raise _wrong(text, name, "yes / no")
        return replace(layout, **{field: _YES[value.casefold()]})

    return read


def _decimals(layout: Layout, text: str, value: str) -> Layout:
    if value and not value.isdecimal():
        raise _wrong(text, "decimals", "0 … 12")
    return replace(layout, decimals=int(value) if value else None)


def _unit(layout: Layout, text: str, value: str) -> Layout:
    if value not in UNITS_WANTED:
        raise _wrong(text, "unit", "in / mm")
    return replace(layout, unit=value)


def _told(name: str) -> Callable[[Layout, str, str], Layout]:
    return lambda layout, _text, value: replace(layout, **{name: value})


_PLAIN: Mapping[str, Callable[[Layout, str, str], Layout]] = {
    "outward": _yes("outward"),
    "pattern": _yes("pattern"),
    "protected": _yes("protected"),
    "decimals": _decimals,
    "unit": _unit,
    "day": _told("day"),
    "customer": _told("customer"),
    "title": _told("name"),
    "language": _told("language"),
}
_OF_TABLE = {"worksheet": "sheet", "first": "first", "rows": "rows", "height": "height", "grow": "grow"}


def _on_table(layout: Layout, text: str, name: str, value: str) -> Layout:
    """A value of every table; where there is none yet, of a first one."""
    given: Any = value
    if name == "grow":
        if value not in tuple(Grow):
            raise _wrong(text, name, " / ".join(Grow))
        given = Grow(value)
    elif name != "worksheet":
        if not value.isdecimal() or int(value) < 1:
            raise _wrong(text, name, "1, 2, 3 …")
        given = int(value)
    tables = layout.tables or (Table("", 1, 1, ()),)
    return replace(layout, tables=tuple(replace(table, **{_OF_TABLE[name]: given}, numbered=()) for table in tables))


# --- told ---------------------------------------------------------------------------------------------------------


def lines_of(layout: Layout) -> Iterator[tuple[str, str, str]]:
    """What a layout says, as name, value, and the value's name in the catalogue (empty for a setting): each line reads
    back as a correction."""
    for place in layout.heads:
        piece = f":{place.piece + 1}" if place.field in COUNTED else ""
        yield f"{place.field}{piece}", f"{quoted(place.sheet)}!{address(place.row, place.column)}", place.field
    for table in layout.tables:
        for column in sorted(table.columns, key=lambda each: (each.offset, each.column)):
            name = column.field + (f":{column.piece + 1}" if column.piece >= 0 else "")
            value = letters(column.column) + (f"+{column.offset}" if column.offset else "")
            yield f"{name} {column.unit}".strip(), f"{quoted(table.sheet)}!{value}", column.field
    if layout.tables:
        table = layout.tables[-1]
        for name, number in (("first", table.first), ("rows", table.blocks()), ("height", table.height)):
            yield name, str(number), ""
        yield "grow", str(table.grow), ""
    yield "unit", layout.unit, ""
    yield "decimals", "" if layout.decimals is None else str(layout.decimals), ""
    for name, on in (("outward", layout.outward), ("pattern", layout.pattern), ("protected", layout.into_protected)):
        yield name, "yes" if on else "no", ""
    for name, text in layout.words.items():
        yield f"word {name}", text, ""
