"""Which characteristics of this plan issue were ever read, under whichever issue?"""

from __future__ import annotations

from sqlalchemy import Connection, exists, select

from storage.book.tables import characteristic, plan_issue, reading


def measured_rows(connection: Connection, plan: str) -> frozenset[str]:
    """The identities of the plan issue's characteristics that some sheet holds a reading of, withdrawn ones too."""
    read = exists().where(
        reading.c.part == characteristic.c.part, reading.c.characteristic == characteristic.c.characteristic
    )
    query = (
        select(characteristic.c.characteristic)
        .join(plan_issue, plan_issue.c.sequence == characteristic.c.sequence)
        .where(plan_issue.c.plan == plan, read)
    )
    return frozenset(connection.execute(query).scalars())
