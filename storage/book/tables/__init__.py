"""The tables of a book: the journal, which is the truth, and its projection, which is asked.

Nothing is ever overwritten: every table carries triggers that abort UPDATE and DELETE. A projection row is named by
the journal entry it follows from (``sequence``) and its place among that entry's rows of the same table, so that
rows lie on disk in the order they were written. Times are UTC microseconds, lengths picometres, angles
micro-arcseconds; computed numbers are decimal text.
"""

from __future__ import annotations

from sqlalchemy import Table

from storage.book.tables.making import attached_file, journal, metadata, schema_step
from storage.book.tables.measured import (
    answer,
    assignment,
    decision_rule,
    declared_repeats,
    doubt,
    judgement,
    note,
    piece,
    question,
    reading,
    reading_instrument,
    sheet,
    temperature,
    withdrawal,
)
from storage.book.tables.proving import (
    check_made,
    gauge_study,
    reopened_reading,
    study,
    study_answer,
    study_end,
    study_reading,
    study_withdrawal,
    upset,
)
from storage.book.tables.review import (
    nonconformance,
    piece_change,
    point_answer,
    read_again,
    sheet_link,
    sheet_mark,
    sheet_return,
)
from storage.book.tables.shop import characteristic, instrument_issue, person, plan_issue, rules_issue, shop
from storage.book.tables.signed import document, evidence, head, reopening, seal, sent, statement
from storage.book.tables.standing import in_doubt, stage, standing

#: The tables that follow from the journal, in the order in which a book has always had them.
PROJECTION: dict[str, Table] = {
    table.name: table
    for table in (
        shop,
        person,
        instrument_issue,
        rules_issue,
        plan_issue,
        characteristic,
        sheet,
        piece,
        assignment,
        reading,
        reading_instrument,
        withdrawal,
        judgement,
        question,
        answer,
        note,
        seal,
        reopening,
        sent,
        head,
        evidence,
        doubt,
        check_made,
        upset,
        study,
        gauge_study,
        study_reading,
        study_answer,
        study_end,
        study_withdrawal,
        reopened_reading,
        temperature,
        declared_repeats,
        decision_rule,
        standing,
        nonconformance,
        sheet_link,
        piece_change,
        point_answer,
        sheet_mark,
        read_again,
        sheet_return,
        statement,
        document,
        in_doubt,
        stage,
    )
}

#: Every table, in the order in which those of a new book are made.
IN_ORDER = (journal, schema_step, *PROJECTION.values(), attached_file)


def guards(table: str) -> tuple[str, str]:
    """The two triggers that keep a table append-only."""
    return tuple(  # type: ignore[return-value]
        f"CREATE TRIGGER {table}_never_{what.lower()}d BEFORE {what} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, 'a book is never overwritten'); END"
        for what in ("UPDATE", "DELETE")
    )


APPEND_ONLY = (journal.name, *PROJECTION, attached_file.name)

__all__ = [
    "APPEND_ONLY",
    "IN_ORDER",
    "PROJECTION",
    "answer",
    "assignment",
    "attached_file",
    "characteristic",
    "check_made",
    "decision_rule",
    "declared_repeats",
    "document",
    "doubt",
    "evidence",
    "gauge_study",
    "guards",
    "head",
    "in_doubt",
    "instrument_issue",
    "journal",
    "judgement",
    "metadata",
    "nonconformance",
    "note",
    "person",
    "piece",
    "piece_change",
    "plan_issue",
    "point_answer",
    "question",
    "read_again",
    "reading",
    "reading_instrument",
    "reopened_reading",
    "reopening",
    "rules_issue",
    "schema_step",
    "seal",
    "sent",
    "sheet",
    "sheet_link",
    "sheet_mark",
    "sheet_return",
    "shop",
    "stage",
    "standing",
    "statement",
    "study",
    "study_answer",
    "study_end",
    "study_reading",
    "study_withdrawal",
    "temperature",
    "upset",
    "withdrawal",
]
