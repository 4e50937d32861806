"""Acts on the shop and on plans, and what follows from them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.plan import Plan
from inspection.instruments.record import Instrument
from inspection.instruments.rules import check_rules
from inspection.layout.layout import issued
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.identities import derived
from inspection.sheet.people import Duty, Person
from inspection.sheet.state import Shop
from inspection.sheet.steps import KEEPING


def open_shop(shop: Shop, act: acts.OpenShop, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A new book gets its shop, and the person who opens it every duty."""
    if shop.name:
        raise Refused(Reason("shop.already_open", {"shop": shop.name}))
    if not act.name.strip():
        raise Refused(Reason("shop.unnamed"))
    person = _person(shop, replace(act.first_person, duties=tuple(Duty)), entry)
    return ev.ShopOpened(name=act.name.strip()), ev.PersonEntered(person=person)


def enter_person(shop: Shop, act: acts.EnterPerson, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A person is entered, or issued anew; names are unique, so that a journal line names one person, and somebody is
    left who may enter others."""
    return (ev.PersonEntered(person=_person(shop, act.person, entry)),)


def _person(shop: Shop, person: Person, entry: ev.Entry) -> Person:
    name = person.name.strip()
    if not name:
        raise Refused(Reason("person.unnamed"))
    if not person.duties:
        raise Refused(Reason("person.without_duty", {"person": name}))
    others = [other for other in shop.people.values() if other.identity != person.identity]
    if any(other.name.casefold() == name.casefold() for other in others):
        raise Refused(Reason("person.known", {"person": name}))
    if not any(KEEPING.intersection(each.duties) for each in (person, *others)):
        raise Refused(Reason("person.last_keeper", {"person": name}))
    return replace(person, name=name, identity=person.identity or derived(entry, "person"))


def issue_instruments(shop: Shop, instruments: Iterable[Instrument], entry: ev.Entry) -> tuple[ev.Event, ...]:
    """Instruments are entered or issued anew: tags are unique, issues count from 1, and no certificate that comes with
    an issue bears a day that has not come."""
    faults: list[Reason] = []
    tags = {instrument.tag: instrument.identity for instrument in shop.crib.values()}
    issues = {name: instrument.issue for name, instrument in shop.crib.items()}
    issued = []
    for place, instrument in enumerate(instruments, start=1):
        identity, tag = instrument.identity or derived(entry, f"instrument/{place}"), instrument.tag.strip()
        if not tag:
            faults.append(Reason("instrument.untagged", {"instrument": instrument.name}))
        elif tags.setdefault(tag, identity) != identity:
            faults.append(Reason("instrument.tag_known", {"tag": tag}))
        if instrument.certified > entry.day and instrument.certified != _certified(shop, identity):
            parts = {"tag": tag, "certified": instrument.certified, "today": entry.day}
            faults.append(Reason("instrument.certified_later", {"field": "certified", **parts}))
        issues[identity] = issues.get(identity, 0) + 1
        issued.append(replace(instrument, identity=identity, tag=tag, issue=issues[identity]))
    if faults:
        raise Refused(*faults)
    return tuple(ev.InstrumentIssued(instrument=instrument) for instrument in issued)


def _certified(shop: Shop, identity: str) -> str:
    """The day of the certificate that an instrument has by now."""
    held = shop.crib.get(identity)
    return held.certified if held is not None else ""


def issue_rules(shop: Shop, act: acts.IssueRules) -> tuple[ev.Event, ...]:
    """The shop's rules get their next issue number. Raises Refused for rules that ask nothing or cannot be."""
    check_rules(act.rules)
    return (ev.RulesIssued(rules=replace(act.rules, issue=shop.rules.issue + 1)),)


def issue_layout(shop: Shop, act: acts.IssueLayout, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A customer's layout gets its identity, or its next issue number."""
    return (ev.LayoutIssued(layout=issued(act.layout, shop.layouts, derived(entry, "layout"))),)


def issue_plan(plans: Mapping[str, Plan], act: acts.IssuePlan, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A plan is issued. Rows keep their identity through all issues of a part; new rows get theirs here."""
    plan = act.plan
    earlier = [other for other in plans.values() if other.part_identity == plan.part_identity]
    if plan.part_identity and not earlier:
        raise Refused(Reason("plan.unknown"))
    known = {row.identity for other in earlier for row in other.characteristics}
    rows = _rows(plan.characteristics, known, entry)
    part_identity = plan.part_identity or derived(entry, "part")
    issued = replace(
        plan,
        identity=derived(entry, "plan"),
        part_identity=part_identity,
        issue=max((other.issue for other in earlier), default=0) + 1,
        characteristics=rows,
    )
    return (ev.PlanIssued(plan=issued),)


def _rows(rows: tuple[Characteristic, ...], known: set[str], entry: ev.Entry) -> tuple[Characteristic, ...]:
    if not rows:
        raise Refused(Reason("plan.empty"))
    faults = [Reason("plan.unnumbered", {"row": place}) for place, row in enumerate(rows, 1) if not row.number.strip()]
    faults += [
        Reason("plan.number_twice", {"number": number})
        for number, times in Counter(row.number for row in rows).items()
        if times > 1 and number.strip()
    ]
    strangers = [row for row in rows if row.identity and row.identity not in known]
    faults += [Reason("plan.stranger", {"number": row.number}) for row in strangers]
    first: dict[str, str] = {}
    faults += [
        Reason("plan.identity_twice", {"number": first[row.identity], "other": row.number})
        for row in rows
        if row.identity and first.setdefault(row.identity, row.number) != row.number
    ]
    if faults:
        raise Refused(*faults)
    return tuple(
        row if row.identity else replace(row, identity=derived(entry, f"characteristic/{row.number}")) for row in rows
    )
