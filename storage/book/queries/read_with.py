"""What was read with an instrument in a time, and what did it come to? When was it last known to be good?"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, ScalarSelect, and_, func, select

from inspection.measuring.proofs import CheckRecord
from inspection.measuring.verdict import Verdict
from inspection.sheet import events as ev
from inspection.sheet.canonical.forms import ENTRY_READERS
from inspection.sheet.traced import ReadWith
from storage.book.tables import check_made, doubt, journal, judgement, piece, reading, reading_instrument, withdrawal

#: More readings than this nobody goes through: the time is cut down first.
MOST_READINGS = 20_000
#: Checks of an instrument that are looked through for one near a size.
MOST_CHECKS = 200


_other = judgement.alias()
_NEWEST = (
    select(func.max(_other.c.sequence))
    .where(
        _other.c.sheet == reading.c.sheet,
        _other.c.characteristic == reading.c.characteristic,
        _other.c.piece == reading.c.piece,
    )
    .correlate(reading)
    .scalar_subquery()
)
_VERDICTS = {each.value: each for each in Verdict}


def read_with(
    connection: Connection, instrument: str, since: int, until: int, *, limit: int = MOST_READINGS
) -> tuple[ReadWith, ...]:
    """The readings that count and were taken with an instrument after ``since`` and up to ``until`` (UTC µs), oldest
    first, ``limit`` of them. One statement."""
    on = (
        reading_instrument.c.instrument == instrument,
        reading_instrument.c.taken > since,
        reading_instrument.c.taken <= until,
    )
    cell = and_(
        judgement.c.sequence == _NEWEST,
        judgement.c.characteristic == reading.c.characteristic,
        judgement.c.piece == reading.c.piece,
    )
    doubted = and_(
        doubt.c.sequence == judgement.c.sequence,
        doubt.c.characteristic == judgement.c.characteristic,
        doubt.c.piece == judgement.c.piece,
    )
    query = (
        select(
            reading.c.reading,
            reading.c.sheet,
            reading.c.part,
            reading.c.characteristic,
            reading.c.piece,
            piece.c.serial,
            reading.c.plan,
            reading.c.amount,
            reading.c.kind,
            reading.c.unit,
            reading.c.written,
            reading.c.decimals,
            reading.c.taken,
            reading.c.day,
            reading.c.by,
            reading_instrument.c.issue,
            judgement.c.verdict,
            judgement.c.smallest,
            judgement.c.largest,
            judgement.c.of,
            judgement.c.expanded,
            doubt.c.guard,
        )
        .select_from(reading_instrument)
        .join(
            reading,
            and_(
                reading.c.sequence == reading_instrument.c.sequence, reading.c.reading == reading_instrument.c.reading
            ),
        )
        .join(piece, and_(piece.c.sheet == reading.c.sheet, piece.c.piece == reading.c.piece))
        .join(judgement, cell)
        .outerjoin(doubt, doubted)
        .where(*on, func.coalesce(_last_change(), "put back") == "put back")
        .order_by(reading_instrument.c.taken, reading_instrument.c.sequence)
        .limit(limit)
    )
    return tuple(_read(list(row)) for row in connection.execute(query))


def _last_change() -> ScalarSelect[Any]:
    """What was done to a reading last, None if nothing was: replaced and taken back ones count no longer."""
    query = select(withdrawal.c.change).where(withdrawal.c.reading == reading.c.reading)
    return query.order_by(withdrawal.c.sequence.desc()).limit(1).correlate(reading).scalar_subquery()


def _read(row: list[Any]) -> ReadWith:
    row[16] = _VERDICTS[row[16]]
    return ReadWith(*row)


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
