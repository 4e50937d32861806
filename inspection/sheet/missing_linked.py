"""What is owed after a first article was stated not complete: the partial one, on a later piece, that completes it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from inspection.sheet.canonical.form_4 import read_statement
from inspection.sheet.complete_rows import unfinished_rows
from inspection.sheet.missing_table import Missing, lack, lack_rows
from inspection.sheet.review import StatementKind
from inspection.sheet.state import Sheet


class Completion(Struct, frozen=True):
    """A partial first article that follows a sheet, or follows one that does: the serials of its pieces, and whether
    the first article was stated complete on it."""

    serials: tuple[str, ...]
    complete: bool


def of_completion(sheet: Sheet, completions: Sequence[Completion] | None) -> Iterator[Missing]:
    """What is owed by a sheet whose first article was stated not complete, until one of the ``completions`` is; nothing
    where nobody knows of any (None)."""
    if completions is None:
        return
    said = sheet.first_article
    if said is None or said.kind is StatementKind.COMPLETE or any(each.complete for each in completions):
        return
    numbers = [sheet.characteristic(row).number for row in unfinished_rows(sheet)]
    if completions and numbers:
        yield from lack_rows("partial_begun", numbers, serials=", ".join(completions[-1].serials))
    elif numbers:
        yield from lack_rows("partial_owed", numbers)
    else:
        yield lack("not_complete_stated", words=read_statement(said.content).words)
