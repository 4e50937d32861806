"""What did a characteristic of a part come to in time; and what did all of them, on the newest sheets?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import Connection, Row

from inspection.measuring.verdict import Verdict
from inspection.studies.history import Result

#: So many judgements of a characteristic are looked through, the newest; a cell that is read again is judged again.
MOST_JUDGEMENTS = 10_000
#: So many of a part's newest sheets are looked at for all of its characteristics.
MOST_SHEETS = 60

_VERDICTS = {each.value: each for each in Verdict}


#: Judgements, each with the reading that it followed from; one that followed from another act has none.
_JUDGEMENTS = """
    SELECT judgement.characteristic, judgement.sheet, judgement.piece, piece.serial, judgement.at, judgement.verdict,
        judgement.smallest, judgement.largest, judgement."of", judgement.expanded, reading.day, reading.plan,
        reading."by", reading_instrument.instrument, reading_instrument.issue, doubt.guard
    FROM judgement
    JOIN piece ON piece.sheet = judgement.sheet AND piece.piece = judgement.piece
    LEFT JOIN reading ON reading.sequence = judgement.sequence
        AND reading.characteristic = judgement.characteristic AND reading.piece = judgement.piece
    LEFT JOIN reading_instrument ON reading_instrument.sequence = reading.sequence
        AND reading_instrument.reading = reading.reading
    LEFT JOIN doubt ON doubt.sequence = judgement.sequence AND doubt.characteristic = judgement.characteristic
        AND doubt.piece = judgement.piece
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
    left out. One statement."""
    rows = connection.exec_driver_sql(_OF_CHARACTERISTIC, (part, characteristic, limit)).all()
    return tuple(reversed(_newest(rows)))


def results_of_part(
    connection: Connection, part: str, *, sheets: int = MOST_SHEETS
) -> Mapping[str, tuple[Result, ...]]:
    """The results of every characteristic on the newest sheets of a part, as above. One statement."""
    found: dict[str, list[Result]] = defaultdict(list)
    for result in reversed(_newest(connection.exec_driver_sql(_OF_PART, (part, sheets)).all())):
        found[result.characteristic].append(result)
    return {row: tuple(results) for row, results in found.items()}


def _newest(rows: Iterable[Row[Any]]) -> list[Result]:
    """The newest judgement of each cell with the newest reading before it, from judgements newest first."""
    found: dict[tuple[str, str, str], list[Any]] = {}
    for each in rows:
        row = list(each)
        held = found.setdefault((row[0], row[1], row[2]), row)
        if held[10] is None:
            held[10:15] = row[10:15]
    return [_result(held) for held in found.values() if held[5] != Verdict.OPEN.value]


def _result(held: list[Any]) -> Result:
    row, name, _, serial, at, verdict, smallest, largest, of, expanded, day, plan, by, instrument, issue, guard = held
    return Result(
        row,
        name,
        serial,
        day or "",
        at,
        _VERDICTS[verdict],
        smallest,
        largest,
        of,
        expanded,
        plan or "",
        by or "",
        instrument or "",
        issue or 0,
        guard,
    )
