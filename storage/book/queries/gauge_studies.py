"""Which gauge studies are there, and how far are they?"""

from __future__ import annotations

from msgspec import Struct
from sqlalchemy import Connection, func, select

from inspection.studies.conducted import same_title
from storage.book.tables import gauge_study, study_end, study_reading


class ListedStudy(Struct, frozen=True):
    """One study as it is listed: ``read`` of its ``runs`` hold a reading; ``given_up`` or not."""

    study: str
    kind: str
    title: str
    instrument: str
    runs: int
    read: int
    at: int
    given_up: bool


def gauge_studies(connection: Connection, *, limit: int = 60) -> tuple[ListedStudy, ...]:
    """The newest studies first."""
    newest = select(gauge_study).order_by(gauge_study.c.sequence.desc()).limit(limit).subquery()
    read = (
        select(func.count(study_reading.c.run.distinct()))
        .where(study_reading.c.study == newest.c.study)
        .scalar_subquery()
    )
    ended = select(func.count()).where(study_end.c.study == newest.c.study).scalar_subquery()
    query = select(newest, read.label("read"), ended.label("ended")).order_by(newest.c.sequence.desc())
    return tuple(
        ListedStudy(row.study, row.kind, row.title, row.instrument, row.runs, row.read, row.at, bool(row.ended))
        for row in connection.execute(query)
    )


def studies_of_title(connection: Connection, title: str) -> tuple[str, ...]:
    """The studies of a title that were not given up, the newest first: there are few studies to a book."""
    ended = select(study_end.c.study)
    query = select(gauge_study.c.study, gauge_study.c.title).where(gauge_study.c.study.not_in(ended))
    found = connection.execute(query.order_by(gauge_study.c.sequence.desc()))
    return tuple(study for study, named in found if same_title(named, title))
