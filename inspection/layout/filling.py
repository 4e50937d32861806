"""A sheet laid out on a customer's form: which line stands in which block of which table, on how many pages."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, tzinfo
from itertools import accumulate

from msgspec import Struct
from msgspec.structs import replace

from inspection.drawing.numbers import natural_key
from inspection.layout.layout import (
    PAPER_FIELDS,
    TEMPERATURES,
    Column,
    Grow,
    HeadPlace,
    Layout,
    Table,
    check_layout,
    unplaced,
)
from inspection.layout.told import NOTHING, Item, Said, Telling
from inspection.measuring.temperature_as_written import on_scale
from inspection.reasons import Reason, Refused
from inspection.sheet.head import Piece
from inspection.sheet.report import Report
from inspection.sheet.state import Sheet, Shop

#: So many instruments are named.
MOST_TAGS = 8
#: A worksheet is repeated at most so often; beyond that somebody meant another form.
MOST_COPIES = 200


class HeadSaid(Struct, frozen=True):
    """A value for a place of the head, on one ``copy`` of its worksheet (0: the worksheet itself)."""

    place: HeadPlace
    copy: int
    said: Said


class RowSaid(Struct, frozen=True):
    """A value for a column in one block (from 0) of a table, on one copy of its worksheet."""

    table: int
    copy: int
    block: int
    column: Column
    said: Said


class Filling(Struct, frozen=True):
    """All that is written into the form. ``copies`` maps a worksheet to how often it is repeated, ``more`` a table (by
    its place in the layout) to the blocks that have to be put in. ``notices`` say what did not find a place."""

    layout: Layout
    heads: tuple[HeadSaid, ...]
    rows: tuple[RowSaid, ...]
    copies: dict[str, int]
    more: dict[int, int]
    notices: tuple[Reason, ...] = ()


class _Page(Struct, frozen=True):
    """What stands in one table of one copy: which items at which blocks, for which pieces."""

    table: int
    copy: int
    items: tuple[tuple[int, Item], ...]
    pieces: tuple[Piece, ...]


def filling(sheet: Sheet, shop: Shop, report: Report, layout: Layout, zone: tzinfo = UTC) -> Filling:
    """Lay a sheet out on a layout. Raises Refused where it has more lines or pieces than the form can take."""
    check_layout(layout)
    telling = Telling(sheet, shop, report, layout, zone)
    pages, more, notices = _pages(telling)
    copies: dict[str, int] = {}
    for page in pages:
        name = layout.tables[page.table].sheet
        copies[name] = max(copies.get(name, 0), page.copy)
    if sum(copies.values()) > MOST_COPIES:
        raise Refused(Reason("layout.too_many_copies", {"n": sum(copies.values()), "most": MOST_COPIES}))
    return Filling(
        layout,
        tuple(_heads(telling, pages, copies)),
        tuple(_rows(telling, pages)),
        copies,
        more,
        (*unplaced(layout), *notices, *_papers_over(telling), *_calibration_unknown(telling), *_scale_unknown(telling)),
    )


# --- what stands on which page --------------------------------------------------------------------------------


def _pages(telling: Telling) -> tuple[list[_Page], dict[int, int], list[Reason]]:
    """The pages of all tables, the blocks to be put in by table, and what found no place."""
    tables, left = telling.layout.tables, telling.items()
    asked = [number for table in tables for number, _row in table.numbered if number]
    missing = sorted({*asked} - {item.number for item in left}, key=natural_key)
    at: dict[int, list[list[tuple[int, Item]]]] = {}
    for place, table in enumerate(tables):
        if table.numbered:
            at[place], left = _onto_numbers(table, left)
    open_tables = [place for place, table in enumerate(tables) if not table.numbered]
    together = _repeated_together(tables, open_tables)
    for place in open_tables[: -len(together)]:
        room = tables[place].rows
        at[place], left = [list(enumerate(left[:room]))], left[room:]
    notices = [Reason("layout.not_on_sheet", {"numbers": ", ".join(missing)})] if missing else []
    more: dict[int, int] = {}
    if len(together) > 1:
        at |= _onto_pages(together, tables, left)
    elif open_tables:
        last = open_tables[-1]
        at[last], more = _onto_last(last, tables[last], left)
    elif left:
        notices.append(Reason("layout.not_on_form", {"numbers": ", ".join(item.number for item in left)}))
    found = [_repeated(telling, place, sets) for place, sets in at.items()]
    return [page for pages in found for page in pages], more, notices


def _onto_numbers(table: Table, items: Sequence[Item]) -> tuple[list[list[tuple[int, Item]]], list[Item]]:
    """Items onto the rows where the customer has written their numbers, and those without one."""
    rows = {number: place for place, (number, _row) in enumerate(table.numbered)}
    return [[(rows[item.number], item) for item in items if item.number in rows]], [
        item for item in items if item.number not in rows
    ]


def _repeated_together(tables: Sequence[Table], places: Sequence[int]) -> list[int]:
    """The last of the tables, with those of its worksheet in front of it where that is repeated: a page is all of
    them."""
    found = list(places[-1:])
    for place in reversed(places[:-1]):
        last = tables[places[-1]]
        if last.grow is not Grow.SHEETS or tables[place].sheet.casefold() != last.sheet.casefold():
            break
        found.insert(0, place)
    return found


def _onto_pages(
    places: Sequence[int], tables: Sequence[Table], items: Sequence[Item]
) -> dict[int, list[list[tuple[int, Item]]]]:
    """Items onto pages of several tables: each page is full before the next begins."""
    at: dict[int, list[list[tuple[int, Item]]]] = {place: [] for place in places}
    left = list(items)
    while left or not at[places[0]]:
        for place in places:
            room = tables[place].rows
            at[place].append(list(enumerate(left[:room])))
            left = left[room:]
    return at


def _onto_last(place: int, table: Table, items: Sequence[Item]) -> tuple[list[list[tuple[int, Item]]], dict[int, int]]:
    over = len(items) - table.rows
    if over <= 0:
        return [list(enumerate(items))], {}
    if table.grow is Grow.ROWS:
        return [list(enumerate(items))], {place: over}
    if table.grow is Grow.NO:
        raise Refused(Reason("layout.too_many_rows", {"n": len(items), "room": table.rows, "sheet": table.sheet}))
    return [list(enumerate(items[start : start + table.rows])) for start in range(0, len(items), table.rows)], {}


def _repeated(telling: Telling, place: int, sets: Sequence[Sequence[tuple[int, Item]]]) -> Iterator[_Page]:
    """A page for each set of lines and each group of pieces that stand side by side."""
    table, pieces = telling.layout.tables[place], telling.sheet.pieces
    across = table.pieces or len(pieces)
    groups = [pieces[start : start + across] for start in range(0, len(pieces), across)]
    if len(groups) > 1 and table.grow is Grow.NO:
        raise Refused(Reason("layout.too_many_pieces", {"n": len(pieces), "room": across, "sheet": table.sheet}))
    for copy, (group, items) in enumerate((group, items) for group in groups for items in sets):
        yield _Page(place, copy, tuple(items), tuple(group))


# --- what is said ---------------------------------------------------------------------------------------------


def _rows(telling: Telling, pages: Sequence[_Page]) -> Iterator[RowSaid]:
    for page in pages:
        table = telling.layout.tables[page.table]
        nowhere = all(column.field != "requirement" for column in table.columns)
        for column in table.columns:
            pieces = page.pieces
            if column.piece >= 0:
                pieces = pieces[column.piece : column.piece + 1]
                if not pieces:
                    continue
            if table.numbered and column.field == "number":
                continue
            for block, item in page.items:
                field = "name_asked" if column.field == "name" and nowhere else column.field
                said = telling.of_row(item, field, pieces, column.unit)
                if said != NOTHING:
                    yield RowSaid(page.table, page.copy, block, column, said)


def _papers_over(telling: Telling) -> Iterator[Reason]:
    """The materials, processes and tests that a form with places for some has none for."""
    room = {place.piece for place in telling.layout.heads if place.field in PAPER_FIELDS}
    over = [line.name for place, line in enumerate(telling.papers) if place not in room]
    if room and over:
        yield Reason("layout.papers_over", {"names": ", ".join(over)})


def _calibration_unknown(telling: Telling) -> Iterator[Reason]:
    """The instruments of which a form asks when they were calibrated, and whose records only say the due date."""
    columns = (column for table in telling.layout.tables for column in table.columns)
    if any(column.field == "calibrated_on" for column in columns) and (tags := telling.uncertified()):
        named = ", ".join(tags[:MOST_TAGS]) + (" …" if len(tags) > MOST_TAGS else "")
        yield Reason("layout.calibration_unknown", {"tags": named})


def _scale_unknown(telling: Telling) -> Iterator[Reason]:
    """A temperature that the form asks for on a scale, and that cannot be brought to it."""
    written = telling.sheet.head.temperature
    for field in dict.fromkeys(place.field for place in telling.layout.heads if place.field in TEMPERATURES):
        if written and on_scale(written, TEMPERATURES[field]) is None:
            yield Reason("layout.scale_unknown", {"written": written, "scale": f"°{TEMPERATURES[field]}"})


def _heads(telling: Telling, pages: Sequence[_Page], copies: dict[str, int]) -> Iterator[HeadSaid]:
    layout, total = telling.layout, sum(n + 1 for n in copies.values())
    pieces = {(layout.tables[page.table].sheet, page.copy): page.pieces for page in pages}
    before = dict(zip(copies, accumulate((n + 1 for n in copies.values()), initial=0), strict=False))
    for place in layout.heads:
        for copy in range(copies.get(place.sheet, 0) + 1):
            own = pieces.get((place.sheet, copy), telling.sheet.pieces)
            said = _head(telling, place, own, before.get(place.sheet, 0) + copy + 1, max(total, 1))
            if said.text or said.means:
                yield HeadSaid(place, copy, _behind(place, said))


def _head(telling: Telling, place: HeadPlace, pieces: Sequence[Piece], page: int, pages: int) -> Said:
    if place.field in ("page", "pages"):
        text = str(page if place.field == "page" else pages)
        return Said(text, number=text)
    if place.field in PAPER_FIELDS:
        return telling.of_paper(place.field, place.piece)
    piece = pieces[place.piece] if place.piece < len(pieces) else None
    return telling.of_head(place.field, piece)


def _behind(place: HeadPlace, said: Said) -> Said:
    """A value behind the label that shares its cell is a text."""
    if not place.prefix or not said.text:
        return said
    return replace(said, text=f"{place.prefix} {said.text}", number="", day="")
