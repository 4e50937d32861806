"""Gauge studies strung together: found by their title, their files written, and what taking one into use changes."""

from __future__ import annotations

from collections import Counter

from app.jobs.hand import Hand
from app.jobs.local_time import moment
from inspection.reasons import Reason, Refused
from inspection.sheet import acts, gauge_life
from inspection.sheet.events import Entry
from inspection.sheet.resting_on_studies import changed_by
from inspection.sheet.state import Sheet, Shop
from inspection.sheet.study_entry import asked_of, own_readings
from inspection.sheet.study_page import StudyPage, study_page
from inspection.studies.conducted import Conducted, same_title
from storage.book.clock import Moment
from storage.book.queries.gauge_studies import ListedStudy, gauge_studies


def study_named(hand: Hand, title: str) -> Conducted:
    """The study of this title or beginning of its identity, the newest of several. Raises Refused."""
    wanted = title.strip().casefold()
    listed = _any_listed(hand)
    found = [one for one in listed if wanted and (same_title(title, one.title) or one.study.startswith(wanted))]
    if not found:
        named = ", ".join(dict.fromkeys(one.title for one in listed))
        code = "gauge.refused.which" if wanted else "gauge.refused.several"
        raise Refused(Reason(code, {"title": title, "titles": named}))
    return hand.book.study(found[0].study)


def study_to_read(hand: Hand, title: str, *, correcting: bool = False) -> Conducted:
    """The study that the person at hand reads in: of this title, or else the only one that waits for them; where none
    does, the only one they take part in. One that they are ``correcting`` may be any that they read in. Raises Refused
    where it could be several, or none."""
    if title.strip():
        return study_named(hand, title)
    held = (hand.book.study(one.study) for one in _any_listed(hand) if not one.given_up)
    mine = [one for one in held if hand.person in one.plan.people]
    if correcting:
        mine = [one for one in mine if own_readings(one, hand.person)]
    waiting = [] if correcting else [one for one in mine if asked_of(one, hand.person) is not None]
    found = waiting or mine
    if len(found) == 1:
        return found[0]
    who = hand.book.shop().people[hand.person].name
    titles = Counter(one.plan.title for one in found)
    named = (
        f"{one.plan.title} ({one.plan.identity[:8]})" if titles[one.plan.title] > 1 else one.plan.title for one in found
    )
    code = "several_wait" if waiting else "several_yours" if found else "none_yours"
    raise Refused(Reason(f"gauge.refused.{code}", {"person": who, "titles": ", ".join(named)}))


def _any_listed(hand: Hand) -> tuple[ListedStudy, ...]:
    listed = listed_studies(hand)
    if not listed:
        raise Refused(Reason("gauge.refused.none"))
    return listed


def reader_named(shop: Shop, name: str) -> str:
    """The identity of who is called so, or whose name alone begins so; else the name, which the rules then refuse."""
    wanted, people = name.strip().casefold(), shop.people.values()
    found = [one for one in people if one.name.casefold() == wanted]
    found = found or [one for one in people if one.name.casefold().startswith(wanted)]
    return found[0].identity if len(found) == 1 else name.strip()


def listed_studies(hand: Hand) -> tuple[ListedStudy, ...]:
    """The newest studies first."""
    return hand.book.ask(gauge_studies)


def page_of(shop: Shop, held: Conducted) -> StudyPage:
    """The study in words."""
    return study_page(shop, held, moment(held.plan.at))


def would_change(
    shop: Shop, held: Conducted, sheet: Sheet, act: acts.TakeStudyIntoUse | acts.WithdrawStudy, person: str, now: Moment
) -> tuple[Reason, ...]:
    """What an act makes of the suggestions of a sheet. Raises Refused where the act would be."""
    entry = Entry(identity="00000000-0000-0000-0000-000000000000", person=person, at=now.at, day=now.day)
    if isinstance(act, acts.TakeStudyIntoUse):
        events = gauge_life.take_into_use(shop, held, act, entry)
    else:
        events = gauge_life.withdraw(shop, act, entry)
    return changed_by(shop, sheet, events, entry)
