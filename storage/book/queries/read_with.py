"""What was read with an instrument in a time, and what did it come to? When was it last known to be good?"""

from __future__ import annotations

import json
from collections.abc import Iterable

from sqlalchemy import Connection, select

from inspection.measuring.proofs import CheckRecord
from inspection.sheet import events as ev
from inspection.sheet.canonical.forms import ENTRY_READERS
from inspection.sheet.traced import ReadWith
from storage.book.collecting import no_collecting
from storage.book.engines import driver_rows
from storage.book.tables import check_made, journal

#: More readings than this nobody goes through: the time is cut down first.
MOST_READINGS = 20_000
#: Checks of an instrument that are looked through for one near a size.
MOST_CHECKS = 200

#: The columns are the fields of ``ReadWith`` in their order. A cell has one newest judgement; a reading that was
#: replaced or taken back last counts no longer. Written out, for twenty thousand rows are read by it and a process that
#: has only begun would spend as long on putting it together as on a page of them; every column of them costs some
#: milliseconds.
_READ_WITH = """
    SELECT reading.reading, reading.sheet, reading.part, reading.characteristic, reading.piece, reading.plan,
        reading.amount, reading.unit, reading.written, reading.decimals, reading.taken, reading."by",
        judgement.smallest, judgement.largest, judgement."of", judgement.expanded, doubt.guard
    FROM reading_instrument
    JOIN reading
        ON reading.sequence = reading_instrument.sequence AND reading.reading = reading_instrument.reading
    JOIN judgement
        ON judgement.sequence = (
            SELECT max(other.sequence) FROM judgement AS other
            WHERE other.sheet = reading.sheet AND other.characteristic = reading.characteristic
                AND other.piece = reading.piece
        )
        AND judgement.characteristic = reading.characteristic AND judgement.piece = reading.piece
    LEFT JOIN doubt
        ON doubt.sequence = judgement.sequence AND doubt.characteristic = judgement.characteristic
        AND doubt.piece = judgement.piece
    WHERE reading_instrument.instrument = ? AND reading_instrument.taken > ? AND reading_instrument.taken <= ?
        AND coalesce(
            (SELECT change FROM withdrawal WHERE withdrawal.reading = reading.reading ORDER BY sequence DESC LIMIT 1),
            'put back'
        ) = 'put back'
    ORDER BY reading_instrument.taken, reading_instrument.sequence
    LIMIT ?
"""
_SERIALS = """
    SELECT piece.sheet, piece.piece, piece.serial FROM piece WHERE piece.sheet IN (SELECT value FROM json_each(?))
"""


def read_with(
    connection: Connection, instrument: str, since: int, until: int, *, limit: int = MOST_READINGS
) -> tuple[ReadWith, ...]:
    """The readings that count and were taken with an instrument after ``since`` and up to ``until`` (UTC µs), oldest
    first, ``limit`` of them. One statement.

    Names come again and again, and are held once: twenty thousand rows are then half as much memory, which a process
    that has only begun has still to be given, page by page.
    """
    same = dict[str, str]().setdefault
    with no_collecting():
        rows = driver_rows(connection, _READ_WITH, (instrument, since, until, limit))
        return tuple(
            [
                ReadWith(
                    reading, same(sheet, sheet), same(part, part), same(row, row), same(piece, piece), same(plan, plan),
                    amount, same(unit, unit), written, decimals, taken, same(by, by), smallest, largest, of, u, g,
                )
                for reading, sheet, part, row, piece, plan, amount, unit, written, decimals, taken, by, smallest,
                largest, of, u, g in rows
            ]
        )  # fmt: skip


def serials_on(connection: Connection, sheets: Iterable[str]) -> dict[tuple[str, str], str]:
    """The serials of all pieces of sheets, by sheet and piece."""
    rows = driver_rows(connection, _SERIALS, (json.dumps(list(sheets)),))
    return {(sheet, piece): serial for sheet, piece, serial in rows}


def last_good_check(
    connection: Connection, instrument: str, before: int, size: int | None, within: int
) -> CheckRecord | None:
    """The newest passed check of an instrument before a moment (UTC µs) that read a block or standard no farther than
    ``within`` from ``size`` (counts), or any passed one where ``size`` is None. One statement for as many as are
    looked through."""
    query = (
        select(journal.c.form, journal.c.content)
        .join(check_made, check_made.c.sequence == journal.c.sequence)
        .where(check_made.c.instrument == instrument, check_made.c.passed == 1, check_made.c.at < before)
        .order_by(check_made.c.sequence.desc())
        .limit(MOST_CHECKS if size is not None else 1)
    )
    for form, content in connection.execute(query):
        for event in ENTRY_READERS[form](content).events:
            if isinstance(event, ev.CheckRecorded) and (size is None or _is_near(event.check, size, within)):
                return event.check
    return None


def _is_near(check: CheckRecord, size: int, within: int) -> bool:
    return any(answer.size is not None and abs(answer.size - size) <= within for answer in check.answers)
