"""``decide``: what an act may do to the shop, a plan or a sheet, and what follows. Pure; the door carries it out."""

from __future__ import annotations

from collections.abc import Mapping

from inspection.drawing.plan import Plan
from inspection.reasons import Reason, Refused
from inspection.sheet import acts, reading_life, record_life, sheet_life, shop_life, withdrawals
from inspection.sheet.events import Entry, Event
from inspection.sheet.sheet_life import Sign
from inspection.sheet.state import Sheet, Shop
from inspection.sheet.steps import require


def decide(
    shop: Shop,
    sheet: Sheet | None,
    plans: Mapping[str, Plan],
    act: acts.Act,
    entry: Entry,
    sign: Sign | None = None,
) -> tuple[Event, ...]:
    """The events that follow from ``act``, done by ``entry.person`` at ``entry.at``.

    ``sheet`` is the one the act names, None for acts on the shop or a plan; ``plans`` finds plan issues of the part
    concerned by identity; ``sign`` signs canonical bytes with the person's key where the act needs it. Raises
    Refused with the reasons, and then nothing may be written.
    """
    if isinstance(act, acts.OpenShop):
        return shop_life.open_shop(shop, act, entry)
    if not shop.name:
        raise Refused(Reason("shop.not_open"))
    require(shop, sheet, act, entry.person)
    if isinstance(act, acts.OnSheet):
        if sheet is None:
            raise Refused(Reason("sheet.unknown"))
        return _on_sheet(shop, sheet, plans, act, entry, sign)
    return _on_shop(shop, plans, act, entry)


def _on_shop(shop: Shop, plans: Mapping[str, Plan], act: acts.Act, entry: Entry) -> tuple[Event, ...]:
    match act:
        case acts.EnterPerson():
            return shop_life.enter_person(shop, act, entry)
        case acts.IssueInstrument():
            return shop_life.issue_instruments(shop, (act.instrument,), entry)
        case acts.IssueInstruments():
            return shop_life.issue_instruments(shop, act.instruments, entry)
        case acts.IssueRules():
            return shop_life.issue_rules(shop, act)
        case acts.IssuePlan():
            return shop_life.issue_plan(plans, act, entry)
        case acts.MakeSheet():
            return sheet_life.make_sheet(shop, plans, act, entry)
    raise AssertionError(f"no decision for {type(act).__name__}")


def _on_sheet(
    shop: Shop, sheet: Sheet, plans: Mapping[str, Plan], act: acts.OnSheet, entry: Entry, sign: Sign | None
) -> tuple[Event, ...]:
    match act:
        case acts.TakeReading():
            return reading_life.take(shop, sheet, act, entry)
        case acts.KeepAsWritten():
            return reading_life.answer(sheet, act.question, "kept")
        case acts.LeaveOpen():
            return reading_life.answer(sheet, act.question, "left open")
        case acts.TakeBack():
            return withdrawals.take_back(shop, sheet, act, entry)
        case acts.PutBack():
            return withdrawals.put_back(shop, sheet, act, entry)
        case acts.SignSheet():
            return sheet_life.sign_sheet(shop, sheet, act, entry, sign)
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
        case acts.WriteNote():
            return sheet_life.write_note(sheet, act)
        case acts.WriteHead():
            return record_life.write_head(sheet, act)
        case acts.EnterEvidence():
            return record_life.enter_evidence(sheet, act, entry)
        case acts.StrikeEvidence():
            return record_life.strike_evidence(sheet, act)
        case acts.AdoptPlan():
            return sheet_life.adopt_plan(shop, sheet, plans, act, entry)
        case acts.Reopen():
            return sheet_life.reopen(sheet, act)
        case acts.RecordSent():
            return sheet_life.record_sent(act)
    raise AssertionError(f"no decision for {type(act).__name__}")
