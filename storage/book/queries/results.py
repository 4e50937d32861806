"""What did a characteristic of a part come to in time; and what did all of them, on the newest sheets?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from msgspec.structs import replace
from sqlalchemy import Connection

from inspection.measuring.verdict import Verdict
from inspection.studies.history import Result
from storage.book.engines import driver_rows
from storage.book.queries.suspect import put_in_question
from storage.book.queries.waiting import waiting_cells

#: So many judgements of a characteristic are looked through, the newest; a cell that is read again is judged again.
MOST_JUDGEMENTS = 10_000
#: So many of a part's newest sheets are looked at for all of its characteristics.
MOST_SHEETS = 60

_VERDICTS = {each.value: each for each in Verdict}

#: Judgements, each with the reading that it followed from; one that followed from another act has none. The columns are
#: the fields of ``Result`` in their order, then the piece, and whether a question was asked with the judgement.
_JUDGEMENTS = """
    SELECT judgement.characteristic, judgement.sheet, piece.serial, coalesce(reading.day, ''), judgement.at,
        judgement.verdict, judgement.smallest, judgement.largest, judgement."of", judgement.expanded,
        coalesce(reading.plan, ''), coalesce(reading."by", ''), coalesce(reading_instrument.instrument, ''),
        coalesce(reading_instrument.issue, 0), doubt.guard, judgement.piece,
        question.sequence IS NOT NULL
    FROM judgement
    JOIN piece ON piece.sheet = judgement.sheet AND piece.piece = judgement.piece
    LEFT JOIN reading ON reading.sequence = judgement.sequence
        AND reading.characteristic = judgement.characteristic AND reading.piece = judgement.piece
    LEFT JOIN reading_instrument ON reading_instrument.sequence = reading.sequence
        AND reading_instrument.reading = reading.reading
    LEFT JOIN doubt ON doubt.sequence = judgement.sequence AND doubt.characteristic = judgement.characteristic
        AND doubt.piece = judgement.piece
    LEFT JOIN question ON question.sequence = judgement.sequence AND question.characteristic = judgement.characteristic
        AND question.piece = judgement.piece
"""
_OF_CHARACTERISTIC = f"""{_JUDGEMENTS}
    WHERE judgement.part = ? AND judgement.characteristic = ?
    ORDER BY judgement.at DESC, judgement.sequence DESC LIMIT ?
"""
#: With a plus the order is no reason to go through every judgement there is in the order of the table.
_OF_PART = f"""{_JUDGEMENTS}
    WHERE judgement.sheet IN (
        SELECT sheet.sheet FROM sheet WHERE sheet.part = ? ORDER BY sheet.sequence DESC LIMIT ?
    )
    ORDER BY +judgement.sequence DESC
"""


def results_of_characteristic(
    connection: Connection, part: str, characteristic: str, *, limit: int = MOST_JUDGEMENTS
) -> tuple[Result, ...]:
    """The results of a characteristic through all issues of its part, oldest first: the newest of each piece, open ones
    left out. Two statements, and one more where a question was asked about any."""
    return tuple(reversed(_newest(connection, _OF_CHARACTERISTIC, (part, characteristic, limit))))


def results_of_part(
    connection: Connection, part: str, *, sheets: int = MOST_SHEETS
) -> Mapping[str, tuple[Result, ...]]:
    """The results of every characteristic on the newest sheets of a part, as above."""
    found: dict[str, list[Result]] = defaultdict(list)
    for result in reversed(_newest(connection, _OF_PART, (part, sheets))):
        found[result.characteristic].append(result)
    return {row: tuple(results) for row, results in found.items()}


def _newest(connection: Connection, statement: str, parts: tuple[Any, ...]) -> list[Result]:
    """The newest judgement of each cell with the newest reading before it, from judgements newest first; told of those
    about which a question waits, and that rest on a reading which a failed check put in question. Names come again and
    again, and are held once."""
    found: dict[tuple[str, str, str], Result] = {}
    same = dict[str, str]().setdefault
    asked: set[str] = set()
    for (row, sheet, serial, day, at, verdict, small, large, of, u, plan, by, instrument, issue, guard, piece,
         question) in driver_rows(connection, statement, parts):  # fmt: skip
        if question:
            asked.add(sheet)
        cell = same(sheet, sheet), same(row, row), same(piece, piece)
        held = found.get(cell)
        if held is None:
            found[cell] = Result(
                cell[1], cell[0], same(serial, serial), same(day, day), at, _VERDICTS[verdict], small, large, of, u,
                same(plan, plan), same(by, by), same(instrument, instrument), issue, guard,
            )  # fmt: skip
        elif not held.day:
            found[cell] = replace(held, day=day, plan=plan, by=by, instrument=instrument, issue=issue)
    for cell in waiting_cells(connection, asked) & found.keys():
        found[cell] = replace(found[cell], waits=True)
    for cell, at in put_in_question(connection, {sheet for sheet, _, _ in found}).items():
        if cell in found and found[cell].at <= at:
            found[cell] = replace(found[cell], suspect=True)
    return [each for each in found.values() if each.verdict is not Verdict.OPEN]
