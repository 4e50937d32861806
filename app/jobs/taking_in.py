"""A feature file carried out: the part's plan issued, and a sheet made on it for the pieces named."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from app.jobs.hand import Hand
from inspection.drawing.characteristic import Characteristic
from inspection.drawing.plan import Plan
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.life import decide
from inspection.sheet.state import Sheet
from storage.book.queries.parts import part_of_number
from storage.intake.features import FeatureFile


class TakenIn(Struct, frozen=True):
    """What a feature file came to: the plan as issued, and the sheet, None if no piece was named."""

    plan: Plan
    sheet: Sheet | None


def take_in(hand: Hand, file: FeatureFile, serials: tuple[str, ...] = ()) -> TakenIn:
    """Issue the plan of a feature file and, if the file or ``serials`` name pieces, make a sheet on it.

    A part that the book knows by its number gets a further issue, in which a row keeps its identity by its balloon
    number. Both acts are decided before the first is done: raises Refused, and then nothing was changed.
    """
    part = hand.book.ask(part_of_number, file.part.number)
    rows = _known_rows(hand, part, file.characteristics) if part else file.characteristics
    issue = acts.IssuePlan(plan=Plan("", part, 0, file.part, file.title_block, rows))
    plan = _issued(hand, issue)
    pieces = serials or file.serials
    make = acts.MakeSheet(plan=plan.identity, serials=pieces, head=file.head)
    if pieces:
        decide(hand.book.shop(), None, {plan.identity: plan}, make, hand.entry_ahead(1))
    hand.book.do(issue, person=hand.person)
    return TakenIn(plan, hand.book.do(make, person=hand.person).sheet if pieces else None)


def _issued(hand: Hand, act: acts.IssuePlan) -> Plan:
    """The plan as the act will issue it; raises Refused."""
    part = act.plan.part_identity
    plans = hand.book.plans_of(part) if part else {}
    events = decide(hand.book.shop(), None, plans, act, hand.entry_ahead(0))
    return next(event.plan for event in events if isinstance(event, ev.PlanIssued))


def _known_rows(hand: Hand, part: str, rows: tuple[Characteristic, ...]) -> tuple[Characteristic, ...]:
    """Rows of a further issue with the identities that their numbers have in the newest one."""
    newest = max(hand.book.plans_of(part).values(), key=lambda plan: plan.issue)
    known = {row.number: row.identity for row in newest.characteristics}
    return tuple(replace(row, identity=known.get(row.number, "")) for row in rows)
