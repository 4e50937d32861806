"""What a review leaves on a sheet: nonconformances, marks, answers, returns, and sheets that follow."""

from __future__ import annotations

from sqlalchemy import Index

from storage.book.tables.making import maybe_number, number_of, projection, text_of

nonconformance = projection(
    "nonconformance",
    text_of("sheet"),
    text_of("part"),
    text_of("nonconformance"),
    text_of("change"),  # "raised" or "decided"
    text_of("number"),
    text_of("piece"),
    number_of("rows"),
    text_of("what"),
    text_of("disposition"),
    text_of("document"),
    text_of("by"),
    number_of("at"),
    Index("nonconformance_by_number", "number"),
    Index("nonconformance_by_sheet", "sheet", "sequence"),
)

#: Sheets that follow from another one: "completes" it as a partial first article, or "amends" it.
sheet_link = projection(
    "sheet_link",
    text_of("sheet"),
    text_of("other"),
    text_of("how"),
    text_of("reason"),
    text_of("by"),
    number_of("at"),
    Index("link_by_other", "other"),
)

#: What befell a piece of a sheet: "reworked" (``round`` times), or how it left.
piece_change = projection(
    "piece_change",
    text_of("sheet"),
    text_of("piece"),
    text_of("change"),
    number_of("round"),
    text_of("nonconformance"),
    text_of("by"),
    number_of("at"),
)

point_answer = projection(
    "point_answer", text_of("sheet"), text_of("point"), text_of("words"), text_of("by"), number_of("at")
)

#: Marks for review because an instrument was found out: "marked", and "answered" once a lead said what came of it.
sheet_mark = projection(
    "sheet_mark",
    text_of("sheet"),
    text_of("mark"),
    text_of("change"),
    text_of("instrument"),
    number_of("issue"),
    number_of("error"),
    maybe_number("size"),
    number_of("readings"),
    text_of("words"),
    text_of("by"),
    number_of("at"),
    Index("mark_by_sheet", "sheet", "sequence"),
    Index("mark_by_instrument", "instrument", "sequence"),
)

read_again = projection(
    "read_again",
    text_of("sheet"),
    text_of("reading"),
    text_of("characteristic"),
    text_of("piece"),
    maybe_number("amount"),
    text_of("written"),
    text_of("observed"),
    text_of("by"),
    number_of("at"),
)

sheet_return = projection(
    "sheet_return",
    text_of("sheet"),
    text_of("characteristic"),
    text_of("piece"),
    text_of("words"),
    text_of("by"),
    number_of("at"),
    Index("return_by_sheet", "sheet", "sequence"),
)
