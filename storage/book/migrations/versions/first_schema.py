"""The first schema of a book."""

from __future__ import annotations

from alembic import op

revision = "1"
down_revision = None

_STATEMENTS = (
    """
    CREATE TABLE journal (
        sequence INTEGER NOT NULL,
        identity TEXT NOT NULL,
        stream TEXT NOT NULL,
        act TEXT NOT NULL,
        person TEXT NOT NULL,
        at INTEGER NOT NULL,
        day TEXT NOT NULL,
        station TEXT NOT NULL,
        station_sequence INTEGER NOT NULL,
        previous TEXT NOT NULL,
        digest TEXT NOT NULL,
        form INTEGER NOT NULL,
        content BLOB NOT NULL,
        PRIMARY KEY (sequence),
        UNIQUE (station, station_sequence, at),
        UNIQUE (identity),
        UNIQUE (previous),
        UNIQUE (digest)
    )
     STRICT
    """,
    "CREATE INDEX journal_by_stream ON journal (stream, sequence)",
    """
    CREATE TABLE answer (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        question TEXT NOT NULL,
        sheet TEXT NOT NULL,
        answer TEXT NOT NULL,
        reading TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE assignment (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        characteristic TEXT NOT NULL,
        use TEXT NOT NULL,
        instrument TEXT NOT NULL,
        issue INTEGER,
        fitness TEXT NOT NULL,
        by_hand TEXT NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE characteristic (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        "plan" TEXT NOT NULL,
        part TEXT NOT NULL,
        characteristic TEXT NOT NULL,
        number TEXT NOT NULL,
        kind TEXT NOT NULL,
        form TEXT NOT NULL,
        written TEXT NOT NULL,
        unit TEXT NOT NULL,
        nominal INTEGER,
        lower INTEGER,
        upper INTEGER,
        "key" TEXT NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX characteristic_by_identity ON characteristic (characteristic)",
    """
    CREATE TABLE instrument_issue (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        instrument TEXT NOT NULL,
        issue INTEGER NOT NULL,
        tag TEXT NOT NULL,
        kind TEXT NOT NULL,
        name TEXT NOT NULL,
        due TEXT NOT NULL,
        standing TEXT NOT NULL,
        PRIMARY KEY (sequence, place),
        UNIQUE (instrument, issue),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE judgement (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        part TEXT NOT NULL,
        characteristic TEXT NOT NULL,
        piece TEXT NOT NULL,
        verdict TEXT NOT NULL,
        smallest INTEGER,
        largest INTEGER,
        "of" INTEGER NOT NULL,
        out_by INTEGER,
        expanded INTEGER,
        rule TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX judgement_by_characteristic ON judgement (part, characteristic, at)",
    """
    CREATE TABLE note (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        characteristic TEXT NOT NULL,
        piece TEXT NOT NULL,
        text TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE person (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        person TEXT NOT NULL,
        name TEXT NOT NULL,
        duties TEXT NOT NULL,
        certificate TEXT NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE piece (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        piece TEXT NOT NULL,
        serial TEXT NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX piece_by_serial ON piece (serial)",
    "CREATE INDEX piece_by_sheet ON piece (sheet)",
    """
    CREATE TABLE plan_issue (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        "plan" TEXT NOT NULL,
        part TEXT NOT NULL,
        issue INTEGER NOT NULL,
        number TEXT NOT NULL,
        revision TEXT NOT NULL,
        name TEXT NOT NULL,
        drawing TEXT NOT NULL,
        drawing_revision TEXT NOT NULL,
        customer TEXT NOT NULL,
        rows INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        UNIQUE (part, issue),
        FOREIGN KEY(sequence) REFERENCES journal (sequence),
        UNIQUE ("plan")
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE question (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        question TEXT NOT NULL,
        sheet TEXT NOT NULL,
        reading TEXT NOT NULL,
        characteristic TEXT NOT NULL,
        piece TEXT NOT NULL,
        code TEXT NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE reading (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        reading TEXT NOT NULL,
        sheet TEXT NOT NULL,
        part TEXT NOT NULL,
        characteristic TEXT NOT NULL,
        piece TEXT NOT NULL,
        slot_place TEXT NOT NULL,
        slot_repeat INTEGER NOT NULL,
        slot_role TEXT NOT NULL,
        amount INTEGER,
        kind TEXT NOT NULL,
        unit TEXT NOT NULL,
        written TEXT NOT NULL,
        decimals INTEGER,
        observed TEXT NOT NULL,
        "plan" TEXT NOT NULL,
        use TEXT NOT NULL,
        "by" TEXT NOT NULL,
        taken INTEGER NOT NULL,
        day TEXT NOT NULL,
        replaces TEXT NOT NULL,
        reason TEXT NOT NULL,
        indication INTEGER NOT NULL,
        answers TEXT NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX reading_by_characteristic ON reading (part, characteristic, taken)",
    """
    CREATE TABLE reading_instrument (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        reading TEXT NOT NULL,
        sheet TEXT NOT NULL,
        instrument TEXT NOT NULL,
        issue INTEGER NOT NULL,
        taken INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX reading_by_instrument ON reading_instrument (instrument, taken)",
    """
    CREATE TABLE reopening (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        round INTEGER NOT NULL,
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
    CREATE TABLE rules_issue (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        issue INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence),
        UNIQUE (issue)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE seal (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        round INTEGER NOT NULL,
        digest TEXT NOT NULL,
        algorithm TEXT NOT NULL,
        signature TEXT NOT NULL,
        certificate TEXT NOT NULL,
        incomplete TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        UNIQUE (sheet, round),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE sent (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        form TEXT NOT NULL,
        name TEXT NOT NULL,
        digest TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX sent_by_digest ON sent (digest)",
    """
    CREATE TABLE sheet (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        part TEXT NOT NULL,
        "plan" TEXT NOT NULL,
        made_by TEXT NOT NULL,
        made_at INTEGER NOT NULL,
        day TEXT NOT NULL,
        customer TEXT NOT NULL,
        "order" TEXT NOT NULL,
        lot TEXT NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence),
        UNIQUE (sheet)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX sheet_by_part ON sheet (part, sequence)",
    """
    CREATE TABLE shop (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        name TEXT NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    """
    CREATE TABLE standing (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        "plan" TEXT NOT NULL,
        round INTEGER NOT NULL,
        sealed INTEGER NOT NULL,
        conforming INTEGER NOT NULL,
        marginal INTEGER NOT NULL,
        not_conforming INTEGER NOT NULL,
        open INTEGER NOT NULL,
        questions INTEGER NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
    "CREATE INDEX standing_by_sheet ON standing (sheet, sequence)",
    """
    CREATE TABLE withdrawal (
        sequence INTEGER NOT NULL,
        place INTEGER NOT NULL,
        sheet TEXT NOT NULL,
        reading TEXT NOT NULL,
        change TEXT NOT NULL,
        reason TEXT NOT NULL,
        replaced_by TEXT NOT NULL,
        "by" TEXT NOT NULL,
        at INTEGER NOT NULL,
        PRIMARY KEY (sequence, place),
        FOREIGN KEY(sequence) REFERENCES journal (sequence)
    )
     WITHOUT ROWID,
     STRICT
    """,
)

_APPEND_ONLY = (
    "journal",
    "shop",
    "person",
    "instrument_issue",
    "rules_issue",
    "plan_issue",
    "characteristic",
    "sheet",
    "piece",
    "assignment",
    "reading",
    "reading_instrument",
    "withdrawal",
    "judgement",
    "question",
    "answer",
    "note",
    "seal",
    "reopening",
    "sent",
    "standing",
)


def upgrade() -> None:
    """Make every table, and the triggers that keep each append-only."""
    for statement in _STATEMENTS:
        op.execute(statement)
    for table in _APPEND_ONLY:
        for what in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_never_{what.lower()}d BEFORE {what} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, 'a book is never overwritten'); END"
            )
