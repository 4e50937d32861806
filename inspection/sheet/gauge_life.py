"""Acts of gauge studies and what follows: planned, read blind in turns, corrected with a reason, given up; taken into
use for an instrument's budgets by a lead, and withdrawn from them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import isqrt

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.plan import Plan
from inspection.instruments.reach import limits_asked, range_covers
from inspection.instruments.record import Instrument, InstrumentKind, Standing
from inspection.measuring.checks import amount, configured, range_of
from inspection.measuring.proofs import StudyRecord, WithdrawalRecord, studies_in_use
from inspection.measuring.spread import pooled
from inspection.measuring.study_under_way import check_shown, slip_beside
from inspection.quantity.units import Quantity
from inspection.reasons import Part, Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.identities import derived
from inspection.sheet.state import Shop
from inspection.standards.ranges import most_tabled
from inspection.studies.conducted import (
    MOST_RUNS,
    OBSERVED,
    Conducted,
    StudyKind,
    StudyPlan,
    StudyReading,
    in_random_order,
    labels_twice,
)
from inspection.studies.gauge_results import crossed_of
from inspection.studies.gauge_study import by_variances

# --- planning -------------------------------------------------------------------------------------------------------


def start(
    shop: Shop,
    plans: Mapping[str, Plan],
    act: acts.StartGaugeStudy,
    entry: ev.Entry,
    under_way: Conducted | None = None,
) -> tuple[ev.Event, ...]:
    """A study is planned, its order drawn from its identity; ``plans`` are the issues of the part that it is of.
    Refused with every fault; one is the study ``under_way`` by the same title, for people name a study by it."""
    instrument = shop.crib.get(act.instrument)
    if instrument is None:
        raise Refused(Reason("instrument.unknown", {"instrument": act.instrument}))
    faults = [*_unfit(instrument, act), *_faults(shop, act), *_out_of_range(instrument, plans, act)]
    if under_way is not None:
        told: dict[str, Part] = {"n": len(under_way.standing), "of": len(under_way.plan.runs)}
        faults.append(Reason("gauge.refused.start.title_twice", {"title": under_way.plan.title, **told}))
    if faults:
        raise Refused(*faults)
    set_up = act.configuration
    if act.kind is not StudyKind.ATTRIBUTE:
        set_up = configured(instrument, set_up.unit, set_up.fitted, set_up.low, set_up.high)
    identity = derived(entry, "gauge study")
    plan = StudyPlan(
        identity,
        act.kind,
        act.title.strip(),
        instrument.identity,
        instrument.issue,
        set_up,
        act.people,
        act.specimens,
        act.trials,
        in_random_order(identity, len(act.people), len(act.specimens), act.trials),
        entry.person,
        entry.at,
        act.band,
        act.part,
        act.characteristic,
        act.number,
    )
    return (ev.GaugeStudyStarted(study=plan),)


def _unfit(instrument: Instrument, act: acts.StartGaugeStudy) -> Iterator[Reason]:
    parts: dict[str, Part] = {"tag": instrument.tag, "name": instrument.name}
    if instrument.standing is not Standing.IN_SERVICE:
        yield Reason("gauge.refused.out_of_service", parts)
    if act.kind is StudyKind.ATTRIBUTE:
        if instrument.resolution:
            yield Reason("gauge.refused.is_read", parts)
    elif not instrument.resolution and not instrument.read_over:
        yield Reason("study.refused.no_scale", parts)


def _out_of_range(instrument: Instrument, plans: Mapping[str, Plan], act: acts.StartGaugeStudy) -> Iterator[Reason]:
    """What the instrument as it is set up cannot read: a standard's size, or the row that the parts are of."""
    low, high = range_of(instrument, act.configuration)
    if act.kind is StudyKind.ATTRIBUTE or not high:
        return
    ends = {"low": amount(instrument, low), "high": amount(instrument, high)}
    parts: dict[str, Part] = {"tag": instrument.tag, **ends}
    half = instrument.resolution // 2  # a standard that is so little beyond an end shows as that end
    for each in act.specimens if act.kind is StudyKind.STANDARDS else ():
        if each.size > 0 and not low - half <= each.size <= high + half:
            size = amount(instrument, each.size, act.configuration.unit)
            yield Reason("gauge.refused.start.standard_outside", {**parts, "label": each.label, "size": size})
    row = _row_of(plans, act)
    if row is None:
        return
    if row.requirement.kind is not instrument.quantity:
        yield Reason("gauge.refused.start.row_of_other_kind", {"tag": instrument.tag, "number": row.number})
    elif instrument.kind is not InstrumentKind.INDICATOR and not range_covers(instrument, limits_asked(row)):
        written = row.requirement.written
        yield Reason("gauge.refused.start.row_outside", {**parts, "number": row.number, "written": written})


def _row_of(plans: Mapping[str, Plan], act: acts.StartGaugeStudy) -> Characteristic | None:
    """The row that a study is of, as the newest plan that has it asks for it."""
    newest = sorted(plans.values(), key=lambda plan: -plan.issue)
    rows = (row for plan in newest for row in plan.characteristics if row.identity == act.characteristic)
    return next(rows, None)


def _faults(shop: Shop, act: acts.StartGaugeStudy) -> Iterator[Reason]:
    most = most_tabled() if act.kind is StudyKind.CROSSED else 200
    least = {"people": 1 if act.kind is StudyKind.STANDARDS else 2, "parts": 1, "trials": 2}
    if act.kind is StudyKind.CROSSED:
        least["parts"] = 2
    held = {"people": len(act.people), "parts": len(act.specimens), "trials": act.trials}
    for what, n in held.items():
        if not least[what] <= n <= most:
            yield Reason(f"gauge.refused.start.{what}", {"n": n, "least": least[what], "most": most})
    if held["people"] * held["parts"] * held["trials"] > MOST_RUNS:
        yield Reason("gauge.refused.start.runs", {"most": MOST_RUNS})
    if not act.title.strip():
        yield Reason("gauge.refused.start.title")
    for name in act.people:
        if name not in shop.people:
            yield Reason("gauge.refused.start.nobody", {"person": name})
    if len(set(act.people)) != len(act.people):
        yield Reason("gauge.refused.start.person_twice")
    labels = [each.label.strip() for each in act.specimens]
    if not all(labels):
        yield Reason("gauge.refused.start.no_label")
    for label in labels_twice(labels):
        yield Reason("gauge.refused.start.label_twice", {"label": label})
    if act.band < 0:
        yield Reason("gauge.refused.no_band")
    if act.kind is StudyKind.STANDARDS and any(each.size <= 0 or each.within < 0 for each in act.specimens):
        yield Reason("gauge.refused.start.no_size")


# --- reading --------------------------------------------------------------------------------------------------------


def take(shop: Shop, study: Conducted, act: acts.TakeStudyReading, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A reading of the run that is the person's next, or of an earlier one of their own in place of what stands there.
    What looks like a slip beside the others of its part is kept, and asked about."""
    _not_ended(study)
    if act.run not in study.runs_of(entry.person):
        raise Refused(Reason("gauge.refused.not_yours"))
    replaces = act.replaces or act.answers
    if replaces:
        if in_use(shop, study.plan.identity) is not None:
            raise Refused(Reason("gauge.refused.in_use", {"title": study.plan.title}))
        _may_replace(study, act, replaces, entry.person)
    else:
        _is_next(study, act, entry.person)
    instrument = shop.issues[study.plan.instrument, study.plan.issue]
    quantity = _read(study, instrument, act)
    reading = StudyReading(
        derived(entry, "study reading"),
        act.run,
        entry.person,
        entry.at,
        quantity,
        act.observed if quantity is None else "",
        act.replaces,
        act.reason.strip(),
        act.answers,
        _question(study, instrument, act.run, quantity) if not act.answers and quantity is not None else None,
    )
    return (ev.StudyReadingTaken(reading=reading),)


def _not_ended(study: Conducted) -> None:
    if study.ended is not None:
        raise Refused(Reason("gauge.refused.ended", {"title": study.plan.title}))


def _may_replace(study: Conducted, act: acts.TakeStudyReading, replaces: str, person: str) -> None:
    held = study.read(act.run)
    if held is None or held.identity != replaces or held.by != person:
        raise Refused(Reason("gauge.refused.not_standing"))
    if act.answers and not study.waits(act.answers):
        raise Refused(Reason("gauge.refused.not_asked"))
    if act.replaces and not act.reason.strip():
        raise Refused(Reason("gauge.refused.no_reason"))


def _is_next(study: Conducted, act: acts.TakeStudyReading, person: str) -> None:
    if study.waiting(person) is not None:
        raise Refused(Reason("gauge.refused.question_waits"))
    if act.run in study.standing:
        raise Refused(Reason("gauge.refused.read_already"))
    if act.run != study.next_run(person):
        raise Refused(Reason("gauge.refused.out_of_order"))


def _read(study: Conducted, instrument: Instrument, act: acts.TakeStudyReading) -> Quantity | None:
    if study.plan.kind is StudyKind.ATTRIBUTE:
        if act.quantity is not None or act.observed not in OBSERVED:
            raise Refused(Reason("gauge.refused.observed"))
        return None
    if act.quantity is None or act.quantity.kind is not instrument.quantity:
        raise Refused(Reason("gauge.refused.no_reading", {"tag": instrument.tag}))
    check_shown(instrument, study.plan.configuration, act.quantity)
    return act.quantity


def _question(study: Conducted, instrument: Instrument, run: int, quantity: Quantity) -> Reason | None:
    """What the reading looks like beside all that was read of its part. The question names no number: whoever reads
    knows no other reading, and is not to learn one."""
    others = study.of_specimen(study.plan.runs[run].specimen)
    beside = tuple(each.quantity.count for each in others if each.quantity is not None and each.run != run)
    found = slip_beside(quantity, beside, instrument, study.plan.configuration.unit)
    if found is None:
        return None
    if found.code == "slip.graduation":
        return Reason("gauge.question.graduation", {"tag": instrument.tag, "step": found.parts["step"]})
    return Reason("gauge.question.slip", {"what": found.code.removeprefix("slip.").removesuffix("_beside")})


def keep(study: Conducted, act: acts.KeepStudyReading, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A questioned reading stands as written; only whoever read it can say so."""
    _not_ended(study)
    held = study.readings.get(act.reading)
    if held is None or not study.waits(act.reading) or held.by != entry.person:
        raise Refused(Reason("gauge.refused.not_asked"))
    return (ev.StudyReadingKept(reading=act.reading),)


def give_up(shop: Shop, study: Conducted, act: acts.GiveUpStudy) -> tuple[ev.Event, ...]:
    """A study that is not complete is given up with a reason."""
    _not_ended(study)
    if study.is_complete:
        raise Refused(Reason("gauge.refused.is_complete", {"title": study.plan.title}))
    if not act.reason.strip():
        raise Refused(Reason("gauge.refused.no_reason"))
    return (ev.GaugeStudyGivenUp(reason=act.reason.strip()),)


# --- into use and out of it -----------------------------------------------------------------------------------------


def take_into_use(
    shop: Shop, study: Conducted | None, act: acts.TakeStudyIntoUse, entry: ev.Entry
) -> tuple[ev.Event, ...]:
    """What one person reads of one part, again and again, becomes the instrument's repeatability on parts; with
    ``people`` what differs between people becomes a line of its own."""
    if study is None:
        raise Refused(Reason("gauge.refused.unknown"))
    faults = list(not_into_use(shop, study))
    if faults:
        raise Refused(*faults)
    plan, held = study.plan, crossed_of(study)
    between = by_variances(held).reproducibility if act.people else 0.0
    record = StudyRecord(
        derived(entry, "study"),
        plan.instrument,
        plan.issue,
        plan.configuration,
        tuple(cell for row in held.readings for cell in row),
        entry.person,
        entry.at,
        of=plan.identity,
        title=plan.title,
        people=isqrt(round(between)),
        people_freedom=len(plan.people) - 1 if between else 0,
    )
    return (ev.StudyRecorded(study=record),)


def not_into_use(shop: Shop, study: Conducted) -> Iterator[Reason]:
    """What keeps a study from being taken into use."""
    plan = study.plan
    told: dict[str, Part] = {"title": plan.title}
    if plan.kind is not StudyKind.CROSSED:
        yield Reason("gauge.refused.use.kind", told)
    elif not study.is_complete:
        yield Reason("gauge.refused.use.open", {**told, "n": len(plan.runs) - len(study.standing)})
    elif pooled(cell for row in study.counts() for cell in row) is None:
        yield Reason("study.no_evidence", {"tag": shop.issues[plan.instrument, plan.issue].tag})
    if in_use(shop, plan.identity) is not None:
        yield Reason("gauge.refused.use.already", told)


def in_use(shop: Shop, study: str) -> StudyRecord | None:
    """The record by which a gauge study is in use; None where it is not, or not any more."""
    return next((each for each in studies_in_use(shop.proofs) if each.of == study), None)


def withdraw(shop: Shop, act: acts.WithdrawStudy, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A study is reckoned with no longer; verdicts that rest on it stay as they were."""
    record = next((each for each in studies_in_use(shop.proofs) if each.identity == act.study), None)
    if record is None:
        raise Refused(Reason("gauge.refused.not_in_use"))
    if not act.reason.strip():
        raise Refused(Reason("gauge.refused.no_reason"))
    gone = WithdrawalRecord(record.identity, record.instrument, entry.person, entry.at, act.reason.strip())
    return (ev.StudyWithdrawn(withdrawal=gone),)
