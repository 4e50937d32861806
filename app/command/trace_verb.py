"""``tenthwright trace``: what an error that was found in an instrument makes of what was read with it."""

from __future__ import annotations

from argparse import Namespace

from app.command.asked import instrument_asked, read_options
from app.command.find_verb import day_asked
from app.command.outcome import Answer, Exit
from app.command.sheets import opened
from app.command.table import table
from app.command.world import World
from app.jobs.looking_back import trace
from app.jobs.trace_told import COLUMNS, said, title, told
from inspection.instruments.spelling import Piece
from inspection.quantity.reader import read
from inspection.quantity.speaker import fewest_decimals, plain
from inspection.sheet.traced import sheets_to_be_seen
from inspection.words.say import say, word


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
        found = trace(hand.book, instrument, error, at, since=since)
        people = hand.book.shop().people
    rows = [told(found, each, people) for each in found.found]
    heads = [word(f"trace.head.{name}") for name in COLUMNS]
    lines = table(heads, [[row[name] for name in COLUMNS] for row in rows])
    seen = sheets_to_be_seen(found.found)
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
    answer = (title(found), *said(found), *(["", *lines] if rows else []))
    return Answer(answer, data, Exit.NOT_CONFORMING if seen else Exit.DONE)
