"""A signed sheet as its lead looks at it: the list, what stands in the way, and a row read again beside the first."""

from __future__ import annotations

from msgspec import Struct

from app.jobs.hand import Hand
from app.jobs.reading_acts import unit_in_hand
from inspection.drawing.characteristic import Characteristic
from inspection.instruments.method import Method
from inspection.instruments.record import Instrument
from inspection.measuring.reading import Observed, Reading, Slot
from inspection.measuring.slots import slots_of
from inspection.quantity.reader import read
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.cells import instrument_of
from inspection.sheet.head import Piece
from inspection.sheet.helping import given_on, method_with
from inspection.sheet.life import points_of
from inspection.sheet.points_again import again_of, of_again
from inspection.sheet.points_look import Look
from inspection.sheet.points_table import Point
from inspection.sheet.review import StatementKind
from inspection.sheet.review_life import in_the_way, not_to_state
from inspection.sheet.state import Sheet, Shop
from inspection.sheet.steps import not_now
from storage.book.clock import Moment
from storage.book.door import Book
from storage.book.queries.earlier_of_sheet import earlier_of_sheet
from storage.book.queries.linked_sheets import LinkedSheet, linked_sheets


class Reviewed(Struct, frozen=True):
    """A sheet as it stands, its shop, the lead's list of it, the worst first, and what stands in the way of each
    statement that its reviewer would make; and the sheets that it is linked to."""

    sheet: Sheet
    shop: Shop
    points: tuple[Point, ...]
    against: dict[StatementKind, tuple[Reason, ...]]
    linked: tuple[LinkedSheet, ...] = ()


def reviewed(book: Book, name: str, person: str, moment: Moment) -> Reviewed:
    """Look at a sheet as ``person`` would review it at a ``moment``; nobody in particular where the identity is empty.
    Raises Refused if there is no such sheet, or BookFailure."""
    sheet, shop = book.sheet(name), book.shop()
    listed = listed_of(book, shop, sheet, moment.day)
    against = {kind: tuple(in_the_way(shop, sheet, kind, person, moment.at, listed)) for kind in StatementKind}
    return Reviewed(sheet, shop, listed, against, linked_to(book, sheet))


def linked_to(book: Book, sheet: Sheet) -> tuple[LinkedSheet, ...]:
    """The sheets that a sheet completes or amends, and those that complete or amend it. Raises BookFailure."""
    found = book.ask(linked_sheets, sheet.identity, completes=sheet.completes, amends=sheet.amends)
    return tuple(found)


def listed_of(book: Book, shop: Shop, sheet: Sheet, day: str) -> tuple[Point, ...]:
    """The lead's list of a sheet on a ``day`` (ISO), as the door would make it."""
    return points_of(
        shop, sheet, book.plans_of(sheet.plan.part_identity), day, lambda name: book.ask(earlier_of_sheet, name)
    )


def may_state(hand: Hand, act: acts.MakeStatement) -> None:
    """Raise Refused, with everything that stands in the way, where the person whose hand it is cannot make a statement:
    before a passphrase is asked for that would be asked in vain."""
    book = hand.book
    sheet, shop = book.sheet(act.sheet), book.shop()
    against = not_now(shop, sheet, acts.MakeStatement, hand.person)
    if against is not None:
        raise Refused(against)
    now = hand.foreseen.now()
    listed = listed_of(book, shop, sheet, now.day) if act.kind is StatementKind.APPROVED else ()
    found = tuple(not_to_state(shop, sheet, act, hand.person, now.at, listed))
    if found:
        raise Refused(*found)


# --- a row read again -------------------------------------------------------------------------------------------------


class Again(Struct, frozen=True):
    """What is read again: a row of a piece, at a ``place`` and in a ``role`` where there are several, and ``tag``, the
    mark of another instrument than the row's; each empty where it is not said."""

    row: Characteristic
    piece: Piece
    place: str = ""
    role: str = ""
    tag: str = ""


class Compared(Struct, frozen=True):
    """A row read again, and the point that the comparison with what counts makes; None where nothing counts there."""

    reading: Reading
    point: Point | None


def read_again(hand: Hand, name: str, again: Again, text: str, observed: Observed | None) -> Compared:
    """Keep what was read again on a sheet, a number as written or what was seen, and compare it.

    Raises Refused, or BookFailure.
    """
    sheet, shop = hand.book.sheet(name), hand.book.shop()
    method = _method(hand, shop, sheet, again)
    instrument = _in_hand(shop, sheet, again, method)
    quantity = None
    if observed is None:
        unit = unit_in_hand(instrument, again.row.requirement)
        quantity = read(text, unit=unit, kind=again.row.requirement.kind)
    act = acts.ReadRowAgain(
        sheet=name,
        characteristic=again.row.identity,
        piece=again.piece.identity,
        slot=_slot(sheet, again, instrument),
        quantity=quantity,
        observed=observed,
        method=method,
    )
    outcome = hand.book.do(act, person=hand.person)
    made = next(event.again.reading for event in outcome.events if isinstance(event, ev.RowReadAgain))
    assert outcome.sheet is not None
    return Compared(made, _point(outcome.shop, outcome.sheet, made))


def _method(hand: Hand, shop: Shop, sheet: Sheet, again: Again) -> Method | None:
    """The best method with another instrument, None for the row's own."""
    if not again.tag:
        return None
    wanted, moment = shop.by_tag(again.tag), hand.foreseen.now()
    given = given_on(shop, sheet, moment.day, moment.at)
    found = method_with(given, again.row, [wanted]) if wanted is not None else None
    if found is None:
        parts = {"number": again.row.number, "serial": again.piece.serial, "tag": again.tag[:60]}
        raise Refused(Reason("intake.instrument_cannot", {**parts}))
    return found


def _in_hand(shop: Shop, sheet: Sheet, again: Again, method: Method | None) -> Instrument | None:
    if method is not None:
        return shop.crib.get(method.parts[0].identity)
    return instrument_of(shop, sheet, again.row.identity)


def _slot(sheet: Sheet, again: Again, instrument: Instrument | None) -> Slot:
    """The slot that is meant: a mean is compared by single readings, so repeats are no others."""
    asked = slots_of(sheet.row_at(again.row.identity, again.piece.identity), instrument)
    once = [slot for slot in asked if slot.repeat == 1]
    meant = [slot for slot in once if _named(again, slot)]
    if len(meant) == 1:
        return meant[0]
    named = ", ".join(" ".join(filter(None, (slot.place, slot.role.value))) for slot in once)
    raise Refused(Reason("command.again.which", {"number": again.row.number, "slots": named}))


def _named(again: Again, slot: Slot) -> bool:
    return again.place.casefold() in ("", slot.place.casefold()) and again.role.casefold() in (
        "",
        slot.role.value.casefold(),
    )


def _point(shop: Shop, sheet: Sheet, second: Reading) -> Point | None:
    beside = {first: reading for first, reading in again_of(sheet).items() if reading.identity == second.identity}
    return next(of_again(Look(shop, sheet, ""), beside), None)
