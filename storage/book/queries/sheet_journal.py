"""What happened to this sheet, in plain sentences?"""

from __future__ import annotations

from msgspec import Struct
from sqlalchemy import Connection, select

from inspection.measuring.reading import Reading
from inspection.reasons import Amount, Part, Reason
from inspection.sheet import events as ev
from inspection.sheet.canonical.form_4 import Record
from inspection.sheet.canonical.forms import ENTRY_READERS
from inspection.sheet.state import Sheet, Shop
from inspection.sheet.why import why_event
from storage.book.queries.journal_of_review import number_of, said_of_review, where_of
from storage.book.tables import evidence, journal


class JournalLine(Struct, frozen=True):
    """One entry: its place and identity, who and when (UTC µs, shop's day), the act's name as a code of the
    catalogue ("act.TakeReading"), and a sentence for each thing that followed."""

    sequence: int
    entry: str
    person: str
    at: int
    day: str
    act: str
    said: tuple[Reason, ...]


def sheet_journal(
    connection: Connection, shop: Shop, sheet: Sheet, *, limit: int = 50, before: int = 0
) -> list[JournalLine]:
    """The entries of a sheet, newest first; ``before`` is the sequence to go on from, 0 from the end."""
    query = (
        select(journal.c.sequence, journal.c.form, journal.c.content)
        .where(journal.c.stream == sheet.identity)
        .order_by(journal.c.sequence.desc())
        .limit(limit)
    )
    if before:
        query = query.where(journal.c.sequence < before)
    rows = connection.execute(query).all()
    records = [(sequence, ENTRY_READERS[form](content)) for sequence, form, content in rows]
    names = _names_of_struck(connection, sheet, [event for _, record in records for event in record.events])
    return [_line(shop, sheet, sequence, record, names) for sequence, record in records]


def _names_of_struck(connection: Connection, sheet: Sheet, happened: list[ev.Event]) -> dict[str, str]:
    """What was struck off, by the name it had; asked only where something was."""
    struck = [event.evidence for event in happened if isinstance(event, ev.EvidenceStruck)]
    if not struck:
        return {}
    entered = (
        select(evidence.c.evidence, evidence.c.name)
        .where(evidence.c.sheet == sheet.identity, evidence.c.evidence.in_(struck), evidence.c.change == "entered")
        .order_by(evidence.c.sequence)
    )
    return {row.evidence: row.name for row in connection.execute(entered)}


def _line(shop: Shop, sheet: Sheet, sequence: int, record: Record, names: dict[str, str]) -> JournalLine:
    entry = record.entry
    who = shop.people.get(entry.person)
    said = tuple(
        reason
        for event in record.events
        for reason in (*_said(shop, sheet, event, names), *_why_known(why_event(record.act, event)))
    )
    act = f"act.{type(record.act).__name__}"
    return JournalLine(sequence, entry.identity, who.name if who else entry.person, entry.at, entry.day, act, said)


def _said(shop: Shop, sheet: Sheet, event: ev.Event, names: dict[str, str]) -> tuple[Reason, ...]:
    match event:
        case ev.SheetMade():
            return (Reason("journal.made", {"pieces": len(event.pieces)}),)
        case ev.RouteChosen():
            return (Reason("journal.route", {"rows": len(event.assignments)}),)
        case ev.InstrumentChosen(assignment=assignment):
            number = number_of(sheet, assignment.characteristic)
            return (Reason("journal.instrument", {"number": number, "reason": assignment.chosen_by_hand}),)
        case ev.NoteWritten():
            return (Reason("journal.note", {"number": number_of(sheet, event.characteristic), "text": event.text}),)
        case ev.HeadWritten():
            return (Reason("journal.head"),)
        case ev.EvidenceEntered(evidence=entered):
            return (Reason("journal.evidence", {"kind": entered.kind.value, "name": entered.name}),)
        case ev.EvidenceStruck():
            name = names.get(event.evidence, event.evidence)
            return (Reason("journal.evidence_struck", {"name": name}), *_why(event.reason))
        case ev.PlanAdopted():
            return (Reason("journal.plan"),)
        case ev.SheetSealed():
            return (Reason("journal.sealed", {"round": event.round, "digest": event.digest[:16]}),)
        case ev.SheetReopened():
            return (Reason("journal.reopened", {"round": event.round, "reason": event.reason}),)
        case ev.SheetSent():
            return (Reason("journal.sent", {"name": event.name, "digest": event.digest[:16]}),)
        case ev.DocumentKept():
            return (
                Reason("journal.document_stamped" if event.stamped else "journal.document", {"round": event.round}),
            )
    return _said_of_reading(shop, sheet, event)


def _said_of_reading(shop: Shop, sheet: Sheet, event: ev.Event) -> tuple[Reason, ...]:
    match event:
        case ev.ReadingTaken(reading=reading):
            return (_taken(shop, sheet, reading), *_why(reading.reason))
        case ev.CellJudged():
            where = where_of(sheet, event.characteristic, event.piece)
            return (Reason("journal.judged", {**where, "verdict": f"verdict.{event.judgement.verdict.name.lower()}"}),)
        case ev.QuestionAsked(question=question):
            return (Reason("journal.asked", where_of(sheet, question.characteristic, question.piece)), question.reason)
        case ev.QuestionAnswered():
            return (Reason("journal.answered", {"answer": event.answer.replace(" ", "_")}),)
        case ev.ReadingTakenBack():
            return (Reason("journal.taken_back", _of_reading(sheet, event.reading)), *_why(event.reason))
        case ev.ReadingPutBack():
            return (Reason("journal.put_back", _of_reading(sheet, event.reading)), *_why(event.reason))
    return said_of_review(sheet, event)


def _taken(shop: Shop, sheet: Sheet, reading: Reading) -> Reason:
    part = reading.method.parts[0]
    instrument = shop.issues.get((part.identity, part.issue))
    parts: dict[str, Part] = {
        **where_of(sheet, reading.characteristic, reading.piece),
        "value": _value(reading),
        "tag": instrument.tag if instrument else part.identity,
    }
    if reading.replaces:
        was = sheet.readings[reading.replaces]
        return Reason("journal.corrected", {**parts, "was": _value(was)})
    return Reason("journal.taken", parts)


def _why(reason: str) -> tuple[Reason, ...]:
    """A reason in a person's own words."""
    return (Reason("journal.why", {"reason": reason}),) if reason else ()


def _why_known(code: str) -> tuple[Reason, ...]:
    return (Reason("journal.why_known", {"code": code}),) if code else ()


def _value(reading: Reading) -> Part:
    if reading.count is None:
        return reading.observed.value if reading.observed else ""
    return Amount(reading.count, reading.kind, reading.unit, reading.decimals)


def _of_reading(sheet: Sheet, name: str) -> dict[str, Part]:
    reading = sheet.readings[name]
    return {**where_of(sheet, reading.characteristic, reading.piece), "value": _value(reading)}
