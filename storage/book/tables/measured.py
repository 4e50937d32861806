"""What was measured on a sheet: its pieces, choices, readings, verdicts, questions and notes."""

from __future__ import annotations

from sqlalchemy import Column, Index, Text

from storage.book.tables.making import maybe_number, number_of, projection, text_of

sheet = projection(
    "sheet",
    Column("sheet", Text, nullable=False, unique=True),
    text_of("part"),
    text_of("plan"),
    text_of("made_by"),
    number_of("made_at"),
    text_of("day"),
    text_of("customer"),
    text_of("order"),
    text_of("lot"),
    Index("sheet_by_part", "part", "sequence"),
)

piece = projection(
    "piece",
    text_of("sheet"),
    text_of("piece"),
    text_of("serial"),
    Index("piece_by_sheet", "sheet"),
    Index("piece_by_serial", "serial"),
)

assignment = projection(
    "assignment",
    text_of("sheet"),
    text_of("characteristic"),
    text_of("use"),
    text_of("instrument"),
    maybe_number("issue"),
    text_of("fitness"),
    text_of("by_hand"),
)

reading = projection(
    "reading",
    text_of("reading"),
    text_of("sheet"),
    text_of("part"),
    text_of("characteristic"),
    text_of("piece"),
    text_of("slot_place"),
    number_of("slot_repeat"),
    text_of("slot_role"),
    maybe_number("amount"),
    text_of("kind"),
    text_of("unit"),
    text_of("written"),
    maybe_number("decimals"),
    text_of("observed"),
    text_of("plan"),
    text_of("use"),
    text_of("by"),
    number_of("taken"),
    text_of("day"),
    text_of("replaces"),
    text_of("reason"),
    number_of("indication"),
    text_of("answers"),
    Index("reading_by_characteristic", "part", "characteristic", "taken"),
)

reading_instrument = projection(
    "reading_instrument",
    text_of("reading"),
    text_of("sheet"),
    text_of("instrument"),
    number_of("issue"),
    number_of("taken"),
    Index("reading_by_instrument", "instrument", "taken"),
    Index("instrument_on_sheet", "instrument", "sheet", "taken"),
)

withdrawal = projection(
    "withdrawal",
    text_of("sheet"),
    text_of("reading"),
    text_of("change"),  # "replaced", "taken back" or "put back"
    text_of("reason"),
    text_of("replaced_by"),
    text_of("by"),
    number_of("at"),
    Index("withdrawal_by_reading", "reading"),
)

judgement = projection(
    "judgement",
    text_of("sheet"),
    text_of("part"),
    text_of("characteristic"),
    text_of("piece"),
    text_of("verdict"),
    maybe_number("smallest"),
    maybe_number("largest"),
    number_of("of"),
    maybe_number("out_by"),
    maybe_number("expanded"),
    text_of("rule"),
    number_of("at"),
    Index("judgement_by_characteristic", "part", "characteristic", "at"),
    Index("judgement_by_cell", "sheet", "characteristic", "piece"),
)

#: What each verdict came to beyond its row in ``judgement``: guard band, probability of conformity, and how many known
#: errors were taken off.
doubt = projection(
    "doubt",
    text_of("sheet"),
    text_of("characteristic"),
    text_of("piece"),
    maybe_number("guard"),
    text_of("probability"),
    number_of("corrections"),
)

question = projection(
    "question",
    text_of("question"),
    text_of("sheet"),
    text_of("reading"),
    text_of("characteristic"),
    text_of("piece"),
    text_of("code"),
)

answer = projection(
    "answer",
    text_of("question"),
    text_of("sheet"),
    text_of("answer"),
    text_of("reading"),
    text_of("by"),
    number_of("at"),
)

note = projection(
    "note",
    text_of("sheet"),
    text_of("characteristic"),
    text_of("piece"),
    text_of("text"),
    text_of("by"),
    number_of("at"),
)

temperature = projection(
    "temperature",
    text_of("sheet"),
    number_of("part"),
    number_of("instrument"),
    number_of("within"),
    text_of("thermometer"),
    number_of("soak_minutes"),
    text_of("by"),
    number_of("at"),
)

declared_repeats = projection(
    "declared_repeats",
    text_of("sheet"),
    text_of("characteristic"),
    text_of("piece"),
    number_of("repeats"),
    text_of("by"),
    number_of("at"),
)

decision_rule = projection(
    "decision_rule",
    text_of("sheet"),
    text_of("kind"),
    number_of("probability"),
    number_of("by_expanded"),
    text_of("reason"),
    text_of("by"),
    number_of("at"),
)
