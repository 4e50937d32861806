"""Sheets that follow from another one: a partial first article that completes it, a sheet that stands in its place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from msgspec.structs import replace

from inspection.drawing.plan import Plan
from inspection.measuring.reading import Reading
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.complete_rows import owed_rows
from inspection.sheet.evolve import fold_sheet
from inspection.sheet.head import Piece
from inspection.sheet.identities import derived
from inspection.sheet.review import StatementKind
from inspection.sheet.sheet_life import make_sheet, routed
from inspection.sheet.state import Sheet, Shop, Stage


def make_partial(
    shop: Shop, plans: Mapping[str, Plan], act: acts.MakeSheet, entry: ev.Entry, baseline: Sheet | None
) -> tuple[ev.Event, ...]:
    """A partial first article on further pieces, about the rows that it owes its baseline and those named besides."""
    plan = plans.get(act.plan)
    if baseline is None or plan is None or baseline.plan.part_identity != plan.part_identity:
        raise Refused(Reason("partial.other_part"))
    said = baseline.first_article
    if said is None or said.kind is not StatementKind.NOT_COMPLETE:
        raise Refused(Reason("partial.baseline_not_stated"))
    known = {row.identity for row in plan.characteristics}
    strange = [row for row in act.rows if row not in known]
    if strange:
        raise Refused(*(Reason("sheet.no_such_row", {"row": row}) for row in strange))
    wanted = {*owed_rows(baseline, plan), *act.rows}
    rows = tuple(row.identity for row in plan.characteristics if row.identity in wanted)
    if not rows:
        raise Refused(Reason("partial.nothing_left"))
    head = replace(act.head, extent="partial", baseline=act.head.baseline or _named(baseline))
    made, *rest = make_sheet(shop, plans, replace(act, head=head), entry)
    assert isinstance(made, ev.SheetMade)
    partial = ev.SheetMade(
        sheet=made.sheet,
        part_identity=made.part_identity,
        plan=made.plan,
        head=made.head,
        pieces=made.pieces,
        rules=made.rules,
        only=rows,
        completes=baseline.identity,
    )
    return partial, *rest


def _named(sheet: Sheet) -> str:
    """How a baseline is named in the head: part, revision, serials, and the beginning of the sheet's seal."""
    part, serials = sheet.plan.part, ", ".join(piece.serial for piece in sheet.pieces)
    return f"{part.number} {part.revision}, {serials}, {sheet.seals[-1].digest[:16]}"


def amend(shop: Shop, act: acts.AmendSheet, entry: ev.Entry, sheet: Sheet | None) -> tuple[ev.Event, ...]:
    """A sheet in place of an approved one: the same plan, head and pieces, with all that counted carried by reference.

    What was read is under the old seal: it is corrected with a reason and never taken back.
    """
    if sheet is None:
        raise Refused(Reason("sheet.unknown"))
    if not act.reason.strip():
        raise Refused(Reason("amend.without_reason"))
    if sheet.stage is not Stage.APPROVED:
        raise Refused(Reason("amend.not_approved"))
    pieces = {old.identity: Piece(derived(entry, f"piece/{i}"), old.serial) for i, old in enumerate(sheet.pieces, 1)}
    made = ev.SheetMade(
        sheet=derived(entry, "sheet"),
        part_identity=sheet.plan.part_identity,
        plan=sheet.plan.identity,
        head=sheet.head,
        pieces=tuple(pieces.values()),
        rules=sheet.rules,
        only=tuple(row.identity for row in sheet.plan.characteristics if row.identity in sheet.only),
        completes=sheet.completes,
        amends=sheet.identity,
        reason=act.reason.strip(),
    )
    carried = ev.ReadingsCarried(
        sheet=sheet.identity,
        seal=sheet.seals[-1].digest,
        readings=tuple(_on(pieces, reading) for reading in _counting(sheet)),
        judged=tuple(
            ev.CellJudged(characteristic=row, piece=pieces[piece].identity, judgement=judgement)
            for (row, piece), judgement in sheet.judgements.items()
        ),
        checks=tuple(sheet.checks.values()),
        temperatures=sheet.temperatures,
    )
    evidence = tuple(ev.EvidenceEntered(evidence=each) for each in sheet.evidence.values())
    begun = fold_sheet(None, [(made, entry), (carried, entry)], {sheet.plan.identity: sheet.plan})
    return made, carried, routed(shop, begun, entry), *evidence


def _counting(sheet: Sheet) -> Iterator[Reading]:
    for cell in sheet.standing:
        yield from sheet.counting(*cell)


def _on(pieces: Mapping[str, Piece], reading: Reading) -> Reading:
    return replace(reading, piece=pieces[reading.piece].identity)
