"""Acts on a sheet as a whole, and what follows: made, routed, noted, moved to another plan issue, sealed, sent."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping

from msgspec.structs import replace

from inspection.drawing.plan import Plan
from inspection.instruments.assess import assess
from inspection.instruments.method import Assignment, Fitness, Method, Stop
from inspection.instruments.route import plan_route
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.canonical import form_1
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.cells import open_cells
from inspection.sheet.edition import PROGRAM
from inspection.sheet.head import Piece
from inspection.sheet.identities import derived
from inspection.sheet.reading_life import judged, newest
from inspection.sheet.state import Rows, Sheet, Shop

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
        rules=shop.rules,
    )
    return made, _route(shop, plan, entry, {})


def _route(shop: Shop, plan: Plan, entry: ev.Entry, by_hand: Mapping[str, tuple[Method, str]]) -> ev.RouteChosen:
    assignments, stops = plan_route(
        plan.characteristics, shop.crib, shop.rules, entry.day, by_hand=by_hand, material=plan.part.material
    )
    return ev.RouteChosen(assignments=assignments, stops=stops)


def choose_route(shop: Shop, sheet: Sheet, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """Instruments and route afresh; rows chosen by hand keep their choice while it may still be chosen."""
    by_hand = {
        name: (newest(shop, a.assessment.method), a.chosen_by_hand)
        for name, a in sheet.assignments.items()
        if a.chosen_by_hand and a.assessment is not None
    }
    return (_route(shop, sheet.plan, entry, by_hand),)


def choose_instrument(shop: Shop, sheet: Sheet, act: acts.ChooseInstrument, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """Another fit or marginal instrument for a row. Unsuitable ones are refused with every reason against them."""
    row = sheet.rows.by_identity.get(act.characteristic)
    if row is None:
        raise Refused(Reason("sheet.no_such_row", {"row": act.characteristic}))
    if not act.reason.strip():
        raise Refused(Reason("instrument.choice_without_reason", {"number": row.number}))
    method = newest(shop, act.method)
    found = assess(row, method, shop.issues, sheet.rules, entry.day, sheet.plan.part.material)
    if found.fitness is Fitness.UNSUITABLE:
        tag = shop.crib[method.parts[0].identity].tag
        raise Refused(Reason("instrument.unsuitable", {"number": row.number, "tag": tag}), *found.against)
    assignment = Assignment(row.identity, found, chosen_by_hand=act.reason)
    return (ev.InstrumentChosen(assignment=assignment, stops=_moved(sheet.stops, row.identity, method, row.set_up)),)


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


def changed_by(shop: Shop, sheet: Sheet, plan: Plan) -> tuple[ev.CellJudged, ...]:
    """The cells whose verdict another plan issue would change, as they would be judged by it.

    A row that was read and is no longer in the plan cannot be judged; ``adopt_plan`` refuses it by name.
    """
    moved = replace(sheet, plan=plan, rows=Rows.of(plan))
    cells = [cell for cell in sheet.judgements if cell[0] in moved.rows.by_identity]
    after = [judged(shop, moved, moved.characteristic(row), piece) for row, piece in cells]
    return tuple(
        event
        for event in after
        if event.judgement.verdict is not sheet.judgement(event.characteristic, event.piece).verdict
    )


def adopt_plan(
    shop: Shop, sheet: Sheet, plans: Mapping[str, Plan], act: acts.AdoptPlan, entry: ev.Entry
) -> tuple[ev.Event, ...]:
    """Move the sheet to another plan issue once the person has seen which verdicts change."""
    plan = plans.get(act.plan)
    if plan is None or plan.part_identity != sheet.plan.part_identity:
        raise Refused(Reason("plan.unknown"))
    kept = {row.identity for row in plan.characteristics}
    gone = [r for r in sheet.plan.characteristics if r.identity not in kept and _was_read(sheet, r.identity)]
    if gone:
        raise Refused(*(Reason("plan.row_with_readings_gone", {"number": row.number}) for row in gone))
    changed = changed_by(shop, sheet, plan)
    names = {event.characteristic for event in changed}
    if names != set(act.accepted):
        rows = Rows.of(plan).by_identity
        raise Refused(*(_would_change(sheet, rows[event.characteristic].number, event) for event in changed))
    moved = replace(sheet, plan=plan, rows=Rows.of(plan))
    return (ev.PlanAdopted(plan=plan.identity), *choose_route(shop, moved, entry), *changed)


def _was_read(sheet: Sheet, row: str) -> bool:
    return any(sheet.counting(row, piece.identity) for piece in sheet.pieces)


def _would_change(sheet: Sheet, number: str, event: ev.CellJudged) -> Reason:
    serial = next(piece.serial for piece in sheet.pieces if piece.identity == event.piece)
    before = sheet.judgement(event.characteristic, event.piece).verdict
    parts = {"number": number, "serial": serial}
    return Reason(
        "plan.verdict_changes",
        {
            **parts,
            "before": f"@verdict.{before.name.lower()}",
            "after": f"@verdict.{event.judgement.verdict.name.lower()}",
        },
    )


# --- sealing --------------------------------------------------------------------------------------------------


def sign_sheet(
    shop: Shop, sheet: Sheet, act: acts.SignSheet, entry: ev.Entry, sign: Sign | None
) -> tuple[ev.Event, ...]:
    """Seal the sheet: its content as canonical bytes, signed with the person's own key."""
    faults = [
        Reason("sign.question_open", {"number": sheet.characteristic(q.characteristic).number})
        for q in sheet.open_questions()
    ]
    if not act.incomplete.strip():
        faults += _open_rows(sheet)
    if sign is None:
        faults.append(Reason("sign.without_key"))
    if faults or sign is None:
        raise Refused(*faults)
    content = form_1.write_content(form_1.content_of(shop, sheet, entry, PROGRAM, act.incomplete.strip()))
    signature = sign(content)
    if signature.certificate != shop.people[entry.person].certificate:
        raise Refused(Reason("sign.other_key", {"person": shop.people[entry.person].name}))
    sealed = ev.SheetSealed(
        round=sheet.round,
        content=content.decode(),
        digest=digest(content),
        signature=signature,
        incomplete=act.incomplete.strip(),
    )
    return (sealed,)


def _open_rows(sheet: Sheet) -> list[Reason]:
    serials = {piece.identity: piece.serial for piece in sheet.pieces}
    return [
        Reason("sign.row_open", {"number": sheet.characteristic(row).number, "serial": serials[piece]})
        for row, piece in open_cells(sheet)
    ]


def reopen(sheet: Sheet, act: acts.Reopen) -> tuple[ev.Event, ...]:
    """A new round; the old seal stays."""
    if not act.reason.strip():
        raise Refused(Reason("sheet.reopened_without_reason"))
    return (ev.SheetReopened(round=sheet.round + 1, reason=act.reason.strip()),)


def record_sent(act: acts.RecordSent) -> tuple[ev.Event, ...]:
    """A file was made; its SHA-256 lets it be known again."""
    if len(act.digest) != 64 or set(act.digest) - set("0123456789abcdef"):
        raise Refused(Reason("sent.no_digest", {"name": act.name}))
    return (ev.SheetSent(form=act.form, name=act.name, digest=act.digest),)
