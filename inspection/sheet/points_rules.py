"""Points of rules: another decision rule than the customer's, and means that were set after a doubt."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.instruments.rules import plain_customer
from inspection.measuring.guard import rule_reason
from inspection.sheet.points_look import Look
from inspection.sheet.points_table import Point
from inspection.sheet.state import Cell


def of_rules(look: Look) -> Iterator[Point]:
    """At most one point of the decision rule, and one for each number of repeats."""
    yield from _other_rule(look)
    by_repeats: dict[int, list[Cell]] = {}
    for cell, repeats in look.sheet.repeats.items():
        if cell in look.place:
            by_repeats.setdefault(repeats, []).append(cell)
    for repeats, cells in by_repeats.items():
        names = [reading.identity for cell in cells for reading in look.sheet.counting(*cell)]
        yield look.point("repeated", sorted(cells, key=look.place.__getitem__), names, about=str(repeats), m=repeats)


def _other_rule(look: Look) -> Iterator[Point]:
    """The sheet is judged by another rule than is agreed with the customer, now or when it was made.

    Where nothing is agreed with the customer, and nobody chose a rule for the sheet, it follows the shop's of its day.
    """
    sheet, rules = look.sheet, look.shop.rules
    customer = sheet.head.customer or sheet.plan.part.customer
    named = plain_customer(customer)
    then = [one.decision for one in sheet.rules.customers if plain_customer(one.customer) == named]
    agreed, own = rules.decision_for(customer), sheet.rules.decision
    is_agreed = any(plain_customer(one.customer) == named for one in rules.customers)
    if own == agreed or own in then or not (is_agreed or sheet.decision_reason):
        return
    why = (rule_reason(own), rule_reason(agreed))
    said = "other_rule_shop" if not is_agreed else "other_rule" if sheet.decision_reason else "other_rule_unsaid"
    yield look.point("other_rule", said=said, why=why, customer=customer, reason=sheet.decision_reason)
