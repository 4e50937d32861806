"""Which sheet: the newest ones, and of them those that hold every word typed."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from inspection.words.say import word

if TYPE_CHECKING:
    from storage.book.queries.found_sheets import FoundSheet
    from storage.book.queries.sheets import ListedSheet


class Found(NamedTuple):
    """One sheet as listed: what it is of, what stands below it, how it stands, and what is looked through."""

    sheet: str
    title: str
    below: str
    state: str
    mark: str
    searched: str

    def spoken(self) -> str:
        """The whole line, for whoever is read to."""
        return ", ".join((self.title, self.state, self.below))


def found_of(found: FoundSheet) -> Found:
    """One sheet in words."""
    listed = found.listed
    title = " ".join(filter(None, (listed.number, _revision(listed.revision))))
    serials = ", ".join(listed.serials)
    below = "  ·  ".join(filter(None, (serials, listed.customer, listed.day)))
    told = (title, listed.name, serials, listed.customer, listed.order, listed.lot, listed.day)
    return Found(listed.sheet, title, below, _state(found), _mark(listed), " ".join(told).casefold())


def _revision(revision: str) -> str:
    return word("desk.revision", revision=revision) if revision else ""


def _state(found: FoundSheet) -> str:
    """How far it is once it is signed, or what is left to measure; and what is in doubt, signed or not."""
    listed = found.listed
    doubted = word("desk.found.in_doubt", n=listed.in_doubt) if listed.in_doubt else ""
    at = word("desk.found.open", n=listed.open) if listed.open and not listed.sealed else ""
    if listed.sealed:
        at = word(f"desk.found.{found.state.value}")
    return ", ".join(filter(None, (at, doubted))) or word("desk.found.unsigned")


def _mark(listed: ListedSheet) -> str:
    for count, mark in (
        (listed.not_conforming, "out"),
        (listed.in_doubt, "doubt_inside"),
        (listed.questions, "question"),
        (listed.open, "open"),
        (listed.marginal, "marginal"),
    ):
        if count:
            return mark
    return "conforming"


def matching(sheets: tuple[Found, ...], typed: str) -> tuple[Found, ...]:
    """Those that hold every word, in any order and case."""
    words = typed.casefold().split()
    return tuple(sheet for sheet in sheets if all(each in sheet.searched for each in words))
