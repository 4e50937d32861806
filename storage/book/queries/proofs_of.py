"""What is on record of how this instrument behaves: its newest checks, mishaps and studies?"""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy import Connection, Select, Table, select, union

from inspection.measuring.proofs import Proof
from inspection.sheet import events as ev
from inspection.sheet.canonical.forms import ENTRY_READERS
from storage.book.tables import check_made, journal, study, study_withdrawal, upset


def proofs_of(connection: Connection, instrument: str, *, limit: int = 40) -> tuple[Proof, ...]:
    """The newest records of an instrument, oldest first; one statement, however many the shop keeps."""
    sequences = union(*(_newest(table, instrument, limit) for table in (check_made, upset, study, study_withdrawal)))
    query = (
        select(journal.c.form, journal.c.content)
        .where(journal.c.sequence.in_(sequences))
        .order_by(journal.c.sequence.desc())
        .limit(limit)
    )
    records = [ENTRY_READERS[form](content) for form, content in connection.execute(query)]
    found = [proof for record in reversed(records) for event in record.events for proof in _proofs(event)]
    return tuple(proof for proof in found if proof.instrument == instrument)


def _newest(table: Table, instrument: str, limit: int) -> Select[tuple[int]]:
    """The entries of one table that are about the instrument, the newest of them."""
    query = select(table.c.sequence).where(table.c.instrument == instrument)
    newest = query.order_by(table.c.sequence.desc()).limit(limit).subquery()
    return select(newest.c.sequence)


def _proofs(event: ev.Event) -> Iterator[Proof]:
    match event:
        case ev.CheckRecorded(check=proof) | ev.UpsetReported(upset=proof) | ev.StudyRecorded(study=proof):
            yield proof
        case ev.StudyWithdrawn(withdrawal=withdrawal):
            yield withdrawal
