"""Whether the cells that were filled show all that they hold: those that do not are told, once a column."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Container, Iterable, Iterator, Mapping
from typing import Any

from inspection.layout.cell_names import address, letters, quoted
from inspection.reasons import Part, Reason
from storage.dispatch.customer_form.heights import Heights
from storage.dispatch.customer_form.room import Room
from storage.dispatch.customer_form.write import Write

#: So many cells of a column are counted: nobody widens it for a number, and looking takes its time.
_COUNTED = 40
#: The rows of cells, by worksheet and column.
Found = dict[tuple[str, int], set[int]]


def not_whole(
    writes: Iterable[Write], longest: Mapping[int, Write], kept: Container[Any], originals: Mapping[str, str]
) -> list[Reason]:
    """What shows less than it holds, with rows made as high as may be. ``longest`` is that of the cells that look
    alike, formulas are ``kept``, and ``originals`` names the worksheet that a further page is a copy of, which is as
    wide."""
    rooms = {each.cells.name: Room(each.cells) for each in longest.values()}
    narrow, low = _narrow(writes, longest, kept, rooms, originals), _low(writes, longest, kept, rooms, originals)
    return [*_told("form.narrow", narrow), *_told("form.low", low)]


def _narrow(
    writes: Iterable[Write],
    longest: Mapping[int, Write],
    kept: Container[Any],
    rooms: Mapping[str, Room],
    originals: Mapping[str, str],
) -> Found:
    """Cells whose column is too narrow."""
    found: Found = defaultdict(set)
    long = {group: rooms[each.cells.name] for group, each in longest.items() if not _surely_shown(each, rooms)}
    for each in writes if long else ():
        if each.group not in long or each.cell in kept:
            continue
        if not long[each.group].shows(each.row, each.column, each.said.text):
            rows = found[originals.get(each.cells.name, each.cells.name), each.column]
            rows.add(each.row)
            if len(rows) > _COUNTED:
                del long[each.group]
    return found


def _surely_shown(write: Write, rooms: Mapping[str, Room]) -> bool:
    length, number = len(write.said.text), bool(write.said.number)
    return rooms[write.cells.name].surely_shows(write.row, write.column, length, number=number)


def _low(
    writes: Iterable[Write],
    longest: Mapping[int, Write],
    kept: Container[Any],
    rooms: Mapping[str, Room],
    originals: Mapping[str, str],
) -> Found:
    """Cells whose text is broken into more lines than their row shows, and whose row may not be made higher."""
    found: Found = defaultdict(set)
    broken = {group for group, each in longest.items() if rooms[each.cells.name].wraps(each.row, each.column)}
    heights = {name: Heights(room) for name, room in rooms.items()} if broken else {}
    for each in writes if broken else ():
        if each.group not in broken or each.said.number or each.cell in kept:
            continue
        if not heights[each.cells.name].fit(each.row, each.column, each.said.text):
            found[originals.get(each.cells.name, each.cells.name), each.column].add(each.row)
    return found


def _told(code: str, found: Found) -> Iterator[Reason]:
    for (sheet, column), rows in sorted(found.items()):
        many = len(rows) > _COUNTED
        parts: dict[str, Part] = {"sheet": quoted(sheet), "column": letters(column), "cell": address(min(rows), column)}
        yield Reason(f"{code}_many" if many else code, {**parts, "n": _COUNTED if many else len(rows)})
