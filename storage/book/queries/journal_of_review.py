"""What a review and what does not conform left in a sheet's journal, and what doubt was reckoned with: sentences."""

from __future__ import annotations

from inspection.measuring.guard import rule_reason
from inspection.measuring.temperature_log import celsius
from inspection.reasons import Amount, Part, Reason
from inspection.sheet import events as ev
from inspection.sheet.nonconformance import Nonconformance
from inspection.sheet.review import Returned
from inspection.sheet.state import Sheet

#: Rows that are named one by one in a sentence of the journal.
MOST_NAMED = 8


def said_of_review(sheet: Sheet, event: ev.Event) -> tuple[Reason, ...]:
    """A sentence for each thing that an event of a review says; none for any other event."""
    match event:
        case ev.PointAnswered(answer=answer):
            return (Reason("journal.point", {"words": answer.words}),)
        case ev.SheetMarked(mark=mark):
            return (Reason("journal.marked", {"n": len(mark.readings), "words": mark.words}),)
        case ev.MarkAnswered(mark=mark):
            return (Reason("journal.mark_answered", {"words": mark.words}),)
        case ev.RowReadAgain(again=again):
            reading = again.reading
            where = where_of(sheet, reading.characteristic, reading.piece)
            seen = reading.observed.value if reading.observed else ""
            value: Part = seen or Amount(reading.count or 0, reading.kind, reading.unit, reading.decimals)
            return (Reason("journal.again", {**where, "value": value}),)
        case ev.SheetReturned():
            return tuple(_returned(sheet, each) for each in event.rows)
        case ev.StatementSigned():
            name = f"statement.{event.kind.name.lower()}"
            return (Reason("journal.stated", {"statement": name, "digest": event.digest[:16]}),)
        case ev.ReadingsCarried():
            return (Reason("journal.carried", {"n": len(event.readings), "seal": event.seal[:16]}),)
    return _said_of_nonconformance(sheet, event)


def _returned(sheet: Sheet, each: Returned) -> Reason:
    if not each.characteristic:
        return Reason("journal.returned", {"words": each.words})
    where = where_of(sheet, each.characteristic, each.piece)
    code = "journal.returned_row" if each.piece else "journal.returned_rows"
    return Reason(code, {**where, "words": each.words})


def _said_of_nonconformance(sheet: Sheet, event: ev.Event) -> tuple[Reason, ...]:
    match event:
        case ev.NonconformanceRaised(nonconformance=held):
            return (Reason("journal.nonconformance", {**_named(sheet, held), "what": held.what}),)
        case ev.NonconformanceDisposed(nonconformance=held):
            return tuple(_decided(held))
        case ev.PieceReworked():
            return (Reason("journal.reworked", {"serial": serial_of(sheet, event.piece), "n": event.round}),)
        case ev.PieceLeft():
            how = f"journal.left.{event.disposition.name.lower()}"
            return (Reason(how, {"serial": serial_of(sheet, event.piece)}),)
    return said_of_doubt(sheet, event)


def _named(sheet: Sheet, held: Nonconformance) -> dict[str, Part]:
    numbers = [number_of(sheet, row) for row in held.rows]
    shown = ", ".join(numbers[:MOST_NAMED]) + (" …" if len(numbers) > MOST_NAMED else "")
    return {"number": held.number, "rows": shown, "n": len(numbers), "serial": serial_of(sheet, held.piece)}


def _decided(held: Nonconformance) -> list[Reason]:
    how = held.disposition.value if held.disposition else ""
    said = [Reason("journal.decided", {"number": held.number, "how": how, "words": held.words})]
    if held.leave is not None:
        leave = held.leave
        said.append(Reason("journal.leave", {"document": leave.document, "day": leave.day, "scope": leave.scope}))
    return said


def said_of_doubt(sheet: Sheet, event: ev.Event) -> tuple[Reason, ...]:
    """What was set or logged that verdicts rest on."""
    match event:
        case ev.DecisionRuleChosen():
            return (Reason("journal.rule", {"reason": event.reason}), rule_reason(event.decision))
        case ev.TemperatureLogged(log=log):
            at = {"part": celsius(log.part), "instrument": celsius(log.instrument)}
            return (Reason("journal.temperature", {**at, "thermometer": log.thermometer}),)
        case ev.RepeatsDeclared():
            where = where_of(sheet, event.characteristic, event.piece)
            return (Reason("journal.repeats", {**where, "m": event.repeats}),)
        case ev.ReadingsReopened():
            return (Reason("journal.reopened_readings", {"n": len(event.readings)}),)
        case ev.RunChanged():
            return (Reason(f"journal.run.{event.order}"),)
    return ()


# --- rows and pieces --------------------------------------------------------------------------------------------------


def where_of(sheet: Sheet, characteristic: str, piece: str) -> dict[str, Part]:
    """A row's number and a piece's serial."""
    return {"number": number_of(sheet, characteristic), "serial": serial_of(sheet, piece)}


def serial_of(sheet: Sheet, piece: str) -> str:
    """A piece's serial, "" if the sheet does not have it."""
    return next((one.serial for one in sheet.pieces if one.identity == piece), "")


def number_of(sheet: Sheet, characteristic: str) -> str:
    """A row's balloon number; its identity if the plan has it no more."""
    row = sheet.rows.by_identity.get(characteristic)
    return row.number if row else characteristic
