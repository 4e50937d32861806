"""A new book given its shop: the first person with a key of their own, and a crib to begin with."""

from __future__ import annotations

from datetime import date, timedelta

from app.jobs.hand import Hand
from inspection.instruments.starter import starter_crib
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.people import Person
from inspection.sheet.state import Shop
from storage.seals.keys import make_key

#: Until a shop enters its own due dates, the starter crib's instruments are due this many days after the shop opened.
FIRST_DUE = 365


def open_shop(hand: Hand, *, shop: str, person: str, passphrase: str, starter_crib: bool = False) -> int:
    """Open the shop of a new book with its first person, whose hand ``hand`` then is, and enter the starter crib.

    Returns how many instruments were entered. Raises Refused for names or a passphrase that cannot be, BookFailure.
    """
    key = make_key(person, passphrase, hand.foreseen.moment_ahead().at)
    first = Person("", person, certificate=key.certificate, locked_key=key.locked_key)
    opened = hand.book.do(acts.OpenShop(name=shop, first_person=first), person="")
    hand.person = next(event.person.identity for event in opened.events if isinstance(event, ev.PersonEntered))
    return enter_starter_crib(hand) if starter_crib else 0


def enter_starter_crib(hand: Hand) -> int:
    """Enter the starter crib, due a year after the day of the entry; returns how many instruments it holds."""
    act = starter_act(hand.book.shop(), hand.foreseen.moment_ahead().day)
    if act is None:
        return 0
    hand.book.do(act, person=hand.person)
    return len(act.instruments)


def starter_act(shop: Shop, day: str) -> acts.IssueInstruments | None:
    """The act that enters those instruments of the starter crib whose mark the crib lacks; None if it lacks none."""
    due = (date.fromisoformat(day) + timedelta(days=FIRST_DUE)).isoformat()
    marks = {item.tag for item in shop.crib.values()}
    lacking = tuple(item for item in starter_crib(due) if item.tag not in marks)
    return acts.IssueInstruments(instruments=lacking) if lacking else None
