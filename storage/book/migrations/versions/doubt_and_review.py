"""Doubt and review: checks before use, mishaps, studies, temperatures, repeats, decision rules, what verdicts came to
beyond their row; nonconformances, what befell pieces, answers, returns, statements, and links between sheets; and what
older rows are now found by."""

from __future__ import annotations

from alembic import op

revision = "3"
down_revision = "2"

_STATEMENTS = (
    """
    CREATE TABLE doubt (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        characteristic TEXT NOT NULL,
        piece TEXT NOT NULL,
        guard INTEGER,
        probability TEXT NOT NULL,
        corrections INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE check_made (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        made TEXT NOT NULL,
        instrument TEXT NOT NULL,
        issue INTEGER NOT NULL,
        unit TEXT NOT NULL,
        fitted TEXT NOT NULL,
        passed INTEGER NOT NULL,
        closing INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        last_good TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX check_by_instrument ON check_made (instrument, fitted, passed, sequence)",
    """
    CREATE TABLE upset (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        instrument TEXT NOT NULL,
        what TEXT NOT NULL,
        note TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX upset_by_instrument ON upset (instrument)",
    """
    CREATE TABLE study (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        study TEXT NOT NULL,
        instrument TEXT NOT NULL,
        issue INTEGER NOT NULL,
        fitted TEXT NOT NULL,
        groups INTEGER NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE reopened_reading (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        reading TEXT NOT NULL,
        made TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX reopened_by_sheet ON reopened_reading (sheet)",
    """
    CREATE TABLE temperature (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        part INTEGER NOT NULL,
        instrument INTEGER NOT NULL,
        within INTEGER NOT NULL,
        thermometer TEXT NOT NULL,
        soak_minutes INTEGER NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE declared_repeats (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        characteristic TEXT NOT NULL,
        piece TEXT NOT NULL,
        repeats INTEGER NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE decision_rule (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        kind TEXT NOT NULL,
        probability INTEGER NOT NULL,
        by_expanded INTEGER NOT NULL,
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
    CREATE TABLE in_doubt (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        cells INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX in_doubt_by_sheet ON in_doubt (sheet, sequence)",
    """
    CREATE TABLE nonconformance (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        part TEXT NOT NULL,
        nonconformance TEXT NOT NULL,
        change TEXT NOT NULL,
        number TEXT NOT NULL,
        piece TEXT NOT NULL,
        rows INTEGER NOT NULL,
        what TEXT NOT NULL,
        disposition TEXT NOT NULL,
        document TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX nonconformance_by_number ON nonconformance (number)",
    "CREATE INDEX nonconformance_by_sheet ON nonconformance (sheet, sequence)",
    """
    CREATE TABLE piece_change (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        piece TEXT NOT NULL,
        change TEXT NOT NULL,
        round INTEGER NOT NULL,
        nonconformance TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE point_answer (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        point TEXT NOT NULL,
        words TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE read_again (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        reading TEXT NOT NULL,
        characteristic TEXT NOT NULL,
        piece TEXT NOT NULL,
        amount INTEGER,
        written TEXT NOT NULL,
        observed TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE sheet_return (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        characteristic TEXT NOT NULL,
        piece TEXT NOT NULL,
        words TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX return_by_sheet ON sheet_return (sheet, sequence)",
    """
    CREATE TABLE statement (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        kind TEXT NOT NULL,
        round INTEGER NOT NULL,
        digest TEXT NOT NULL,
        algorithm TEXT NOT NULL,
        signature TEXT NOT NULL,
        certificate TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX statement_by_sheet ON statement (sheet, sequence)",
    """
    CREATE TABLE sheet_link (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        other TEXT NOT NULL,
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
    "CREATE INDEX link_by_other ON sheet_link (other)",
    "CREATE INDEX judgement_by_cell ON judgement (sheet, characteristic, piece)",
    "CREATE INDEX withdrawal_by_reading ON withdrawal (reading)",
    "CREATE INDEX instrument_on_sheet ON reading_instrument (instrument, sheet, taken)",
)

_APPEND_ONLY = (
    "sheet_link",
    "nonconformance",
    "piece_change",
    "point_answer",
    "read_again",
    "sheet_return",
    "statement",
    "doubt",
    "check_made",
    "upset",
    "study",
    "reopened_reading",
    "temperature",
    "declared_repeats",
    "decision_rule",
    "in_doubt",
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
