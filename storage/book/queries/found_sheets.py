"""Which sheets are those that a person looks for?"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from enum import StrEnum
from typing import Any, NamedTuple

from msgspec import Struct
from sqlalchemy import (
    ColumnElement,
    Connection,
    ScalarSelect,
    Select,
    and_,
    exists,
    func,
    literal_column,
    or_,
    select,
    true,
)

from inspection.sheet.review import StatementKind
from storage.book.queries.open_marks import waits
from storage.book.queries.sheets import ListedSheet, doubts_of, listed_of
from storage.book.tables import (
    evidence,
    head,
    instrument_issue,
    nonconformance,
    note,
    piece,
    plan_issue,
    reading_instrument,
    seal,
    sent,
    sheet,
    sheet_mark,
    sheet_return,
    stage,
    standing,
    statement,
)

#: What is stated of a first article, one or the other.
_FIRST_ARTICLE = (StatementKind.COMPLETE, StatementKind.NOT_COMPLETE)


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
    query = select(sheet.c.sequence).where(*_conditions(wanted)).order_by(sheet.c.sequence.desc()).limit(limit)
    if after:
        query = query.where(sheet.c.sequence < after)
    places = list(connection.execute(query).scalars())
    listed = listed_of(connection, places)
    standing = _standing(connection, places)
    return [FoundSheet(place, one, *standing[place]) for place, one in zip(places, listed, strict=True)]


def _conditions(wanted: Wanted) -> list[ColumnElement[bool]]:
    """What must hold of a sheet; every field that is wanted makes its own conditions."""
    found: list[ColumnElement[bool]] = [true()]
    for name, conditions in _BY_FIELD.items():
        value = getattr(wanted, name)
        if value not in ("", None):
            found += conditions(value)
    return found


def _of_text(text: str) -> list[ColumnElement[bool]]:
    return [_with_word(each) for each in text.split()]


def _of_number(text: str) -> list[ColumnElement[bool]]:
    return [sheet.c.part.in_(select(plan_issue.c.part).where(holds(plan_issue.c.number, text)))]


def _of_revision(revision: str) -> list[ColumnElement[bool]]:
    return [_now("plan").in_(select(plan_issue.c.plan).where(plan_issue.c.revision == revision))]


def _for_customer(text: str) -> list[ColumnElement[bool]]:
    return [or_(_headed("customer", text), and_(_of_customer(text), _no_customer()))]


def _of_sent(sent_already: bool) -> list[ColumnElement[bool]]:
    return [_now("stage") == "signed", _went() if sent_already else ~_went()]


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
    tagged = select(instrument_issue.c.instrument).where(instrument_issue.c.tag == text.upper())
    return or_(
        sheet.c.part.in_(select(plan_issue.c.part).where(named)),
        sheet.c.sequence.in_(_with_serial(text)),
        *(_headed(name, text) for name in ("customer", "order", "lot")),
        sheet.c.sheet.in_(noted),
        _proven_by(text),
        _nonconforming(text, "number", "what", "document"),
        _read_with(reading_instrument.c.instrument.in_(tagged)),
    )


def _proven_by(text: str) -> ColumnElement[bool]:
    """Whether a material, process or test that was entered, and not struck since, holds a text."""
    later = evidence.alias()
    struck = exists().where(
        later.c.sheet == evidence.c.sheet,
        later.c.evidence == evidence.c.evidence,
        later.c.change == "struck",
        later.c.sequence > evidence.c.sequence,
    )
    named = or_(*(holds(evidence.c[name], text) for name in ("name", "specification", "supplier", "certificate")))
    return sheet.c.sheet.in_(select(evidence.c.sheet).where(named, ~struck))


def _nonconforming(text: str, *columns: str) -> ColumnElement[bool]:
    held = or_(*(holds(nonconformance.c[name], text) for name in columns))
    return sheet.c.sheet.in_(select(nonconformance.c.sheet).where(held))


def _read_with(instruments: ColumnElement[bool]) -> ColumnElement[bool]:
    """Whether some reading of the sheet was taken with one of these, whatever became of the reading."""
    return exists().where(instruments, reading_instrument.c.sheet == sheet.c.sheet).correlate(sheet)


def _marked() -> ColumnElement[bool]:
    """Whether a mark for review waits on the sheet."""
    return exists().where(sheet_mark.c.sheet == sheet.c.sheet, waits()).correlate(sheet)


def _was_marked() -> ColumnElement[bool]:
    return exists().where(sheet_mark.c.sheet == sheet.c.sheet).correlate(sheet)


def _came_to(verdict: Came) -> ColumnElement[bool]:
    if verdict is Came.IN_DOUBT:
        return _doubted()
    newest = select(standing.c[verdict.value]).where(standing.c.sheet == sheet.c.sheet)
    now = newest.order_by(standing.c.sequence.desc()).limit(1).correlate(sheet).scalar_subquery()
    if verdict is Came.CONFORMING:
        return now > 0
    ever = standing.alias()  # by an index of those alone, which holds none of most sheets
    some = exists().where(ever.c.sheet == sheet.c.sheet, ever.c[verdict.value] > literal_column("0"))
    return and_(some.correlate(sheet), now > 0)


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


#: The conditions that each field of ``Wanted`` makes.
_BY_FIELD: Mapping[str, Callable[[Any], list[ColumnElement[bool]]]] = {
    "part": lambda part: [sheet.c.part == part],
    "person": lambda person: [sheet.c.made_by == person],
    "since": lambda day: [sheet.c.day >= day],
    "until": lambda day: [sheet.c.day <= day],
    "number": _of_number,
    "revision": _of_revision,
    "serial": lambda text: [sheet.c.sequence.in_(_with_serial(text))],
    "customer": _for_customer,
    "order": lambda text: [_headed("order", text)],
    "lot": lambda text: [_headed("lot", text)],
    "heat": lambda text: [or_(_headed("lot", text), _proven_by(text))],
    "instrument": lambda name: [_read_with(reading_instrument.c.instrument == name)],
    "verdict": lambda verdict: [_came_to(verdict)],
    "nonconformance": lambda text: [_nonconforming(text, "number")],
    "state": lambda state: [_in_state(state)],
    "sent": _of_sent,
    "marked": lambda how: [_marked() if how is Marked.WAITING else and_(_was_marked(), ~_marked())],
    "text": _of_text,
}
