"""What did this characteristic come to on earlier sheets of the part?"""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace
from sqlalchemy import Connection, RowMapping, and_, select

from storage.book.queries.waiting import waiting_cells
from storage.book.tables import (
    instrument_issue,
    journal,
    judgement,
    piece,
    plan_issue,
    reading,
    reading_instrument,
    sheet,
)

#: Judgements looked through for each result that is wanted: one cell is judged anew with every repeat and place.
LOOKED_THROUGH = 8


class EarlierResult(Struct, frozen=True):
    """What one piece of an earlier sheet came to: the day it was last read (ISO), its serial, the verdict's value.

    ``smallest`` and ``largest`` are the results as counts of ``kind``, None where no number was read; for a mean of n
    they are the sum, with ``of`` = n. ``tag`` names the instrument, ``revision`` is the part's then, ``decimals`` those
    that the reading was written with; ``waits`` is whether a slip question about it has no answer.
    """

    sheet: str
    day: str
    serial: str
    verdict: str
    smallest: int | None
    largest: int | None
    of: int
    kind: str
    decimals: int
    tag: str
    revision: str
    waits: bool = False


def earlier_results(
    connection: Connection, part: str, characteristic: str, before: str, *, limit: int = 12
) -> list[EarlierResult]:
    """The results of a characteristic, through all issues of its part, on the sheets that were made before the sheet
    ``before``; the newest first. Four statements, none reads more than a few rows for each result."""
    made = connection.execute(select(sheet.c.sequence).where(sheet.c.sheet == before)).scalar()
    query = (
        select(judgement.c.sequence, judgement.c.place, judgement.c.sheet, judgement.c.piece, judgement.c.verdict)
        .join(sheet, sheet.c.sheet == judgement.c.sheet)
        .where(judgement.c.part == part, judgement.c.characteristic == characteristic, sheet.c.sequence < made)
        .order_by(judgement.c.at.desc(), judgement.c.sequence.desc())
        .limit(limit * LOOKED_THROUGH)
    )
    newest: dict[tuple[str, str], tuple[int, int]] = {}
    gone: set[tuple[str, str]] = set()
    for sequence, place, name, of, verdict in connection.execute(query):
        if (name, of) not in newest and (name, of) not in gone:
            if verdict == "open":
                gone.add((name, of))
            else:
                newest[name, of] = (sequence, place)
    cells = list(newest)[:limit]
    waiting = {
        (name, of) for name, row, of in waiting_cells(connection, {name for name, _ in cells}) if row == characteristic
    }
    told = _told(connection, [newest[cell] for cell in cells])
    return [replace(one, waits=cell in waiting) for cell, one in zip(cells, told, strict=True)]


def _told(connection: Connection, places: list[tuple[int, int]]) -> list[EarlierResult]:
    """Each judgement with the reading of its own entry; one that followed from taking back has none."""
    query = (
        select(
            judgement.c.sequence,
            judgement.c.place,
            judgement.c.sheet,
            journal.c.day,
            piece.c.serial,
            judgement.c.verdict,
            judgement.c.smallest,
            judgement.c.largest,
            judgement.c.of,
            reading.c.kind,
            reading.c.decimals,
            instrument_issue.c.tag,
            plan_issue.c.revision,
        )
        .join(journal, journal.c.sequence == judgement.c.sequence)
        .join(piece, and_(piece.c.sheet == judgement.c.sheet, piece.c.piece == judgement.c.piece))
        .outerjoin(reading, reading.c.sequence == judgement.c.sequence)
        .outerjoin(plan_issue, plan_issue.c.plan == reading.c.plan)
        .outerjoin(
            reading_instrument,
            and_(reading_instrument.c.sequence == judgement.c.sequence, reading_instrument.c.place == 0),
        )
        .outerjoin(
            instrument_issue,
            and_(
                instrument_issue.c.instrument == reading_instrument.c.instrument,
                instrument_issue.c.issue == reading_instrument.c.issue,
            ),
        )
        .where(judgement.c.sequence.in_([sequence for sequence, _ in places]))
    )
    found = {(row["sequence"], row["place"]): row for row in connection.execute(query).mappings()}
    return [_result(found[at]) for at in places]


def _result(row: RowMapping) -> EarlierResult:
    return EarlierResult(
        sheet=row["sheet"],
        day=row["day"],
        serial=row["serial"],
        verdict=row["verdict"],
        smallest=row["smallest"],
        largest=row["largest"],
        of=row["of"],
        kind=row["kind"] or "",
        decimals=row["decimals"] or 0,
        tag=row["tag"] or "",
        revision=row["revision"] or "",
    )
