"""The list of sheets as the room shows it, read on the book's thread."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.parts.marks import Mark
from app.shelf.model import Line
from inspection.words.say import word
from storage.book.queries.sheets import ListedSheet, list_sheets

if TYPE_CHECKING:
    from storage.book.door import Book

#: A page of the shelf; older sheets are found by the ledger.
MOST = 200


def list_lines(book: Book) -> tuple[Line, ...]:
    """The newest sheets as lines."""
    return tuple(line_of(listed) for listed in book.ask(list_sheets, limit=MOST))


def line_of(listed: ListedSheet) -> Line:
    """One sheet as shown."""
    return Line(
        sheet=listed.sheet,
        part=listed.number,
        revision=listed.revision,
        name=listed.name,
        serials=", ".join(listed.serials),
        customer=listed.customer,
        made=listed.day,
        state=", ".join(_state(listed)),
        mark=_mark(listed),
        sealed=listed.sealed,
        open=listed.open,
    )


def _state(listed: ListedSheet) -> list[str]:
    """What stands out, in the order of its weight; a whole sheet says so."""
    said = [word("shelf.state.signed", round=listed.round)] if listed.sealed else []
    if listed.not_conforming:
        said.append(word("shelf.state.out", n=listed.not_conforming))
    if listed.questions:
        said.append(word("shelf.state.questions", n=listed.questions))
    if listed.marginal:
        said.append(word("shelf.state.marginal", n=listed.marginal))
    if listed.open:
        said.append(word("shelf.state.open", n=listed.open))
    return said or [word("shelf.state.whole")]


def _mark(listed: ListedSheet) -> Mark:
    for count, mark in (
        (listed.not_conforming, Mark.OUT),
        (listed.questions, Mark.QUESTION),
        (listed.open, Mark.OPEN),
        (listed.marginal, Mark.MARGINAL),
    ):
        if count:
            return mark
    return Mark.CONFORMING
