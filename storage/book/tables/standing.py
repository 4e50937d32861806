"""Where a sheet stands after each entry on it, so that lists of sheets need not fold them."""

from __future__ import annotations

from sqlalchemy import Index, text

from storage.book.tables.making import number_of, projection, text_of

#: Where a sheet stands after each entry on it, so that a list of sheets need not count cells.
standing = projection(
    "standing",
    text_of("sheet"),
    text_of("plan"),
    number_of("round"),
    number_of("sealed"),
    number_of("conforming"),
    number_of("marginal"),
    number_of("not_conforming"),
    number_of("open"),
    number_of("questions"),
    text_of("by"),
    number_of("at"),
    Index("standing_by_sheet", "sheet", "sequence"),
    # that a sheet never had such a cell is known without a look at where it stands
    Index("standing_marginal", "sheet", sqlite_where=text("marginal > 0")),
    Index("standing_not_conforming", "sheet", sqlite_where=text("not_conforming > 0")),
)

#: How many cells of a sheet are in doubt after an entry on it: a row only where any are, or the last one no longer is.
in_doubt = projection("in_doubt", text_of("sheet"), number_of("cells"), Index("in_doubt_by_sheet", "sheet", "sequence"))

#: Where a sheet is on its way ("open", "complete", "signed") and by which plan: a row only when that changed, so that
#: sheets are found by it without looking through what was entered on each.
stage = projection(
    "stage",
    text_of("sheet"),
    text_of("stage"),
    text_of("plan"),
    Index("stage_by_sheet", "sheet", "sequence", "stage", "plan"),
)
