"""What follows from events at the bench: sheets made, instruments chosen, readings, verdicts, questions, the record."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from inspection.instruments.method import Assignment
from inspection.sheet import events as ev
from storage.book.rows import Row, RowsOf, Where, by


def _sheet(event: ev.SheetMade, where: Where) -> list[Row]:
    columns = {
        "sheet": event.sheet,
        "part": event.part_identity,
        "plan": event.plan,
        "made_by": where.entry.person,
        "made_at": where.entry.at,
        "day": where.entry.day,
        "customer": event.head.customer,
        "order": event.head.order,
        "lot": event.head.lot,
    }
    pieces = ({"sheet": event.sheet, "piece": piece.identity, "serial": piece.serial} for piece in event.pieces)
    return [("sheet", columns), *(("piece", piece) for piece in pieces), *_links(event, where)]


def _links(event: ev.SheetMade, where: Where) -> Iterable[Row]:
    for how, other in (("completes", event.completes), ("amends", event.amends)):
        if other:
            told = {"sheet": event.sheet, "other": other, "how": how, "reason": event.reason}
            yield "sheet_link", {**told, **by(where)}


def _assignment(assignment: Assignment, where: Where) -> Row:
    assessed = assignment.assessment
    part = assessed.method.parts[0] if assessed else None
    columns = {
        "sheet": where.stream,
        "characteristic": assignment.characteristic,
        "use": assessed.method.use.value if assessed else "",
        "instrument": part.identity if part else "",
        "issue": part.issue if part else None,
        "fitness": assessed.fitness.value if assessed else "",
        "by_hand": assignment.chosen_by_hand,
    }
    return "assignment", columns


def _route(event: ev.RouteChosen, where: Where) -> list[Row]:
    return [_assignment(assignment, where) for assignment in event.assignments]


def _chosen(event: ev.InstrumentChosen, where: Where) -> list[Row]:
    return [_assignment(event.assignment, where)]


def _reading(event: ev.ReadingTaken, where: Where) -> list[Row]:
    reading = event.reading
    columns = {
        "reading": reading.identity,
        "sheet": where.stream,
        "part": where.part,
        "characteristic": reading.characteristic,
        "piece": reading.piece,
        "slot_place": reading.slot.place,
        "slot_repeat": reading.slot.repeat,
        "slot_role": reading.slot.role.value,
        "amount": reading.count,
        "kind": reading.kind.value,
        "unit": reading.unit,
        "written": reading.written,
        "decimals": reading.decimals,
        "observed": reading.observed.value if reading.observed else "",
        "plan": reading.plan,
        "use": reading.method.use.value,
        "by": reading.by,
        "taken": reading.taken,
        "day": reading.day,
        "replaces": reading.replaces,
        "reason": reading.reason,
        "indication": int(reading.indication),
        "answers": event.answers,
    }
    rows = [("reading", columns), *_instruments(event, where)]
    if reading.replaces:
        rows.append(_withdrawn(reading.replaces, "replaced", reading.reason, reading.identity, where))
    return rows


def _instruments(event: ev.ReadingTaken, where: Where) -> Iterable[Row]:
    reading = event.reading
    for part in reading.method.parts:
        columns = {
            "reading": reading.identity,
            "sheet": where.stream,
            "instrument": part.identity,
            "issue": part.issue,
            "taken": reading.taken,
        }
        yield "reading_instrument", columns


def _withdrawn(reading: str, change: str, reason: str, replaced_by: str, where: Where) -> Row:
    columns = {
        "sheet": where.stream,
        "reading": reading,
        "change": change,
        "reason": reason,
        "replaced_by": replaced_by,
        **by(where),
    }
    return "withdrawal", columns


def _taken_back(event: ev.ReadingTakenBack, where: Where) -> list[Row]:
    return [_withdrawn(event.reading, "taken back", event.reason, event.replaced_by, where)]


def _put_back(event: ev.ReadingPutBack, where: Where) -> list[Row]:
    return [_withdrawn(event.reading, "put back", event.reason, "", where)]


def _judged(event: ev.CellJudged, where: Where) -> list[Row]:
    judged = event.judgement
    columns = {
        "sheet": where.stream,
        "part": where.part,
        "characteristic": event.characteristic,
        "piece": event.piece,
        "verdict": judged.verdict.value,
        "smallest": min(judged.results, default=None),
        "largest": max(judged.results, default=None),
        "of": judged.of,
        "out_by": judged.out_by,
        "expanded": judged.expanded,
        "rule": judged.rule,
        "at": where.entry.at,
    }
    return [("judgement", columns), *_doubt(event, where)]


def _doubt(event: ev.CellJudged, where: Where) -> Iterable[Row]:
    """What a verdict came to beyond its row, where it came to anything."""
    judged = event.judgement
    if judged.guard is None and not judged.probability and not judged.corrections:
        return
    yield (
        "doubt",
        {
            "sheet": where.stream,
            "characteristic": event.characteristic,
            "piece": event.piece,
            "guard": judged.guard,
            "probability": judged.probability,
            "corrections": len(judged.corrections),
        },
    )


def _reopened_readings(event: ev.ReadingsReopened, where: Where) -> list[Row]:
    made = event.check.made.identity
    told = {"sheet": where.stream, "made": made, **by(where)}
    return [("reopened_reading", {**told, "reading": reading}) for reading in event.readings]


def _logged(event: ev.TemperatureLogged, where: Where) -> list[Row]:
    log = event.log
    columns = {
        "sheet": where.stream,
        "part": log.part,
        "instrument": log.instrument,
        "within": log.within,
        "thermometer": log.thermometer,
        "soak_minutes": log.soak_minutes,
        **by(where),
    }
    return [("temperature", columns)]


def _repeats(event: ev.RepeatsDeclared, where: Where) -> list[Row]:
    columns = {
        "sheet": where.stream,
        "characteristic": event.characteristic,
        "piece": event.piece,
        "repeats": event.repeats,
        **by(where),
    }
    return [("declared_repeats", columns)]


def _decided_by(event: ev.DecisionRuleChosen, where: Where) -> list[Row]:
    rule = event.decision
    columns = {
        "sheet": where.stream,
        "kind": rule.kind.value,
        "probability": rule.probability,
        "by_expanded": int(rule.by_expanded),
        "reason": event.reason,
        **by(where),
    }
    return [("decision_rule", columns)]


def _asked(event: ev.QuestionAsked, where: Where) -> list[Row]:
    question = event.question
    columns = {
        "question": question.identity,
        "sheet": where.stream,
        "reading": question.reading,
        "characteristic": question.characteristic,
        "piece": question.piece,
        "code": question.reason.code,
    }
    return [("question", columns)]


def _answered(event: ev.QuestionAnswered, where: Where) -> list[Row]:
    columns = {
        "question": event.question,
        "sheet": where.stream,
        "answer": event.answer,
        "reading": event.reading,
        **by(where),
    }
    return [("answer", columns)]


def _noted(event: ev.NoteWritten, where: Where) -> list[Row]:
    columns = {
        "sheet": where.stream,
        "characteristic": event.characteristic,
        "piece": event.piece,
        "text": event.text,
        **by(where),
    }
    return [("note", columns)]


def _headed(event: ev.HeadWritten, where: Where) -> list[Row]:
    head = event.head
    columns = {
        "sheet": where.stream,
        "customer": head.customer,
        "order": head.order,
        "lot": head.lot,
        "extent": head.extent,
        "baseline": head.baseline,
        **by(where),
    }
    return [("head", columns)]


def _evidence(event: ev.EvidenceEntered, where: Where) -> list[Row]:
    entered = event.evidence
    columns = {
        "sheet": where.stream,
        "evidence": entered.identity,
        "change": "entered",
        "kind": entered.kind.value,
        "name": entered.name,
        "specification": entered.specification,
        "specification_revision": entered.specification_revision,
        "supplier": entered.supplier,
        "approved": entered.approved.value,
        "certificate": entered.certificate,
        "reason": "",
        **by(where),
    }
    return [("evidence", columns)]


def _struck(event: ev.EvidenceStruck, where: Where) -> list[Row]:
    emptied = dict.fromkeys(
        ("kind", "name", "specification", "specification_revision", "supplier", "approved", "certificate"), ""
    )
    told = {"sheet": where.stream, "evidence": event.evidence, "change": "struck", "reason": event.reason}
    return [("evidence", {**told, **emptied, **by(where)})]


ROWS: Mapping[type[ev.Event], RowsOf] = {
    ev.SheetMade: _sheet,
    ev.RouteChosen: _route,
    ev.InstrumentChosen: _chosen,
    ev.DecisionRuleChosen: _decided_by,
    ev.TemperatureLogged: _logged,
    ev.RepeatsDeclared: _repeats,
    ev.ReadingTaken: _reading,
    ev.ReadingsReopened: _reopened_readings,
    ev.CellJudged: _judged,
    ev.QuestionAsked: _asked,
    ev.QuestionAnswered: _answered,
    ev.ReadingTakenBack: _taken_back,
    ev.ReadingPutBack: _put_back,
    ev.NoteWritten: _noted,
    ev.HeadWritten: _headed,
    ev.EvidenceEntered: _evidence,
    ev.EvidenceStruck: _struck,
}
"""The rows of each kind of event."""
