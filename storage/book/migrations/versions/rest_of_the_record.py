"""The rest of the record: heads, materials, processes and tests, and files kept with records."""

from __future__ import annotations

from alembic import op

revision = "2"
down_revision = "1"

_STATEMENTS = (
    """
    CREATE TABLE head (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        customer TEXT NOT NULL,
        "order" TEXT NOT NULL,
        lot TEXT NOT NULL,
        extent TEXT NOT NULL,
        baseline TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX head_by_sheet ON head (sheet, sequence)",
    """
    CREATE TABLE evidence (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        evidence TEXT NOT NULL,
        change TEXT NOT NULL,
        kind TEXT NOT NULL,
        name TEXT NOT NULL,
        specification TEXT NOT NULL,
        specification_revision TEXT NOT NULL,
        supplier TEXT NOT NULL,
        approved TEXT NOT NULL,
        certificate TEXT NOT NULL,
        reason TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX evidence_by_sheet ON evidence (sheet, sequence)",
    "CREATE INDEX sent_by_sheet ON sent (sheet, sequence)",
    "CREATE INDEX reopening_by_sheet ON reopening (sheet, sequence)",
    """
    CREATE TABLE attached_file (
        digest TEXT NOT NULL,
        sequence INTEGER NOT NULL,
        size INTEGER NOT NULL,
        content BLOB NOT NULL,
        PRIMARY KEY (digest),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     STRICT
    """,
)

_APPEND_ONLY = ("head", "evidence", "attached_file")


def upgrade() -> None:
    """Make the new tables, and the triggers that keep each append-only."""
    for statement in _STATEMENTS:
        op.execute(statement)
    for table in _APPEND_ONLY:
        for what in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_never_{what.lower()}d BEFORE {what} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, 'a book is never overwritten'); END"
            )
