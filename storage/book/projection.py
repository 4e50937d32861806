"""The rows that follow from a journal entry: one pure function, used by the door and by the check of a book."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from operator import itemgetter
from typing import Any

from msgspec import Struct
from sqlalchemy import Table

from inspection.instruments.method import Assignment
from inspection.sheet import events as ev
from inspection.sheet.events import Entry, Event
from storage.book.tables import PROJECTION
from storage.book.tally import Tally

Row = tuple[str, dict[str, Any]]
"""A row to be: the name of its table, and its columns."""
Values = tuple[Any, ...]
"""A row as it lies in its table."""


class Where(Struct, frozen=True):
    """Where an entry belongs: its place in the journal, itself, its stream, and the part of a sheet's stream."""

    sequence: int
    entry: Entry
    stream: str
    part: str = ""


def rows_of(
    events: Iterable[Event], where: Where, tally: Tally | None = None, before: Tally | None = None
) -> list[Row]:
    """The projection rows of one entry's events, each with its ``sequence`` and its ``place`` in its table.

    ``tally`` is where the entry's sheet stands afterwards, None for an entry on no sheet; ``before`` is where it stood,
    None for one that the entry makes.
    """
    return [
        (table, {"sequence": where.sequence, "place": place, **columns})
        for table, place, columns in _placed(events, where, tally, before)
    ]


def values_of(
    events: Iterable[Event], where: Where, tally: Tally | None = None, before: Tally | None = None
) -> list[tuple[str, Values]]:
    """The same rows as they lie in their tables: ``sequence``, ``place``, and the columns in the table's order."""
    sequence = where.sequence
    return [
        (table, (sequence, place, *_IN_ORDER[table](columns)))
        for table, place, columns in _placed(events, where, tally, before)
    ]


def _placed(
    events: Iterable[Event], where: Where, tally: Tally | None, before: Tally | None
) -> list[tuple[str, int, dict[str, Any]]]:
    """The rows, each with its table and its place among the entry's rows of that table."""
    rows = [row for event in events for row in _ROWS.get(type(event), _none)(event, where)]
    if tally is not None:
        rows.append(("standing", _standing(tally, where)))
        if tally.in_doubt or (before is not None and before.in_doubt):
            rows.append(("in_doubt", {"sheet": where.stream, "cells": tally.in_doubt}))
        if before is None or (before.stage, before.plan) != (tally.stage, tally.plan):
            rows.append(("stage", {"sheet": where.stream, "stage": tally.stage, "plan": tally.plan}))
    places: dict[str, int] = {}
    placed = []
    for table, columns in rows:
        place = places.get(table, 0)
        placed.append((table, place, columns))
        places[table] = place + 1
    return placed


def _in_order(table: Table) -> Callable[[dict[str, Any]], tuple[Any, ...]]:
    """Takes a table's values out of a row's columns, in the table's order."""
    names = [column.name for column in table.columns][2:]
    take = itemgetter(*names)
    return take if len(names) > 1 else lambda columns: (take(columns),)


_IN_ORDER = {name: _in_order(table) for name, table in PROJECTION.items()}


def _none(event: Event, where: Where) -> list[Row]:
    return []


def _by(where: Where) -> dict[str, Any]:
    return {"by": where.entry.person, "at": where.entry.at}


def _shop(event: ev.ShopOpened, where: Where) -> list[Row]:
    return [("shop", {"name": event.name})]


def _person(event: ev.PersonEntered, where: Where) -> list[Row]:
    person = event.person
    columns = {
        "person": person.identity,
        "name": person.name,
        "duties": ", ".join(person.duties),
        "certificate": person.certificate,
    }
    return [("person", columns)]


def _instrument(event: ev.InstrumentIssued, where: Where) -> list[Row]:
    item = event.instrument
    columns = {
        "instrument": item.identity,
        "issue": item.issue,
        "tag": item.tag,
        "kind": item.kind.value,
        "name": item.name,
        "due": item.due,
        "standing": item.standing.value,
    }
    return [("instrument_issue", columns)]


def _rules(event: ev.RulesIssued, where: Where) -> list[Row]:
    return [("rules_issue", {"issue": event.rules.issue})]


def _plan(event: ev.PlanIssued, where: Where) -> list[Row]:
    plan = event.plan
    head = {
        "plan": plan.identity,
        "part": plan.part_identity,
        "issue": plan.issue,
        "number": plan.part.number,
        "revision": plan.part.revision,
        "name": plan.part.name,
        "drawing": plan.part.drawing,
        "drawing_revision": plan.part.drawing_revision,
        "customer": plan.part.customer,
        "rows": len(plan.characteristics),
    }
    return [("plan_issue", head), *(("characteristic", columns) for columns in _characteristics(event))]


def _characteristics(event: ev.PlanIssued) -> Iterable[dict[str, Any]]:
    for row in event.plan.characteristics:
        requirement = row.requirement
        yield {
            "plan": event.plan.identity,
            "part": event.plan.part_identity,
            "characteristic": row.identity,
            "number": row.number,
            "kind": row.kind.value,
            "form": requirement.form.value,
            "written": requirement.written,
            "unit": requirement.unit,
            "nominal": requirement.nominal,
            "lower": requirement.lower,
            "upper": requirement.upper,
            "key": row.key,
        }


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
            yield "sheet_link", {**told, **_by(where)}


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
        **_by(where),
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


def _checked(event: ev.CheckRecorded, where: Where) -> list[Row]:
    made = event.check.made
    columns = {
        "made": made.identity,
        "instrument": made.instrument,
        "issue": made.issue,
        "unit": made.configuration.unit,
        "fitted": made.configuration.fitted,
        "passed": int(made.passed),
        "closing": int(made.closing),
        "sheet": event.check.sheet,
        "last_good": event.check.last_good,
        **_by(where),
    }
    return [("check_made", columns)]


def _upset(event: ev.UpsetReported, where: Where) -> list[Row]:
    upset = event.upset
    columns = {"instrument": upset.instrument, "what": upset.happened.what.value, "note": upset.note, **_by(where)}
    return [("upset", columns)]


def _studied(event: ev.StudyRecorded, where: Where) -> list[Row]:
    study = event.study
    columns = {
        "study": study.identity,
        "instrument": study.instrument,
        "issue": study.issue,
        "fitted": study.configuration.fitted,
        "groups": len(study.groups),
        **_by(where),
    }
    return [("study", columns)]


def _study_withdrawn(event: ev.StudyWithdrawn, where: Where) -> list[Row]:
    gone = event.withdrawal
    columns = {"study": gone.study, "instrument": gone.instrument, "reason": gone.reason, **_by(where)}
    return [("study_withdrawal", columns)]


def _gauge_study(event: ev.GaugeStudyStarted, where: Where) -> list[Row]:
    plan = event.study
    columns = {
        "study": plan.identity,
        "kind": plan.kind.value,
        "title": plan.title,
        "instrument": plan.instrument,
        "issue": plan.issue,
        "part": plan.part,
        "characteristic": plan.characteristic,
        "runs": len(plan.runs),
        **_by(where),
    }
    return [("gauge_study", columns)]


def _study_reading(event: ev.StudyReadingTaken, where: Where) -> list[Row]:
    reading = event.reading
    columns = {
        "study": where.stream,
        "reading": reading.identity,
        "run": reading.run,
        "amount": reading.quantity.count if reading.quantity is not None else None,
        "written": reading.written,
        "replaces": reading.replaces or reading.answers,
        "reason": reading.reason,
        **_by(where),
    }
    return [("study_reading", columns)]


def _study_kept(event: ev.StudyReadingKept, where: Where) -> list[Row]:
    return [("study_answer", {"study": where.stream, "reading": event.reading, "answer": "kept", **_by(where)})]


def _given_up(event: ev.GaugeStudyGivenUp, where: Where) -> list[Row]:
    return [("study_end", {"study": where.stream, "how": "given up", "reason": event.reason, **_by(where)})]


def _reopened_readings(event: ev.ReadingsReopened, where: Where) -> list[Row]:
    made = event.check.made.identity
    told = {"sheet": where.stream, "made": made, **_by(where)}
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
        **_by(where),
    }
    return [("temperature", columns)]


def _repeats(event: ev.RepeatsDeclared, where: Where) -> list[Row]:
    columns = {
        "sheet": where.stream,
        "characteristic": event.characteristic,
        "piece": event.piece,
        "repeats": event.repeats,
        **_by(where),
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
        **_by(where),
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
        **_by(where),
    }
    return [("answer", columns)]


def _noted(event: ev.NoteWritten, where: Where) -> list[Row]:
    columns = {
        "sheet": where.stream,
        "characteristic": event.characteristic,
        "piece": event.piece,
        "text": event.text,
        **_by(where),
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
        **_by(where),
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
        **_by(where),
    }
    return [("evidence", columns)]


def _struck(event: ev.EvidenceStruck, where: Where) -> list[Row]:
    emptied = dict.fromkeys(
        ("kind", "name", "specification", "specification_revision", "supplier", "approved", "certificate"), ""
    )
    told = {"sheet": where.stream, "evidence": event.evidence, "change": "struck", "reason": event.reason}
    return [("evidence", {**told, **emptied, **_by(where)})]


def _sealed(event: ev.SheetSealed, where: Where) -> list[Row]:
    columns = {
        "sheet": where.stream,
        "round": event.round,
        "digest": event.digest,
        "algorithm": event.signature.algorithm,
        "signature": event.signature.value,
        "certificate": event.signature.certificate,
        "incomplete": event.incomplete,
        **_by(where),
    }
    return [("seal", columns)]


def _nonconformance(event: ev.NonconformanceRaised | ev.NonconformanceDisposed, where: Where) -> list[Row]:
    held = event.nonconformance
    columns = {
        "sheet": where.stream,
        "part": where.part,
        "nonconformance": held.identity,
        "change": "raised" if held.disposition is None else "decided",
        "number": held.number,
        "piece": held.piece,
        "rows": len(held.rows),
        "what": held.what,
        "disposition": held.disposition.value if held.disposition else "",
        "document": held.leave.document if held.leave else "",
        **_by(where),
    }
    return [("nonconformance", columns)]


def _reworked(event: ev.PieceReworked, where: Where) -> list[Row]:
    told = {"sheet": where.stream, "piece": event.piece, "change": "reworked", "round": event.round}
    return [("piece_change", {**told, "nonconformance": event.nonconformance, **_by(where)})]


def _left(event: ev.PieceLeft, where: Where) -> list[Row]:
    told = {"sheet": where.stream, "piece": event.piece, "change": event.disposition.value, "round": 0}
    return [("piece_change", {**told, "nonconformance": event.nonconformance, **_by(where)})]


def _point(event: ev.PointAnswered, where: Where) -> list[Row]:
    answer = event.answer
    return [("point_answer", {"sheet": where.stream, "point": answer.point, "words": answer.words, **_by(where)})]


def _mark(event: ev.SheetMarked | ev.MarkAnswered, where: Where) -> list[Row]:
    mark = event.mark
    columns = {
        "sheet": where.stream,
        "mark": mark.identity,
        "change": "marked" if mark.waits else "answered",
        "instrument": mark.instrument,
        "issue": mark.issue,
        "error": mark.error,
        "size": mark.size,
        "readings": len(mark.readings),
        "words": mark.words if mark.waits else mark.answer,
        **_by(where),
    }
    return [("sheet_mark", columns)]


def _again(event: ev.RowReadAgain, where: Where) -> list[Row]:
    reading = event.again.reading
    columns = {
        "sheet": where.stream,
        "reading": reading.identity,
        "characteristic": reading.characteristic,
        "piece": reading.piece,
        "amount": reading.count,
        "written": reading.written,
        "observed": reading.observed.value if reading.observed else "",
        **_by(where),
    }
    return [("read_again", columns)]


def _returned(event: ev.SheetReturned, where: Where) -> list[Row]:
    return [
        (
            "sheet_return",
            {
                "sheet": where.stream,
                "characteristic": row.characteristic,
                "piece": row.piece,
                "words": row.words,
                **_by(where),
            },
        )
        for row in event.rows
    ]


def _stated(event: ev.StatementSigned, where: Where) -> list[Row]:
    columns = {
        "sheet": where.stream,
        "kind": event.kind.value,
        "round": event.round,
        "digest": event.digest,
        "algorithm": event.signature.algorithm,
        "signature": event.signature.value,
        "certificate": event.signature.certificate,
        **_by(where),
    }
    return [("statement", columns)]


def _reopened(event: ev.SheetReopened, where: Where) -> list[Row]:
    return [("reopening", {"sheet": where.stream, "round": event.round, "reason": event.reason, **_by(where)})]


def _sent(event: ev.SheetSent, where: Where) -> list[Row]:
    columns = {"sheet": where.stream, "form": event.form, "name": event.name, "digest": event.digest, **_by(where)}
    return [("sent", columns)]


def _document(event: ev.DocumentKept, where: Where) -> list[Row]:
    columns = {"round": event.round, "signs": event.signs, "stamped": int(event.stamped)}
    return [("document", {"sheet": where.stream, **columns, **_by(where)})]


def _standing(tally: Tally, where: Where) -> dict[str, Any]:
    return {
        "sheet": where.stream,
        "plan": tally.plan,
        "round": tally.round,
        "sealed": int(tally.sealed),
        "conforming": tally.conforming,
        "marginal": tally.marginal,
        "not_conforming": tally.not_conforming,
        "open": tally.open,
        "questions": tally.questions,
        **_by(where),
    }


_ROWS: dict[type[Event], Callable[[Any, Where], list[Row]]] = {
    ev.ShopOpened: _shop,
    ev.PersonEntered: _person,
    ev.InstrumentIssued: _instrument,
    ev.RulesIssued: _rules,
    ev.CheckRecorded: _checked,
    ev.UpsetReported: _upset,
    ev.StudyRecorded: _studied,
    ev.StudyWithdrawn: _study_withdrawn,
    ev.GaugeStudyStarted: _gauge_study,
    ev.StudyReadingTaken: _study_reading,
    ev.StudyReadingKept: _study_kept,
    ev.GaugeStudyGivenUp: _given_up,
    ev.PlanIssued: _plan,
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
    ev.SheetSealed: _sealed,
    ev.NonconformanceRaised: _nonconformance,
    ev.NonconformanceDisposed: _nonconformance,
    ev.PieceReworked: _reworked,
    ev.PieceLeft: _left,
    ev.PointAnswered: _point,
    ev.SheetMarked: _mark,
    ev.MarkAnswered: _mark,
    ev.RowReadAgain: _again,
    ev.SheetReturned: _returned,
    ev.StatementSigned: _stated,
    ev.SheetReopened: _reopened,
    ev.SheetSent: _sent,
    ev.DocumentKept: _document,
}
