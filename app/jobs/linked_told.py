"""The sheets that a sheet is linked to, a sentence each, alike in window and command line."""

from __future__ import annotations

from collections.abc import Iterable

from inspection.words.say import word
from storage.book.queries.linked_sheets import LinkedSheet


def linked_text(linked: Iterable[LinkedSheet], *, follows: bool) -> tuple[str, ...]:
    """The sheets that a sheet completes or amends, or those that follow it."""
    return tuple(word(_code_of(each), serials=", ".join(each.serials)) for each in linked if each.follows is follows)


def _code_of(each: LinkedSheet) -> str:
    if not each.follows:
        return f"review.linked.{each.how}"
    return f"review.linked.{each.how}.by{'.done' if each.complete and each.how == 'completes' else ''}"
