"""Points of time: numbers written faster than a hand measures, and numbers that came all at once.

A plan's handling and pick-up times are generous; a practised hand is taken to be ``NIMBLE`` times as fast, and never
faster than ``FLOOR`` from one number to the next of another requirement, or ``AGAIN`` of the same. Two numbers noted on
paper and typed together are nobody's business: only from ``STRETCH`` intervals in a row on is anything said. All of it
is common practice, no single source.

A book keeps the moment of each reading and not by what it was entered. Numbers that come within ``AT_ONCE`` of each
other were not typed one by one: a file or a pasted block brings them so, and their times tell nothing of the hand. A
cable's can not be told from typed ones, and are held to the same pace: it saves the typing and not the measuring.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise

from inspection.measuring.reading import Reading, Role
from inspection.reasons import Figure
from inspection.sheet.points_look import Look, same_method
from inspection.sheet.points_table import Point
from inspection.sheet.state import family

_SECOND = 1_000_000
#: How many times faster than planned a hand may be.
NIMBLE = 5
#: Least time from one number to the next (µs): of another requirement, and of the same (holes of a count, other pieces,
#: places and repeats).
FLOOR, AGAIN = 2 * _SECOND, 1_500_000
#: A hand is never asked to have taken longer (µs), whatever an instrument's record says of it.
LONGEST = 60 * _SECOND
#: Numbers closer than this (µs) came together.
AT_ONCE = 200_000
#: So many intervals in a row.
STRETCH = 4
#: Times that a file tells may be written to the minute or the second; then they are known no better than that.
_WRITTEN_TO = (60 * _SECOND, _SECOND)

_Pair = tuple[Reading, Reading]


def of_times(look: Look) -> Iterator[Point]:
    """A point for each stretch of numbers by one person that came faster than hands, or all at once."""
    by_person: dict[str, list[Reading]] = {}
    for reading in look.sheet.readings.values():
        if reading.count is not None and reading.slot.role is Role.VALUE:
            by_person.setdefault(reading.by, []).append(reading)
    for person, readings in by_person.items():
        readings.sort(key=lambda each: each.taken)
        for code, stretch in groupby(pairwise(readings), key=lambda pair: _pace(look, *pair)):
            if code:
                yield from _told(look, code, person, list(stretch))


def _pace(look: Look, before: Reading, reading: Reading) -> str:
    """The code of an interval that is shorter than a hand needs; empty for any other."""
    gap = reading.taken - before.taken
    if gap >= LONGEST:
        return ""
    known = next((to for to in _WRITTEN_TO if before.taken % to == 0 == reading.taken % to), 0)
    if gap < AT_ONCE:
        return "at_once"
    return "fast" if gap + known < least(look, before, reading) else ""


def least(look: Look, before: Reading, reading: Reading) -> int:
    """The least time (µs) that lies between two numbers measured by one hand."""
    if _same(look, before, reading):
        return AGAIN
    planned = sum(part.handling_seconds for part in look.parts(reading))
    if not same_method(before.method, reading.method):
        planned += look.sheet.rules.pick_up_seconds
    return min(max(FLOOR, planned * _SECOND // NIMBLE), LONGEST)


def _same(look: Look, before: Reading, reading: Reading) -> bool:
    if before.characteristic == reading.characteristic:
        return True
    rows = look.sheet.rows.by_identity
    return family(rows[before.characteristic]) == family(rows[reading.characteristic])


def _told(look: Look, code: str, person: str, stretch: Sequence[_Pair]) -> Iterator[Point]:
    """One stretch, if it is long enough and any of its numbers still counts."""
    readings = [stretch[0][0], *(reading for _, reading in stretch)]
    counting = [each for each in readings if each.identity in look.by_reading]
    if len(stretch) < STRETCH or not counting:
        return
    took = readings[-1].taken - readings[0].taken
    yield look.point(
        code,
        (look.by_reading[each.identity].cell for each in counting),
        (each.identity for each in counting),
        about=person,
        count=len(readings),
        person=look.person(person),
        took=_seconds(took),
        least=_seconds(sum(least(look, *pair) for pair in stretch)),
    )


def _seconds(microseconds: int) -> Figure:
    whole, tenths = divmod(round(microseconds / 100_000), 10)
    return Figure(f"{whole}.{tenths}" if whole < 10 else str(whole))
