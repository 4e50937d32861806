"""The issues of a record as the page tells them: who, when, and what changed against the issue before."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from app.crib.detail import Issued
from inspection.instruments.changes import changes
from inspection.words.say import say, word

if TYPE_CHECKING:
    from inspection.sheet.state import Shop
    from storage.book.queries.instrument_history import IssueEntered


def told_history(shop: Shop, instrument: str, entered: Iterable[IssueEntered]) -> tuple[Issued, ...]:
    """Issues with the person's name and, but for the first, a sentence for each field that changed."""
    return tuple(_told(shop, instrument, one) for one in entered)


def _told(shop: Shop, instrument: str, one: IssueEntered) -> Issued:
    now, before = shop.issues.get((instrument, one.issue)), shop.issues.get((instrument, one.issue - 1))
    who = shop.people.get(one.person)
    said: tuple[str, ...] = (word("crib.issued.first"),)
    if now is not None and before is not None:
        said = tuple(map(say, changes(before, now))) or (word("crib.issued.same"),)
    return Issued(one.issue, one.day, who.name if who is not None else "", said)
