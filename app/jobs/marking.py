"""Marking the sheets that a reverse trace found, each by an act of its own, all of them or none."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from app.jobs.looking_back import Trace
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.state import Sheet
from inspection.sheet.steps import not_now
from inspection.sheet.traced import sheets_to_be_seen
from storage.book.door import Book


class Marking(Struct, frozen=True):
    """What marking would do: an act for each sheet that is to be seen and not ``marked`` for this already."""

    acts: tuple[acts.MarkForReview, ...]
    marked: tuple[str, ...] = ()


def marking(book: Book, found: Trace, words: str) -> Marking:
    """The acts that mark every sheet with a reading that somebody has to look at."""
    made: list[acts.MarkForReview] = []
    already: list[acts.MarkForReview] = []
    for name in sheets_to_be_seen(found.found):
        readings = tuple(each.read.reading for each in found.found if each.read.sheet == name and each.is_to_be_seen)
        act = acts.MarkForReview(
            sheet=name,
            instrument=found.instrument.identity,
            error=found.error,
            size=found.size,
            since=found.since,
            readings=readings,
            words=words,
        )
        (already if _is_marked(book.sheet(name), act) else made).append(act)
    return Marking(tuple(made), tuple(act.sheet for act in already))


def _is_marked(sheet: Sheet, act: acts.MarkForReview) -> bool:
    """Whether a mark that waits names all of these readings for this instrument and error."""
    return any(
        mark.waits
        and (mark.instrument, mark.error, mark.size) == (act.instrument, act.error, act.size)
        and set(act.readings) <= set(mark.readings)
        for mark in sheet.marks.values()
    )


def mark_sheets(book: Book, found: Trace, words: str, person: str) -> Marking:
    """Mark the sheets in one transaction. Raises Refused where the person may not, no words are said, or no reading of
    the trace is to be looked at; BookFailure for what the disk would not do."""
    against = not_now(book.shop(), None, acts.MarkForReview, person)
    if against is not None:
        raise Refused(against)
    if not words.strip():
        raise Refused(Reason("mark.without_words"))
    plan = marking(book, found, words)
    if not plan.acts and not plan.marked:
        raise Refused(Reason("trace.nothing_to_mark", {"tag": found.instrument.tag}))
    if plan.acts:
        book.do_all(plan.acts, person=person)
    return plan


def names_of(sheet: Sheet) -> Mapping[str, str]:
    """The marks of a sheet by how each is called: 1, 2, …, in the order in which they were made."""
    return {str(place): name for place, name in enumerate(sheet.marks, 1)}
