"""Gauge studies: as they were started, what was read, what was answered to a question, how one ended, and which study
is no longer in use. Sheets marked for review by a found error, and which signed PDF was kept after which signature."""

from __future__ import annotations

from alembic import op

revision = "4"
down_revision = "3"

_STATEMENTS = (
    """
    CREATE TABLE gauge_study (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        study TEXT NOT NULL,
        kind TEXT NOT NULL,
        title TEXT NOT NULL,
        instrument TEXT NOT NULL,
        issue INTEGER NOT NULL,
        part TEXT NOT NULL,
        characteristic TEXT NOT NULL,
        runs INTEGER NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE study_reading (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        study TEXT NOT NULL,
        reading TEXT NOT NULL,
        run INTEGER NOT NULL,
        amount INTEGER,
        written TEXT NOT NULL,
        replaces TEXT NOT NULL,
        reason TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX study_reading_by_study ON study_reading (study, run, sequence)",
    """
    CREATE TABLE study_answer (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        study TEXT NOT NULL,
        reading TEXT NOT NULL,
        answer TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE study_end (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        study TEXT NOT NULL,
        how TEXT NOT NULL,
        reason TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE study_withdrawal (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        study TEXT NOT NULL,
        instrument TEXT NOT NULL,
        reason TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX study_withdrawal_by_instrument ON study_withdrawal (instrument, sequence)",
    """
    CREATE TABLE sheet_mark (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        mark TEXT NOT NULL,
        change TEXT NOT NULL,
        instrument TEXT NOT NULL,
        issue INTEGER NOT NULL,
        error INTEGER NOT NULL,
        size INTEGER,
        readings INTEGER NOT NULL,
        words TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX mark_by_sheet ON sheet_mark (sheet, sequence)",
    "CREATE INDEX mark_by_instrument ON sheet_mark (instrument, sequence)",
    """
    CREATE TABLE document (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        round INTEGER NOT NULL,
        signs TEXT NOT NULL,
        stamped INTEGER NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX document_by_sheet ON document (sheet, sequence)",
    "CREATE INDEX standing_marginal ON standing (sheet) WHERE marginal > 0",
    "CREATE INDEX standing_not_conforming ON standing (sheet) WHERE not_conforming > 0",
)

_APPEND_ONLY = (
    "gauge_study",
    "study_reading",
    "study_answer",
    "study_end",
    "study_withdrawal",
    "sheet_mark",
    "document",
)


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
