"""``tenthwright partial`` and ``amend``: sheets that follow an approved one."""

from __future__ import annotations

from argparse import Namespace

from app.command.outcome import Answer
from app.command.sheets import acting, opened, sheet_asked
from app.command.world import World, plain_text
from inspection.reasons import Part, Reason
from inspection.sheet import acts
from inspection.sheet.report_number import SHORT
from inspection.sheet.state import Sheet
from inspection.words.say import say


def partial(options: Namespace, world: World) -> Answer:
    """Begin a partial first article on further pieces, which completes one that was stated not complete."""
    from app.jobs.next_piece import NextPiece

    serials = tuple(filter(None, (plain_text(each).strip() for each in options.serial)))
    with opened(options, world) as hand:
        acting(options, hand)
        name = sheet_asked(options, hand)
        act = NextPiece(name, serials, plain_text(options.order).strip(), completes=True).run(hand.book)
        made = hand.book.do(act, person=hand.person).sheet
    assert made is not None
    numbers = [row.number for row in made.plan.characteristics if row.identity in made.only]
    return _answer(made, "command.partial.done", name, rows=", ".join(numbers), n=len(numbers))


def amend(options: Namespace, world: World) -> Answer:
    """Begin a sheet in place of an approved one."""
    with opened(options, world) as hand:
        acting(options, hand)
        name = sheet_asked(options, hand)
        act = acts.AmendSheet(amended=name, reason=plain_text(options.reason))
        made = hand.book.do(act, person=hand.person).sheet
    assert made is not None
    return _answer(made, "command.amend.done", name)


def _answer(made: Sheet, code: str, follows: str, **parts: Part) -> Answer:
    serials = ", ".join(piece.serial for piece in made.pieces)
    told: dict[str, Part] = {"sheet": made.identity[:SHORT], "follows": follows[:SHORT], "serials": serials, **parts}
    numbers = [row.number for row in made.plan.characteristics if row.identity in made.only]
    data = {"done": True, "sheet": made.identity, "follows": follows, "serials": serials.split(", "), "rows": numbers}
    return Answer((say(Reason(code, told)),), data)
