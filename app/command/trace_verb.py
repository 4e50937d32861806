"""``tenthwright trace``: what an error that was found in an instrument makes of what was read with it."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence
from fractions import Fraction
from math import floor

from app.command.asked import instrument_asked, name_of, read_options
from app.command.book_verbs import SHORT
from app.command.find_verb import day_asked
from app.command.outcome import Answer, Exit
from app.command.sheets import opened, row_limits
from app.command.table import table
from app.command.world import World
from app.jobs.hand import Hand
from app.jobs.local_time import moment
from app.jobs.looking_back import Trace, trace
from inspection.instruments.spelling import Piece
from inspection.quantity.reader import read
from inspection.quantity.speaker import fewest_decimals, placed, plain
from inspection.quantity.units import UNITS
from inspection.reasons import Amount
from inspection.sheet.traced import Traced, sheets_to_be_seen
from inspection.words.say import part_text, say, word


def trace_instrument(options: Namespace, world: World) -> Answer:
    """Tell what an error that was found in an instrument makes of each reading since it was last known to be good. The
    exit code is 1 where somebody has to look at one. Nothing is changed."""
    since = day_asked("--since", options.since)
    with opened(options, world, only_read=True) as hand:
        instrument = instrument_asked(hand, options.tag)
        unit, kind = instrument.unit, instrument.quantity

        def signed(piece: Piece) -> int:
            return read(piece.text, unit=unit, kind=kind, signed=True).count

        def size(piece: Piece) -> int | None:
            return read(piece.text, unit=unit, kind=kind).count if piece.text.strip() else None

        error, at = read_options(("--error", options.error, signed), ("--at", options.at, size))
        found = trace(hand.book, instrument, error, at, since=since, until=hand.foreseen.now().at)
        rows = [_traced(hand, found, each) for each in found.found]
    names = ("sheet", "part", "number", "serial", "taken", "by", "read", "limits", "margin", "then", "outcome")
    lines = table([word(f"trace.head.{name}") for name in names], [[row[name] for name in names] for row in rows])
    seen = sheets_to_be_seen(found.found)
    said = _said(found, seen)
    data = {
        "done": True,
        "tag": instrument.tag,
        "error": plain(error, unit) if fewest_decimals(error, unit) is not None else str(error),
        "unit": unit,
        "since": found.since,
        "why": say(found.why),
        "readings": [{**row, "sheet": each.read.sheet} for row, each in zip(rows, found.found, strict=True)],
        "to_be_seen": list(seen),
        "cut": found.cut,
    }
    return Answer((*said, *(["", *lines] if rows else [])), data, Exit.NOT_CONFORMING if seen else Exit.DONE)


def _said(found: Trace, seen: Sequence[str]) -> list[str]:
    one = found.instrument
    error = part_text(Amount(abs(found.error), one.quantity, one.unit))
    how = "large" if found.error > 0 else "small" if found.error < 0 else "true"
    n, sheets = sum(each.is_to_be_seen for each in found.found), len(seen)
    far = sum(not each.is_near for each in found.found)
    lines = [word(f"trace.title.{how}", tag=one.tag, name=one.name, error=error), say(found.why)]
    lines.append(word("trace.found", n=len(found.found)) if found.found else word("trace.none"))
    if found.found:
        lines.append(word("trace.to_be_seen", n=n, sheets=sheets) if n else word("trace.all_hold"))
    if far:
        lines.append(word("trace.far", n=far))
    if found.cut:
        lines.append(word("trace.cut"))
    return [*lines, word("trace.nothing_changed")]


def _traced(hand: Hand, found: Trace, each: Traced) -> dict[str, str]:
    read_, plan, asked = each.read, found.plans[each.read.plan], each.row.requirement
    places = max(asked.decimals, read_.decimals or 0 if read_.unit == asked.unit else 0)
    return {
        "sheet": read_.sheet[:SHORT],
        "part": f"{plan.part.number} {plan.part.revision}".strip(),
        "number": each.row.number,
        "serial": read_.serial,
        "taken": moment(read_.taken),
        "by": name_of(hand, read_.by),
        "read": f"{read_.written} {read_.unit}".strip() if read_.amount is not None else read_.written,
        "limits": row_limits(each.row),
        "margin": _margin(each.weighed.before, asked.unit, places),
        "then": _margin(each.weighed.after, asked.unit, places),
        "outcome": word(f"trace.outcome.{each.weighed.outcome.value}"),
    }


def _margin(room: Fraction | None, unit: str, decimals: int) -> str:
    """A room in the row's unit: exact where the unit can hold it, else a place further and rounded down."""
    if room is None:
        return ""
    if fewest_decimals(room.numerator, unit, room.denominator) is not None:
        return plain(room.numerator, unit, decimals, room.denominator)
    return placed(floor(room * 10 ** (decimals + 2) / UNITS[unit].count), decimals + 2)
