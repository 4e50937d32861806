"""Which sheets are those that a person looks for?"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from enum import StrEnum
from typing import Any, NamedTuple

from msgspec import Struct
from sqlalchemy import Connection

from inspection.sheet.review import StatementKind
from storage.book.queries import conditions as of
from storage.book.queries.conditions import Condition
from storage.book.queries.sheets import ListedSheet, listed_of


class State(StrEnum):
    """Where a sheet is on its way; each sheet is in one."""

    OPEN = "open"  # something is left to read, to answer, or to settle
    COMPLETE = "complete"  # everything is measured
    SIGNED = "signed"  # and waits for its review
    APPROVED = "approved"  # and the run is not released
    RELEASED = "released"


class Came(StrEnum):
    """What some cell of a sheet came to, as it stands now."""

    CONFORMING = "conforming"
    MARGINAL = "marginal"
    IN_DOUBT = "in_doubt"
    NOT_CONFORMING = "not_conforming"


class Marked(StrEnum):
    """Whether a mark for review waits on a sheet, or some were made and each was answered."""

    WAITING = "waiting"
    ANSWERED = "answered"


class Wanted(Struct, frozen=True):
    """What sheets are looked for by; what is empty leaves all. Everything named must hold.

    ``text`` is free: each of its words is to stand somewhere in number, name, serials, customer, order, lot, notes,
    evidence (material, specification, supplier, certificate) or nonconformances, or to be the tag of an instrument that
    was read. ``lot`` and ``nonconformance`` (its number) are pieces of what they look in, ``heat`` one of the lot or of
    evidence; ``instrument`` is an identity, ``verdict`` what some cell came to.
    ``part`` is the part's identity, ``number`` a piece of its number; ``person`` is that of who made the sheet;
    ``revision`` is the whole of it, ``serial``, ``customer`` and ``order`` a piece of what they look in.
    ``since`` and ``until`` are days (ISO), both included.
    ``marked`` are those with a mark for review, waiting or answered.
    ``sent`` is about signed sheets: those of which a file was sent as they stand (True), or was not (False).
    """

    text: str = ""
    part: str = ""
    revision: str = ""
    serial: str = ""
    customer: str = ""
    order: str = ""
    person: str = ""
    state: State | None = None
    sent: bool | None = None
    since: str = ""
    until: str = ""
    lot: str = ""
    heat: str = ""
    instrument: str = ""
    verdict: Came | None = None
    nonconformance: str = ""
    number: str = ""
    marked: Marked | None = None


class FoundSheet(Struct, frozen=True):
    """A sheet as listed, its ``sequence`` to go on after, and its state.

    ``sent`` says whether a file of it was sent as it stands, ``first_article`` what was stated of it, if anything was,
    and ``returned`` whether its lead returned it and nobody has signed it since.
    """

    sequence: int
    listed: ListedSheet
    state: State
    sent: bool = False
    first_article: StatementKind | None = None
    returned: bool = False


class _Standing(NamedTuple):
    """The last fields of a sheet as found."""

    state: State
    sent: bool
    first_article: StatementKind | None
    returned: bool


def found_sheets(connection: Connection, wanted: Wanted, *, limit: int = 50, after: int = 0) -> list[FoundSheet]:
    """The sheets wanted, the newest first; ``after`` is the sequence of the last one that is known already, 0 for the
    first page. Four statements, whatever is wanted."""
    asked = _condition(wanted, after)
    query = f"SELECT sheet.sequence FROM sheet WHERE {asked.sql} ORDER BY sheet.sequence DESC LIMIT ?"
    places = list(connection.exec_driver_sql(query, (*asked.given, limit)).scalars())
    listed = listed_of(connection, places)
    standing = _standing(connection, places)
    return [FoundSheet(place, one, *standing[place]) for place, one in zip(places, listed, strict=True)]


def _condition(wanted: Wanted, after: int) -> Condition:
    """What must hold of a sheet; every field that is wanted makes its own condition."""
    each = [of.ALWAYS]
    for name, condition in _BY_FIELD.items():
        value = getattr(wanted, name)
        if value not in ("", None):
            each.append(condition(value))
    if after:
        each.append(Condition("sheet.sequence < ?", (after,)))
    return of.all_of(each)


def _came_to(verdict: Came) -> Condition:
    if verdict is Came.IN_DOUBT:
        return of.DOUBTED
    column = verdict.value
    now = Condition(
        f"(SELECT standing.{column} FROM standing WHERE standing.sheet = sheet.sheet"
        " ORDER BY standing.sequence DESC LIMIT 1) > 0"
    )
    if verdict is Came.CONFORMING:
        return now
    # by an index of those alone, which holds none of most sheets
    ever = Condition(f"EXISTS (SELECT 1 FROM standing AS ever WHERE ever.sheet = sheet.sheet AND ever.{column} > 0)")
    return of.all_of((ever, now))


def _in_state(state: State) -> Condition:
    if state is State.COMPLETE:
        return of.all_of((of.at_stage("complete"), of.no(of.DOUBTED)))
    if state is State.OPEN:
        return of.any_of((of.at_stage("open"), of.all_of((of.at_stage("complete"), of.DOUBTED))))
    reviewed = {
        State.SIGNED: (of.no(of.APPROVED),),
        State.APPROVED: (of.APPROVED, of.no(of.RELEASED)),
        State.RELEASED: (of.RELEASED,),
    }
    return of.all_of((of.at_stage("signed"), *reviewed[state]))


_STANDING = f"""
    SELECT sheet.sequence, {of.STAGE}, {of.DOUBTED.sql}, {of.APPROVED.sql}, {of.RELEASED.sql}, {of.WENT.sql},
        {of.FIRST_ARTICLE_STATED}, {of.RETURNED.sql}
    FROM sheet WHERE sheet.sequence IN (SELECT value FROM json_each(?))
"""


def _standing(connection: Connection, places: list[int]) -> dict[int, _Standing]:
    found: dict[int, _Standing] = {}
    for place, at, doubted, approved, released, went, stated, returned in connection.exec_driver_sql(
        _STANDING, (json.dumps(places),)
    ):
        kind = StatementKind(stated) if stated else None
        state = _state(at, doubted, approved, released)
        found[place] = _Standing(state, bool(went) and at == "signed", kind, bool(returned))
    return found


def _state(stage_now: str, doubted: bool, approved: bool, released: bool) -> State:
    if stage_now == "signed":
        return State.RELEASED if released else State.APPROVED if approved else State.SIGNED
    return State.OPEN if stage_now == "complete" and doubted else State(stage_now)


#: The condition that each field of ``Wanted`` makes.
_BY_FIELD: Mapping[str, Callable[[Any], Condition]] = {
    "part": lambda part: Condition("sheet.part = ?", (part,)),
    "person": lambda person: Condition("sheet.made_by = ?", (person,)),
    "since": lambda day: Condition("sheet.day >= ?", (day,)),
    "until": lambda day: Condition("sheet.day <= ?", (day,)),
    "number": of.of_number,
    "revision": of.of_revision,
    "serial": of.with_serial,
    "customer": of.for_customer,
    "order": lambda text: of.headed("order", text),
    "lot": lambda text: of.headed("lot", text),
    "heat": lambda text: of.any_of((of.headed("lot", text), of.proven_by(text))),
    "instrument": lambda name: of.read_with(Condition("?", (name,))),
    "verdict": _came_to,
    "nonconformance": lambda text: of.nonconforming(text, "number"),
    "state": _in_state,
    "sent": lambda went: of.all_of((of.at_stage("signed"), of.WENT if went else of.no(of.WENT))),
    "marked": lambda how: of.MARKED if how is Marked.WAITING else of.all_of((of.WAS_MARKED, of.no(of.MARKED))),
    "text": lambda text: of.all_of([of.ALWAYS, *map(of.with_word, text.split())]),
}
