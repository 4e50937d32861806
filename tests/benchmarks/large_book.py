"""A large book, made through the rules: every entry is decided, chained and projected as at the bench."""

from __future__ import annotations

import itertools
import uuid
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from random import Random
from typing import Any

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.plan import Part, Plan, TitleBlock
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.record import InstrumentKind
from inspection.instruments.starter import starter_crib
from inspection.measuring.reading import Slot
from inspection.quantity.units import Kind, Quantity
from inspection.sheet import acts
from inspection.sheet.head import Head
from inspection.sheet.people import Person
from inspection.sheet.state import Sheet
from storage.book.clock import Moment
from storage.book.door import Book

INCH = 25_400_000_000
TENTH = INCH // 10_000
FIRST = date(2019, 1, 7)
FIRST_MOMENT = 1_546_862_400_000_000  # 2019-01-07 12:00 UTC
PARTS, ROWS = 40, 20
#: Sheets handed in together; no more than a book keeps in memory at once.
TOGETHER = 6
CUSTOMERS = ("Lantern Hill Optical", "Ostrava Kettle Works", "Ørsted & Daughter", "Pale Harbour Pumps")
#: Two instruments answer every row: a crib of hundreds would make the making slow and no list longer.
IN_HAND, IN_CRIB = (InstrumentKind.OUTSIDE_MICROMETER,), 2


class _Clock:
    """Working days in order, some thirty entries a second, however many there are."""

    def __init__(self) -> None:
        self.entries, self.day = itertools.count(), FIRST

    def __call__(self) -> Moment:
        passed = (self.day - FIRST).days * 86_400_000_000
        return Moment(FIRST_MOMENT + passed + next(self.entries) % 1_000_000 * 30_000, self.day.isoformat())


def plan(part: int, revision: str = "A", identity: str = "") -> Plan:
    """The plan of the part of this place: twenty lengths of ±.005 inch."""
    head = Part(f"TW-{part:04}", revision, f"Bracket {part}", customer=CUSTOMERS[part % len(CUSTOMERS)])
    return Plan("", identity, 0, head, TitleBlock(), tuple(_row(part, number) for number in range(1, ROWS + 1)))


def _row(part: int, number: int) -> Characteristic:
    nominal = INCH // 8 + (part * ROWS + number) * 10 * TENTH
    half = 50 * TENTH
    written = f"{nominal / INCH:.3f} ±.005"
    requirement = Requirement(
        written, Form.PLUS_MINUS, decimals=3, nominal=nominal, lower=nominal - half, upper=nominal + half, band=2 * half
    )
    return Characteristic("", str(number), FeatureKind.LENGTH, requirement)


class LargeBook:
    """A closed book of so many sheets: its place, the person, its parts, and its sheets in the order made."""

    def __init__(self, path: Path, person: str, parts: tuple[str, ...], sheets: tuple[str, ...]) -> None:
        self.path, self.person, self.parts, self.sheets = path, person, parts, sheets


def make_large_book(path: Path, sheets: int) -> LargeBook:
    """Make a book of ``sheets`` sheets of forty parts in three revisions, with one to three pieces each.

    Every tenth sheet is read whole, the others at a few rows; one reading in fifty is out. Nothing is by chance.
    """
    numbers = itertools.count(1)
    clock = _Clock()
    with Book.new(path, clock=clock, identities=lambda: str(uuid.UUID(int=next(numbers), version=4))) as book:
        opening = acts.OpenShop(name="Quillfeather Machine", first_person=Person("", "Mira Oduya"))
        person = next(iter(book.do(opening, person="").shop.people))
        hand = tuple(one for one in starter_crib(due="2035-01-01") if one.kind in IN_HAND)[:IN_CRIB]
        book.do(acts.IssueInstruments(instruments=hand), person=person)
        issued = [book.do(acts.IssuePlan(plan=plan(part)), person=person).events[0].plan for part in range(PARTS)]
        made: list[str] = []
        for first in range(0, sheets, TOGETHER):
            clock.day = FIRST + timedelta(days=first * 2000 // sheets)
            for part in range(PARTS) if first // TOGETHER in (sheets // TOGETHER // 3, sheets // TOGETHER // 2) else ():
                issued[part] = _further(book, issued[part], part, person)
            made += _made(book, person, issued, range(first, min(first + TOGETHER, sheets)))
        return LargeBook(path, person, tuple(one.part_identity for one in issued), tuple(made))


def _further(book: Book, before: Plan, part: int, person: str) -> Plan:
    """The next revision, whose rows keep their identities."""
    revision = chr(ord(before.part.revision) + 1)
    rows = before.characteristics
    again = plan(part, revision, before.part_identity)
    act = acts.IssuePlan(plan=Plan("", before.part_identity, 0, again.part, again.title_block, rows))
    issued: Plan = book.do(act, person=person).events[0].plan
    return issued


def _made(book: Book, person: str, issued: list[Plan], places: range) -> list[str]:
    """Make these sheets and take their readings, in two transactions."""
    making = [_making(issued[place % PARTS], place) for place in places]
    outcomes = book.do_all(making, person=person)
    sheets = [outcome.sheet for outcome in outcomes if outcome.sheet is not None]
    readings = [act for sheet, place in zip(sheets, places, strict=True) for act in _readings(sheet, place)]
    book.do_all(readings, person=person)
    return [sheet.identity for sheet in sheets]


def _making(of: Plan, place: int) -> acts.MakeSheet:
    serials = tuple(f"{place:05}-{piece}" for piece in range(1, place % 3 + 2))
    head = Head(order=f"PO-{place // 7:05}", lot=f"L{place // 50}")
    return acts.MakeSheet(plan=of.identity, serials=serials, head=head)


def _readings(sheet: Sheet, place: int) -> Iterator[acts.TakeReading]:
    chance = Random(place)
    rows = sheet.plan.characteristics
    read: Any = rows if place % 10 == 0 else rows[place % 7 : place % 7 + 3]
    for piece in sheet.pieces:
        for row in read:
            assert row.requirement.nominal is not None
            off = 60 if chance.random() < 0.02 else chance.randint(-40, 40)
            count = row.requirement.nominal + off * TENTH
            quantity = Quantity(count, Kind.LENGTH, "in", f"{count / INCH:.4f}", 4)
            yield acts.TakeReading(
                sheet=sheet.identity, characteristic=row.identity, piece=piece.identity, slot=Slot(), quantity=quantity
            )
