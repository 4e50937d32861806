"""``tenthwright trace``, ``marks`` and ``answer-mark``: what a found error makes of readings; sheets marked for it."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import Any

from msgspec import to_builtins

from app.command.asked import instrument_asked, name_of, read_options
from app.command.find_verb import day_asked
from app.command.outcome import Answer, Exit
from app.command.sheets import acting, opened, sheet_asked
from app.command.table import table
from app.command.world import World, plain_text
from app.jobs.hand import Hand
from app.jobs.local_time import moment
from app.jobs.looking_back import Trace, trace
from app.jobs.marking import mark_sheets, names_of
from app.jobs.sending import PAPERS
from app.jobs.trace_told import COLUMNS, MEASURED, found_out, said, told
from inspection.instruments.record import Instrument
from inspection.instruments.spelling import Piece
from inspection.quantity.reader import read
from inspection.quantity.speaker import fewest_decimals, plain
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.points_marks import found_out as mark_found_out
from inspection.sheet.report_number import SHORT
from inspection.sheet.traced import sheets_to_be_seen
from inspection.words.say import say, word
from storage.book.queries.open_marks import open_marks
from storage.csv_cells import number_text


def trace_instrument(options: Namespace, world: World) -> Answer:
    """Tell what an error that was found in an instrument makes of each reading since it was last known to be good. The
    exit code is 1 where somebody has to look at one. With ``--mark`` their sheets are marked for review, with ``--to``
    the trace is written as a document; nothing else is changed."""
    since, words = day_asked("--since", options.since), plain_text(options.mark)
    with opened(options, world, only_read=not words) as hand:
        instrument = instrument_asked(hand, options.tag)
        error, at = _asked(options, instrument)
        found = trace(hand.book, instrument, error, at, since=since)
        people = hand.book.shop().people
        done = []
        if options.to:
            done.append(_written(options, hand, found))
        if words:
            acting(options, hand)
            done += _marked(hand, found, words)
    rows = [told(found, each, people) for each in found.found]
    heads = [word(f"trace.head.{name}") for name in COLUMNS]
    lines = table(heads, [[row[name] for name in COLUMNS] for row in rows])
    seen, unit = sheets_to_be_seen(found.found), instrument.unit
    data = {
        "done": True,
        "tag": instrument.tag,
        "error": plain(error, unit) if fewest_decimals(error, unit) is not None else str(error),
        "unit": unit,
        "since": found.since,
        "why": say(found.why),
        "readings": [
            {**row, **{name: number_text(row[name]) for name in MEASURED}, "sheet": each.read.sheet}
            for row, each in zip(rows, found.found, strict=True)
        ],
        "to_be_seen": list(seen),
        "cut": found.cut,
    }
    answer = (found_out(found), *said(found, marked=bool(words)), *done, *(["", *lines] if rows else []))
    return Answer(answer, data, Exit.NOT_CONFORMING if seen else Exit.DONE)


def _asked(options: Namespace, instrument: Instrument) -> tuple[int, int | None]:
    """The error and the size at which it was found, in the instrument's own unit where none is written."""
    unit, kind = instrument.unit, instrument.quantity

    def signed(piece: Piece) -> int:
        return read(piece.text, unit=unit, kind=kind, signed=True).count

    def size(piece: Piece) -> int | None:
        return read(piece.text, unit=unit, kind=kind).count if piece.text.strip() else None

    error, at = read_options(("--error", options.error, signed), ("--at", options.at, size))
    return error, at


def _written(options: Namespace, hand: Hand, found: Trace) -> str:
    from app.jobs.trace_letter import write_trace

    path, day = Path(options.to).absolute(), hand.foreseen.now().day
    write_trace(hand.book, found, path, day, plain_text(options.customer), paper=PAPERS[options.paper])
    return word("trace.written", file=str(path))


def _marked(hand: Hand, found: Trace, words: str) -> list[str]:
    done = mark_sheets(hand.book, found, words, hand.person)
    told_of = (("trace.marked", len(done.acts)), ("trace.marked_already", len(done.marked)))
    return [word(code, n=n) for code, n in told_of if n]


# --- marks ------------------------------------------------------------------------------------------------------------


def marks(options: Namespace, world: World) -> Answer:
    """List the marks for review that wait: of the whole shop, or all of one sheet with their answers. The exit code is
    1 while one waits."""
    with opened(options, world, only_read=True) as hand:
        if options.sheet:
            return _of_sheet(options, hand)
        found = hand.book.ask(open_marks)
        shop = hand.book.shop()
        rows = [
            [
                one.sheet[:SHORT],
                " ".join(filter(None, (one.number, one.revision))),
                ", ".join(one.serials),
                tagged.tag if (tagged := shop.issues.get((one.instrument, one.issue))) is not None else "–",
                str(one.readings),
                moment(one.at),
                name_of(hand, one.by),
                one.words,
            ]
            for one in found
        ]
    heads = [word(f"marks.head.{name}") for name in ("sheet", "part", "serials", "tag", "n", "when", "by", "words")]
    lines = table(heads, rows) if rows else [word("marks.none")]
    data = {"done": True, "marks": [to_builtins(one) for one in found]}
    return Answer(tuple(lines), data, Exit.NOT_CONFORMING if found else Exit.DONE)


def _of_sheet(options: Namespace, hand: Hand) -> Answer:
    sheet, shop = hand.book.sheet(sheet_asked(options, hand)), hand.book.shop()
    lines: list[str] = []
    for name, identity in names_of(sheet).items():
        mark = sheet.marks[identity]
        by, when = name_of(hand, mark.by), moment(mark.at)
        lines.append(word("marks.line", name=name, found=say(mark_found_out(shop, mark)), n=len(mark.readings)))
        lines.append("    " + word("marks.by", by=by, when=when, words=mark.words))
        if mark.waits:
            lines.append("    " + word("marks.waits"))
        else:
            by, when = name_of(hand, mark.answered_by), moment(mark.answered_at)
            lines.append("    " + word("marks.answered", by=by, when=when, words=mark.answer))
    waits = any(mark.waits for mark in sheet.marks.values())
    data: dict[str, Any] = {"done": True, "marks": [to_builtins(mark) for mark in sheet.marks.values()]}
    return Answer(tuple(lines or [word("marks.none")]), data, Exit.NOT_CONFORMING if waits else Exit.DONE)


def answer_mark(options: Namespace, world: World) -> Answer:
    """Answer a mark of a sheet with words."""
    with opened(options, world) as hand:
        acting(options, hand)
        sheet = hand.book.sheet(sheet_asked(options, hand))
        named, wanted = names_of(sheet), plain_text(options.mark).strip()
        waiting = [name for name, identity in named.items() if sheet.marks[identity].waits]
        if not wanted and len(waiting) == 1:
            wanted = waiting[0]
        if wanted not in named:
            known = ", ".join(named) or "–"
            raise Refused(Reason("command.mark_unknown", {"mark": wanted[:20], "known": known}))
        act = acts.AnswerMark(sheet=sheet.identity, mark=named[wanted], words=plain_text(options.words))
        hand.book.do(act, person=hand.person)
    return Answer((word("marks.done", name=wanted),), {"done": True, "mark": named[wanted]})
