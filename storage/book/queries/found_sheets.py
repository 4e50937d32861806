"""Which sheets are those that a person looks for?"""

from __future__ import annotations

from enum import StrEnum
from typing import Any, NamedTuple

from msgspec import Struct
from sqlalchemy import ColumnElement, Connection, ScalarSelect, Select, and_, exists, func, or_, select, true

from inspection.sheet.review import StatementKind
from storage.book.queries.sheets import ListedSheet, doubts_of, listed_of
from storage.book.tables import head, note, piece, plan_issue, seal, sent, sheet, sheet_return, stage, statement

#: What is stated of a first article, one or the other.
_FIRST_ARTICLE = (StatementKind.COMPLETE, StatementKind.NOT_COMPLETE)


class State(StrEnum):
    """Where a sheet is on its way; each sheet is in one."""

    OPEN = "open"  # something is left to read, to answer, or to settle
    COMPLETE = "complete"  # everything is measured
    SIGNED = "signed"  # and waits for its review
    APPROVED = "approved"  # and the run is not released
    RELEASED = "released"


class Wanted(Struct, frozen=True):
    """What sheets are looked for by; what is empty leaves all. Everything named must hold.

    ``text`` is free: each of its words is to stand somewhere in number, name, serials, customer, order, lot or notes.
    ``part`` is the part's identity, ``person`` that of who made the sheet; ``revision`` is the whole of it, ``serial``,
    ``customer`` and ``order`` a piece of what they look in. ``since`` and ``until`` are days (ISO), both included.
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
    query = select(sheet.c.sequence).where(*_conditions(wanted)).order_by(sheet.c.sequence.desc()).limit(limit)
    if after:
        query = query.where(sheet.c.sequence < after)
    places = list(connection.execute(query).scalars())
    listed = listed_of(connection, places)
    standing = _standing(connection, places)
    return [FoundSheet(place, one, *standing[place]) for place, one in zip(places, listed, strict=True)]


def _conditions(wanted: Wanted) -> list[ColumnElement[bool]]:
    found: list[ColumnElement[bool]] = [true()]
    if wanted.part:
        found.append(sheet.c.part == wanted.part)
    if wanted.person:
        found.append(sheet.c.made_by == wanted.person)
    if wanted.since:
        found.append(sheet.c.day >= wanted.since)
    if wanted.until:
        found.append(sheet.c.day <= wanted.until)
    if wanted.revision:
        found.append(_now("plan").in_(select(plan_issue.c.plan).where(plan_issue.c.revision == wanted.revision)))
    if wanted.serial:
        found.append(sheet.c.sequence.in_(_with_serial(wanted.serial)))
    if wanted.customer:
        found.append(or_(_headed("customer", wanted.customer), and_(_of_customer(wanted.customer), _no_customer())))
    if wanted.order:
        found.append(_headed("order", wanted.order))
    if wanted.state is not None:
        found.append(_in_state(wanted.state))
    if wanted.sent is not None:
        found += [_now("stage") == "signed", _went() if wanted.sent else ~_went()]
    found += [_with_word(each) for each in wanted.text.split()]
    return found


# --- free text ----------------------------------------------------------------------------------------------------


def holds(column: Any, text: str) -> ColumnElement[bool]:
    """Whether a column holds a text, whatever its case: LIKE knows only that of the plain alphabet, so what lies beyond
    it is tried in each case."""
    if text.isascii():
        return column.contains(text, autoescape=True)  # type: ignore[no-any-return]
    ways = dict.fromkeys((text, text.lower(), text.upper(), text.title()))
    return or_(*(column.contains(way, autoescape=True) for way in ways))


def _with_word(text: str) -> ColumnElement[bool]:
    named = or_(*(holds(plan_issue.c[name], text) for name in ("number", "name", "customer")))
    noted = select(note.c.sheet).where(holds(note.c.text, text))
    return or_(
        sheet.c.part.in_(select(plan_issue.c.part).where(named)),
        sheet.c.sequence.in_(_with_serial(text)),
        *(_headed(name, text) for name in ("customer", "order", "lot")),
        sheet.c.sheet.in_(noted),
    )


def _with_serial(text: str) -> Select[Any]:
    """Pieces are written by the entry that makes their sheet."""
    return select(piece.c.sequence).where(holds(piece.c.serial, text))


# --- heads --------------------------------------------------------------------------------------------------------


def _headed(name: str, text: str) -> ColumnElement[bool]:
    """Whether a field of the head as it now is holds a text: the newest head written, or the one it was made with."""
    made = and_(holds(sheet.c[name], text), ~exists().where(head.c.sheet == sheet.c.sheet))
    return or_(made, sheet.c.sheet.in_(select(head.c.sheet).where(holds(head.c[name], text), _newest_head())))


def _newest_head() -> ColumnElement[bool]:
    later = head.alias()
    return ~exists().where(later.c.sheet == head.c.sheet, later.c.sequence > head.c.sequence)


def _no_customer() -> ColumnElement[bool]:
    made = and_(sheet.c.customer == "", ~exists().where(head.c.sheet == sheet.c.sheet))
    return or_(made, sheet.c.sheet.in_(select(head.c.sheet).where(head.c.customer == "", _newest_head())))


def _of_customer(text: str) -> ColumnElement[bool]:
    return _now("plan").in_(select(plan_issue.c.plan).where(holds(plan_issue.c.customer, text)))


# --- stages -------------------------------------------------------------------------------------------------------


def _now(column: str) -> ScalarSelect[Any]:
    """A column of a sheet's newest stage: one look at an index that holds all of it."""
    newest = stage.alias()
    query = select(newest.c[column]).where(newest.c.sheet == sheet.c.sheet).order_by(newest.c.sequence.desc())
    return query.limit(1).correlate(sheet).scalar_subquery()


def _stated(*kinds: StatementKind) -> ScalarSelect[Any]:
    """Where the newest statement of one of these kinds was made of the sheet as it is signed now; 0 if none was."""
    made = select(func.max(statement.c.sequence)).where(
        statement.c.sheet == sheet.c.sheet, statement.c.kind.in_(kinds), statement.c.sequence > _now("sequence")
    )
    return select(func.coalesce(made.correlate(sheet).scalar_subquery(), 0)).scalar_subquery()


def _went() -> ColumnElement[bool]:
    """Whether a file was sent since the newest stage began, and since the last statement that the customer sees: a
    release is the shop's own."""
    seen = _stated(StatementKind.APPROVED, *_FIRST_ARTICLE)
    later = (sent.c.sequence > _now("sequence"), sent.c.sequence > seen)
    return exists().where(sent.c.sheet == sheet.c.sheet, *later).correlate(sheet)


def _first_article() -> ScalarSelect[Any]:
    """What was stated of the first article, None if nothing was."""
    query = select(statement.c.kind).where(
        statement.c.sheet == sheet.c.sheet, statement.c.sequence == _stated(*_FIRST_ARTICLE)
    )
    return query.limit(1).correlate(sheet).scalar_subquery()


def _returned() -> ColumnElement[bool]:
    """Whether the sheet was returned to the bench after it was signed last."""
    signed = select(func.coalesce(func.max(seal.c.sequence), 0)).where(seal.c.sheet == sheet.c.sheet)
    later = sheet_return.c.sequence > signed.correlate(sheet).scalar_subquery()
    return exists().where(sheet_return.c.sheet == sheet.c.sheet, later).correlate(sheet)


def _doubted() -> ColumnElement[bool]:
    """Whether a cell is in doubt: the sheet is measured, and yet not done."""
    return doubts_of(sheet.c.sheet) > 0


def _in_state(state: State) -> ColumnElement[bool]:
    if state is State.COMPLETE:
        return and_(_now("stage") == "complete", ~_doubted())
    if state is State.OPEN:
        return or_(_now("stage") == "open", and_(_now("stage") == "complete", _doubted()))
    approved, released = _stated(StatementKind.APPROVED) > 0, _stated(StatementKind.RELEASED) > 0
    reviewed = {State.SIGNED: ~approved, State.APPROVED: and_(approved, ~released), State.RELEASED: released}
    return and_(_now("stage") == "signed", reviewed[state])


def _standing(connection: Connection, places: list[int]) -> dict[int, _Standing]:
    approved, released = _stated(StatementKind.APPROVED) > 0, _stated(StatementKind.RELEASED) > 0
    query = select(
        sheet.c.sequence, _now("stage"), _doubted(), approved, released, _went(), _first_article(), _returned()
    )
    found: dict[int, _Standing] = {}
    for place, at, doubted, is_approved, is_released, went, stated, returned in connection.execute(
        query.where(sheet.c.sequence.in_(places))
    ):
        state = _state(at, doubted, is_approved, is_released)
        kind = StatementKind(stated) if stated else None
        found[place] = _Standing(state, bool(went) and at == "signed", kind, bool(returned))
    return found


def _state(stage_now: str, doubted: bool, approved: bool, released: bool) -> State:
    if stage_now == "signed":
        return State.RELEASED if released else State.APPROVED if approved else State.SIGNED
    return State.OPEN if stage_now == "complete" and doubted else State(stage_now)
