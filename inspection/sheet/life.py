"""``decide``: what an act may do to the shop, a plan or a sheet, and what follows. Pure; the door carries it out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

from inspection.drawing.plan import Plan
from inspection.reasons import Reason, Refused
from inspection.sheet import (
    acts,
    document_life,
    gauge_life,
    linked_life,
    marking_life,
    nonconformance_life,
    proof_life,
    reading_life,
    record_life,
    review_life,
    sheet_life,
    shop_life,
    withdrawals,
)
from inspection.sheet.acts import AnyAct
from inspection.sheet.events import Entry, Event
from inspection.sheet.points import points
from inspection.sheet.points_history import History
from inspection.sheet.points_table import Point
from inspection.sheet.proving import Elsewhere
from inspection.sheet.review import StatementKind
from inspection.sheet.sheet_life import Sign
from inspection.sheet.state import Sheet, Shop
from inspection.sheet.steps import require
from inspection.studies.conducted import Conducted


def decide(
    shop: Shop,
    sheet: Sheet | None,
    plans: Mapping[str, Plan],
    act: acts.Act,
    entry: Entry,
    sign: Sign | None = None,
    elsewhere: Elsewhere | None = None,
    other: Sheet | None = None,
    earlier: Callable[[str], History] | None = None,
    study: Conducted | None = None,
) -> tuple[Event, ...]:
    """The events that follow from ``act``, done by ``entry.person`` at ``entry.at``.

    ``sheet`` is the one the act names, None for acts on the shop or a plan; ``plans`` finds plan issues of the part
    concerned by identity; ``sign`` signs canonical bytes with the person's key where the act needs it; ``elsewhere``
    tells uses of an instrument on other sheets; ``other`` is the sheet that the act's one completes or amends;
    ``earlier`` tells what a sheet's characteristics came to on the sheets before it; ``study`` is the gauge study that
    the act names, or to start one that under way by the same title. Raises Refused with the reasons, and then nothing
    may be written.
    """
    if isinstance(act, acts.OpenShop):
        return shop_life.open_shop(shop, act, entry)
    if not shop.name:
        raise Refused(Reason("shop.not_open"))
    require(shop, sheet, act, entry.person)
    if isinstance(act, acts.OnSheet):
        if sheet is None:
            raise Refused(Reason("sheet.unknown"))
        if isinstance(act, acts.MakeStatement):
            listed = points_of(shop, sheet, plans, entry.day, earlier) if act.kind is StatementKind.APPROVED else ()
            return review_life.make_statement(shop, sheet, act, entry, sign, other, listed)
        return _on_sheet(shop, sheet, plans, act, entry, sign, elsewhere)
    if isinstance(act, acts.OnStudy):
        return _on_study(shop, study, act, entry)
    if isinstance(act, acts.TakeStudyIntoUse):
        return gauge_life.take_into_use(shop, study, act, entry)
    if isinstance(act, acts.StartGaugeStudy):
        return gauge_life.start(shop, plans, act, entry, study)
    return _on_shop(shop, plans, act, entry, other)


def _on_study(shop: Shop, study: Conducted | None, act: acts.OnStudy, entry: Entry) -> tuple[Event, ...]:
    if study is None:
        raise Refused(Reason("gauge.refused.unknown"))
    match act:
        case acts.TakeStudyReading():
            return gauge_life.take(shop, study, act, entry)
        case acts.KeepStudyReading():
            return gauge_life.keep(study, act, entry)
        case acts.GiveUpStudy():
            return gauge_life.give_up(shop, study, act)
    raise AssertionError(f"no decision for {type(act).__name__}")


def points_of(
    shop: Shop, sheet: Sheet, plans: Mapping[str, Plan], day: str, earlier: Callable[[str], History] | None = None
) -> tuple[Point, ...]:
    """The lead's list of a sheet on a ``day`` (ISO), with the newest of the part's ``plans`` and earlier results."""
    newest = max(plans.values(), key=lambda plan: plan.issue, default=None)
    return points(shop, sheet, earlier(sheet.identity) if earlier else {}, day, newest=newest)


def follow_ups(
    act: acts.Act, events: Iterable[Event], sheets_read_with: Callable[[str, int, int], Iterable[str]]
) -> Iterator[AnyAct]:
    """The acts on sheets that an act brings with it, to be carried out with it by the same person.

    A failed check re-opens readings on every sheet read with the instrument meanwhile; ``sheets_read_with`` names them
    by instrument, from after one moment up to another. A check made for a sheet weighs its instruments anew.
    """
    for each in proof_life.suspected(events):
        for sheet in sheets_read_with(each.instrument, each.since, each.until):
            yield acts.ReopenReadings(sheet=sheet, check=each.check)
    if isinstance(act, acts.RecordCheck) and act.sheet:
        yield acts.Reweigh(sheet=act.sheet)


def other_named(act: acts.Act, sheet: Sheet | None) -> str:
    """The further sheet that has to be known to decide an act: the one it completes or amends; empty if none."""
    match act:
        case acts.MakeSheet(completes=name) | acts.AmendSheet(amended=name):
            return name
        case acts.MakeStatement() if sheet is not None:
            return sheet.completes
    return ""


def _on_shop(
    shop: Shop, plans: Mapping[str, Plan], act: acts.Act, entry: Entry, other: Sheet | None
) -> tuple[Event, ...]:
    match act:
        case acts.EnterPerson():
            return shop_life.enter_person(shop, act, entry)
        case acts.IssueInstrument():
            return shop_life.issue_instruments(shop, (act.instrument,), entry)
        case acts.IssueInstruments():
            return shop_life.issue_instruments(shop, act.instruments, entry)
        case acts.IssueRules():
            return shop_life.issue_rules(shop, act)
        case acts.IssueLayout():
            return shop_life.issue_layout(shop, act, entry)
        case acts.IssuePlan():
            return shop_life.issue_plan(plans, act, entry)
        case acts.MakeSheet():
            if act.completes:
                return linked_life.make_partial(shop, plans, act, entry, other)
            return sheet_life.make_sheet(shop, plans, act, entry)
        case acts.AmendSheet():
            return linked_life.amend(shop, act, entry, other)
    return _of_instruments(shop, act, entry)


def _of_instruments(shop: Shop, act: acts.Act, entry: Entry) -> tuple[Event, ...]:
    match act:
        case acts.RecordCheck():
            return proof_life.record_check(shop, act, entry)
        case acts.RemoveForCause():
            return proof_life.remove_for_cause(shop, act, entry)
        case acts.ReportUpset():
            return proof_life.report_upset(shop, act, entry)
        case acts.RecordStudy():
            return proof_life.record_study(shop, act, entry)
        case acts.WithdrawStudy():
            return gauge_life.withdraw(shop, act, entry)
    raise AssertionError(f"no decision for {type(act).__name__}")


def _on_sheet(
    shop: Shop,
    sheet: Sheet,
    plans: Mapping[str, Plan],
    act: acts.OnSheet,
    entry: Entry,
    sign: Sign | None,
    elsewhere: Elsewhere | None,
) -> tuple[Event, ...]:
    match act:
        case acts.TakeReading():
            return reading_life.take(shop, sheet, act, entry, elsewhere)
        case acts.KeepAsWritten():
            return reading_life.answer(sheet, act.question, "kept")
        case acts.LeaveOpen():
            return reading_life.answer(sheet, act.question, "left open")
        case acts.TakeBack():
            return withdrawals.take_back(shop, sheet, act, entry)
        case acts.PutBack():
            return withdrawals.put_back(shop, sheet, act, entry)
        case acts.DeclareRepeats():
            return reading_life.declare_repeats(shop, sheet, act, entry)
        case acts.ReopenReadings():
            return proof_life.reopen_readings(shop, sheet, act, entry)
        case acts.LogTemperature():
            return proof_life.log_temperature(shop, act, entry)
        case acts.SignSheet():
            return sheet_life.sign_sheet(shop, sheet, act, entry, sign)
        case acts.ReadRowAgain():
            return review_life.read_row_again(shop, sheet, act, entry)
    return _on_whole_sheet(shop, sheet, plans, act, entry)


def _on_whole_sheet(
    shop: Shop, sheet: Sheet, plans: Mapping[str, Plan], act: acts.OnSheet, entry: Entry
) -> tuple[Event, ...]:
    match act:
        case acts.ChooseRoute():
            return sheet_life.choose_route(shop, sheet, entry)
        case acts.ChooseInstrument():
            return sheet_life.choose_instrument(shop, sheet, act, entry)
        case acts.RunBy():
            return sheet_life.run_by(act)
        case acts.ChooseDecisionRule():
            return sheet_life.choose_decision_rule(shop, sheet, act, entry)
        case acts.Reweigh():
            return sheet_life.reweigh(shop, sheet, entry)
        case acts.AdoptPlan():
            return sheet_life.adopt_plan(shop, sheet, plans, act, entry)
        case acts.Reopen():
            return sheet_life.reopen(shop, sheet, act, entry)
        case acts.ReturnSheet():
            return review_life.return_sheet(shop, sheet, act, entry)
    return _written(shop, sheet, act, entry)


def _written(shop: Shop, sheet: Sheet, act: acts.OnSheet, entry: Entry) -> tuple[Event, ...]:
    match act:
        case acts.WriteNote():
            return sheet_life.write_note(sheet, act)
        case acts.WriteHead():
            return record_life.write_head(sheet, act)
        case acts.EnterEvidence():
            return record_life.enter_evidence(sheet, act, entry)
        case acts.StrikeEvidence():
            return record_life.strike_evidence(sheet, act)
        case acts.RaiseNonconformance():
            return nonconformance_life.raise_nonconformance(sheet, act, entry)
        case acts.DisposeNonconformance():
            return nonconformance_life.dispose(sheet, act, entry)
        case acts.AnswerPoint():
            return marking_life.answer_point(sheet, act, entry)
        case acts.MarkForReview():
            return marking_life.mark(shop, sheet, act, entry)
        case acts.AnswerMark():
            return marking_life.answer(sheet, act, entry)
        case acts.RecordSent():
            return sheet_life.record_sent(act)
        case acts.KeepDocument():
            return document_life.keep_document(shop, sheet, act, entry)
    raise AssertionError(f"no decision for {type(act).__name__}")
