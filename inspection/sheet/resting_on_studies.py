"""What a study changes in the suggestions of a sheet: other instruments, or the same ones less or more in doubt."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.instruments.method import Assessment, Assignment
from inspection.quantity.units import UNITS
from inspection.reasons import Amount, Part, Reason
from inspection.sheet import events as ev
from inspection.sheet.evolve import fold_shop
from inspection.sheet.sheet_life import routed
from inspection.sheet.state import Sheet, Shop


def changed_by(shop: Shop, sheet: Sheet, events: tuple[ev.Event, ...], entry: ev.Entry) -> tuple[Reason, ...]:
    """What the ``events`` that follow from taking a study into use, or from withdrawing one, make of the suggestions of
    a sheet, row by row; empty where nothing changes. Nothing is written by asking."""
    after = fold_shop(shop, [(event, entry) for event in events])
    was = {each.characteristic: each for each in routed(shop, sheet, entry).assignments}
    now = {each.characteristic: each for each in routed(after, sheet, entry).assignments}
    return tuple(_changes(shop, sheet, was, now))


def _changes(shop: Shop, sheet: Sheet, was: dict[str, Assignment], now: dict[str, Assignment]) -> Iterator[Reason]:
    for row in sheet.plan.characteristics:
        before, after = was.get(row.identity), now.get(row.identity)
        held = before.assessment if before is not None else None
        then = after.assessment if after is not None else None
        if held is None or then is None:
            continue
        unit = row.requirement.unit
        told: dict[str, Part] = {"number": row.number, "was": _tag(shop, held), "now": _tag(shop, then)}
        told |= {"before": _fit(held), "after": _fit(then)}
        if held.method != then.method:
            yield Reason("gauge.changes.instrument", told)
        elif held.expanded and then.expanded and held.expanded != then.expanded and unit in UNITS:
            figures: dict[str, Part] = {"from": _amount(held.expanded, unit), "to": _amount(then.expanded, unit)}
            more = "larger" if then.expanded > held.expanded else "smaller"
            yield Reason(f"gauge.changes.{more}", {**told, **figures})
        elif held.fitness != then.fitness:
            yield Reason("gauge.changes.fitness", told)


def _tag(shop: Shop, assessment: Assessment) -> str:
    return shop.crib[assessment.method.parts[0].identity].tag


def _fit(assessment: Assessment) -> str:
    return assessment.fitness.value


def _amount(count: int, unit: str) -> Amount:
    return Amount(count, UNITS[unit].kind, unit)
