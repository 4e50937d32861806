"""Points of copies: a piece whose numbers are those of another piece of the sheet, or of an earlier sheet.

All or nearly all rows have to agree (``NEARLY``, common practice), and that has to be improbable given the instruments'
steps and the bands (``inspection.studies.chance``): rows read with a rule prove nothing, and pieces of a good machine
agree on many rows.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterator, Mapping
from functools import partial
from typing import NamedTuple, TypeVar

from inspection.measuring.reading import Slot
from inspection.sheet.head import Piece
from inspection.sheet.points_chance import Chances
from inspection.sheet.points_history import History
from inspection.sheet.points_look import At, Look, Number
from inspection.sheet.points_table import Point
from inspection.studies.chance import choosing, needed

#: One row in so many may differ.
NEARLY = 10

_Place = tuple[str, Slot]
"""Where a number stands on every piece: the row, and the slot."""

Key = TypeVar("Key", bound=Hashable)


class Alike(NamedTuple):
    """What agrees of two pieces, how many places were compared, and what that says beyond what chance is allowed
    (thousandths of a bit)."""

    equal: tuple[Hashable, ...]
    of: int
    beyond: int


def of_copies(look: Look, chances: Chances, history: History) -> Iterator[Point]:
    """A point for each piece that agrees with one measured before it, and for each that agrees with a piece of an
    earlier sheet; with the one it agrees with best."""
    if len(look.sheet.pieces) > 1:
        yield from _on_the_sheet(look, chances)
    if history:
        yield from _off_earlier(look, chances, history)


def compared(
    first: Mapping[Key, Hashable], second: Mapping[Key, Hashable], weight: Callable[[Key], int], limit: int
) -> Alike | None:
    """How far two pieces agree, by what they have at each place; None where chance explains it.

    ``weight`` tells what agreement says at a place (thousandths of a bit), and ``limit`` what chance is allowed. That
    any few places may be the ones that differ is charged for. Stops as soon as too many do.
    """
    most, differ = min(len(first), len(second)) // NEARLY, 0
    equal: list[Key] = []
    for place, value in second.items():
        if place not in first:
            continue
        if first[place] == value:
            equal.append(place)
        elif differ < most:
            differ += 1
        else:
            return None
    of = len(equal) + differ
    if differ * NEARLY > of:
        return None
    beyond = sum(map(weight, equal)) - choosing(differ, of) - limit
    return Alike(tuple(equal), of, beyond) if beyond > 0 else None


# --- another piece of the sheet -------------------------------------------------------------------------------------


def _on_the_sheet(look: Look, chances: Chances) -> Iterator[Point]:
    numbers: dict[str, dict[_Place, Number]] = {}
    for number in look.numbers:
        numbers.setdefault(number.at.piece.identity, {})[number.at.row.identity, number.reading.slot] = number
    in_time = sorted(numbers, key=lambda piece: max(each.reading.taken for each in numbers[piece].values()))
    counts = {piece: {place: number.value for place, number in of.items()} for piece, of in numbers.items()}
    weights, limit = _least(numbers, chances), needed(len(in_time) * (len(in_time) - 1) // 2)
    for nth, piece in enumerate(in_time):
        pairs = ((other, compared(counts[other], counts[piece], weights.__getitem__, limit)) for other in in_time[:nth])
        found = [(other, alike) for other, alike in pairs if alike is not None]
        if found:
            other, alike = max(found, key=lambda each: each[1].beyond)
            same = set(alike.equal)
            yield _copied(look, [each for place, each in numbers[piece].items() if place in same], alike, other)


def _least(numbers: Mapping[str, Mapping[_Place, Number]], chances: Chances) -> dict[_Place, int]:
    """What agreement says at each place, the least of all pieces."""
    least: dict[_Place, int] = {}
    for of in numbers.values():
        for place, number in of.items():
            says = chances.of(number).alike
            least[place] = min(says, least.get(place, says))
    return least


def _copied(look: Look, numbers: list[Number], alike: Alike, other: str) -> Point:
    return look.point(
        "copied",
        (number.at.cell for number in numbers),
        (number.reading.identity for number in numbers),
        about=other,
        serial=numbers[0].at.piece.serial,
        other=next(piece.serial for piece in look.sheet.pieces if piece.identity == other),
        equal=len(alike.equal),
        of=alike.of,
    )


# --- a piece of an earlier sheet ------------------------------------------------------------------------------------

_Ends = tuple[int | None, int | None, int]
"""What a row came to: smallest and largest result, and how many readings they are sums of."""
_Before = tuple[str, str, str]
"""A piece of an earlier sheet: the sheet, the serial, and the day (ISO)."""


def _off_earlier(look: Look, chances: Chances, history: History) -> Iterator[Point]:
    """A sheet that stands in another one's place holds its readings and is not written off it."""
    before: dict[_Before, dict[str, _Ends]] = defaultdict(dict)
    for row, results in history.items():
        for was in results:
            before[was.sheet, was.serial, was.day][row] = (was.smallest, was.largest, was.of)
    for key in [key for key in before if key[0] == look.sheet.amends]:
        del before[key]
    limit = needed(len(before) * len(look.sheet.pieces))
    by_piece: dict[str, dict[str, At]] = {}
    for at in look.at:
        if at.judgement.results and at.readings:
            by_piece.setdefault(at.piece.identity, {})[at.row.identity] = at
    for piece in look.sheet.pieces:
        yield from _of_piece(look, chances, piece, by_piece.get(piece.identity, {}), before, limit)


def _of_piece(
    look: Look,
    chances: Chances,
    piece: Piece,
    cells: Mapping[str, At],
    before: Mapping[_Before, Mapping[str, _Ends]],
    limit: int,
) -> Iterator[Point]:
    """The earlier piece that one agrees with best. The same piece measured again, by its serial, has nothing but the
    hand that scatters."""
    now: dict[str, _Ends] = {row: _ends(at) for row, at in cells.items()}
    found = []
    for key, was in before.items():
        alike = compared(was, now, partial(_weight, chances, cells, key[1] == piece.serial), limit)
        if alike is not None:
            found.append((alike, key))
    if found:
        alike, (sheet, serial, day) = max(found, key=lambda each: each[0].beyond)
        same = set(alike.equal)
        named = [at for row, at in cells.items() if row in same]
        yield look.point(
            "copied_earlier",
            (at.cell for at in named),
            (reading.identity for at in named for reading in at.readings),
            about=f"{sheet} {serial}",
            serial=piece.serial,
            other=serial,
            day=day,
            equal=len(alike.equal),
            of=alike.of,
        )


def _ends(at: At) -> _Ends:
    return min(at.judgement.results), max(at.judgement.results), at.judgement.of


def _weight(chances: Chances, cells: Mapping[str, At], same_piece: bool, row: str) -> int:
    """What it says where a row came to the same: as much as its least telling number, 0 where it has none."""
    at = cells[row]
    numbers = (Number(at, reading, reading.count) for reading in at.readings if reading.count is not None)
    said = (chances.of(number) for number in numbers)
    return min((each.still if same_piece else each.alike for each in said), default=0)
