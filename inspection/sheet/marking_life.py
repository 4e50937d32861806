"""Acts on marks for review: a sheet marked because an instrument was found out, and what a lead answers to that."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.identities import derived
from inspection.sheet.points_marks import key_of
from inspection.sheet.review import Mark, PointAnswer
from inspection.sheet.state import Sheet, Shop


def mark(shop: Shop, sheet: Sheet, act: acts.MarkForReview, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """The sheet is marked: every reading named is one of its own, taken with the instrument, and counts. No verdict and
    no seal is touched, at whatever stage the sheet is."""
    faults = list(_not_to_mark(shop, sheet, act))
    if faults:
        raise Refused(*faults)
    made = Mark(
        derived(entry, "mark"),
        act.instrument,
        shop.crib[act.instrument].issue,
        act.error,
        act.size,
        act.since,
        tuple(dict.fromkeys(act.readings)),
        act.words.strip(),
        entry.person,
        entry.at,
    )
    return (ev.SheetMarked(mark=made),)


def _not_to_mark(shop: Shop, sheet: Sheet, act: acts.MarkForReview) -> Iterator[Reason]:
    if act.instrument not in shop.crib:
        yield Reason("instrument.unknown", {"instrument": act.instrument})
        return
    tag = shop.crib[act.instrument].tag
    if not act.words.strip():
        yield Reason("mark.without_words")
    if not act.readings:
        yield Reason("mark.no_readings", {"tag": tag})
    counting = {name for names in sheet.standing.values() for name in names if name not in sheet.reopened}
    with_it = {
        name for name in counting if any(part.identity == act.instrument for part in sheet.readings[name].method.parts)
    }
    if strange := [name for name in act.readings if name not in with_it]:
        yield Reason("mark.other_readings", {"tag": tag, "n": len(strange)})
    if any(held.waits and _same(held, act) for held in sheet.marks.values()):
        yield Reason("mark.known", {"tag": tag, "number": sheet.plan.part.number})


def _same(held: Mark, act: acts.MarkForReview) -> bool:
    same = (held.instrument, held.error, held.size) == (act.instrument, act.error, act.size)
    return same and set(held.readings) == set(act.readings)


def answer(sheet: Sheet, act: acts.AnswerMark, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A mark is answered, and with it the point that it is on the lead's list."""
    held = sheet.marks.get(act.mark)
    if held is None:
        raise Refused(Reason("mark.unknown"))
    if not act.words.strip():
        raise Refused(Reason("mark.answer_without_words"))
    point = PointAnswer(key_of(sheet, held), act.words.strip(), entry.person, entry.at)
    return ev.PointAnswered(answer=point), ev.MarkAnswered(mark=_answered(held, point))


def answer_point(sheet: Sheet, act: acts.AnswerPoint, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A point of the lead's list is answered; a later answer stands in place of an earlier one. Answering the point of
    a mark answers the mark."""
    if not act.words.strip() or not act.point.strip():
        raise Refused(Reason("review.answer_without_words"))
    point = PointAnswer(act.point, act.words.strip(), entry.person, entry.at)
    marks = (held for held in sheet.marks.values() if key_of(sheet, held) == act.point)
    return ev.PointAnswered(answer=point), *(ev.MarkAnswered(mark=_answered(held, point)) for held in marks)


def _answered(held: Mark, point: PointAnswer) -> Mark:
    return replace(held, answer=point.words, answered_by=point.by, answered_at=point.at)
