"""What did a characteristic of a part come to in time; and what did all of them, on the newest sheets?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, Select, and_, literal_column, select

from inspection.measuring.verdict import Verdict
from inspection.studies.history import Result
from storage.book.tables import doubt, judgement, piece, reading, reading_instrument, sheet

#: So many judgements of a characteristic are looked through, the newest; a cell that is read again is judged again.
MOST_JUDGEMENTS = 10_000
#: So many of a part's newest sheets are looked at for all of its characteristics.
MOST_SHEETS = 60

_VERDICTS = {each.value: each for each in Verdict}


def results_of_characteristic(
    connection: Connection, part: str, characteristic: str, *, limit: int = MOST_JUDGEMENTS
) -> tuple[Result, ...]:
    """The results of a characteristic through all issues of its part, oldest first: the newest of each piece, open ones
    left out. One statement."""
    query = (
        _judgements()
        .where(judgement.c.part == part, judgement.c.characteristic == characteristic)
        .order_by(judgement.c.at.desc(), judgement.c.sequence.desc())
        .limit(limit)
    )
    return tuple(reversed(_newest(connection.execute(query).all())))


def results_of_part(
    connection: Connection, part: str, *, sheets: int = MOST_SHEETS
) -> Mapping[str, tuple[Result, ...]]:
    """The results of every characteristic on the newest sheets of a part, as above. One statement."""
    page = select(sheet.c.sheet).where(sheet.c.part == part).order_by(sheet.c.sequence.desc()).limit(sheets)
    # With a plus the order is no reason to go through every judgement there is in the order of the table.
    last_first: ColumnElement[int] = literal_column("+judgement.sequence").desc()
    query = _judgements().where(judgement.c.sheet.in_(page)).order_by(last_first)
    found: dict[str, list[Result]] = defaultdict(list)
    for result in reversed(_newest(connection.execute(query).all())):
        found[result.characteristic].append(result)
    return {row: tuple(results) for row, results in found.items()}


def _judgements() -> Select[Any]:
    """Judgements, each with the reading that it followed from; one that followed from another act has none."""
    own = and_(
        reading.c.sequence == judgement.c.sequence,
        reading.c.characteristic == judgement.c.characteristic,
        reading.c.piece == judgement.c.piece,
    )
    used = and_(reading_instrument.c.sequence == reading.c.sequence, reading_instrument.c.reading == reading.c.reading)
    told = and_(
        doubt.c.sequence == judgement.c.sequence,
        doubt.c.characteristic == judgement.c.characteristic,
        doubt.c.piece == judgement.c.piece,
    )
    return (
        select(
            judgement.c.characteristic,
            judgement.c.sheet,
            judgement.c.piece,
            piece.c.serial,
            judgement.c.at,
            judgement.c.verdict,
            judgement.c.smallest,
            judgement.c.largest,
            judgement.c.of,
            judgement.c.expanded,
            reading.c.day,
            reading.c.plan,
            reading.c.by,
            reading_instrument.c.instrument,
            reading_instrument.c.issue,
            doubt.c.guard,
        )
        .join(piece, and_(piece.c.sheet == judgement.c.sheet, piece.c.piece == judgement.c.piece))
        .outerjoin(reading, own)
        .outerjoin(reading_instrument, used)
        .outerjoin(doubt, told)
    )


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
