"""The shop's rules that move a choice or a verdict; issued and journaled, passed in wherever they are used."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from msgspec import Struct

from inspection.measuring.checks import CLOSING_BAND
from inspection.measuring.guard import DecisionRule, check_rule
from inspection.reasons import Figure, Reason, Refused


class CustomerRule(Struct, frozen=True):
    """The decision rule agreed with a customer, by the customer's name as it stands on drawings and heads."""

    customer: str
    decision: DecisionRule


class Rules(Struct, frozen=True):
    """One issue of the shop's rules.

    Ratios needed are in hundredths (1000 is 10 : 1; common practice). Temperatures are in thousandths of a degree
    Celsius: ``temperature_spread`` is how far the part may be from the instrument, ``temperature_room`` how far both
    may be from 20 °C where nothing is logged (0: not reckoned). What is logged lives ``temperature_minutes``; readings
    are ``temperature_corrected`` by it, or else U is made greater by what is left. ``pick_up_seconds`` and
    ``change_seconds`` are p and q of the route: what one pick-up and one change of set-up cost. A check before use
    lives ``check_minutes`` (a shift of eight hours, common practice); rows with a band under ``closing_band`` pm ask
    for one at the end too (0: none does). ``decision`` is the rule that results are judged by unless one of
    ``customers`` is agreed. ``lead_may_approve_own`` lets a lead approve a sheet that the same person measured or
    signed; the sheet shows it.
    """

    issue: int = 0
    resolution_needed: int = 1000
    accuracy_needed: int = 400
    uncertainty_needed: int = 300
    gauge_class_needed: int = 2000
    gauge_class_marginal: int = 1000
    temperature_spread: int = 1000
    pick_up_seconds: int = 30
    change_seconds: int = 240
    temperature_room: int = 0
    temperature_minutes: int = 240
    temperature_corrected: bool = True
    check_minutes: int = 480
    closing_band: int = CLOSING_BAND
    decision: DecisionRule = DecisionRule()
    customers: tuple[CustomerRule, ...] = ()
    lead_may_approve_own: bool = False
    remind_days: int = 30

    def decision_for(self, customer: str) -> DecisionRule:
        """The decision rule for this customer, whatever its capitals and spaces; the shop's own where none is agreed.

        >>> agreed = DecisionRule(probability=9_900)
        >>> Rules(customers=(CustomerRule("Harrow Mills", agreed),)).decision_for(" harrow  mills") == agreed
        True
        """
        asked = plain_customer(customer)
        agreed = (each.decision for each in self.customers if plain_customer(each.customer) == asked)
        return next(agreed, self.decision)


def plain_customer(name: str) -> str:
    """A customer's name without capitals and idle spaces, as names are compared."""
    return " ".join(name.split()).casefold()


def check_rules(rules: Rules) -> None:
    """Raises Refused with every fault: a ratio that asks nothing, a gauge that is marginal before it is good, a time,
    temperature or band below nothing, a probability that proves nothing, a customer without a name or named twice."""
    faults = list(_faults(rules))
    if faults:
        raise Refused(*faults)


def _faults(rules: Rules) -> Iterator[Reason]:
    needed = (rules.resolution_needed, rules.accuracy_needed, rules.uncertainty_needed)
    for got in (*needed, rules.gauge_class_needed, rules.gauge_class_marginal):
        if got <= 0:
            yield Reason("rules.ratio_nothing", {"got": Figure(f"{got / 100:g}")})
    if rules.gauge_class_marginal > rules.gauge_class_needed:
        yield Reason("rules.marginal_above")
    if min(getattr(rules, name) for name in _NOT_NEGATIVE) < 0:
        yield Reason("rules.below_nothing")
    for decision in (rules.decision, *(each.decision for each in rules.customers)):
        try:
            check_rule(decision)
        except Refused as refused:
            yield from refused.reasons
    names = Counter(plain_customer(each.customer) for each in rules.customers)
    if "" in names:
        yield Reason("rules.customer_nameless")
    yield from (Reason("rules.customer_twice", {"customer": name}) for name, n in names.items() if name and n > 1)


_NOT_NEGATIVE = (
    "temperature_spread", "temperature_room", "temperature_minutes", "pick_up_seconds", "change_seconds",
    "check_minutes", "closing_band", "remind_days",
)  # fmt: skip
