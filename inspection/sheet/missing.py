"""All that a sheet lacks before it may go, what stops it first."""

from __future__ import annotations

from inspection.sheet.missing_record import of_evidence, of_head
from inspection.sheet.missing_rows import of_rows
from inspection.sheet.missing_table import Missing
from inspection.sheet.state import Sheet, Shop


def missing(shop: Shop, sheet: Sheet) -> tuple[Missing, ...]:
    """Everything that is missing, in the order of the form within what stops the sheet and what does not."""
    found = (*of_rows(shop, sheet), *of_head(sheet), *of_evidence(sheet))
    return tuple(sorted(found, key=lambda each: not each.stops))
