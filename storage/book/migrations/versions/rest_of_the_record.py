"""The rest of the record: heads, materials, processes and tests, files kept with records, and where sheets are on their
way."""

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
    CREATE TABLE stage (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        stage TEXT NOT NULL,
        plan TEXT NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX stage_by_sheet ON stage (sheet, sequence, stage, plan)",
    """
    INSERT INTO stage (sequence, place, sheet, stage, plan)
    WITH
        stood AS (
            SELECT sequence, sheet, plan,
                CASE WHEN sealed THEN 'signed' WHEN open = 0 AND questions = 0 THEN 'complete' ELSE 'open' END AS stage
            FROM standing
        ),
        beside AS (
            SELECT *, lag(stage) OVER by_sheet AS stage_before, lag(plan) OVER by_sheet AS plan_before FROM stood
            WINDOW by_sheet AS (PARTITION BY sheet ORDER BY sequence)
        )
    SELECT sequence, 0, sheet, stage, plan FROM beside
    WHERE stage_before IS NULL OR stage_before <> stage OR plan_before <> plan
    """,
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

_APPEND_ONLY = ("head", "evidence", "stage", "attached_file")


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
