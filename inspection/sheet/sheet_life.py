"""Acts on a sheet as a whole, and what follows: made, routed, noted, moved to another plan issue, sealed, sent."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping

from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.plan import Plan
from inspection.drawing.requirement import Form
from inspection.instruments.assess import assess
from inspection.instruments.method import Assessment, Assignment, Fitness, Method, Stop
from inspection.instruments.route import plan_route
from inspection.instruments.rules import Rules
from inspection.measuring.guard import check_rule
from inspection.measuring.known import Known
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.canonical import form_4
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.cells import open_cells
from inspection.sheet.complete_rows import asked_anew
from inspection.sheet.edition import PROGRAM
from inspection.sheet.evolve import fold_sheet
from inspection.sheet.head import Piece
from inspection.sheet.identities import derived
from inspection.sheet.proof_life import closing_checks_missing
from inspection.sheet.proving import known_now
from inspection.sheet.reading_life import judged, newest
from inspection.sheet.state import Cell, Rows, Sheet, Shop

Sign = Callable[[bytes], ev.Signature]


def make_sheet(shop: Shop, plans: Mapping[str, Plan], act: acts.MakeSheet, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A sheet on one plan issue, its pieces by serial, with instruments and route chosen from the crib as it stands."""
    plan = plans.get(act.plan)
    if plan is None:
        raise Refused(Reason("plan.unknown"))
    serials = tuple(serial.strip() for serial in act.serials)
    faults = [Reason("sheet.serial_twice", {"serial": s}) for s, times in Counter(serials).items() if times > 1 and s]
    if not serials or not all(serials):
        faults.append(Reason("sheet.without_serial"))
    if faults:
        raise Refused(*faults)
    made = ev.SheetMade(
        sheet=derived(entry, "sheet"),
        part_identity=plan.part_identity,
        plan=plan.identity,
        head=act.head,
        pieces=tuple(Piece(derived(entry, f"piece/{i}"), serial) for i, serial in enumerate(serials, 1)),
        rules=replace(shop.rules, decision=shop.rules.decision_for(act.head.customer or plan.part.customer)),
    )
    return made, _route(shop, plan, made.rules, entry, {}, known_now(shop, entry.at))


def _route(
    shop: Shop,
    plan: Plan,
    rules: Rules,
    entry: ev.Entry,
    by_hand: Mapping[str, tuple[Method, str]],
    known: Known,
) -> ev.RouteChosen:
    assignments, stops = plan_route(
        plan.characteristics,
        shop.crib,
        rules,
        entry.day,
        by_hand=by_hand,
        material=plan.part.material,
        known=known,
        issues=shop.issues,
    )
    return ev.RouteChosen(assignments=assignments, stops=stops)


def choose_route(shop: Shop, sheet: Sheet, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """Instruments and route afresh, by the rules that the sheet is judged by; rows chosen by hand keep their choice
    while it may still be chosen."""
    chosen = routed(shop, sheet, entry)
    return chosen, *_judged_anew(shop, sheet, chosen, entry, sheet.judgements)


def routed(shop: Shop, sheet: Sheet, entry: ev.Entry) -> ev.RouteChosen:
    """Instruments and route for a sheet as it stands; rows chosen by hand keep their choice."""
    by_hand = {name: (method, a.chosen_by_hand) for name, a, method in _chosen_by_hand(shop, sheet, entry)}
    return _route(shop, sheet.plan, sheet.rules, entry, by_hand, known_now(shop, entry.at, sheet))


def _chosen_by_hand(shop: Shop, sheet: Sheet, entry: ev.Entry) -> Iterable[tuple[str, Assignment, Method]]:
    """The rows whose instrument a person chose, as far as they are still rows and it may still be chosen."""
    for name, assignment in sheet.assignments.items():
        row = sheet.rows.by_identity.get(name)
        if row is None or not assignment.chosen_by_hand or assignment.assessment is None:
            continue
        method = newest(shop, assignment.assessment.method)
        found = _weighed(shop, sheet, row, method, entry)
        if found.fitness is not Fitness.UNSUITABLE:
            yield name, assignment, method


def _weighed(shop: Shop, sheet: Sheet, row: Characteristic, method: Method, entry: ev.Entry) -> Assessment:
    """A method for a row as the sheet's rules and all that is known at this moment have it."""
    known = known_now(shop, entry.at, sheet)
    return assess(row, method, shop.issues, sheet.rules, entry.day, sheet.plan.part.material, known)


def _judged_anew(
    shop: Shop, sheet: Sheet, change: ev.Event, entry: ev.Entry, cells: Iterable[Cell]
) -> tuple[ev.CellJudged, ...]:
    """The cells of these that are judged otherwise after the change: which readings an unread cell still asks for
    follows from the instrument in hand."""
    after = fold_sheet(sheet, [(change, entry)], {})
    events = (judged(shop, after, sheet.characteristic(row), piece) for row, piece in cells)
    return tuple(one for one in events if one.judgement != sheet.judgement(*_cell(one)))


def choose_decision_rule(
    shop: Shop, sheet: Sheet, act: acts.ChooseDecisionRule, entry: ev.Entry
) -> tuple[ev.Event, ...]:
    """Another decision rule for the sheet, with the reason; every cell is judged by it."""
    if not act.reason.strip():
        raise Refused(Reason("rule.without_reason"))
    check_rule(act.decision)
    if act.decision == sheet.rules.decision:
        raise Refused(Reason("rule.the_same"))
    chosen = ev.DecisionRuleChosen(decision=act.decision, reason=act.reason.strip())
    return chosen, *_judged_anew(shop, sheet, chosen, entry, sheet.judgements)


def reweigh(shop: Shop, sheet: Sheet, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """Instruments and route as a fresh check makes them; nothing where it changes neither, or the sheet is sealed."""
    if sheet.sealed:
        return ()
    events = choose_route(shop, sheet, entry)
    chosen = events[0]
    assert isinstance(chosen, ev.RouteChosen)
    same = {each.characteristic: each for each in chosen.assignments} == sheet.assignments
    return () if same and chosen.stops == sheet.stops else events


def choose_instrument(shop: Shop, sheet: Sheet, act: acts.ChooseInstrument, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """Another fit or marginal instrument for a row. Unsuitable ones are refused with every reason against them."""
    row = sheet.rows.by_identity.get(act.characteristic)
    if row is None:
        raise Refused(Reason("sheet.no_such_row", {"row": act.characteristic}))
    if not act.reason.strip():
        raise Refused(Reason("instrument.choice_without_reason", {"number": row.number}))
    method = newest(shop, act.method)
    found = _weighed(shop, sheet, row, method, entry)
    if found.fitness is Fitness.UNSUITABLE:
        tag = shop.crib[method.parts[0].identity].tag
        raise Refused(Reason("instrument.unsuitable", {"number": row.number, "tag": tag}), *found.against)
    assignment = Assignment(row.identity, found, chosen_by_hand=act.reason.strip())
    stops = _moved(sheet.stops, row.identity, method, row.set_up)
    chosen = ev.InstrumentChosen(assignment=assignment, stops=stops)
    cells = [cell for piece in sheet.pieces if (cell := (row.identity, piece.identity)) in sheet.judgements]
    return chosen, *_judged_anew(shop, sheet, chosen, entry, cells)


def _moved(stops: tuple[Stop, ...], row: str, method: Method, set_up: str) -> tuple[Stop, ...]:
    """The route with one row moved to the stop of another method in its set-up, made beside it if there is none."""
    was = next((i for i, stop in enumerate(stops) if row in stop.characteristics), len(stops))
    kept = [replace(stop, characteristics=tuple(c for c in stop.characteristics if c != row)) for stop in stops]
    for i, stop in enumerate(kept):
        if (stop.method, stop.set_up) == (method.key, set_up):
            kept[i] = replace(stop, characteristics=(*stop.characteristics, row))
            break
    else:
        kept.insert(was + 1, Stop(method.key, set_up, (row,)))
    return tuple(stop for stop in kept if stop.characteristics)


def run_by(act: acts.RunBy) -> tuple[ev.Event, ...]:
    """How the route runs over the pieces."""
    if act.order not in ("piece", "feature"):
        raise Refused(Reason("sheet.no_such_order", {"order": act.order}))
    return (ev.RunChanged(order=act.order),)


def write_note(sheet: Sheet, act: acts.WriteNote) -> tuple[ev.Event, ...]:
    """A note to a row."""
    if act.characteristic not in sheet.rows.by_identity:
        raise Refused(Reason("sheet.no_such_row", {"row": act.characteristic}))
    if act.piece and all(piece.identity != act.piece for piece in sheet.pieces):
        raise Refused(Reason("sheet.no_such_piece", {"piece": act.piece}))
    if not act.text.strip():
        raise Refused(Reason("note.empty"))
    return (ev.NoteWritten(characteristic=act.characteristic, piece=act.piece, text=act.text.strip()),)


# --- another issue of the plan --------------------------------------------------------------------------------


def adopt_plan(
    shop: Shop, sheet: Sheet, plans: Mapping[str, Plan], act: acts.AdoptPlan, entry: ev.Entry
) -> tuple[ev.Event, ...]:
    """Move the sheet to another plan issue once the person has seen which verdicts change.

    Every cell is judged by the new issue, also where only its limits or reasons come out otherwise.
    """
    plan = plans.get(act.plan)
    if plan is None or plan.part_identity != sheet.plan.part_identity:
        raise Refused(Reason("plan.unknown"))
    moved = replace(sheet, plan=plan, rows=Rows.of(plan))
    faults = (*_unreadable(sheet, moved), *_asks_more(sheet, plan))
    if faults:
        raise Refused(*faults)
    chosen = routed(shop, moved, entry)
    after = _judged_anew(shop, moved, chosen, entry, sheet.judgements)
    _check_accepted(sheet, moved, after, act.accepted)
    return ev.PlanAdopted(plan=plan.identity), chosen, *after


def _asks_more(sheet: Sheet, plan: Plan) -> Iterable[Reason]:
    """The rows that a partial first article would owe by another issue and is not about."""
    if sheet.only:
        rows = (row for row in asked_anew(sheet.plan, plan) if row.identity not in sheet.only)
        yield from (Reason("partial.asks_more", {"number": row.number}) for row in rows)


def _check_accepted(sheet: Sheet, moved: Sheet, after: Iterable[ev.CellJudged], accepted: tuple[str, ...]) -> None:
    changed = [one for one in after if one.judgement.verdict is not sheet.judgement(*_cell(one)).verdict]
    names = {event.characteristic for event in changed}
    if names == set(accepted):
        return
    rows = moved.rows.by_identity
    told = [_would_change(sheet, rows[event.characteristic].number, event) for event in changed]
    strange = dict.fromkeys(name for name in accepted if name not in names)
    told += [Reason("plan.verdict_stays", {"number": rows[name].number if name in rows else name}) for name in strange]
    raise Refused(*told)


def _cell(event: ev.CellJudged) -> Cell:
    return event.characteristic, event.piece


def _unreadable(sheet: Sheet, moved: Sheet) -> Iterable[Reason]:
    """Rows whose readings (those withdrawn too), notes or questions would lose their row, or be held against another
    kind of requirement."""
    used = {reading.characteristic for reading in sheet.readings.values()}
    used |= {note.characteristic for note in sheet.notes}
    for row in sheet.plan.characteristics:
        now = moved.rows.by_identity.get(row.identity)
        if row.identity not in used:
            continue
        if now is None:
            yield Reason("plan.row_with_readings_gone", {"number": row.number})
        elif (now.requirement.kind, _is_note(now)) != (row.requirement.kind, _is_note(row)):
            yield Reason("plan.row_of_another_kind", {"number": row.number})


def _is_note(row: Characteristic) -> bool:
    return row.kind is FeatureKind.NOTE or row.requirement.form is Form.NOTE


def _would_change(sheet: Sheet, number: str, event: ev.CellJudged) -> Reason:
    serial = next(piece.serial for piece in sheet.pieces if piece.identity == event.piece)
    before = sheet.judgement(*_cell(event)).verdict
    after = event.judgement.verdict
    return Reason(
        "plan.verdict_changes",
        {
            "number": number,
            "serial": serial,
            "before": f"verdict.{before.name.lower()}",
            "after": f"verdict.{after.name.lower()}",
        },
    )


# --- sealing --------------------------------------------------------------------------------------------------


def sign_sheet(
    shop: Shop, sheet: Sheet, act: acts.SignSheet, entry: ev.Entry, sign: Sign | None
) -> tuple[ev.Event, ...]:
    """Seal the sheet: its content as canonical bytes, signed with the person's own key."""
    serials = {piece.identity: piece.serial for piece in sheet.pieces}
    faults = [
        Reason(
            "sign.question_open",
            {"number": sheet.characteristic(q.characteristic).number, "serial": serials[q.piece]},
        )
        for q in sheet.open_questions()
        if q.piece not in sheet.left  # nothing more is asked of it
    ]
    open_rows, incomplete = [*_open_rows(sheet), *_closing(shop, sheet)], act.incomplete.strip()
    if open_rows and not incomplete:
        faults += open_rows
    if incomplete and not open_rows:
        faults.append(Reason("sign.nothing_open"))
    if sign is None:
        faults.append(Reason("sign.without_key"))
    if faults or sign is None:
        raise Refused(*faults)
    content = form_4.write_content(form_4.content_of(shop, sheet, entry, PROGRAM, incomplete))
    signature = sign(content)
    if signature.certificate != shop.people[entry.person].certificate:
        raise Refused(Reason("sign.other_key", {"person": shop.people[entry.person].name}))
    sealed = ev.SheetSealed(
        round=sheet.round,
        content=content.decode(),
        digest=digest(content),
        signature=signature,
        incomplete=incomplete,
    )
    return (sealed,)


def _closing(shop: Shop, sheet: Sheet) -> list[Reason]:
    """Instruments that a closing check is still asked of."""
    return [Reason("sign.closing_check", {"tag": tag}) for tag in closing_checks_missing(shop, sheet)]


def _open_rows(sheet: Sheet) -> list[Reason]:
    serials = {piece.identity: piece.serial for piece in sheet.pieces}
    return [
        Reason("sign.row_open", {"number": sheet.characteristic(row).number, "serial": serials[piece]})
        for row, piece in open_cells(sheet)
    ]


def reopen(shop: Shop, sheet: Sheet, act: acts.Reopen, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A new round; the old seal stays. Readings that a failed check put in question meanwhile count no longer."""
    if not act.reason.strip():
        raise Refused(Reason("sheet.reopened_without_reason"))
    return reopened(shop, sheet, act.reason.strip(), entry)


def reopened(shop: Shop, sheet: Sheet, reason: str, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A new round begins, and what a failed check put in question meanwhile is judged without it."""
    opened = ev.SheetReopened(round=sheet.round + 1, reason=reason)
    cells = dict.fromkeys((sheet.readings[name].characteristic, sheet.readings[name].piece) for name in sheet.suspect)
    return opened, *_judged_anew(shop, sheet, opened, entry, cells)


def record_sent(act: acts.RecordSent) -> tuple[ev.Event, ...]:
    """A file was made; its SHA-256 lets it be known again."""
    if len(act.digest) != 64 or set(act.digest) - set("0123456789abcdef"):
        raise Refused(Reason("sent.no_digest", {"name": act.name}))
    sent = ev.SheetSent(
        form=act.form,
        name=act.name,
        digest=act.digest,
        layout=act.layout,
        layout_issue=act.layout_issue,
        files=act.files,
    )
    return (sent,)
