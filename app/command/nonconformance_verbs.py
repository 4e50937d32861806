"""``tenthwright nonconformance``, ``dispose`` and ``nonconformances``: what does not conform, and what is done."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator

from msgspec import to_builtins

from app.command.asked import name_of, piece_asked, row_asked
from app.command.outcome import Answer
from app.command.sheets import MOST_SHEETS, acting, opened, sheet_asked
from app.command.standing import numbers_of, serial_of
from app.command.table import table
from app.command.world import World, plain_text
from app.jobs.local_time import moment
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.cells import open_cells
from inspection.sheet.nonconformance import Disposition, Leave, Nonconformance
from inspection.sheet.report_number import SHORT
from inspection.sheet.state import Sheet
from inspection.words.say import word
from storage.book.queries.nonconformances import nonconformances as listed

#: What may be done about a nonconformance, as a command line names it.
DISPOSITIONS = {
    "rework": Disposition.REWORK,
    "repair": Disposition.REPAIR,
    "use-as-is": Disposition.USE_AS_IS,
    "return": Disposition.RETURN,
    "scrap": Disposition.SCRAP,
}
COLUMNS = ("number", "part", "serial", "rows_n", "what", "raised", "decided", "sheet")


def nonconformance(options: Namespace, world: World) -> Answer:
    """Give rows of a piece that do not conform, or are in doubt, the shop's number."""
    with opened(options, world) as hand:
        acting(options, hand)
        sheet = hand.book.sheet(sheet_asked(options, hand))
        act = acts.RaiseNonconformance(
            sheet=sheet.identity,
            piece=piece_asked(sheet, options.piece).identity,
            characteristics=tuple(row_asked(sheet, number).identity for number in options.number),
            number=plain_text(options.no),
            what=plain_text(options.what),
        )
        events = hand.book.do(act, person=hand.person).events
    held = next(event.nonconformance for event in events if isinstance(event, ev.NonconformanceRaised))
    told = {"no": held.number, "rows": numbers_of(sheet, held.rows), "serial": serial_of(sheet, held.piece)}
    return Answer((word("command.nonconformance.done", **told),), {"done": True, "raised": to_builtins(held)})


def dispose(options: Namespace, world: World) -> Answer:
    """Decide what is done about a nonconformance; what follows for the piece is told."""
    with opened(options, world) as hand:
        acting(options, hand)
        before = hand.book.sheet(sheet_asked(options, hand))
        act = acts.DisposeNonconformance(
            sheet=before.identity,
            nonconformance=_asked(before, plain_text(options.no)).identity,
            disposition=DISPOSITIONS[options.disposition],
            words=plain_text(options.words),
            affected=tuple(row_asked(before, number).identity for number in options.affects),
            leave=_leave(options),
        )
        outcome = hand.book.do(act, person=hand.person)
    held = next(event.nonconformance for event in outcome.events if isinstance(event, ev.NonconformanceDisposed))
    after = outcome.sheet
    assert after is not None and held.disposition is not None
    lines = [word("command.dispose.done", no=held.number, disposition=held.disposition.value), *_following(after, held)]
    return Answer(tuple(lines), {"done": True, "decided": to_builtins(held)})


def _asked(sheet: Sheet, number: str) -> Nonconformance:
    """The nonconformance of a sheet with this number. Raises Refused, naming those there are."""
    wanted = number.strip().casefold()
    for held in sheet.nonconformances.values():
        if held.number.casefold() == wanted:
            return held
    known = ", ".join(held.number for held in sheet.nonconformances.values())
    if known:
        raise Refused(Reason("command.dispose.unknown", {"no": number[:60], "known": known}))
    raise Refused(Reason("command.dispose.none"))


def _leave(options: Namespace) -> Leave | None:
    """The customer's leave, None where nothing of it is told."""
    told = [plain_text(each).strip() for each in (options.document, options.day, options.scope)]
    return Leave(*told) if any(told) else None


def _following(sheet: Sheet, held: Nonconformance) -> Iterator[str]:
    """What the decision asks of the bench, or that the piece is gone."""
    assert held.disposition is not None
    serial = serial_of(sheet, held.piece)
    if held.disposition.leaves:
        yield word("command.dispose.left", serial=serial)
    if held.disposition.measured_again:
        open_ = tuple(dict.fromkeys(row for row, piece in open_cells(sheet) if piece == held.piece))
        n = sheet.reworked[held.piece]
        yield word("command.dispose.reworked", serial=serial, n=n, rows=numbers_of(sheet, open_))


def nonconformances(options: Namespace, world: World) -> Answer:
    """List nonconformances across the shop, those that wait for a decision first."""
    with opened(options, world, only_read=True) as hand:
        found = hand.book.ask(listed, plain_text(" ".join(options.text)), limit=MOST_SHEETS)
        rows = [
            [
                one.number,
                f"{one.part} {one.revision}".strip(),
                one.serial,
                str(one.rows),
                one.what,
                f"{moment(one.at)} {name_of(hand, one.by)}",
                _decided(one.disposition, one.document) if not one.waits else word("command.nonconformance.waits"),
                one.sheet[:SHORT],
            ]
            for one in found
        ]
    heads = [word(f"command.nonconformance.head.{column}") for column in COLUMNS]
    lines = table(heads, rows) if rows else [word("command.nothing_listed")]
    waiting = sum(one.waits for one in found)
    return Answer(tuple(lines), {"done": True, "waiting": waiting, "nonconformances": to_builtins(found)})


def _decided(disposition: str, document: str) -> str:
    return f"{disposition} ({document})" if document else disposition
