"""Taking a reading back and putting it back, and what follows. Neither deletes, and neither reaches across a seal."""

from __future__ import annotations

from inspection.measuring.reading import Reading
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.evolve import fold_sheet
from inspection.sheet.reading_life import about, answered_by, judged
from inspection.sheet.state import Sheet, Shop


def take_back(shop: Shop, sheet: Sheet, act: acts.TakeBack, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A reading no longer counts; the one it had replaced counts again.

    A question about the reading goes with it; one that the reading answered waits again.
    """
    reading = _kept(sheet, act.reading)
    if reading.identity in sheet.withdrawn:
        raise Refused(about("reading.withdrawn_already", reading))
    if not own_last(sheet, reading, entry.person) and not act.reason.strip():
        raise Refused(about("reading.take_back_without_reason", reading))
    back: list[ev.Event] = [ev.ReadingTakenBack(reading=reading.identity, reason=act.reason.strip())]
    if _replaced_by(sheet, reading.replaces) == reading.identity:
        back.append(ev.ReadingPutBack(reading=reading.replaces, reason=""))
        back += _asked_again(sheet, reading.replaces)
    back += [
        ev.QuestionAnswered(question=question.identity, answer="taken back")
        for question in sheet.open_questions()
        if question.reading == reading.identity
    ]
    return _with_judgement(shop, sheet, back, reading, entry)


def put_back(shop: Shop, sheet: Sheet, act: acts.PutBack, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A reading that was taken back counts again, if its slot is still free or held by the one it had replaced.

    An indication fills no slot, so that nothing is in its way.
    """
    reading = _kept(sheet, act.reading)
    why = sheet.withdrawn.get(reading.identity)
    if why is None or why.replaced_by:
        raise Refused(about("reading.not_taken_back", reading))
    if why.by != entry.person and not act.reason.strip():
        raise Refused(about("reading.put_back_without_reason", reading))
    row = sheet.characteristic(reading.characteristic)
    standing = [one for one in sheet.counting(row.identity, reading.piece) if one.slot == reading.slot]
    in_the_way = [one for one in standing if not one.indication and one.identity != reading.replaces]
    if in_the_way and not reading.indication:
        raise Refused(about("reading.slot_taken", in_the_way[0], number=row.number))
    back: list[ev.Event] = [ev.ReadingPutBack(reading=reading.identity, reason=act.reason.strip())]
    back += _asked_again(sheet, reading.identity)
    if any(one.identity == reading.replaces for one in standing):
        replaced = ev.ReadingTakenBack(reading=reading.replaces, reason=reading.reason, replaced_by=reading.identity)
        back += [replaced, *answered_by(sheet, reading)]
    return _with_judgement(shop, sheet, back, reading, entry)


def own_last(sheet: Sheet, reading: Reading, person: str) -> bool:
    """Whether this is the last reading that the person took on the sheet: it is taken back without asking why."""
    last = next((one for one in reversed(list(sheet.readings.values())) if one.by == person), None)
    return last is not None and last.identity == reading.identity


def _kept(sheet: Sheet, name: str) -> Reading:
    reading = sheet.readings.get(name)
    if reading is None:
        raise Refused(Reason("reading.unknown"))
    if name in sheet.under_seal:
        raise Refused(about("reading.under_seal", reading))
    return reading


def _replaced_by(sheet: Sheet, name: str) -> str:
    """The reading that stands in place of this one; empty for one that was taken back by itself."""
    why = sheet.withdrawn.get(name)
    return why.replaced_by if why else ""


def _asked_again(sheet: Sheet, name: str) -> list[ev.Event]:
    """The question about a reading that counts again waits again, unless it had been kept as written."""
    return [
        ev.QuestionAnswered(question=question.identity, answer="left open")
        for question in sheet.questions.values()
        if question.reading == name
        and question.identity in sheet.answers
        and sheet.answers[question.identity].answer in ("new reading", "taken back")
    ]


def _with_judgement(
    shop: Shop, sheet: Sheet, events: list[ev.Event], reading: Reading, entry: ev.Entry
) -> tuple[ev.Event, ...]:
    after = fold_sheet(sheet, [(event, entry) for event in events], {})
    row = sheet.characteristic(reading.characteristic)
    return (*events, judged(shop, after, row, reading.piece))
