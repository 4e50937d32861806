"""Books and sheets as the command line names them, and the tables it shows of a sheet."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import Any

import msgspec

from app.command.outcome import Exit
from app.command.table import table
from app.command.world import World, plain_text
from app.jobs.hand import Hand
from inspection.drawing.characteristic import Characteristic
from inspection.measuring.verdict import IN_DOUBT, Verdict
from inspection.reasons import Reason, Refused
from inspection.sheet import figures
from inspection.sheet.figures import between
from inspection.sheet.report import Line, Report
from inspection.sheet.report_number import SHORT, report_number
from inspection.words.say import say, word
from storage.book.header import default_place
from storage.book.queries.sheets import ListedSheet, list_sheets

#: Sheets that one command looks through for the one it was asked for.
MOST_SHEETS = 10_000
#: So many of those that it may be are named.
MOST_NEAR = 6


def book_path(options: Namespace) -> Path:
    """The book that was named, or the shop's own."""
    return Path(options.book) if options.book else default_place()


def opened(options: Namespace, world: World, *, only_read: bool = False) -> Hand:
    """The book, open, where ``only_read`` holds also one that may only be read; what is to be said about its opening
    goes to the error stream. Raises BookFailure."""
    hand = Hand.open(book_path(options), world.clock, world.identities, only_read=only_read)
    for notice in hand.book.notices:
        world.err.write(say(notice) + "\n")
    try:
        _no_sheet_among_words(options, hand)
    except Refused:
        with hand:
            raise
    return hand


def acting(options: Namespace, hand: Hand) -> None:
    """Let the hand be the person named by ``--as``, or the book's only one. Raises Refused."""
    hand.be(plain_text(options.person or ""))


def sheet_asked(options: Namespace, hand: Hand) -> str:
    """The sheet that ``--sheet`` names, or the book's only one. Raises Refused."""
    return sheet_named(options.sheet or "", hand)


def sheet_named(name: str, hand: Hand) -> str:
    """The sheet of this part number or report number, or with this beginning of its identity; the book's only one for
    an empty name.
    Raises Refused, naming those that it may be."""
    sheets, wanted = _sheets(hand), plain_text(name).casefold()
    found = [one for one in sheets if not wanted or _is(one, wanted)]
    if len(found) == 1:
        return found[0].sheet
    if not sheets:
        raise Refused(Reason("command.no_sheet"))
    if wanted and not found:
        raise Refused(Reason("command.sheet_unknown", {"sheet": wanted[:60]}))
    near = [f"{one.sheet[:SHORT]} ({one.number} {one.revision}: {', '.join(one.serials)})" for one in found[:MOST_NEAR]]
    told: dict[str, str | int] = {"n": len(found), "near": ", ".join([*near, "…"] if len(found) > MOST_NEAR else near)}
    first = found[0].sheet[:SHORT]
    if wanted:
        raise Refused(Reason("command.sheet_several", {"sheet": wanted[:60], "first": first, **told}))
    raise Refused(Reason("command.sheet_needed", {"first": first, **told}))


def _sheets(hand: Hand) -> list[ListedSheet]:
    return hand.book.ask(list_sheets, limit=MOST_SHEETS)


def _is(one: ListedSheet, wanted: str) -> bool:
    report = report_number(one.number, one.sheet).casefold()  # as a customer writes it who sends a form back
    return wanted in (one.number.casefold(), report) or one.sheet.startswith(wanted)


def _no_sheet_among_words(options: Namespace, hand: Hand) -> None:
    """Raise Refused where a command whose sheet is named by an option has none, and a word that names one."""
    words = [plain_text(each) for each in options.bare_words] if getattr(options, "sheet", "") is None else []
    sheets = _sheets(hand) if words else []
    for each in words:
        if any(
            one.number.casefold() == each.casefold() or each == one.sheet[: max(len(each), SHORT)] for one in sheets
        ):
            raise Refused(Reason("command.sheet_among_words", {"sheet": each[:60]}))


# --- what a sheet shows ---------------------------------------------------------------------------------------


def limits(line: Line) -> str:
    """The limits of a row as one text, open sides told."""
    said = between(line.lower, line.upper)
    return f"{said} {line.unit}" if said else ""


def row_limits(row: Characteristic) -> str:
    """The limits of a plan's row as one text, with the unit; open sides told, empty where there is none."""
    said = between(*figures.limits(row.requirement))
    return f"{said} {row.requirement.unit}" if said else ""


def verdict_lines(report: Report) -> list[str]:
    """The verdict table: a row a requirement, a column a piece, then what the verdicts come to."""
    heads = ["number", "requirement", "limits", "instrument"]
    titles = [*(word(f"command.head.{head}") for head in heads), *report.serials, word("command.head.verdict")]
    rows = [
        [line.number, line.requirement, limits(line), _instruments(line), *_results(report, line), line.verdict]
        for line in report.lines
    ]
    why = [
        f"{line.number}, {result.serial}: {reason}"
        for line in report.lines
        for result in line.results
        for reason in result.reasons
    ]
    notes = [f"{line.number}: {note}" for line in report.lines for note in line.notes]
    return [report.title, "", *table(titles, rows), "", *why, *notes, *([""] if why or notes else []), *report.totals]


def _instruments(line: Line) -> str:
    return ", ".join(dict.fromkeys(line.instruments))


def _results(report: Report, line: Line) -> list[str]:
    found = {result.serial: result.text for result in line.results}
    return [found.get(serial, "") for serial in report.serials]


def verdict_data(report: Report) -> dict[str, Any]:
    """The same for scripts."""
    found: dict[str, Any] = msgspec.to_builtins(report)
    del found["labels"]
    return {"done": True, **found}


def verdict_exit(report: Report) -> Exit:
    """1 if a row is open, in doubt or not conforming."""
    bad = {str(verdict) for verdict in (Verdict.OPEN, Verdict.NOT_CONFORMING, *IN_DOUBT)}
    return Exit.NOT_CONFORMING if any(line.state in bad for line in report.lines) else Exit.DONE
