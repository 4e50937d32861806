"""What proves instruments: checks, mishaps, studies, and readings that a failed check re-opened."""

from __future__ import annotations

from sqlalchemy import Index

from storage.book.tables.making import maybe_number, number_of, projection, text_of

check_made = projection(
    "check_made",
    text_of("made"),
    text_of("instrument"),
    number_of("issue"),
    text_of("unit"),
    text_of("fitted"),
    number_of("passed"),
    number_of("closing"),
    text_of("sheet"),
    text_of("last_good"),
    text_of("by"),
    number_of("at"),
    Index("check_by_instrument", "instrument", "fitted", "passed", "sequence"),
)

upset = projection(
    "upset",
    text_of("instrument"),
    text_of("what"),
    text_of("note"),
    text_of("by"),
    number_of("at"),
    Index("upset_by_instrument", "instrument"),
)

study = projection(
    "study",
    text_of("study"),
    text_of("instrument"),
    number_of("issue"),
    text_of("fitted"),
    number_of("groups"),
    text_of("by"),
    number_of("at"),
)

#: Studies of instruments: as they were started, what was read, and that one was given up or is no longer in use.
gauge_study = projection(
    "gauge_study",
    text_of("study"),
    text_of("kind"),
    text_of("title"),
    text_of("instrument"),
    number_of("issue"),
    text_of("part"),
    text_of("characteristic"),
    number_of("runs"),
    text_of("by"),
    number_of("at"),
)

study_reading = projection(
    "study_reading",
    text_of("study"),
    text_of("reading"),
    number_of("run"),
    maybe_number("amount"),
    text_of("written"),
    text_of("replaces"),
    text_of("reason"),
    text_of("by"),
    number_of("at"),
    Index("study_reading_by_study", "study", "run", "sequence"),
)

study_answer = projection(
    "study_answer", text_of("study"), text_of("reading"), text_of("answer"), text_of("by"), number_of("at")
)

study_end = projection("study_end", text_of("study"), text_of("how"), text_of("reason"), text_of("by"), number_of("at"))

study_withdrawal = projection(
    "study_withdrawal",
    text_of("study"),
    text_of("instrument"),
    text_of("reason"),
    text_of("by"),
    number_of("at"),
    Index("study_withdrawal_by_instrument", "instrument", "sequence"),
)

reopened_reading = projection(
    "reopened_reading",
    text_of("sheet"),
    text_of("reading"),
    text_of("made"),
    text_of("by"),
    number_of("at"),
    Index("reopened_by_sheet", "sheet"),
)
