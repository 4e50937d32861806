"""Refusals of acts on a sheet, on its head, on its materials, processes and tests."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from inspection.sheet import acts
from inspection.sheet.evidence import Evidence, EvidenceKind
from inspection.sheet.head import Head, SubItem
from inspection.sheet.measured import measurement
from tests.sheet.refusals.meetings import meets

# --- sheets ---------------------------------------------------------------------------------------------------------


@meets("sheet.unknown")
def _(life: Any) -> Any:
    return life.refused(acts.RunBy(sheet="none", order="piece"))


@meets("sheet.no_such_row")
def _(life: Any) -> Any:
    life.refused(replace(life.reading("1", ".5"), characteristic="none"))
    life.refused(acts.WriteNote(sheet=life.sheet_id, characteristic="none", text="burr"))
    return life.refused(
        acts.ChooseInstrument(sheet=life.sheet_id, characteristic="none", method=life.method("M-01"), reason="x")
    )


@meets("sheet.no_such_piece")
def _(life: Any) -> Any:
    life.refused(acts.WriteNote(sheet=life.sheet_id, characteristic=life.row("1").identity, piece="no", text="burr"))
    return life.refused(replace(life.reading("1", ".5"), piece="none"))


@meets("sheet.without_serial")
def _(life: Any) -> Any:
    life.refused(acts.MakeSheet(plan=life.sheet.plan.identity, serials=()))
    return life.refused(acts.MakeSheet(plan=life.sheet.plan.identity, serials=("1", " ")))


@meets("sheet.serial_twice")
def _(life: Any) -> Any:
    return life.refused(acts.MakeSheet(plan=life.sheet.plan.identity, serials=("1", "1 ")))


@meets("sheet.no_such_order")
def _(life: Any) -> Any:
    return life.refused(acts.RunBy(sheet=life.sheet_id, order="weight"))


@meets("sheet.reopened_without_reason")
def _(life: Any) -> Any:
    life.sign("nothing read yet")
    return life.refused(acts.Reopen(sheet=life.sheet_id, reason=" "))


@meets("note.empty")
def _(life: Any) -> Any:
    return life.refused(acts.WriteNote(sheet=life.sheet_id, characteristic=life.row("1").identity, text="\n "))


@meets("sent.no_digest")
def _(life: Any) -> Any:
    life.refused(acts.RecordSent(sheet=life.sheet_id, form="pdf", name="a.pdf", digest="AB" * 32))
    return life.refused(acts.RecordSent(sheet=life.sheet_id, form="pdf", name="a.pdf", digest="ab" * 31))


# --- the head, materials, processes and tests -----------------------------------------------------------------------


def heading(life: Any, **fields: Any) -> Any:
    return life.refused(acts.WriteHead(sheet=life.sheet_id, head=Head(**fields)))


def entering(life: Any, name: str = "bead blast", kind: EvidenceKind = EvidenceKind.TEST, **fields: Any) -> Any:
    evidence = Evidence(fields.pop("identity", ""), kind, name, **fields)
    return life.refused(acts.EnterEvidence(sheet=life.sheet_id, evidence=evidence))


@meets("head.extent")
def _(life: Any) -> Any:
    return heading(life, extent="half")


@meets("head.detail")
def _(life: Any) -> Any:
    return heading(life, detail="fixture")


@meets("head.sub_items_of_detail")
def _(life: Any) -> Any:
    heading(life, sub_items=(SubItem("HB-8"),))
    return heading(life, detail="detail", sub_items=(SubItem("HB-8"),))


@meets("head.sub_item_unnumbered")
def _(life: Any) -> Any:
    return heading(life, detail="assembly", sub_items=(SubItem("HB-8"), SubItem(" ", name="screw")))


@meets("head.same")
def _(life: Any) -> Any:
    life.do(acts.WriteHead(sheet=life.sheet_id, head=Head(order="4711")))
    return heading(life, order="4711")


@meets("evidence.unknown")
def _(life: Any) -> Any:
    life.refused(acts.StrikeEvidence(sheet=life.sheet_id, evidence="none", reason="not used"))
    (entered,) = life.do(acts.EnterEvidence(sheet=life.sheet_id, evidence=Evidence("", EvidenceKind.TEST, "leak")))
    life.do(acts.StrikeEvidence(sheet=life.sheet_id, evidence=entered.evidence.identity, reason="not asked for"))
    return entering(life, "leak", identity=entered.evidence.identity)


@meets("evidence.unnamed")
def _(life: Any) -> Any:
    return entering(life, " ")


@meets("evidence.no_day")
def _(life: Any) -> Any:
    entering(life, certified="20260301")
    return entering(life, certified="2026-02-30")


@meets("evidence.measured_no_test")
def _(life: Any) -> Any:
    return entering(life, kind=EvidenceKind.PROCESS, measurement=measurement("≥ 45 HRC", "46"))


@meets("evidence.passed")
def _(life: Any) -> Any:
    return entering(life, passed="maybe")


@meets("evidence.passed_is_derived")
def _(life: Any) -> Any:
    return entering(life, passed="yes", measurement=measurement("≥ 45 HRC", "46"))


@meets("evidence.struck_without_reason")
def _(life: Any) -> Any:
    (entered,) = life.do(acts.EnterEvidence(sheet=life.sheet_id, evidence=Evidence("", EvidenceKind.TEST, "leak")))
    return life.refused(acts.StrikeEvidence(sheet=life.sheet_id, evidence=entered.evidence.identity, reason=" "))


@meets("evidence.measured_otherwise")
def _(life: Any) -> Any:
    typed = replace(measurement("≥ 45 HRC", "44"), count=measurement("≥ 45 HRC", "46").count)
    return entering(life, measurement=typed)
