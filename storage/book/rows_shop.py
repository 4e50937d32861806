"""What follows from events of the shop and its plans: people, instruments, their proofs, gauge studies, plan issues."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from inspection.sheet import events as ev
from storage.book.rows import Row, RowsOf, Where, by


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
        **by(where),
    }
    return [("check_made", columns)]


def _upset(event: ev.UpsetReported, where: Where) -> list[Row]:
    upset = event.upset
    columns = {"instrument": upset.instrument, "what": upset.happened.what.value, "note": upset.note, **by(where)}
    return [("upset", columns)]


def _studied(event: ev.StudyRecorded, where: Where) -> list[Row]:
    study = event.study
    columns = {
        "study": study.identity,
        "instrument": study.instrument,
        "issue": study.issue,
        "fitted": study.configuration.fitted,
        "groups": len(study.groups),
        **by(where),
    }
    return [("study", columns)]


def _study_withdrawn(event: ev.StudyWithdrawn, where: Where) -> list[Row]:
    gone = event.withdrawal
    columns = {"study": gone.study, "instrument": gone.instrument, "reason": gone.reason, **by(where)}
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
        **by(where),
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
        **by(where),
    }
    return [("study_reading", columns)]


def _study_kept(event: ev.StudyReadingKept, where: Where) -> list[Row]:
    return [("study_answer", {"study": where.stream, "reading": event.reading, "answer": "kept", **by(where)})]


def _given_up(event: ev.GaugeStudyGivenUp, where: Where) -> list[Row]:
    return [("study_end", {"study": where.stream, "how": "given up", "reason": event.reason, **by(where)})]


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


ROWS: Mapping[type[ev.Event], RowsOf] = {
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
}
"""The rows of each kind of event."""
