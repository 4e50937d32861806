"""``tenthwright due``: what falls due for calibration, by date or by use."""

from __future__ import annotations

from argparse import Namespace

from app.command.outcome import Answer, Exit
from app.command.sheets import opened
from app.command.table import table
from app.command.world import World, plain_text
from app.jobs.falling_due import Due, falling_due
from inspection.instruments.keeping import Keeping
from inspection.reasons import Reason, Refused
from inspection.words.say import word

MOST_DAYS = 3_660


def due(options: Namespace, world: World) -> Answer:
    """List what falls due; the exit code is 1 where something is overdue, or read as often as its interval allows."""
    with opened(options, world, only_read=True) as hand:
        ahead = _within(options.within) if options.within else hand.book.shop().rules.remind_days
        found = falling_due(hand.book, hand.foreseen.now().day, ahead)
    heads = [
        *(word(f"crib.field.{name}") for name in ("tag", "name", "due")),
        word("due.head.left"),
        word("due.head.readings"),
        word("crib.field.place"),
        word("crib.field.holder"),
    ]
    lines = table(heads, [_row(each) for each in found]) if found else [word("due.none", n=ahead)]
    grave = any(each.keeping is Keeping.OVERDUE or each.is_used_up for each in found)
    data = [
        {
            "tag": each.instrument.tag,
            "due": each.instrument.due,
            "state": each.keeping.value,
            "days_left": each.left,
            "readings": each.readings,
            "used_up": each.is_used_up,
        }
        for each in found
    ]
    exit_code = Exit.NOT_CONFORMING if grave else Exit.DONE
    return Answer(tuple(lines), {"done": True, "within": ahead, "instruments": data}, exit_code)


def _within(text: str) -> int:
    wanted = plain_text(text).strip()
    if not wanted.isdecimal() or int(wanted) > MOST_DAYS:
        raise Refused(Reason("command.within_unknown", {"text": wanted[:60]}))
    return int(wanted)


def _row(each: Due) -> list[str]:
    one = each.instrument
    read = word("due.of", n=each.readings, most=one.every_readings) if each.readings is not None else ""
    return [one.tag, one.name, one.due, "" if each.left is None else str(each.left), read, one.place, one.holder]
