"""A reverse trace in words: what is said of all of it, and its table, alike in the window and on the command line."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from math import floor

from app.jobs.local_time import moment
from app.jobs.looking_back import Trace
from inspection.quantity.speaker import fewest_decimals, placed, plain, sign_of
from inspection.quantity.units import UNITS
from inspection.reasons import Amount
from inspection.sheet.figures import between, limits
from inspection.sheet.people import Person
from inspection.sheet.report_number import SHORT
from inspection.sheet.traced import ReadWith, Traced, sheets_to_be_seen
from inspection.words.say import part_text, say, word

#: The columns of the table, each with its word ``trace.head.…``.
COLUMNS = ("sheet", "part", "number", "serial", "taken", "by", "read", "limits", "margin", "then", "outcome")
#: Those of them that hold numbers.
MEASURED = ("margin", "then")


def found_out(found: Trace) -> str:
    """What was found of which instrument."""
    one, error = found.instrument, part_text(Amount(abs(found.error), found.instrument.quantity, found.instrument.unit))
    how = "large" if found.error > 0 else "small" if found.error < 0 else "true"
    return word(f"trace.title.{how}", tag=one.tag, name=one.name, error=error)


def said(found: Trace, *, marked: bool = False) -> list[str]:
    """From when on was looked, how many readings there are, how many of them somebody has to look at."""
    n, sheets = sum(each.is_to_be_seen for each in found.found), len(sheets_to_be_seen(found.found))
    far = sum(not each.is_near for each in found.found)
    lines = [say(found.why), word("trace.found", n=len(found.found)) if found.found else word("trace.none")]
    if found.found:
        lines.append(word("trace.to_be_seen", n=n, sheets=sheets) if n else word("trace.all_hold"))
    if far:
        lines.append(word("trace.far", n=far))
    if found.cut:
        lines.append(word("trace.cut"))
    return [*lines, word("trace.verdicts_stay" if marked else "trace.nothing_changed")]


def told(found: Trace, each: Traced, people: Mapping[str, Person]) -> dict[str, str]:
    """One reading by column (``COLUMNS``)."""
    read, plan, asked = each.read, found.plans[each.read.plan], each.row.requirement
    places = max(asked.decimals, read.decimals or 0 if read.unit == asked.unit else 0)
    about = between(*limits(asked))
    person, weighed = people.get(read.by), each.weighed
    return {
        "sheet": read.sheet[:SHORT],
        "part": f"{plan.part.number} {plan.part.revision}".strip(),
        "number": each.row.number,
        "serial": found.serials[read.sheet, read.piece],
        "taken": moment(read.taken),
        "by": person.name if person is not None else read.by,
        "read": as_read(read),
        "limits": f"{about} {asked.unit}" if about else "",
        "margin": _margin(weighed.before, asked.unit, places),
        "then": _margin(weighed.after, asked.unit, places),
        "outcome": word(f"trace.outcome.{each.outcome.value}"),
    }


def as_read(read: ReadWith) -> str:
    """What was read as it was written, and its unit where it was written without one."""
    bare = read.amount is not None and read.written.rstrip()[-1:] in "0123456789."
    return f"{read.written} {read.unit}".strip() if bare else read.written


def _margin(room: Fraction | None, unit: str, decimals: int) -> str:
    """A room in the row's unit: exact where the unit can hold it, else a place further and rounded down."""
    if room is None:
        return ""
    sign = sign_of(room).rstrip("+")
    if fewest_decimals(room.numerator, unit, room.denominator) is not None:
        return sign + plain(abs(room.numerator), unit, decimals, room.denominator)
    return sign + placed(abs(floor(room * 10 ** (decimals + 2) / UNITS[unit].count)), decimals + 2)
