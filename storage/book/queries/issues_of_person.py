"""How was a person entered, and issued anew since: with which duties and which certificate, when and by whom?"""

from __future__ import annotations

from msgspec import Struct
from sqlalchemy import Connection, select

from storage.book.tables import journal, person


class PersonIssue(Struct, frozen=True):
    """One issue of a person: their name, duties and certificate (PEM) from then on, who issued it (identity, empty for
    whoever opened the shop) and when (UTC µs)."""

    name: str
    duties: tuple[str, ...]
    certificate: str
    by: str
    at: int


def issues_of_person(connection: Connection, identity: str) -> list[PersonIssue]:
    """The issues of a person, the oldest first."""
    query = (
        select(person.c.name, person.c.duties, person.c.certificate, journal.c.person, journal.c.at)
        .join(journal, journal.c.sequence == person.c.sequence)
        .where(person.c.person == identity)
        .order_by(person.c.sequence)
    )
    return [
        PersonIssue(name, tuple(duties.split(", ")), certificate, by, at)
        for name, duties, certificate, by, at in connection.execute(query)
    ]
