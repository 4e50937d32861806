"""Instruments checked, and what that brings with it: readings re-opened and instruments weighed anew, told by sheet."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from app.jobs.hand import Hand
from inspection.instruments.method import Method
from inspection.instruments.record import Instrument
from inspection.measuring.checks import Configuration
from inspection.measuring.checks_life import Used
from inspection.measuring.checks_outcome import Repeated
from inspection.measuring.checks_standards import sets_of
from inspection.measuring.checks_under_way import CheckUnderWay, answers_of, begin
from inspection.measuring.proofs import CheckRecord
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.alive import Alive, alive_for
from inspection.sheet.proving import configuration_of, read_in
from inspection.sheet.pull_sets import size_of_tightest
from inspection.sheet.reopening import ReopenedRow, reopened_rows
from inspection.sheet.state import Sheet, Shop
from storage.book.queries.instrument_uses import uses_by_others


class Rechosen(Struct, frozen=True):
    """A row that another instrument answers since a check: tags of what is read, empty where nothing answers it."""

    number: str
    was: str
    now: str


class Checked(Struct, frozen=True):
    """A check that is on record, what was read in it, what it re-opened, and the rows of its sheet whose instrument was
    chosen otherwise."""

    check: CheckRecord
    zeros: Repeated | None = None
    block: Repeated | None = None
    reopened: tuple[ReopenedRow, ...] = ()
    rechosen: tuple[Rechosen, ...] = ()


def begun(
    hand: Hand, instrument: Instrument, *, unit: str = "", fitted: str | None = None, closing: bool, sheet: str = ""
) -> CheckUnderWay:
    """A check of an instrument as this person last set it up, but for the ``unit`` and what is ``fitted`` where these
    are told (None: not told); with a ``sheet`` the block is suggested near its tightest row. Raises Refused."""
    shop, moment = hand.book.shop(), hand.foreseen.moment_ahead()
    as_set = configuration_of(shop, instrument, hand.person, moment.at)
    if fitted is not None and fitted.strip() != as_set.fitted:
        as_set = Configuration(as_set.unit, fitted.strip())  # another rod or anvil has another range
    configuration = replace(as_set, unit=unit or as_set.unit)
    size = _near(hand.book.sheet(sheet), instrument) if sheet else None
    sets = sets_of(shop.crib, configuration.unit, moment.day)
    return begin(instrument, configuration, closing=closing, size=size, sets=sets)


def _near(sheet: Sheet, instrument: Instrument) -> int | None:
    """The size of the tightest row that the instrument is in hand for."""
    rows = [
        sheet.characteristic(name)
        for name, each in sheet.assignments.items()
        if each.assessment and any(part.identity == instrument.identity for part in each.assessment.method.parts)
    ]
    return size_of_tightest(rows, instrument) if rows else None


def record(hand: Hand, check: CheckUnderWay, sheet: str = "") -> Checked:
    """Put a check on record, made for a ``sheet`` if one is named. Raises Refused, or BookFailure; nothing is on record
    then."""
    before = hand.book.sheet(sheet) if sheet else None
    act = acts.RecordCheck(
        instrument=check.instrument.identity,
        issue=check.instrument.issue,
        configuration=check.configuration,
        answers=answers_of(check),
        closing=check.closing,
        sheet=sheet,
    )
    outcome = hand.book.do(act, person=hand.person)
    made = next(event.check for event in outcome.events if isinstance(event, ev.CheckRecorded))
    zeros, block = read_in(check.instrument, made)
    after = hand.book.sheet(sheet) if sheet else None
    rechosen = tuple(_rechosen(hand.book.shop(), before, after)) if before and after else ()
    told = [(each.sheet, each.events) for each in outcome.followed if each.sheet is not None]
    reopened = tuple(row for sheet, events in told for row in reopened_rows(sheet, events))
    return Checked(made, zeros, block, reopened, rechosen)


def _rechosen(shop: Shop, before: Sheet, after: Sheet) -> Iterator[Rechosen]:
    for row in after.plan.characteristics:
        was, now = (_method(sheet, row.identity) for sheet in (before, after))
        if (was and was.key) != (now and now.key):
            yield Rechosen(row.number, _read(shop, was), _read(shop, now))


def _method(sheet: Sheet, row: str) -> Method | None:
    assignment = sheet.assignments.get(row)
    return assignment.assessment.method if assignment is not None and assignment.assessment is not None else None


def _read(shop: Shop, method: Method | None) -> str:
    return shop.crib[method.parts[0].identity].tag if method is not None else ""


def alive(hand: Hand, instrument: Instrument) -> Alive:
    """Whether the instrument's last check serves this person now, wherever it was used since."""
    shop, at = hand.book.shop(), hand.foreseen.moment_ahead().at
    found = alive_for(shop, instrument, hand.person, at)
    if not found.serves or found.last is None:
        return found
    uses: tuple[Used, ...] = hand.book.ask(uses_by_others, instrument.identity, found.last.at, hand.person)
    return alive_for(shop, instrument, hand.person, at, uses) if uses else found
