"""What may be asked of a sheet, as SQL: each a condition on the row of the table ``sheet`` that a query is at.

Written out and put together as text, for a search is made with every key, and a process that has only begun would
spend several times as long on putting such statements together from parts as on the pages of them. No text of a person
is part of a statement: it is handed in beside it.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from inspection.sheet.report_number import sheet_reported
from inspection.sheet.review import FIRST_ARTICLE, StatementKind


class Condition(NamedTuple):
    """A condition as SQL, with what is handed in for its question marks."""

    sql: str
    given: tuple[str | int, ...] = ()


ALWAYS = Condition("1")


def all_of(conditions: Iterable[Condition]) -> Condition:
    """All of them hold."""
    return _joined(" AND ", conditions)


def any_of(conditions: Iterable[Condition]) -> Condition:
    """One of them holds, or more."""
    return _joined(" OR ", conditions)


def _joined(word: str, conditions: Iterable[Condition]) -> Condition:
    each = tuple(conditions)
    return Condition(
        "(" + word.join(one.sql for one in each) + ")", tuple(given for one in each for given in one.given)
    )


def no(condition: Condition) -> Condition:
    """It does not hold."""
    return Condition(f"NOT {condition.sql}", condition.given)


def patterns(text: str) -> tuple[str, ...]:
    """What LIKE is asked for where a column is to hold a text, whatever its case, with ``/`` to escape: LIKE knows only
    the case of the plain alphabet, so what lies beyond it is tried in each."""
    ways = (text,) if text.isascii() else tuple(dict.fromkeys((text, text.lower(), text.upper(), text.title())))
    plain = (way.replace("/", "//").replace("%", "/%").replace("_", "/_") for way in ways)
    return tuple(f"%{way}%" for way in plain)


def holds(columns: Iterable[str], text: str) -> Condition:
    """One of these columns holds a text."""
    return any_of(
        Condition(f"{column} LIKE ? ESCAPE '/'", (pattern,)) for column in columns for pattern in patterns(text)
    )


def among(column: str, query: str, condition: Condition) -> Condition:
    """A column is one that a query finds by a condition."""
    return Condition(f"{column} IN ({query} WHERE {condition.sql})", condition.given)


def of_revision(revision: str) -> Condition:
    """The plan that it stands on is of this revision."""
    issued = Condition("plan_issue.revision = ?", (revision,))
    return among(PLAN, "SELECT plan_issue.plan FROM plan_issue", issued)


# --- what is on it ----------------------------------------------------------------------------------------------------


def of_number(text: str) -> Condition:
    """Its part's number holds a text."""
    return among("sheet.part", "SELECT plan_issue.part FROM plan_issue", holds(["plan_issue.number"], text))


def with_serial(text: str) -> Condition:
    """A piece has a serial that holds a text: pieces are written by the entry that makes their sheet."""
    return among("sheet.sequence", "SELECT piece.sequence FROM piece", holds(["piece.serial"], text))


def with_word(text: str) -> Condition:
    """A word stands somewhere on it, or is the tag of an instrument that it was read with."""
    named = holds((f"plan_issue.{name}" for name in ("number", "name", "customer")), text)
    tagged = Condition("SELECT instrument FROM instrument_issue WHERE tag = ?", (text.upper(),))
    return any_of(
        (
            among("sheet.part", "SELECT plan_issue.part FROM plan_issue", named),
            with_serial(text),
            *(headed(name, text) for name in ("customer", "order", "lot")),
            among("sheet.sheet", "SELECT note.sheet FROM note", holds(["note.text"], text)),
            proven_by(text),
            nonconforming(text, "number", "what", "document"),
            read_with(tagged),
            *([reported(short)] if (short := sheet_reported(text)) else []),
        )
    )


def reported(short: str) -> Condition:
    """Its identity begins so, as its report number tells (sixteen digits know no sign behind f)."""
    return Condition("(sheet.sheet >= ? AND sheet.sheet < ?)", (short, f"{short}g"))


def proven_by(text: str) -> Condition:
    """A material, process or test that was entered, and not struck since, holds a text."""
    named = holds((f"evidence.{name}" for name in ("name", "specification", "supplier", "certificate")), text)
    struck = Condition(
        "EXISTS (SELECT 1 FROM evidence AS later WHERE later.sheet = evidence.sheet"
        " AND later.evidence = evidence.evidence AND later.change = 'struck' AND later.sequence > evidence.sequence)"
    )
    return among("sheet.sheet", "SELECT evidence.sheet FROM evidence", all_of((named, no(struck))))


def nonconforming(text: str, *columns: str) -> Condition:
    """One of these columns of a nonconformance holds a text."""
    held = holds((f"nonconformance.{name}" for name in columns), text)
    return among("sheet.sheet", "SELECT nonconformance.sheet FROM nonconformance", held)


def read_with(instruments: Condition) -> Condition:
    """Some reading was taken with one of these (a query, or a question mark), whatever became of the reading."""
    return Condition(
        f"EXISTS (SELECT 1 FROM reading_instrument WHERE reading_instrument.instrument IN ({instruments.sql})"
        " AND reading_instrument.sheet = sheet.sheet)",
        instruments.given,
    )


WAS_MARKED = Condition("EXISTS (SELECT 1 FROM sheet_mark WHERE sheet_mark.sheet = sheet.sheet)")
MARKED = Condition(
    "EXISTS (SELECT 1 FROM sheet_mark WHERE sheet_mark.sheet = sheet.sheet AND sheet_mark.change = 'marked'"
    " AND NOT EXISTS (SELECT 1 FROM sheet_mark AS later WHERE later.sheet = sheet_mark.sheet"
    " AND later.mark = sheet_mark.mark AND later.change = 'answered'))"
)
"""A mark for review waits."""


# --- heads ------------------------------------------------------------------------------------------------------------

_NO_HEAD = Condition("NOT EXISTS (SELECT 1 FROM head WHERE head.sheet = sheet.sheet)")
_NEWEST_HEAD = Condition(
    "NOT EXISTS (SELECT 1 FROM head AS later WHERE later.sheet = head.sheet AND later.sequence > head.sequence)"
)


def headed(name: str, text: str) -> Condition:
    """A field of the head as it now is holds a text: of the newest head written, or of the one it was made with."""
    return _of_head(holds([f'sheet."{name}"'], text), holds([f'head."{name}"'], text))


def for_customer(text: str) -> Condition:
    """It is for a customer whose name holds a text: the head's, or the part's where the head names none."""
    of_part = among(PLAN, "SELECT plan_issue.plan FROM plan_issue", holds(["plan_issue.customer"], text))
    unnamed = _of_head(Condition("sheet.customer = ''"), Condition("head.customer = ''"))
    return any_of((headed("customer", text), all_of((of_part, unnamed))))


def _of_head(made_with: Condition, written: Condition) -> Condition:
    later = among("sheet.sheet", "SELECT head.sheet FROM head", all_of((written, _NEWEST_HEAD)))
    return any_of((all_of((made_with, _NO_HEAD)), later))


# --- where it stands --------------------------------------------------------------------------------------------------


def _now(column: str) -> str:
    """A column of a sheet's newest stage: one look at an index that holds all of it."""
    return f"(SELECT stage.{column} FROM stage WHERE stage.sheet = sheet.sheet ORDER BY stage.sequence DESC LIMIT 1)"


def doubts_of(name: str) -> str:
    """How many cells of the sheet of this name (SQL) are in doubt: what its newest row says, none where there is
    none."""
    newest = (
        f"SELECT in_doubt.cells FROM in_doubt WHERE in_doubt.sheet = {name} ORDER BY in_doubt.sequence DESC LIMIT 1"
    )
    return f"coalesce(({newest}), 0)"


def _stated(*kinds: StatementKind) -> str:
    """Where the newest statement of one of these kinds was made of the sheet as it is signed now; 0 if none was."""
    named = ", ".join(f"'{kind.value}'" for kind in kinds)
    return (
        "coalesce((SELECT max(statement.sequence) FROM statement WHERE statement.sheet = sheet.sheet"
        f" AND statement.kind IN ({named}) AND statement.sequence > {STAGE_SINCE}), 0)"
    )


STAGE, STAGE_SINCE, PLAN = _now("stage"), _now("sequence"), _now("plan")
DOUBTED = Condition(f"{doubts_of('sheet.sheet')} > 0")
"""It is measured, and yet not done: a cell is in doubt."""
APPROVED = Condition(f"{_stated(StatementKind.APPROVED)} > 0")
RELEASED = Condition(f"{_stated(StatementKind.RELEASED)} > 0")
WENT = Condition(
    "EXISTS (SELECT 1 FROM sent WHERE sent.sheet = sheet.sheet"
    f" AND sent.sequence > {STAGE_SINCE} AND sent.sequence > {_stated(StatementKind.APPROVED, *FIRST_ARTICLE)})"
)
"""A file was sent since the newest stage began, and since the last statement that the customer sees: a release is the
shop's own."""
FIRST_ARTICLE_STATED = (
    "(SELECT statement.kind FROM statement WHERE statement.sheet = sheet.sheet"
    f" AND statement.sequence = {_stated(*FIRST_ARTICLE)} LIMIT 1)"
)
"""What was stated of the first article, none if nothing was."""
RETURNED = Condition(
    "EXISTS (SELECT 1 FROM sheet_return WHERE sheet_return.sheet = sheet.sheet AND sheet_return.sequence >"
    " coalesce((SELECT max(seal.sequence) FROM seal WHERE seal.sheet = sheet.sheet), 0))"
)
"""It was returned to the bench after it was signed last."""


def at_stage(stage: str) -> Condition:
    """Its newest stage is this one."""
    return Condition(f"{STAGE} = '{stage}'")
