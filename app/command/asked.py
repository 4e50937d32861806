"""What a command line names beside books and sheets: instruments, rows, pieces; and moments as they are told."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from difflib import get_close_matches
from typing import Any

from app.command.world import plain_text
from app.jobs.hand import Hand
from inspection.drawing.characteristic import Characteristic
from inspection.drawing.plan import Plan
from inspection.instruments.record import Instrument
from inspection.instruments.spelling import Piece as Text
from inspection.reasons import Reason, Refused
from inspection.sheet.head import Piece
from inspection.sheet.state import Sheet

#: So many rows are named where the one that was asked for is not there.
MOST_ROWS = 30
#: Said behind faults that only tell what is wrong.
NOTHING_CHANGED = Reason("command.nothing_changed")


def instrument_asked(hand: Hand, tag: str) -> Instrument:
    """The instrument of the crib with this tag. Raises Refused, with the nearest tag if there is one."""
    shop, wanted = hand.book.shop(), plain_text(tag).strip()
    found = shop.by_tag(wanted)
    if found is not None:
        return found
    near = _nearest(wanted, [one.tag for one in shop.crib.values()])
    if near:
        raise Refused(Reason("command.tag_near", {"tag": wanted[:60], "near": near}))
    raise Refused(Reason("command.tag_unknown", {"tag": wanted[:60]}))


def _nearest(wanted: str, tags: Sequence[str]) -> str:
    """The tag that is most likely meant: the one that differs in capitals, dashes or idle zeros only, else the one that
    is most alike; empty where none is near."""
    same = [tag for tag in tags if _bare(tag) == _bare(wanted)]
    return next(iter(same or get_close_matches(wanted.upper(), tags, n=1)), "")


def _bare(tag: str) -> str:
    return re.sub(r"(?<!\d)0+(?=\d)", "", re.sub(r"[\W_]", "", tag)).casefold()


def row_asked(sheet: Sheet, number: str) -> Characteristic:
    """The row of a sheet with this balloon number. Raises Refused."""
    return row_of(sheet.plan, number)


def row_of(plan: Plan, number: str) -> Characteristic:
    """The row of a plan with this balloon number. Raises Refused, naming those that come nearest, or all."""
    wanted = plain_text(number).strip()
    found = next((row for row in plan.characteristics if row.number == wanted), None)
    if found is not None:
        return found
    known = [row.number for row in plan.characteristics]
    near = [each for each in known if each.partition(".")[0] == wanted.partition(".")[0]] or known
    told = ", ".join([*near[:MOST_ROWS], "…"] if len(near) > MOST_ROWS else near)
    raise Refused(Reason("command.number_unknown", {"number": wanted[:60], "known": told}))


def piece_asked(sheet: Sheet, serial: str) -> Piece:
    """The piece with this serial, or the sheet's only one where none is named. Raises Refused, naming those there
    are."""
    wanted, serials = plain_text(serial).strip(), ", ".join(piece.serial for piece in sheet.pieces)
    if not wanted and len(sheet.pieces) == 1:
        return sheet.pieces[0]
    found = next((piece for piece in sheet.pieces if piece.serial == wanted), None)
    if found is not None:
        return found
    if wanted:
        raise Refused(Reason("command.serial_unknown", {"serial": wanted[:60], "serials": serials}))
    raise Refused(Reason("command.serial_needed", {"serials": serials}))


def read_options(*given: tuple[str, str, Callable[[Text], Any]]) -> tuple[Any, ...]:
    """What options say: each its name, its text, and what reads that. Raises Refused with every fault, each behind its
    option and character."""
    found, faults = [], []
    for option, text, read in given:
        try:
            found.append(read(Text(plain_text(text))))
        except Refused as refused:
            for reason in refused.reasons:
                at = reason.parts.get("at")
                faults.append(
                    Reason("command.in_option", {"option": option, "at": at + 1 if isinstance(at, int) else 1})
                )
                faults.append(reason)
    if faults:
        raise Refused(*faults, NOTHING_CHANGED)
    return tuple(found)


def name_of(hand: Hand, person: str) -> str:
    """A person's name."""
    found = hand.book.shop().people.get(person)
    return found.name if found is not None else person
