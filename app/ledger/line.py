"""A sheet as the list shows it: every field as shown, its mark, and what stands out of it in words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from app.parts.marks import Mark
from inspection.words.say import word
from storage.book.queries.found_sheets import FoundSheet, State
from storage.book.queries.sheets import ListedSheet

#: The fields of a line that a list shows, in their order.
COLUMNS = ("part", "revision", "name", "serials", "customer", "order", "made", "state")


class Line(NamedTuple):
    """One sheet as listed. ``open`` counts the cells that still need a reading, ``sequence`` is where it was made."""

    sheet: str
    sequence: int
    part: str
    revision: str
    name: str
    serials: str
    customer: str
    order: str
    made: str
    state: str
    mark: Mark
    at: State
    open: int

    @property
    def sealed(self) -> bool:
        """Whether it is signed as it stands."""
        return self.at not in (State.OPEN, State.COMPLETE)


def line_of(found: FoundSheet) -> Line:
    """One sheet as shown."""
    listed = found.listed
    return Line(
        sheet=listed.sheet,
        sequence=found.sequence,
        part=listed.number,
        revision=listed.revision,
        name=listed.name,
        serials=", ".join(listed.serials),
        customer=listed.customer,
        order=listed.order,
        made=listed.day,
        state=", ".join(_state(found)),
        mark=_mark(listed),
        at=found.state,
        open=listed.open,
    )


def _state(found: FoundSheet) -> list[str]:
    """What stands out, in the order of its weight; a whole sheet says so."""
    listed = found.listed
    said = list(_stage(found))
    if listed.marks:
        said.insert(0, word("ledger.state.marks", n=listed.marks))
    if listed.not_conforming:
        said.append(word("ledger.state.out", n=listed.not_conforming))
    if listed.in_doubt:
        said.append(word("ledger.state.in_doubt", n=listed.in_doubt))
    if listed.questions:
        said.append(word("ledger.state.questions", n=listed.questions))
    if listed.marginal:
        said.append(word("ledger.state.marginal", n=listed.marginal))
    if listed.open:
        said.append(word("ledger.state.open", n=listed.open))
    return said or [word("ledger.state.whole")]


def _stage(found: FoundSheet) -> Iterator[str]:
    """How far a sheet is on its way after it was signed."""
    if found.returned:
        yield word("ledger.state.returned", round=found.listed.round)
    if not found.listed.sealed:
        return
    yield word(f"ledger.state.{found.state.value}")
    if found.first_article is not None:
        yield word(f"ledger.state.{found.first_article.name.lower()}")
    if found.sent:
        yield word("ledger.state.sent")


def _mark(listed: ListedSheet) -> Mark:
    for count, mark in (
        (listed.not_conforming, Mark.OUT),
        (listed.in_doubt, Mark.DOUBT_INSIDE),
        (listed.marks, Mark.QUESTION),
        (listed.questions, Mark.QUESTION),
        (listed.open, Mark.OPEN),
        (listed.marginal, Mark.MARGINAL),
    ):
        if count:
            return mark
    return Mark.CONFORMING
