"""All that a sheet lacks before it may go, what stops it first."""

from __future__ import annotations

from collections.abc import Sequence

from inspection.sheet.missing_linked import Completion, of_completion
from inspection.sheet.missing_record import of_evidence, of_head
from inspection.sheet.missing_rows import of_rows
from inspection.sheet.missing_table import Missing
from inspection.sheet.state import Sheet, Shop

#: What a sheet lacks no more once another one completes it.
_COMPLETED_BY = frozenset({"missing.used_as_is_stated"})
#: What signing says by itself, and what can be put right under the seal.
_UNDER_THE_SEAL = frozenset(
    {
        "missing.unsigned",
        "missing.marked",
        "missing.rows_open",
        "missing.rows_open_again",
        "missing.not_conforming",
        "missing.not_conforming_again",
    }
)


def missing(shop: Shop, sheet: Sheet, completions: Sequence[Completion] | None = None) -> tuple[Missing, ...]:
    """Everything that is missing, in the order of the form within what stops the sheet and what does not.

    ``completions`` are the partial first articles that follow the sheet; None says that it is not known whether there
    are any, and of what they are to show nothing is told then."""
    found = (*of_rows(shop, sheet), *of_completion(sheet, completions), *of_head(sheet), *of_evidence(sheet))
    if any(each.complete for each in completions or ()):
        found = tuple(each for each in found if each.reason.code not in _COMPLETED_BY)
    return tuple(sorted(found, key=lambda each: not each.stops))


def kept_back(shop: Shop, sheet: Sheet) -> tuple[Missing, ...]:
    """What stops a sheet from going and cannot be put right any more once it is signed: told before that, and before
    it is approved. That it is to be signed, and what is open, signing says by itself; a nonconformance is raised under
    the seal too."""
    return tuple(each for each in missing(shop, sheet) if each.stops and each.reason.code not in _UNDER_THE_SEAL)
