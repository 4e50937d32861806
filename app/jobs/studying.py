"""Gauge studies strung together: found by their title, their files written, and what taking one into use changes."""

from __future__ import annotations

from app.jobs.hand import Hand
from app.jobs.local_time import moment
from inspection.reasons import Reason, Refused
from inspection.sheet import acts, gauge_life
from inspection.sheet.events import Entry
from inspection.sheet.resting_on_studies import changed_by
from inspection.sheet.state import Sheet, Shop
from inspection.sheet.study_page import StudyPage, study_page
from inspection.studies.conducted import Conducted
from storage.book.clock import Moment
from storage.book.queries.gauge_studies import ListedStudy, gauge_studies


def study_named(hand: Hand, title: str) -> Conducted:
    """The study of this title or beginning of its identity, the newest of several; the only one where none is named.
    Raises Refused."""
    wanted = title.strip().casefold()
    listed = hand.book.ask(gauge_studies)
    found = [one for one in listed if not wanted or wanted == one.title.casefold() or one.study.startswith(wanted)]
    if not listed:
        raise Refused(Reason("gauge.refused.none"))
    if not found or (not wanted and len(found) > 1):
        named = ", ".join(dict.fromkeys(one.title for one in listed))
        code = "gauge.refused.which" if wanted else "gauge.refused.several"
        raise Refused(Reason(code, {"title": title, "titles": named}))
    return hand.book.study(found[0].study)


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
