"""The tables of a book: the journal, which is the truth, and its projection, which is asked.

Nothing is ever overwritten: every table carries triggers that abort UPDATE and DELETE. A projection row is named by
the journal entry it follows from (``sequence``) and its place among that entry's rows of the same table, so that
rows lie on disk in the order they were written. Times are UTC microseconds, lengths picometres, angles
micro-arcseconds; computed numbers are decimal text.
"""

from __future__ import annotations

from sqlalchemy import (
    Column,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    Text,
    UniqueConstraint,
    text,
)

metadata = MetaData()

journal = Table(
    "journal",
    metadata,
    Column("sequence", Integer, primary_key=True, autoincrement=False),
    Column("identity", Text, nullable=False, unique=True),
    Column("stream", Text, nullable=False),  # "shop", or the identity of a part or a sheet
    Column("act", Text, nullable=False),
    Column("person", Text, nullable=False),
    Column("at", Integer, nullable=False),
    Column("day", Text, nullable=False),
    Column("station", Text, nullable=False),
    Column("station_sequence", Integer, nullable=False),
    Column("previous", Text, nullable=False, unique=True),
    Column("digest", Text, nullable=False, unique=True),
    Column("form", Integer, nullable=False),
    Column("content", LargeBinary, nullable=False),
    UniqueConstraint("station", "station_sequence", "at"),
    Index("journal_by_stream", "stream", "sequence"),
    sqlite_strict=True,
)

#: Alembic's own note of the step a book stands at; ``user_version`` in the header says the same.
schema_step = Table(
    "schema_step",
    metadata,
    Column("version_num", String(32), nullable=False),
    PrimaryKeyConstraint("version_num", name="schema_step_pkc"),
)


def _text(name: str) -> Column[str]:
    return Column(name, Text, nullable=False)


def _number(name: str) -> Column[int]:
    return Column(name, Integer, nullable=False)


def _maybe(name: str) -> Column[int]:
    return Column(name, Integer, nullable=True)


def _projection(name: str, *parts: Column[str] | Column[int] | Index | UniqueConstraint) -> Table:
    return Table(
        name,
        metadata,
        Column("sequence", Integer, ForeignKey("journal.sequence"), nullable=False),
        Column("place", Integer, nullable=False),
        *parts,
        PrimaryKeyConstraint("sequence", "place"),
        sqlite_with_rowid=False,
        sqlite_strict=True,
    )


shop = _projection("shop", _text("name"))

person = _projection("person", _text("person"), _text("name"), _text("duties"), _text("certificate"))

instrument_issue = _projection(
    "instrument_issue",
    _text("instrument"),
    _number("issue"),
    _text("tag"),
    _text("kind"),
    _text("name"),
    _text("due"),
    _text("standing"),
    UniqueConstraint("instrument", "issue"),
)

rules_issue = _projection("rules_issue", Column("issue", Integer, nullable=False, unique=True))

plan_issue = _projection(
    "plan_issue",
    Column("plan", Text, nullable=False, unique=True),
    _text("part"),
    _number("issue"),
    _text("number"),
    _text("revision"),
    _text("name"),
    _text("drawing"),
    _text("drawing_revision"),
    _text("customer"),
    _number("rows"),
    UniqueConstraint("part", "issue"),
)

characteristic = _projection(
    "characteristic",
    _text("plan"),
    _text("part"),
    _text("characteristic"),
    _text("number"),
    _text("kind"),
    _text("form"),
    _text("written"),
    _text("unit"),
    _maybe("nominal"),
    _maybe("lower"),
    _maybe("upper"),
    _text("key"),
    Index("characteristic_by_identity", "characteristic"),
)

sheet = _projection(
    "sheet",
    Column("sheet", Text, nullable=False, unique=True),
    _text("part"),
    _text("plan"),
    _text("made_by"),
    _number("made_at"),
    _text("day"),
    _text("customer"),
    _text("order"),
    _text("lot"),
    Index("sheet_by_part", "part", "sequence"),
)

piece = _projection(
    "piece",
    _text("sheet"),
    _text("piece"),
    _text("serial"),
    Index("piece_by_sheet", "sheet"),
    Index("piece_by_serial", "serial"),
)

assignment = _projection(
    "assignment",
    _text("sheet"),
    _text("characteristic"),
    _text("use"),
    _text("instrument"),
    _maybe("issue"),
    _text("fitness"),
    _text("by_hand"),
)

reading = _projection(
    "reading",
    _text("reading"),
    _text("sheet"),
    _text("part"),
    _text("characteristic"),
    _text("piece"),
    _text("slot_place"),
    _number("slot_repeat"),
    _text("slot_role"),
    _maybe("amount"),
    _text("kind"),
    _text("unit"),
    _text("written"),
    _maybe("decimals"),
    _text("observed"),
    _text("plan"),
    _text("use"),
    _text("by"),
    _number("taken"),
    _text("day"),
    _text("replaces"),
    _text("reason"),
    _number("indication"),
    _text("answers"),
    Index("reading_by_characteristic", "part", "characteristic", "taken"),
)

reading_instrument = _projection(
    "reading_instrument",
    _text("reading"),
    _text("sheet"),
    _text("instrument"),
    _number("issue"),
    _number("taken"),
    Index("reading_by_instrument", "instrument", "taken"),
    Index("instrument_on_sheet", "instrument", "sheet", "taken"),
)

withdrawal = _projection(
    "withdrawal",
    _text("sheet"),
    _text("reading"),
    _text("change"),  # "replaced", "taken back" or "put back"
    _text("reason"),
    _text("replaced_by"),
    _text("by"),
    _number("at"),
    Index("withdrawal_by_reading", "reading"),
)

judgement = _projection(
    "judgement",
    _text("sheet"),
    _text("part"),
    _text("characteristic"),
    _text("piece"),
    _text("verdict"),
    _maybe("smallest"),
    _maybe("largest"),
    _number("of"),
    _maybe("out_by"),
    _maybe("expanded"),
    _text("rule"),
    _number("at"),
    Index("judgement_by_characteristic", "part", "characteristic", "at"),
    Index("judgement_by_cell", "sheet", "characteristic", "piece"),
)

question = _projection(
    "question",
    _text("question"),
    _text("sheet"),
    _text("reading"),
    _text("characteristic"),
    _text("piece"),
    _text("code"),
)

answer = _projection(
    "answer", _text("question"), _text("sheet"), _text("answer"), _text("reading"), _text("by"), _number("at")
)

note = _projection(
    "note", _text("sheet"), _text("characteristic"), _text("piece"), _text("text"), _text("by"), _number("at")
)

seal = _projection(
    "seal",
    _text("sheet"),
    _number("round"),
    _text("digest"),
    _text("algorithm"),
    _text("signature"),
    _text("certificate"),
    _text("incomplete"),
    _text("by"),
    _number("at"),
    UniqueConstraint("sheet", "round"),
)

reopening = _projection(
    "reopening",
    _text("sheet"),
    _number("round"),
    _text("reason"),
    _text("by"),
    _number("at"),
    Index("reopening_by_sheet", "sheet", "sequence"),
)

sent = _projection(
    "sent",
    _text("sheet"),
    _text("form"),
    _text("name"),
    _text("digest"),
    _text("by"),
    _number("at"),
    Index("sent_by_digest", "digest"),
    Index("sent_by_sheet", "sheet", "sequence"),
)

head = _projection(
    "head",
    _text("sheet"),
    _text("customer"),
    _text("order"),
    _text("lot"),
    _text("extent"),
    _text("baseline"),
    _text("by"),
    _number("at"),
    Index("head_by_sheet", "sheet", "sequence"),
)

evidence = _projection(
    "evidence",
    _text("sheet"),
    _text("evidence"),
    _text("change"),  # "entered" or "struck"
    _text("kind"),
    _text("name"),
    _text("specification"),
    _text("specification_revision"),
    _text("supplier"),
    _text("approved"),
    _text("certificate"),
    _text("reason"),
    _text("by"),
    _number("at"),
    Index("evidence_by_sheet", "sheet", "sequence"),
)

#: What each verdict came to beyond its row in ``judgement``: guard band, probability of conformity, and how many known
#: errors were taken off.
doubt = _projection(
    "doubt",
    _text("sheet"),
    _text("characteristic"),
    _text("piece"),
    _maybe("guard"),
    _text("probability"),
    _number("corrections"),
)

check_made = _projection(
    "check_made",
    _text("made"),
    _text("instrument"),
    _number("issue"),
    _text("unit"),
    _text("fitted"),
    _number("passed"),
    _number("closing"),
    _text("sheet"),
    _text("last_good"),
    _text("by"),
    _number("at"),
    Index("check_by_instrument", "instrument", "fitted", "passed", "sequence"),
)

upset = _projection(
    "upset",
    _text("instrument"),
    _text("what"),
    _text("note"),
    _text("by"),
    _number("at"),
    Index("upset_by_instrument", "instrument"),
)

study = _projection(
    "study",
    _text("study"),
    _text("instrument"),
    _number("issue"),
    _text("fitted"),
    _number("groups"),
    _text("by"),
    _number("at"),
)

#: Studies of instruments: as they were started, what was read, and that one was given up or is no longer in use.
gauge_study = _projection(
    "gauge_study",
    _text("study"),
    _text("kind"),
    _text("title"),
    _text("instrument"),
    _number("issue"),
    _text("part"),
    _text("characteristic"),
    _number("runs"),
    _text("by"),
    _number("at"),
)

study_reading = _projection(
    "study_reading",
    _text("study"),
    _text("reading"),
    _number("run"),
    _maybe("amount"),
    _text("written"),
    _text("replaces"),
    _text("reason"),
    _text("by"),
    _number("at"),
    Index("study_reading_by_study", "study", "run", "sequence"),
)

study_answer = _projection(
    "study_answer", _text("study"), _text("reading"), _text("answer"), _text("by"), _number("at")
)

study_end = _projection("study_end", _text("study"), _text("how"), _text("reason"), _text("by"), _number("at"))

study_withdrawal = _projection(
    "study_withdrawal",
    _text("study"),
    _text("instrument"),
    _text("reason"),
    _text("by"),
    _number("at"),
    Index("study_withdrawal_by_instrument", "instrument", "sequence"),
)

reopened_reading = _projection(
    "reopened_reading",
    _text("sheet"),
    _text("reading"),
    _text("made"),
    _text("by"),
    _number("at"),
    Index("reopened_by_sheet", "sheet"),
)

temperature = _projection(
    "temperature",
    _text("sheet"),
    _number("part"),
    _number("instrument"),
    _number("within"),
    _text("thermometer"),
    _number("soak_minutes"),
    _text("by"),
    _number("at"),
)

declared_repeats = _projection(
    "declared_repeats",
    _text("sheet"),
    _text("characteristic"),
    _text("piece"),
    _number("repeats"),
    _text("by"),
    _number("at"),
)

decision_rule = _projection(
    "decision_rule",
    _text("sheet"),
    _text("kind"),
    _number("probability"),
    _number("by_expanded"),
    _text("reason"),
    _text("by"),
    _number("at"),
)

#: Where a sheet stands after each entry on it, so that a list of sheets need not count cells.
standing = _projection(
    "standing",
    _text("sheet"),
    _text("plan"),
    _number("round"),
    _number("sealed"),
    _number("conforming"),
    _number("marginal"),
    _number("not_conforming"),
    _number("open"),
    _number("questions"),
    _text("by"),
    _number("at"),
    Index("standing_by_sheet", "sheet", "sequence"),
    # that a sheet never had such a cell is known without a look at where it stands
    Index("standing_marginal", "sheet", sqlite_where=text("marginal > 0")),
    Index("standing_not_conforming", "sheet", sqlite_where=text("not_conforming > 0")),
)

nonconformance = _projection(
    "nonconformance",
    _text("sheet"),
    _text("part"),
    _text("nonconformance"),
    _text("change"),  # "raised" or "decided"
    _text("number"),
    _text("piece"),
    _number("rows"),
    _text("what"),
    _text("disposition"),
    _text("document"),
    _text("by"),
    _number("at"),
    Index("nonconformance_by_number", "number"),
    Index("nonconformance_by_sheet", "sheet", "sequence"),
)

#: Sheets that follow from another one: "completes" it as a partial first article, or "amends" it.
sheet_link = _projection(
    "sheet_link",
    _text("sheet"),
    _text("other"),
    _text("how"),
    _text("reason"),
    _text("by"),
    _number("at"),
    Index("link_by_other", "other"),
)

#: What befell a piece of a sheet: "reworked" (``round`` times), or how it left.
piece_change = _projection(
    "piece_change",
    _text("sheet"),
    _text("piece"),
    _text("change"),
    _number("round"),
    _text("nonconformance"),
    _text("by"),
    _number("at"),
)

point_answer = _projection("point_answer", _text("sheet"), _text("point"), _text("words"), _text("by"), _number("at"))

#: Marks for review because an instrument was found out: "marked", and "answered" once a lead said what came of it.
sheet_mark = _projection(
    "sheet_mark",
    _text("sheet"),
    _text("mark"),
    _text("change"),
    _text("instrument"),
    _number("issue"),
    _number("error"),
    _maybe("size"),
    _number("readings"),
    _text("words"),
    _text("by"),
    _number("at"),
    Index("mark_by_sheet", "sheet", "sequence"),
    Index("mark_by_instrument", "instrument", "sequence"),
)

read_again = _projection(
    "read_again",
    _text("sheet"),
    _text("reading"),
    _text("characteristic"),
    _text("piece"),
    _maybe("amount"),
    _text("written"),
    _text("observed"),
    _text("by"),
    _number("at"),
)

sheet_return = _projection(
    "sheet_return",
    _text("sheet"),
    _text("characteristic"),
    _text("piece"),
    _text("words"),
    _text("by"),
    _number("at"),
    Index("return_by_sheet", "sheet", "sequence"),
)

statement = _projection(
    "statement",
    _text("sheet"),
    _text("kind"),
    _number("round"),
    _text("digest"),
    _text("algorithm"),
    _text("signature"),
    _text("certificate"),
    _text("by"),
    _number("at"),
    Index("statement_by_sheet", "sheet", "sequence"),
)

#: The signed PDF of a round after each signature: ``signs`` is the digest of the seal or statement that it states.
document = _projection(
    "document",
    _text("sheet"),
    _number("round"),
    _text("signs"),
    _number("stamped"),
    _text("by"),
    _number("at"),
    Index("document_by_sheet", "sheet", "sequence"),
)

#: How many cells of a sheet are in doubt after an entry on it: a row only where any are, or the last one no longer is.
in_doubt = _projection("in_doubt", _text("sheet"), _number("cells"), Index("in_doubt_by_sheet", "sheet", "sequence"))

#: Where a sheet is on its way ("open", "complete", "signed") and by which plan: a row only when that changed, so that
#: sheets are found by it without looking through what was entered on each.
stage = _projection(
    "stage",
    _text("sheet"),
    _text("stage"),
    _text("plan"),
    Index("stage_by_sheet", "sheet", "sequence", "stage", "plan"),
)

#: Files kept with records, by digest. Not a projection: the journal names their digests, the bytes lie here alone.
attached_file = Table(
    "attached_file",
    metadata,
    Column("digest", Text, primary_key=True),
    Column("sequence", Integer, ForeignKey("journal.sequence"), nullable=False),
    Column("size", Integer, nullable=False),
    Column("content", LargeBinary, nullable=False),
    sqlite_strict=True,
)

PROJECTION: dict[str, Table] = {
    name: table for name, table in metadata.tables.items() if table not in (journal, schema_step, attached_file)
}


def guards(table: str) -> tuple[str, str]:
    """The two triggers that keep a table append-only."""
    return tuple(  # type: ignore[return-value]
        f"CREATE TRIGGER {table}_never_{what.lower()}d BEFORE {what} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, 'a book is never overwritten'); END"
        for what in ("UPDATE", "DELETE")
    )


APPEND_ONLY = (journal.name, *PROJECTION, attached_file.name)
